"""Drawing a park from its plan: singletrack, hairpins, side-by-side lines, bridges, rings.

Gets a plan and a seeded generator; gives a draft. Promises: deterministic; whatever finds no room
is left out rather than squeezed in.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from loopwright.geo.polyline import length_m
from loopwright.invented.draft import Draft, DraftLine, Kind
from loopwright.invented.layout import Plan, meeting
from loopwright.invented.lines import beside, ring, straight, wiggle, zigzag
from loopwright.model.arrays import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Taste:
    """How much of what a park has."""

    hairpins: int = 3
    side_by_side: int = 3
    bridges: int = 2
    spurs: int = 2
    lollipops: int = 1
    rings: int = 1
    roads: int = 2
    gap_m: tuple[float, float] = (8.0, 13.0)
    run_m: tuple[float, float] = (80.0, 200.0)


def draw(plan: Plan, taste: Taste, rng: np.random.Generator) -> Draft:
    """Draw the whole park."""
    draft = Draft(nodes=[np.array(place) for place in plan.places])
    kept = {pair for pair, _ in plan.crossings}
    links = [link for link in plan.links if link not in kept]
    _straight_first(draft, [links[k] for k in rng.permutation(len(links))])
    _bridges(draft, plan, rng)
    _roads(draft, taste.roads)
    _hairpins(draft, taste.hairpins, rng)
    _wind(draft, rng)
    _spurs(draft, taste, rng)
    _side_by_side(draft, taste, rng)
    _lone_rings(draft, taste.rings, rng)
    return draft


def draw_streets(plan: Plan) -> Draft:
    """Draw a town: every link a straight street."""
    draft = Draft(nodes=[np.array(place) for place in plan.places])
    for a, b in plan.links:
        xy = straight(draft.nodes[a], draft.nodes[b])
        draft.lines.append(DraftLine(a=a, b=b, xy=xy, kind=Kind.STREET))
    return draft


def _straight_first(draft: Draft, order: list[tuple[int, int]]) -> None:
    for a, b in order:
        xy = straight(draft.nodes[a], draft.nodes[b])
        draft.lines.append(DraftLine(a=a, b=b, xy=xy, kind=Kind.SINGLE))


def _replace(draft: Draft, old: DraftLine, new: DraftLine) -> bool:
    place = draft.lines.index(old)
    draft.lines.pop(place)
    fits = draft.has_room(new)
    draft.lines.insert(place, new if fits else old)
    return fits


def _roads(draft: Draft, count: int) -> None:
    plain = [line for line in draft.lines if line.kind is Kind.SINGLE]
    for old in sorted(plain, key=lambda line: -length_m(line.xy))[:count]:
        draft.lines[draft.lines.index(old)] = replace(old, kind=Kind.ROAD)


def _hairpins(draft: Draft, count: int, rng: np.random.Generator) -> None:
    for old in [line for line in draft.lines if line.kind is Kind.SINGLE]:
        if count == 0:
            return
        new = _hairpin(draft, old, rng)
        if new is not None and _replace(draft, old, new):
            count -= 1


def _hairpin(draft: Draft, old: DraftLine, rng: np.random.Generator) -> DraftLine | None:
    legs, gap = int(rng.integers(3, 7)), float(rng.uniform(7.0, 10.0))
    leg = float(rng.uniform(40.0, 80.0))
    if length_m(old.xy) < legs * gap + 130.0:
        return None
    ends = draft.nodes[old.a], draft.nodes[old.b]
    xy = zigzag(rng, *ends, legs=legs, leg_m=leg, gap_m=gap)
    return DraftLine(a=old.a, b=old.b, xy=xy, kind=Kind.HAIRPIN)


def _bridges(draft: Draft, plan: Plan, rng: np.random.Generator) -> None:
    for pair, under in plan.crossings:
        below = _line_of(draft, under)
        xy = straight(draft.nodes[pair[0]], draft.nodes[pair[1]])
        x, y = meeting(plan.places, pair, under)
        over = ((x, y, float(rng.uniform(6.0, 9.0))),)
        new = DraftLine(a=pair[0], b=pair[1], xy=xy, kind=Kind.BRIDGE, over=over)
        if below is not None and draft.has_room(new, crossing=below):
            draft.lines.append(new)
            draft.lines[draft.lines.index(below)] = replace(below, kind=Kind.ROAD)


def _line_of(draft: Draft, link: tuple[int, int]) -> DraftLine | None:
    for line in draft.lines:
        if {line.a, line.b} == set(link) and line.kind in {Kind.SINGLE, Kind.ROAD}:
            return line
    return None


def _wind(draft: Draft, rng: np.random.Generator) -> None:
    for old in [line for line in draft.lines if line.kind is Kind.SINGLE]:
        for scale in (1.0, 1.0, 0.8, 0.6, 0.4, 0.2):
            xy = wiggle(rng, draft.nodes[old.a], draft.nodes[old.b], scale=scale)
            if _replace(draft, old, DraftLine(a=old.a, b=old.b, xy=xy, kind=Kind.SINGLE)):
                break


def _spurs(draft: Draft, taste: Taste, rng: np.random.Generator) -> None:
    left = {"spur": taste.spurs, "lollipop": taste.lollipops}
    for node in [int(k) for k in rng.permutation(len(draft.nodes))]:
        wanted = "lollipop" if left["lollipop"] else "spur"
        if not left[wanted] or not 1 <= draft.degree(node) <= 3:
            continue
        if _spur(draft, node, rng, lollipop=wanted == "lollipop"):
            left[wanted] -= 1


def _spur(draft: Draft, node: int, rng: np.random.Generator, *, lollipop: bool) -> bool:
    turn, size = rng.uniform(0, 2 * np.pi), float(rng.uniform(120.0, 220.0))
    for step in range(12):
        angle = turn + step * np.pi / 6
        away = np.array([np.cos(angle), np.sin(angle)])
        tip = draft.nodes[node] + size * away
        stick = wiggle(rng, draft.nodes[node], tip, scale=0.6)
        if _add_spur(draft, node, tip, stick, rng=rng, away=away, lollipop=lollipop):
            return True
    return False


def _add_spur(
    draft: Draft,
    node: int,
    tip: Floats,
    stick: Floats,
    *,
    rng: np.random.Generator,
    away: Floats,
    lollipop: bool,
) -> bool:
    end = draft.node(tip)
    new = [DraftLine(a=node, b=end, xy=stick, kind=Kind.SPUR)]
    if lollipop:
        around = ring(rng, tip, outward=away, length_m=float(rng.uniform(350.0, 550.0)))
        new.append(DraftLine(a=end, b=end, xy=around, kind=Kind.RING))
    if all(draft.has_room(line) for line in new):
        draft.lines += new
        return True
    draft.nodes.pop()
    return False


def _side_by_side(draft: Draft, taste: Taste, rng: np.random.Generator) -> None:
    left = taste.side_by_side
    for line in [line for line in draft.lines if line.kind is Kind.SINGLE]:
        if left == 0:
            return
        left -= _twin(draft, line, taste, rng)


def _twin(draft: Draft, line: DraftLine, taste: Taste, rng: np.random.Generator) -> bool:
    total, run = length_m(line.xy), float(rng.uniform(*taste.run_m))
    lead, gap = 20.0, float(rng.uniform(*taste.gap_m))
    run += 2 * lead
    if total < run + 120.0:
        return False
    begin = float(rng.uniform(60.0, total - run - 60.0))
    xy = beside(line.xy, from_m=begin, to_m=begin + run, gap_m=gap, lead_m=lead)
    trial = DraftLine(a=line.a, b=line.b, xy=xy, kind=Kind.B_LINE)
    if not draft.has_room(trial, crossing=line):
        return False
    first, second = draft.split(line, (begin, begin + run))
    draft.lines.append(DraftLine(a=first, b=second, xy=xy, kind=Kind.B_LINE))
    return True


def _lone_rings(draft: Draft, count: int, rng: np.random.Generator) -> None:
    for _ in range(40 * count):
        if count == 0:
            return
        reach = float(np.abs(np.array(draft.nodes)).max()) + 150.0
        seam = rng.uniform(-reach, reach, 2)
        xy = ring(rng, seam, outward=seam, length_m=float(rng.uniform(450.0, 750.0)))
        node = draft.node(seam)
        new = DraftLine(a=node, b=node, xy=xy, kind=Kind.RING)
        if draft.has_room(new):
            draft.lines.append(new)
            count -= 1
        else:
            draft.nodes.pop()
