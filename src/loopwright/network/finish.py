"""Turn a finished web into the Network people see.

Gets a web; gives named stretches and junctions. Names run from west to east, so the same ground
gets the same names whatever the order of rides.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin
from loopwright.model.ids import JunctionId, StretchId
from loopwright.model.network import Aside, Correction, Junction, Network, Stretch
from loopwright.network.passes import suggested
from loopwright.network.seam import seam_row
from loopwright.network.web import Line, Web


def frozen(
    web: Web, origin: Origin, *, unfit: Sequence[Correction] = (), asides: Sequence[Aside] = ()
) -> Network:
    """Name everything and freeze it."""
    nodes = sorted(web.nodes, key=lambda n: (*web.nodes[n][:2].tolist(), n))
    names = {node: JunctionId(f"j{k + 1}") for k, node in enumerate(nodes)}
    lines = sorted(web.lines.values(), key=place_of)
    junctions = tuple(
        Junction(
            id=names[n],
            xy=web.nodes[n][:2],
            ele_m=float(web.nodes[n][2]),
            degree=web.degree(n),
        )
        for n in nodes
    )
    stretches = tuple(
        _stretch(line, StretchId(f"s{k + 1}"), names[line.a], names[line.b])
        for k, line in enumerate(lines)
    )
    return Network(
        origin=origin,
        stretches=stretches,
        junctions=junctions,
        unfit=tuple(unfit),
        asides=tuple(sorted(asides, key=lambda one: (one.ride, one.from_m))),
    )


def _stretch(line: Line, name: StretchId, start: JunctionId, end: JunctionId) -> Stretch:
    overs = sorted(line.overs, key=lambda over: (over.ride, over.first))
    error = np.full(len(line.xyz), np.nan) if line.error is None else line.error
    return Stretch(
        id=name,
        start=start,
        end=end,
        xy=line.xyz[:, :2],
        ele_m=line.xyz[:, 2],
        std_error_m=error,
        passes=tuple(over.public() for over in overs),
        ways=line.ways,
        suggested=suggested(overs),
        name=line.name,
        unridden=line.unridden,
    )


def place_of(line: Line) -> tuple[float, ...]:
    """Give what lines are sorted by: their middle from west to east, then their length."""
    middle = line.xyz[len(line.xyz) // 2]
    return (float(middle[0]), float(middle[1]), float(len(line.xyz)))


def oriented(web: Web, starts: Floats) -> None:
    """Run every line from its western end; a ring anticlockwise, from where rides start on it."""
    for line in web.lines.values():
        if line.a == line.b:
            _orient_ring(web, line, starts)
        elif tuple(line.xyz[-1, :2]) < tuple(line.xyz[0, :2]):
            line.a, line.b, line.xyz = line.b, line.a, line.xyz[::-1]


def _orient_ring(web: Web, line: Line, starts: Floats) -> None:
    x, y = line.xyz[:, 0], line.xyz[:, 1]
    if float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum()) < 0:
        line.xyz = line.xyz[::-1]
    if web.degree(line.a) == 2:
        ring = np.roll(line.xyz[:-1], -seam_row(line.xyz[:, :2], starts), axis=0)
        line.xyz = np.vstack((ring, ring[:1]))
        web.nodes[line.a] = ring[0]
