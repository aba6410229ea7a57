"""Drop small loops that errors tie where rides wander.

Gets a web with its passes counted. A receiver on somebody on foot strays aside and comes back
within a hundred metres: rides of one trail part and meet again, mostly where trails fork. Promises:
trails told apart by their passes stay, but for loops too short to tell them; so do wide loops that
several walked.
"""

from __future__ import annotations

import numpy as np
from shapely import Polygon

from loopwright.model.arrays import Floats
from loopwright.network.detours import way_round
from loopwright.network.spans import LENGTHS_M
from loopwright.network.tips import close_tip
from loopwright.network.wander import WANDERS_M
from loopwright.network.web import Web

ROUND_M = (0.0, 190.0)
"""Loops shorter all the way round are doubtful, for rides that wander little and far. On 55
invented networks walked at 3 to 6 m, of lines on shorter loops the junctions were better without
92 and worse without 26, mostly by a loop at a true fork; from 190 to 240 m it was 11 and 20, from
there to 400 m 18 and 133."""
WIDE_M, FEW = 20.0, 3.5
"""A loop wider on average, every line of which shows so many passes and more, is one all the same.
A circle of 190 m is 30 m wide by this measure: twice its area by its length."""


def drop_knots(web: Web, wander_m: float) -> int:
    """Drop the weakest line of every doubtful loop; gives how many went.

    ``wander_m`` is how far rides stray aside within a short run.
    """
    most_m, dropped = float(np.interp(wander_m, WANDERS_M, ROUND_M)), 0
    if most_m == 0:
        return 0
    for number in web.weakest_first():
        line = web.lines[number]
        bound_m = min(most_m, 2 * LENGTHS_M[0]) if line.parted else most_m
        way = way_round(web, number, bound_m - line.length_m)
        if way is None:
            continue
        if line.passes < FEW or _width_m(web, number, way) < WIDE_M:
            if line.a == line.b and web.degree(line.a) == 3:
                close_tip(web, number)
            else:
                web.drop_line(number)
            dropped += 1
    return dropped


def _width_m(web: Web, number: int, way: list[int]) -> float:
    """Mean width of a loop in metres: its area against half its length."""
    loop = Polygon(_ring(web, number, way))
    return 2.0 * float(loop.area) / max(float(loop.length), 1e-9)


def _ring(web: Web, number: int, way: list[int]) -> Floats:
    """Places ``(n, 2)`` all the way round a loop."""
    line = web.lines[number]
    node, parts = line.b, [line.xyz[:, :2]]
    for other in way:
        part = web.lines[other]
        parts.append(part.seen_from(node)[:, :2])
        node = part.b if part.a == node else part.a
    return np.concatenate(parts)
