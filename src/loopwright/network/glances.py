"""Drop ways that one ride alone looked into and came back from.

Gets a web with its passes counted. People leave a trail to look about, to rest, by mistake, and
come back to where they left it. Where many go by and one ride alone did that, it is no trail yet,
and no circuit could use it. Promises: a way that leads on to another trail stays, and so does one
that two rides took.
"""

from __future__ import annotations

from loopwright.network.detours import way_round
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


def drop_glances(web: Web) -> int:
    """Drop glances, those of fewest passes first; gives how many went."""
    dropped = 0
    for number in web.weakest_first():
        if web.lines[number].passes >= TWO_RIDES:
            break
        if _comes_back(web, number) and _crowd(web, number) >= CROWD:
            web.drop_line(number)
            dropped += 1
    return dropped


def _comes_back(web: Web, number: int) -> bool:
    """Tell whether whoever rode a line came back to about where it leaves."""
    line = web.lines[number]
    if line.length_m > 2 * GLANCE_M:
        return False
    if line.length_m <= GLANCE_M and (line.turned or web.loose(number)):
        return True
    return way_round(web, number, BACK * line.length_m) is not None


def _crowd(web: Web, number: int) -> float:
    """Count the passes of all rides by the best ridden of the lines that a line hangs on."""
    line = web.lines[number]
    others = (web.at[line.a] | web.at[line.b]) - {number}
    return max((web.lines[k].rides for k in others), default=0.0)
