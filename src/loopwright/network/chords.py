"""Drop chords: lines tied across from one hairpin leg to the next, where nobody turns.

Gets a web and aligned samples. Where legs lie close, a second line of a leg may be tied to the leg
beside it. Rides come along it, but go on in the middle of the line that shows their leg. Promises:
a line goes only if it runs beside others, and no ride turns where it ends.
"""

from __future__ import annotations

from collections import Counter

from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.runs import runs_of
from loopwright.network.samples import Samples
from loopwright.network.shadows import Boxes, beside
from loopwright.network.trips import count_trips
from loopwright.network.web import Web

LONGEST_M = 100.0
LEAST = 3
"""Rides that must have come along it."""
BESIDE_M = 8.0
"""So near it runs beside other lines."""


def drop_chords(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> int:
    """Drop chords in place; gives how many. ``ele`` ``(n,)`` are the samples' heights in metres."""
    boxes = Boxes(web)
    short = [number for number in boxes.numbers if _between_forks(web, number)]
    doubtful = [number for number in short if _beside(web, boxes, number)]
    if not doubtful:
        return 0
    runs = list(runs_of(web, samples, aligned, ele))
    ridden = Counter(run.number for run in runs)
    turned = {end for trips in count_trips(web, runs).at.values() for trip in trips for end in trip}
    gone = 0
    for number in doubtful:
        untaken = ridden[number] >= LEAST and not {(number, False), (number, True)} <= turned
        # What it ran beside may be gone.
        if untaken and _beside(web, boxes, number):
            web.drop_line(number)
            gone += 1
    return gone


def _between_forks(web: Web, number: int) -> bool:
    line = web.lines[number]
    forks = min(web.degree(line.a), web.degree(line.b)) > 2
    return forks and line.a != line.b and not line.parted and line.length_m <= LONGEST_M


def _beside(web: Web, boxes: Boxes, number: int) -> bool:
    """Tell whether a line runs beside others that are there."""
    near = [web.lines[k].xyz for k in boxes.near(number, BESIDE_M) if k in web.lines]
    return bool(near) and beside(web.lines[number].xyz, near, BESIDE_M)
