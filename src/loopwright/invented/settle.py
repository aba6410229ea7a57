"""From a finished draft to a true network.

Gets a draft and the land; gives a ``Network`` without error. Promises: no node with two lines is
left as a junction (a ring keeps its seam), heights follow the land and rise over bridges.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loopwright.invented.draft import Draft, DraftLine, Kind
from loopwright.invented.land import Land
from loopwright.invented.lines import chain
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin
from loopwright.model.ids import JunctionId, StretchId
from loopwright.model.network import Junction, Network, Stretch

RAMP_M = 75.0
ROUND_M = 4.0
_STRONGEST = sorted(Kind, key=lambda kind: (kind is not Kind.BRIDGE, kind is Kind.SINGLE, kind))
"""Which name two merged lines go by."""


def settle(draft: Draft, land: Land, origin: Origin) -> tuple[Network, dict[StretchId, Kind]]:
    """Turn the draft into a network; also tells what kind of line each stretch was drawn as."""
    for node in range(len(draft.nodes)):
        _dissolve(draft, node)
    used = sorted({node for line in draft.lines for node in (line.a, line.b)})
    names = {node: JunctionId(f"j{k}") for k, node in enumerate(used)}
    stretches, kinds = [], {}
    for k, line in enumerate(draft.lines):
        name = StretchId(f"s{k}")
        stretches.append(_stretch(name, line, names, land))
        kinds[name] = line.kind
    heights = land.height(np.array([draft.nodes[node] for node in used]).reshape(-1, 2))
    junctions = [
        Junction(id=names[node], xy=draft.nodes[node], ele_m=float(ele), degree=draft.degree(node))
        for node, ele in zip(used, heights, strict=True)
    ]
    network = Network(origin=origin, stretches=tuple(stretches), junctions=tuple(junctions))
    return network, kinds


def _dissolve(draft: Draft, node: int) -> None:
    here = [line for line in draft.lines if node in {line.a, line.b}]
    if len(here) != 2 or any(line.a == line.b for line in here):
        return
    one, two = _ending_at(here[0], node), _starting_at(here[1], node)
    merged = DraftLine(
        a=one.a,
        b=two.b,
        xy=chain([one.xy, two.xy], round_m=ROUND_M),
        kind=min(one.kind, two.kind, key=_STRONGEST.index),
        over=one.over + two.over,
    )
    place = draft.lines.index(here[0])
    draft.lines[place] = merged
    draft.lines.remove(here[1])


def _ending_at(line: DraftLine, node: int) -> DraftLine:
    return line if line.b == node else _turned(line)


def _starting_at(line: DraftLine, node: int) -> DraftLine:
    return line if line.a == node else _turned(line)


def _turned(line: DraftLine) -> DraftLine:
    return replace(line, a=line.b, b=line.a, xy=line.xy[::-1])


def _stretch(name: StretchId, line: DraftLine, names: dict[int, JunctionId], land: Land) -> Stretch:
    return Stretch(
        id=name,
        start=names[line.a],
        end=names[line.b],
        xy=line.xy,
        ele_m=heights_on(land, line.xy, line.over),
        std_error_m=np.zeros(len(line.xy)),
    )


def heights_on(land: Land, xy: Floats, over: tuple[tuple[float, float, float], ...] = ()) -> Floats:
    """Heights ``(n,)`` metres along a line, raised over its bridges."""
    ele = land.height(xy)
    for x, y, lift in over:
        away = np.minimum(np.hypot(xy[:, 0] - x, xy[:, 1] - y), RAMP_M)
        ele = ele + lift * np.cos(np.pi / 2 * away / RAMP_M) ** 2
    return ele
