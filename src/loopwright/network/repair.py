"""Mend a woven web into a trail network.

Gets a web straight from the runs; gives it without the flaws that noise leaves: links too short
to be a trail, stubs, nodes nothing branches from, the same line twice.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from loopwright.geo.polyline import resample
from loopwright.network.stations import BRIDGE_M
from loopwright.network.tips import close_tips
from loopwright.network.wander import WANDERS_M
from loopwright.network.web import Line, Web

STUB_M = 30.0
"""A dead end shorter than this is a rider's turning round, or noise."""
KNOT_M = 40.0
"""A loop at one junction shorter than this is noise: a turning circle of 6 m radius."""
TWIN_ERRORS = 2.3
"""Lines closer than this many standard errors of their difference are one. Measured on invented
rides of 3 and 5 m error: true side-by-side lines show 2.5 to 5, split bundles 1.6 to 2.2."""
TWIN_WANDERS = 7.0
"""The same told by how far rides stray aside within a short run (`wander.py`), where that tells
more. At 3 and 5 m of error, fading over 150 to 600 m of riding, both say the same; on foot an error
fades within 40 to 160 m, and parts bundles for as long. Of eleven bubbles nearer than this in two
invented networks walked at 3 to 5 m nine were false."""
PAST_M = 4.5
"""A line passing a junction nearer than this meets it, unless a bridge parts them."""
SHORT_M = (70.0, 130.0)
"""Twins shorter than this are more doubtful, for rides that wander little and far: over half of it
errors hold one side by chance. On foot these last as long as a ride's whole error."""
GRAINS, COARSE_M = 3.5, 9.0
"""Twins shorter than so many recorded steps may be corners cut by sparse recording: a chord of
22 m over a bend of 10 m radius stands off by 6 m."""
COARSE_SHARE = 0.4
"""Of long steps more: a curve through points misses the trail by a fifth of their gap at most, to
either side (`samples.py`)."""
TWIN_M = 4.0
"""Two lines between the same ends nowhere further apart than this are one line."""


def mend(web: Web) -> None:
    """Repair in place until nothing changes: no step adds a line, tips only use up loops."""
    before = (-1, -1)
    while before != (len(web.lines), len(web.nodes)):
        before = (len(web.lines), len(web.nodes))
        dissolve(web)
        _contract(web)
        _prune(web)
        close_tips(web)
        dissolve(web)


def dissolve(web: Web) -> None:
    """Join lines at nodes where nothing branches."""
    for node in sorted(web.nodes):
        if node in web.nodes and len(web.at[node]) == 2:
            web.join_at(node)


def _contract(web: Web) -> None:
    for number in sorted(web.lines, key=lambda k: (web.lines[k].length_m, k)):
        line = web.lines.get(number)
        if line is None or line.length_m > web.link_m:
            continue
        if line.a == line.b:
            web.drop_line(number)
        elif min(web.degree(line.a), web.degree(line.b)) > 2:
            web.contract(number)


def _prune(web: Web) -> None:
    for number in sorted(web.lines, key=lambda k: (web.lines[k].length_m, k)):
        line = web.lines[number]
        ends = sorted((web.degree(line.a), web.degree(line.b)))
        stub = ends[0] == 1 and ends[1] > 2 and line.length_m < STUB_M
        if stub or (line.a == line.b and ends[1] > 2 and line.length_m < KNOT_M):
            web.drop_line(number)


def untwin(web: Web, sigma: float, grain_m: float = 0.0, wander_m: float = 0.0) -> int:
    """Drop the weaker of two lines between the same ends when errors could part them.

    Gives how many went. ``sigma`` is the usual error of a ride in metres, ``grain_m`` the usual
    spacing of recorded points, ``wander_m`` how far rides stray aside within a short run; lines
    must have their passes counted.
    """
    usual_m = max(TWIN_ERRORS * sigma, TWIN_WANDERS * wander_m)
    short_m = float(np.interp(wander_m, WANDERS_M, SHORT_M))
    groups: dict[tuple[int, int], list[int]] = {}
    for number, line in sorted(web.lines.items()):
        if line.a != line.b:
            groups.setdefault((min(line.a, line.b), max(line.a, line.b)), []).append(number)
    dropped = 0
    for numbers in groups.values():
        ranked = sorted(numbers, key=lambda k: (-web.lines[k].passes, k))
        for k, one in enumerate(ranked):
            for two in ranked[k + 1 :]:
                there = one in web.lines and two in web.lines
                if there and _twins(web.lines[one], web.lines[two], usual_m, grain_m, short_m):
                    web.drop_line(two)
                    dropped += 1
    return dropped


def _twins(one: Line, two: Line, usual_m: float, grain_m: float, short_m: float) -> bool:
    """Tell whether the lines lie no further apart than their errors: ``usual_m`` for one pass.

    Lines shorter than ``short_m`` are more doubtful.
    """
    if one.parted and two.parted:
        return False
    if abs(one.length_m - two.length_m) > 0.3 * max(one.length_m, two.length_m) + TWIN_M:
        return False
    count = 1 / max(one.passes, 1.0) + 1 / max(two.passes, 1.0)
    limit = max(TWIN_M, usual_m * max(one.worse, two.worse) * count**0.5)
    short = min(one.length_m, two.length_m)
    limit *= 1.0 + 0.5 * float(np.clip((short_m - short) / short_m * 2, 0.0, 1.0))
    if short < GRAINS * grain_m:
        limit = max(limit, COARSE_M, COARSE_SHARE * grain_m)
    a, b = resample(one.xyz[:, :2], 2.0), resample(two.xyz[:, :2], 2.0)
    there, _ = cKDTree(a).query(b)
    back, _ = cKDTree(b).query(a)
    return bool(max(np.percentile(there, 80), np.percentile(back, 80)) < limit)


def attach(web: Web) -> int:
    """Join junctions to lines that run past them on one level; gives how many were joined."""
    inner = [(number, line.xyz[1:-1]) for number, line in sorted(web.lines.items())]
    inner = [(number, xyz) for number, xyz in inner if len(xyz)]
    if not inner:
        return 0
    owner = np.repeat([number for number, _ in inner], [len(xyz) for _, xyz in inner])
    places = np.concatenate([xyz for _, xyz in inner])
    tree = cKDTree(places[:, :2])
    joined = 0
    for node in sorted(web.nodes):
        if node not in web.nodes or web.degree(node) == 2:
            continue
        near = np.array(tree.query_ball_point(web.nodes[node][:2], PAST_M), dtype=np.int64)
        joined += _attached(web, node, sorted(set(owner[near].tolist())))
    return joined


def _attached(web: Web, node: int, numbers: list[int]) -> bool:
    """Join ``node`` to the first of the lines near it that is not its own."""
    here = web.nodes[node]
    for number in numbers:
        line = web.lines.get(number)
        if line is None or node in {line.a, line.b}:
            continue
        gap = np.hypot(*(line.xyz[1:-1, :2] - here[:2]).T)
        vertex = int(gap.argmin()) + 1
        if gap[vertex - 1] > PAST_M or abs(line.xyz[vertex, 2] - here[2]) > BRIDGE_M:
            continue
        other = web.new_node()
        web.split_line(number, vertex, other)
        web.merge_nodes(node, other)
        return True
    return False
