"""Junctions that are not one place: staggered crossings and triangles.

Gets a drawn park; gives it with some of its junctions drawn apart. Where four lines met, two meet
here and two a few metres on; where three met, a triangle lets everybody turn either way. Promises:
lines end exactly at their nodes.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loopwright.geo.polyline import along, at, length_m
from loopwright.invented.draft import Draft, DraftLine, Kind
from loopwright.invented.lines import part, straight
from loopwright.model.arrays import Floats

SHARE = 0.6
"""Of the junctions so many are drawn apart."""
GAP_M = (8.0, 30.0)
"""From one new junction to the next; in a triangle the shortest side."""
BENT_M = 50.0
"""Over so much of a line its end is led aside."""
PLAIN = {Kind.SINGLE, Kind.ROAD, Kind.HAIRPIN, Kind.BRIDGE}
"""Where lines side by side part, where a ring begins, nothing is drawn apart."""
LEAST_M = 90.0
"""Shorter lines are left as they are."""


def stagger(draft: Draft, rng: np.random.Generator) -> None:
    """Draw junctions apart, in place."""
    for node in range(len(draft.nodes)):
        lines = [line for line in draft.lines if node in {line.a, line.b}]
        plain = all(line.kind in PLAIN and length_m(line.xy) > LEAST_M for line in lines)
        gap_m, wanted = rng.uniform(*GAP_M), rng.uniform() < SHARE
        if not plain or not wanted:
            continue
        ends = sorted(((_bearing(draft, line, node), k) for k, line in enumerate(lines)))
        if len(lines) == 4:
            _apart(draft, [lines[k] for _, k in ends], node, gap_m, first=int(rng.integers(2)))
        elif len(lines) == 3:
            _triangle(draft, lines, node, gap_m)


def _bearing(draft: Draft, line: DraftLine, node: int) -> float:
    """Angle at which a line leaves, radians."""
    ahead = _ahead(line, node, 20.0) - draft.nodes[node]
    return float(np.arctan2(ahead[1], ahead[0]))


def _outward(line: DraftLine, node: int) -> Floats:
    """Points of a line from the node on."""
    return line.xy if line.a == node else line.xy[::-1]


def _ahead(line: DraftLine, node: int, metres: float) -> Floats:
    """Place so far along a line from the node."""
    return np.asarray(at(_outward(line, node), np.array([metres]))[0])


def _apart(draft: Draft, lines: list[DraftLine], node: int, gap_m: float, *, first: int) -> None:
    """Let two neighbouring lines meet here and the other two ``gap_m`` away."""
    one, two = lines[first : first + 2], [*lines[first + 2 :], *lines[:first]]
    here = draft.nodes[node]
    ways = [
        np.sum([_ahead(line, node, 20.0) - here for line in pair], axis=0) for pair in (one, two)
    ]
    ahead = ways[0] - ways[1]
    half = gap_m / 2 * ahead / np.hypot(*ahead)
    nodes = [draft.node(here + move) for move in (half, -half)]
    for pair, new, move in zip((one, two), nodes, (half, -half), strict=True):
        for line in pair:
            _rehang(draft, line, node, new, _led_aside(_outward(line, node), move))
    _link(draft, nodes[0], nodes[1])


def _led_aside(xy: Floats, move: Floats) -> Floats:
    share = np.clip(1.0 - along(xy) / BENT_M, 0.0, 1.0)
    return np.asarray(xy + (share**2 * (3 - 2 * share))[:, None] * move)


def _rehang(draft: Draft, line: DraftLine, node: int, new: int, outward: Floats) -> None:
    """Let a line end at ``new`` where it ended at ``node``; its points are told from there on."""
    here = line.a == node
    hung = replace(line, a=new, xy=outward) if here else replace(line, b=new, xy=outward[::-1])
    draft.lines[draft.lines.index(line)] = hung


def _triangle(draft: Draft, lines: list[DraftLine], node: int, gap_m: float) -> None:
    """Cut three lines short and join their ends."""
    unit = [_ahead(line, node, 1.0) - draft.nodes[node] for line in lines]
    sides = [np.hypot(*(unit[k] - unit[k - 1])) for k in range(3)]
    out_m = gap_m / min(sides)
    if out_m > LEAST_M / 3:
        return
    nodes = []
    for line in lines:
        xy = part(_outward(line, node), out_m, length_m(line.xy))
        nodes.append(draft.node(xy[0]))
        _rehang(draft, line, node, nodes[-1], xy)
    for k in range(3):
        _link(draft, nodes[k - 1], nodes[k])


def _link(draft: Draft, a: int, b: int) -> None:
    xy = straight(draft.nodes[a], draft.nodes[b])
    draft.lines.append(DraftLine(a=a, b=b, xy=xy, kind=Kind.SINGLE))
