"""Turn a fitted web into the Network people see.

Gets a web and the samples; gives named stretches and junctions with passes and errors. Names run
from west to east, so the same ground gets the same names whatever the order of rides.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin
from loopwright.model.ids import JunctionId, RideId, StretchId
from loopwright.model.network import Junction, Network, Stretch
from loopwright.network.attract import Aligned
from loopwright.network.certain import std_error_m
from loopwright.network.passes import passes_of, suggested
from loopwright.network.samples import Samples
from loopwright.network.stations import abreast_of, stations_of
from loopwright.network.web import Line, Web

REACH_M = 8.0


def finished(
    web: Web, samples: Samples, aligned: Aligned, ele: Floats, sigma: Floats,
    rides: Sequence[RideId], origin: Origin,
) -> Network:  # fmt: skip
    """Name, measure and freeze."""
    for line in web.lines.values():
        _orient(web, line)
    lines = sorted(web.lines.values(), key=lambda line: _order(line.xyz))
    table = stations_of([line.xyz for line in lines])
    near = abreast_of(table, aligned.xy, aligned.head, ele, reach_m=REACH_M)
    error = std_error_m(table, near, samples, sigma)
    passes = passes_of(table, near, samples, aligned.head, rides)
    nodes = sorted(web.nodes, key=lambda n: (*web.nodes[n][:2].tolist(), n))
    names = {node: JunctionId(f"j{k + 1}") for k, node in enumerate(nodes)}
    stretches = []
    for k, line in enumerate(lines):
        part = slice(table.first[k], table.first[k + 1])
        stretches.append(Stretch(
            id=StretchId(f"s{k + 1}"), start=names[line.a], end=names[line.b],
            xy=table.xyz[part, :2], ele_m=table.xyz[part, 2], std_error_m=error[part],
            passes=passes[k], suggested=suggested(passes[k]),
        ))  # fmt: skip
    junctions = tuple(
        Junction(
            id=names[n], xy=web.nodes[n][:2], ele_m=float(web.nodes[n][2]), degree=web.degree(n)
        )
        for n in nodes
    )
    return Network(origin=origin, stretches=tuple(stretches), junctions=junctions)


def _order(xyz: Floats) -> tuple[float, ...]:
    middle = xyz[len(xyz) // 2]
    return (float(middle[0]), float(middle[1]), float(len(xyz)))


def _orient(web: Web, line: Line) -> None:
    """Run every line from its western end; a ring anticlockwise from its western point."""
    if line.a != line.b:
        if tuple(line.xyz[-1, :2]) < tuple(line.xyz[0, :2]):
            line.a, line.b, line.xyz = line.b, line.a, line.xyz[::-1]
        return
    x, y = line.xyz[:, 0], line.xyz[:, 1]
    if float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum()) < 0:
        line.xyz = line.xyz[::-1]
    if web.degree(line.a) == 2:
        west = int(line.xyz[:-1, 0].argmin())
        ring = np.roll(line.xyz[:-1], -west, axis=0)
        line.xyz = np.vstack((ring, ring[:1]))
        web.nodes[line.a] = ring[0]
