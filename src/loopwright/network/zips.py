"""Lay lines that leave a junction side by side on one.

Gets a web and aligned samples; where two lines of a junction run beside each other before they
part, nearer than errors of aligned rides, both show one trail: the weaker is hung on the stronger
where they part. Promises: lines whose passes were told apart stay, and so do hairpin legs, which
rides take one soon after the other.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
from shapely import LineString, points
from shapely import distance as distance_m

from loopwright.geo.polyline import along, at, nearest_vertex
from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.forks import branches_at, from_end, hang_on
from loopwright.network.runs import Run, runs_of
from loopwright.network.samples import Samples
from loopwright.network.stations import STATION_M
from loopwright.network.web import End, Web

BESIDE_M = 6.5
"""Lines this near run beside each other. On sixteen invented networks that 60 people walked 5, 6.5
and 8 m gave junction F .792, .802 and .803, hairpin legs laid on each other too."""
LEAST_M = 12.0
"""Lines that part at 42 degrees, the least of invented forks, are so near for 10 m."""
SOON_M, SHARE = 160.0, 0.5
"""Hairpin legs are ridden one within so much riding of the other, by most; a quarter instead of
half gave junction F .791 instead of .793 there."""


def zip_up(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> int:
    """Lay lines on each other in place; gives how many.

    ``ele`` ``(n,)`` are the heights of ``samples`` in metres.
    """
    pairs = {node: pair for node in sorted(web.nodes) if (pair := _abreast(web, node)) is not None}
    if not pairs:
        return 0
    legs = _legs(web, samples, aligned, ele, set(pairs.values()))
    return sum(_zipped(web, node, *pair) for node, pair in pairs.items() if pair not in legs)


def _abreast(web: Web, node: int) -> tuple[End, End] | None:
    """Give the two lines of a node that run beside each other longest, the weaker first."""
    ends = sorted(branches_at(web, node), key=lambda end: (web.lines[end[0]].passes, end))
    told = [end for end in ends if not web.lines[end[0]].parted]
    pairs = [(_beside_m(web, weak, strong), weak, strong) for weak, strong in combinations(told, 2)]
    run_m, *pair = max(pairs, default=(0.0,))
    return (pair[0], pair[1]) if run_m >= LEAST_M else None


def _legs(
    web: Web, samples: Samples, aligned: Aligned, ele: Floats, pairs: set[tuple[End, End]]
) -> set[tuple[End, End]]:
    """Find the pairs both lines of which rides take one soon after the other."""
    runs = [run for run in runs_of(web, samples, aligned, ele) if run.sure]
    passes = Counter(run.number for run in runs)
    named = {frozenset((weak[0], strong[0])): (weak, strong) for weak, strong in pairs}
    both: Counter[tuple[End, End]] = Counter()
    for k, one in enumerate(runs):
        found = set()
        for two in _soon(runs, k, samples):
            pair = named.get(frozenset((one.number, two.number)))
            if pair is not None and _abreast_m(web, pair, one, two) > LEAST_M:
                found.add(pair)
        both.update(found)
    return {
        pair for pair in pairs if both[pair] > SHARE * min(passes[number] for number, _ in pair)
    }


def _soon(runs: Sequence[Run], place: int, samples: Samples) -> Iterator[Run]:
    """Yield what a ride takes soon after a run."""
    one = runs[place]
    for two in runs[place + 1 :]:
        if two.piece != one.piece or samples.dist[two.first] - samples.dist[one.last] > SOON_M:
            return
        yield two


def _abreast_m(web: Web, pair: tuple[End, End], one: Run, two: Run) -> float:
    """How far two runs go over the same part of two lines, from where they meet, in metres."""
    low, high = 0.0, np.inf
    for run in (one, two):
        last = dict(pair)[run.number]
        size_m = web.lines[run.number].length_m
        place = [size_m - m if last else m for m in (run.from_m, run.to_m)]
        low, high = max(low, min(place)), min(high, max(place))
    return float(high - low)


def _zipped(web: Web, node: int, weak: End, strong: End) -> bool:
    """Hang the weaker of two lines on the other where they part."""
    # Another zip may have taken either line.
    if not all(web.hangs_on(end, node) for end in (weak, strong)):
        return False
    run_m = _beside_m(web, weak, strong)
    spot = at(from_end(web, weak), np.array([run_m]))[0]
    return hang_on(web, weak, strong, nearest_vertex(from_end(web, strong), spot)[1])


def _beside_m(web: Web, one: End, two: End) -> float:
    """Tell how far two lines run beside each other from where they meet, in metres.

    Not at all (0) when they do so as far as is looked: other rules tell those.
    """
    xy = from_end(web, one)
    want = np.arange(0.0, float(along(xy)[-1]), STATION_M)
    off = distance_m(LineString(from_end(web, two)), points(at(xy, want)))
    apart = np.flatnonzero(off > BESIDE_M)
    return float(want[apart[0] - 1]) if len(apart) else 0.0
