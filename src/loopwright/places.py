"""Places on the ground and their stretches on today's network.

Gets lines and points in degrees, gives stretch ids, arcs and split networks; gives arcs a line.
Promises: what no longer finds its place raises NoAnswerError naming it, never a guess.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from loopwright.errors import NoAnswerError
from loopwright.geo import polyline
from loopwright.geo.follow import Followed, Follower
from loopwright.geo.follow_steps import LEAVE_COST
from loopwright.geo.frame import to_degrees, to_local
from loopwright.jobs import Report
from loopwright.model.arrays import Floats
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc, JunctionId, StretchId, Way
from loopwright.model.loops import FoundLoop, SavedLoop
from loopwright.model.network import Junction, Network, Stretch
from loopwright.model.wishes import Place, Question, Wishes

WITHIN_M = 12.0
"""How far a kept line may lie from today's centre line: four times a common receiver error."""
START_REACH_M = 300.0
"""A start further than this from any trail is refused rather than guessed."""
JUNCTION_REACH_M = 20.0
"""A start this near to a junction is the junction; nearer than most stretches are long."""
SAME_POINT_M = 0.05
"""A vertex this near to a split gives way to it."""
STAY_COST = 8 * LEAVE_COST
"""A loop that did not close is matched once more, jumps dear: a trail drawn a little otherwise than
when the loop was kept must not tempt the match over to the line beside it."""
SLIVER_M = 15.0
"""A matched part shorter than this and than a third of its stretch is a slip at a junction."""


def follower(network: Network, *, leave_cost: float = LEAVE_COST) -> Follower:
    """Prepare the network for matching many lines; ``leave_cost`` as for the Follower."""
    return Follower([s.xy for s in network.stretches], within_m=WITHIN_M, leave_cost=leave_cost)


def lap_line(terrain: Terrain, arcs: Sequence[Arc]) -> Floats:
    """Give the closed line of arcs: ``(n, 3)`` lon, lat in degrees and height in metres."""
    by_id = {s.id: s for s in terrain.network.stretches}
    parts = []
    for stretch_id, way in arcs:
        stretch = by_id[stretch_id]
        part = np.column_stack((stretch.xy, stretch.ele_m))
        parts.append((part if way is Way.FORWARD else part[::-1])[:-1])
    whole = np.vstack(parts)
    whole = np.vstack((whole, whole[:1]))
    lat, lon = to_degrees(terrain.network.origin, whole[:, :2])
    return np.column_stack((lon, lat, whole[:, 2]))


def saved_loops(
    terrain: Terrain, wishes: Wishes, loops: Sequence[FoundLoop]
) -> tuple[SavedLoop, ...]:
    """Give found loops the form kept in a document: lines on the ground, named by rank."""
    return tuple(
        SavedLoop(
            name=f"loop {loop.rank}",
            line=lap_line(terrain, loop.arcs),
            wishes=wishes,
            score=loop.score,
            match=loop.match,
            rank=loop.rank,
        )
        for loop in loops
    )


def arcs_of_line(
    terrain: Terrain, loop: SavedLoop, report: Report
) -> tuple[tuple[Arc, ...], float]:
    """Match a kept loop: its arcs in order, and metres from the first arc's start to the gate.

    Raises NoAnswerError when the line no longer closes on the network, Cancelled when ``report``
    says so.
    """
    network = terrain.network
    line = to_local(network.origin, loop.line[:, 1], loop.line[:, 0])
    for cost in (LEAVE_COST, STAY_COST):
        match = follower(network, leave_cost=cost)
        parts = _without_slivers(network, match.follow(line, check=report.check))
        arcs, start_m = _closed(network, parts)
        if arcs:
            return arcs, start_m
    raise NoAnswerError(
        loop.name,
        "this loop no longer fits the trail network",
        "search again, or look at what changed with the check command",
    )


def _without_slivers(network: Network, parts: Iterable[Followed]) -> list[Followed]:
    kept = []
    for part in parts:
        whole = polyline.length_m(network.stretches[part.index].xy)
        if part.length_m >= min(SLIVER_M, whole / 3):
            kept.append(part)
    return kept


def _closed(network: Network, parts: list[Followed]) -> tuple[tuple[Arc, ...], float]:
    if not parts:
        return (), 0.0
    first, last = parts[0], parts[-1]
    stretch = network.stretches[first.index]
    whole = polyline.length_m(stretch.xy)
    start_m = 0.0
    same = (first.index, first.forward) == (last.index, last.forward)
    split = same and len(parts) > 1 and first.length_m + last.length_m < 1.2 * whole
    if split:
        start_m = first.from_m if first.forward else whole - first.to_m
        parts = parts[:-1]
    arcs = tuple(
        (network.stretches[p.index].id, Way.FORWARD if p.forward else Way.BACKWARD) for p in parts
    )
    return (arcs, start_m) if closes(network, arcs) else ((), 0.0)


