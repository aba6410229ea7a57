"""Drop ways that one ride alone looked into and came back from.

Gets a web with its passes counted. People leave a trail to look about, to rest, by mistake, and come
back to where they left. Where many rides go by and only one did that, it is no trail yet. Promises:
a way that leads on to another trail stays, and so does one that two rides took.
"""

from __future__ import annotations

import os

from loopwright.network.detours import way_round
from loopwright.network.web import Web

TWO_RIDES = 2.0
MOST_M = float(os.environ.get("G_MOST", "150"))
CROWD = float(os.environ.get("G_CROWD", "8"))


def drop_glances(web: Web) -> int:
    """Drop glances, the shortest first; gives how many went."""
    dropped = 0
    for number in web.weakest_first():
        line = web.lines[number]
        if line.passes >= TWO_RIDES:
            break
        if _comes_back(web, number) and _crowd(web, number) >= CROWD:
            web.drop_line(number)
            dropped += 1
    return dropped


def _comes_back(web: Web, number: int) -> bool:
    """Tell whether whoever rode a line came back to where it leaves."""
    line = web.lines[number]
    if line.length_m > 2 * MOST_M:
        return False
    if line.a == line.b:
        return web.degree(line.a) > 2
    if line.length_m <= MOST_M and (web.loose(number) or line.turned):
        return True
    return way_round(web, number, line.length_m) is not None


def _crowd(web: Web, number: int) -> float:
    """Passes of all rides by the best ridden line that a line hangs on."""
    line = web.lines[number]
    others = (web.at[line.a] | web.at[line.b]) - {number}
    return max((web.lines[k].rides for k in others), default=0.0)
