"""Make one line of a dead end that shows as a narrow loop.

Gets a web; where a rider goes out to a dead end and back, his error moves on meanwhile, and the way
out and the way back may show as a long thin loop. Such a loop is laid along its middle. Promises:
a ring with ground inside stays a ring.
"""

from __future__ import annotations

import numpy as np

from loopwright.geo.polyline import along
from loopwright.model.arrays import Floats
from loopwright.network.web import Web

NARROW_M = 7.0
"""A loop narrower on average is out and back: lines side by side lie farther apart."""
POINTS = 33
"""Places along a loop that are paired, way out with way back."""


def close_tips(web: Web) -> int:
    """Lay narrow loops that hang on one other line along their middle; gives how many."""
    loops = [number for number, line in sorted(web.lines.items()) if line.a == line.b]
    narrow = [number for number in loops if _narrow(web, number)]
    for number in narrow:
        close_tip(web, number)
    return len(narrow)


def _narrow(web: Web, number: int) -> bool:
    line = web.lines[number]
    out, back = _ways(line.xyz)
    wide_m = float(np.hypot(*(out - back)[:, :2].T).mean())
    return web.degree(line.a) == 3 and wide_m < NARROW_M


def close_tip(web: Web, number: int) -> None:
    """Lay a loop along its middle, from its node to its far end."""
    line = web.lines[number]
    out, back = _ways(line.xyz)
    node, tip = line.a, web.new_node()
    web.add_node(tip, (out[-1] + back[-1]) / 2)
    web.add_line(node, tip, (out + back) / 2, line.passes)
    web.drop_line(number)


def _ways(xyz: Floats) -> tuple[Floats, Floats]:
    """Give the way out to the far end of a loop and the way back, turned round."""
    run = along(xyz[:, :2])
    half = np.linspace(0.0, run[-1] / 2, POINTS)
    out = np.column_stack([np.interp(half, run, xyz[:, k]) for k in (0, 1, 2)])
    back = np.column_stack([np.interp(run[-1] - half, run, xyz[:, k]) for k in (0, 1, 2)])
    return out, back