def closes(network: Network, arcs: Sequence[Arc]) -> bool:
    """Tell whether each arc starts where the one before ends, round to the first."""
    ends = {s.id: (s.start, s.end) for s in network.stretches}

    def end(arc: Arc, *, last: bool) -> JunctionId:
        start, stop = ends[arc[0]]
        return stop if (arc[1] is Way.FORWARD) == last else start

    pairs = zip(arcs, (*arcs[1:], *arcs[:1]), strict=True)
    return bool(arcs) and all(end(a, last=True) == end(b, last=False) for a, b in pairs)


def resolve(terrain: Terrain, wishes: Wishes, start_at: JunctionId | None) -> Question:
    """Find the stretches that wishes name; raises NoAnswerError for a must that is gone."""
    network = terrain.network
    if not (wishes.must or wishes.avoid):
        return Question(wishes=wishes, start_at=start_at)
    match = follower(network)
    must = frozenset(s for place in wishes.must for s in _stretches(network, match, place, "must"))
    avoid = frozenset(
        s for place in wishes.avoid for s in _stretches(network, match, place, "avoid")
    )
    return Question(wishes=wishes, start_at=start_at, must=must, avoid=avoid)


def _stretches(network: Network, match: Follower, place: Place, role: str) -> frozenset[StretchId]:
    line = to_local(network.origin, place.line[:, 1], place.line[:, 0])
    found: dict[StretchId, float] = {}
    for part in match.follow(line):
        stretch = network.stretches[part.index]
        share = part.length_m / max(polyline.length_m(stretch.xy), 1e-9)
        found[stretch.id] = found.get(stretch.id, 0.0) + share
    ids = frozenset(s for s, share in found.items() if share >= 0.5)
    if not ids and role == "must":
        raise NoAnswerError(
            "wishes",
            "a stretch that must be ridden is no longer on the network",
            "take it off the list or choose it again on the map",
        )
    return ids


def with_start(network: Network, start: tuple[float, float]) -> tuple[Network, JunctionId]:
    """Find the junction at ``start`` (lat, lon degrees), or split the nearest stretch there.

    Raises NoAnswerError when no trail lies within 300 m.
    """
    point = to_local(network.origin, np.array([start[0]]), np.array([start[1]]))
    gaps = [float(np.hypot(*(j.xy - point[0]))) for j in network.junctions]
    near = int(np.argmin(gaps))
    if gaps[near] <= JUNCTION_REACH_M:
        return network, network.junctions[near].id
    hits = [polyline.project(s.xy, point) for s in network.stretches]
    index = int(np.argmin([abs(off[0]) for _, off in hits]))
    off_m, at_m = float(abs(hits[index][1][0])), float(hits[index][0][0])
    if not off_m <= START_REACH_M:
        raise NoAnswerError(
            f"start {start[0]:.5f},{start[1]:.5f}",
            f"no trail within {START_REACH_M:.0f} m (the nearest is {off_m / 1000:.1f} km away)",
            "give a start on the trails of this area",
        )
    stretch = network.stretches[index]
    if at_m <= JUNCTION_REACH_M:
        return network, stretch.start
    if at_m >= polyline.length_m(stretch.xy) - JUNCTION_REACH_M:
        return network, stretch.end
    return _split(network, index, at_m)


def _split(network: Network, index: int, at_m: float) -> tuple[Network, JunctionId]:
    stretch = network.stretches[index]
    run = polyline.along(stretch.xy)
    before, after = np.searchsorted(run, (at_m - SAME_POINT_M, at_m + SAME_POINT_M))
    columns = (stretch.xy[:, 0], stretch.xy[:, 1], stretch.ele_m, stretch.std_error_m)
    middle = [float(np.interp(at_m, run, column)) for column in columns]
    gate = JunctionId("start")
    halves = (
        _part(stretch, slice(0, int(before)), middle, at_end=True, gate=gate),
        _part(stretch, slice(int(after), None), middle, at_end=False, gate=gate),
    )
    junction = Junction(id=gate, xy=np.array(middle[:2]), ele_m=middle[2], degree=2)
    stretches = (*network.stretches[:index], *halves, *network.stretches[index + 1 :])
    split = replace(network, stretches=stretches, junctions=(*network.junctions, junction))
    return split, gate


def _part(
    stretch: Stretch, rows: slice, middle: list[float], *, at_end: bool, gate: JunctionId
) -> Stretch:
    def joined(values: Floats, extra: Floats) -> Floats:
        return np.concatenate((values, extra) if at_end else (extra, values))

    return replace(
        stretch,
        id=StretchId(f"{stretch.id}{'a' if at_end else 'b'}"),
        start=stretch.start if at_end else gate,
        end=gate if at_end else stretch.end,
        xy=joined(stretch.xy[rows], np.array([middle[:2]])),
        ele_m=joined(stretch.ele_m[rows], np.array(middle[2:3])),
        std_error_m=joined(stretch.std_error_m[rows], np.array(middle[3:4])),
    )
