"""Apply what a person changed.

Gets a finished web and corrections anchored to places; changes the web and gives those that no
longer find their place. Promises: a correction either does all it says or nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from loopwright.geo.frame import to_local
from loopwright.geo.polyline import along
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin
from loopwright.model.ids import Way, Ways
from loopwright.model.network import Correction, CorrectionKind
from loopwright.network.anchor import TOUCH_M, Part, carve, crossings, followed, touched
from loopwright.network.drawn import add_drawn, lay_line
from loopwright.network.stations import stations_of
from loopwright.network.web import Line, Web

MERGE_M = 6.0
"""Ends this near become one junction; further apart a line is drawn between them."""
STUB_M = 8.0
"""What a cut leaves at a junction shorter than this goes too."""


def corrected(web: Web, origin: Origin, corrections: Sequence[Correction]) -> list[Correction]:
    """Apply ``corrections`` in order; gives those that did not fit."""
    return [one for one in corrections if not _apply(web, _local(origin, one.line), one)]


def _local(origin: Origin, line: Floats) -> Floats:
    xy = to_local(origin, line[:, 1], line[:, 0])
    return np.column_stack((xy, line[:, 2]))


def _apply(web: Web, xyz: Floats, one: Correction) -> bool:
    if len(xyz) < 2 or not np.isfinite(xyz[:, :2]).all():
        return False
    return _ACTIONS[one.kind](web, xyz, one)


def _join(web: Web, xyz: Floats, _: Correction) -> bool:
    ends = xyz[[0, -1], :2]
    if any(_nearest_m(web, end) > TOUCH_M for end in ends):
        return False
    a, b = touched(web, xyz[0]), touched(web, xyz[-1])
    # Making the second node may split the line the first lies on; nodes keep their numbers.
    if a is None or b is None or a == b:
        return False
    if np.hypot(*(web.nodes[a][:2] - web.nodes[b][:2])) < MERGE_M:
        middle = (web.nodes[a] + web.nodes[b]) / 2
        web.merge_nodes(a, b)
        web.move_node(a, middle)
    else:
        lay_line(web, a, b, stations_of([xyz]).xyz)
    return True


def _nearest_m(web: Web, place: Floats) -> float:
    gaps = [np.hypot(*(line.xyz[:, :2] - place).T).min() for line in web.lines.values()]
    return float(min(gaps, default=np.inf))


def _cut(web: Web, xyz: Floats, _: Correction) -> bool:
    places = crossings(web, xyz[:, :2])
    # From the far end back, so that metres along what is left of a line stay true.
    left: dict[int, int] = {}
    for number, at_m in sorted(places, key=lambda one: (one[0], -one[1])):
        rest = left.get(number, number)
        if rest in web.lines:
            left[number] = _part_line(web, rest, at_m)
    return bool(places)


def _part_line(web: Web, number: int, at_m: float) -> int:
    """Part a line; gives the number of its first part, which may be gone."""
    line = web.lines[number]
    run = along(line.xyz[:, :2])
    if len(run) < 3:
        web.drop_line(number)
        return number
    vertex = int(np.clip(np.abs(run - at_m).argmin(), 1, len(run) - 2))
    a, b = line.a, line.b
    node = web.new_node()
    first, second = web.split_line(number, vertex, node)
    web.detach(second, node, web.new_node())
    for part, root in ((first, a), (second, b)):
        if web.lines[part].length_m < STUB_M and web.degree(root) > 1:
            web.drop_line(part)
    return first


def _hide(web: Web, xyz: Floats, _: Correction) -> bool:
    parts = followed(web, xyz)
    for part in parts:
        web.drop_line(carve(web, part))
    web.tidy()
    return bool(parts)


def _one_way(web: Web, xyz: Floats, one: Correction) -> bool:
    parts = followed(web, xyz)
    for part in parts:
        # A map's word does not stand against a ride: the person was there.
        if not (one.source and _ridden_against(web.lines[part.number], part)):
            web.lines[carve(web, part)].ways = Ways.FORWARD if part.forward else Ways.BACKWARD
    return bool(parts)


def _ridden_against(line: Line, part: Part) -> bool:
    against = Way.BACKWARD if part.forward else Way.FORWARD
    return any(over.way is against for over in line.overs)


def _close(web: Web, xyz: Floats, _: Correction) -> bool:
    parts = followed(web, xyz)
    for part in parts:
        web.lines[carve(web, part)].ways = Ways.CLOSED
    return bool(parts)


def _rename(web: Web, xyz: Floats, one: Correction) -> bool:
    parts = followed(web, xyz)
    for part in parts:
        web.lines[part.number].name = one.value
    return bool(parts)


def _draw(web: Web, xyz: Floats, one: Correction) -> bool:
    fits = add_drawn(web, xyz, name=one.value)
    web.tidy()
    return fits


_ACTIONS: dict[CorrectionKind, Callable[[Web, Floats, Correction], bool]] = {
    CorrectionKind.JOIN: _join,
    CorrectionKind.CUT: _cut,
    CorrectionKind.HIDE: _hide,
    CorrectionKind.ONE_WAY: _one_way,
    CorrectionKind.CLOSED: _close,
    CorrectionKind.RENAME: _rename,
    CorrectionKind.DRAWN: _draw,
}
