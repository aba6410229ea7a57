"""Drop ways that few looked into where many went by.

Gets a web with its passes counted. People leave a trail to look about, to rest, by mistake, and
come back to where they left it; on foot they cut across. Where many go by and one ride alone did
that, or one in dozens, it is no trail yet. Promises: a way that leads on to another trail stays,
unless hardly anybody of a crowd took it and there is a short way round.
"""

from __future__ import annotations

import numpy as np

from loopwright.network.detours import way_round
from loopwright.network.stations import stations_of
from loopwright.network.wander import WANDERS_M
from loopwright.network.web import Web

TWO_RIDES = 2.0
"""Lines of fewer independent passes were ridden by one ride, three times at most."""
GLANCE_M = 150.0
"""So far somebody goes who only looks about; a ring or a way round is twice as long."""
BACK = 0.5
"""Who comes out again by no more than so much of what he rode has come back: ways past something,
one to either side, are more alike."""
CROWD = 8.0
"""Passes that make many. On twelve invented networks that 60 people walked, some of them astray,
junctions were found as well with 5, 8 and 12 (.760, .757 and .752)."""
RARE = 12.0
"""A dead end is no trail either that one in so many looked into; 8, 12 and 20 did as well."""
CUTS = (40.0, 8.0)
"""A short cut was taken by one in so many of those that went round: by a ride that wanders little,
and on foot."""
CUT_OFF_M = 20.0
"""A short cut leaves the way round by more. Lines nearer are side by side: of 17 that went in
36 invented networks walked on foot before this was asked, the eleven true ones lay within 17 m, the
six false ones 20 m off and more."""


def drop_glances(web: Web, wander_m: float = 0.0) -> int:
    """Drop glances, those of fewest passes first; gives how many went.

    ``wander_m`` is how far rides stray aside within a short run.
    """
    dropped, times = 0, float(np.interp(wander_m, WANDERS_M, CUTS))
    for number in web.weakest_first():
        if web.lines[number].length_m <= 2 * GLANCE_M and _glance(web, number, times):
            web.drop_line(number)
            dropped += 1
    return dropped


def _glance(web: Web, number: int, times: float) -> bool:
    """Tell whether so few took a line, against those that went by, that it is no trail yet."""
    passes, crowd = web.lines[number].passes, _crowd(web, number)
    if passes < TWO_RIDES and crowd >= CROWD and _comes_back(web, number):
        return True
    if crowd >= RARE * passes and _dead_end(web, number):
        return True
    least = times * max(passes, 1.0)
    # The way round begins and ends with lines it hangs on.
    return crowd >= least and _cuts(web, number, least)


def _comes_back(web: Web, number: int) -> bool:
    """Tell whether the one ride that took a line came back to about where it leaves."""
    line = web.lines[number]
    if _dead_end(web, number) or (line.turned and line.length_m <= GLANCE_M):
        return True
    return way_round(web, number, BACK * line.length_m) is not None


def _dead_end(web: Web, number: int) -> bool:
    return web.loose(number) and web.lines[number].length_m <= GLANCE_M


def _cuts(web: Web, number: int, least: float) -> bool:
    """Tell whether ``least`` passes went the short way round a line, all along it."""
    way = way_round(web, number, 2 * GLANCE_M)
    if not way or min(web.lines[k].rides for k in way) < least:
        return False
    return _off_m(web, number, way) >= CUT_OFF_M


def _off_m(web: Web, number: int, way: list[int]) -> float:
    """How far a line goes from the way round it, in metres."""
    around = stations_of([web.lines[k].xyz for k in way])
    line = stations_of([web.lines[number].xyz]).xyz[:, :2]
    return float(np.max(around.gap_m(line)))


def _crowd(web: Web, number: int) -> float:
    """Count the passes of all rides by the best ridden of the lines that a line hangs on."""
    line = web.lines[number]
    others = (web.at[line.a] | web.at[line.b]) - {number}
    return max((web.lines[k].rides for k in others), default=0.0)
