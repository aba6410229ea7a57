"""Move forks to where rides part.

Gets a web and aligned samples. A line that branches off begins as one ride; where that ride was off
its trail, the fork lies some tens of metres along, often with a hook back. Every ride that changes
over tells where it leaves the trail, and the fork is moved there; where hardly one does, the hook
tells. Promises: lines join the same lines as before; forks off by less than place_junctions puts
right stay.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
from shapely import LineString, line_locate_point, points
from shapely import distance as distance_m

from loopwright.geo.planar import unit
from loopwright.geo.polyline import along, length_m, nearest_vertex
from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.hooks import unhooked_m
from loopwright.network.rows import Rows
from loopwright.network.runs import Run, runs_of
from loopwright.network.samples import Samples
from loopwright.network.trips import Trip, count_trips, trip
from loopwright.network.unzip import place_out
from loopwright.network.web import End, Web

OUT_M = 80.0
"""So much of each line is looked at from a fork on."""
WAY_M, STRAIGHT_COS = 25.0, -0.5
"""Two lines go straight on at a fork when, so far out, they turn by less than 60 degrees."""
MOSTLY, BENT_COS = 2.5, 0.3
"""A trail goes on where so many times more rides do than any other way, unless it turns by more
than 107 degrees there."""
FEW = 3
"""Rides fewer than this do not outweigh a hook."""
ON_M, OFF_M = 4.0, 12.0
"""A ride nearer to a line has not left it, one farther off has: one and a half and four errors of
an aligned ride."""
SLOPE = 2.0
"""A ride leaves a trail no flatter than this many metres along for one across (27 degrees)."""
NEAR_ROWS = 16
"""Samples (80 m) looked at before and after a ride changes over."""
LEAST_M, MOST_M = 8.0, 45.0
"""Forks off by less are left where they are; off by more, what was seen is another place."""
CLOSED_M, AGAIN_M = 14.0, 8.0
"""A line whose ends come so near to each other, and nowhere off its trail, is the trail again."""
HUNG_M = 65.0
"""So much of a branch may be left out where its fork is moved."""


@dataclass(frozen=True, slots=True, eq=False)
class _Fork:
    """Line end ``branch`` leaves the trail made of ``back`` and ``ahead`` at ``node``.

    ``trail`` is ``OUT_M`` of both, with the fork at ``fork_m`` along it.
    """

    node: int
    branch: End
    back: End
    ahead: End
    trail: LineString
    fork_m: float


def move_forks(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> int:
    """Move forks in place; gives how many. ``ele`` ``(n,)`` are the samples' heights in metres."""
    runs = list(runs_of(web, samples, aligned, ele))
    trips = count_trips(web, runs).at
    forks = {
        fork.branch: fork
        for node in sorted(web.nodes)
        for fork in _forks(web, node, trips.get(node, Counter()))
    }
    told: dict[End, list[float]] = {end: [] for end in forks}
    for fork, rows in _changes(forks, runs, samples):
        place_m = _parting_m(fork, aligned.xy[rows])
        if place_m is not None:
            told[fork.branch].append(place_m)
    ahead_m = {end: _ahead_m(web, forks[end], told[end]) for end in sorted(forks)}
    return sum(_moved(web, forks[end], place_m) for end, place_m in ahead_m.items())


def _ahead_m(web: Web, fork: _Fork, told: Sequence[float]) -> float:
    """Tell how far ahead of a fork its branch leaves the trail, in metres."""
    if len(told) < FEW:
        place_m = unhooked_m(from_end(web, fork.branch), fork.trail)
        if place_m is not None:
            return place_m - fork.fork_m
    return float(np.median(told)) if told else 0.0


def from_end(web: Web, end: End) -> Floats:
    """Give the first ``OUT_M`` of a line ``(n, 2)`` from one of its ends on, in metres."""
    xy = web.from_end(end)[:, :2]
    return xy[: max(int(np.searchsorted(along(xy), OUT_M)) + 1, 2)]


def hang_on(web: Web, end: End, trail: End, vertex: int) -> bool:
    """Let a line's end hang on an inner vertex of another line, counted from that one's end.

    It goes there from where it comes nearest.
    """
    number, last = trail
    size = len(web.lines[number].xyz)
    if not 0 < vertex < size - 1:
        return False
    node = web.node_at(number, size - 1 - vertex if last else vertex)
    xyz = web.from_end(end)
    run = along(xyz[:, :2])
    near = run <= min(HUNG_M, run[-1] / 2)
    rest = xyz[max(nearest_vertex(xyz[near], web.nodes[node])[1], 1) :]
    web.rehang(end, node)
    new = np.vstack((web.nodes[node][None], rest))
    web.lines[end[0]].xyz = new[::-1] if end[1] else new
    return True


def branches_at(web: Web, node: int) -> list[End]:
    """Give the line ends at a node where three different lines and more meet, else none."""
    ends = web.ends_at(node)
    return ends if len(ends) == len(web.at[node]) > 2 else []


def _forks(web: Web, node: int, ridden: Counter[Trip]) -> Iterator[_Fork]:
    """Yield the branches at a node: they leave two lines on which rides, or else lines, go on."""
    ends = branches_at(web, node)
    ways = {end: _way(web, end) for end in ends}
    trail = _ridden_most(web, ends, ridden)
    if trail is not None and ways[trail[0]] @ ways[trail[1]] < BENT_COS:
        (branch,) = set(ends) - set(trail)
        yield _fork(web, node, branch, *trail)
        return
    for branch in ends:
        rest = [end for end in ends if end != branch]
        cos, back, ahead = min((float(ways[a] @ ways[b]), a, b) for a, b in combinations(rest, 2))
        # Where two trails part that run side by side is told by their passes.
        if web.lines[branch[0]].parted or cos > STRAIGHT_COS:
            continue
        if cos <= min(float(ways[branch] @ ways[end]) for end in rest):
            yield _fork(web, node, branch, back, ahead)


def _fork(web: Web, node: int, branch: End, back: End, ahead: End) -> _Fork:
    before, after = from_end(web, back), from_end(web, ahead)
    trail = LineString(np.vstack((before[::-1], after[1:])))
    return _Fork(node, branch, back, ahead, trail, length_m(before))


def _ridden_most(web: Web, ends: Sequence[End], ridden: Counter[Trip]) -> Trip | None:
    """Tell on which two of three lines by far the most rides go on."""
    if len(ends) != 3 or any(web.lines[number].parted for number, _ in ends):
        return None
    pairs = [trip(*pair) for pair in combinations(ends, 2)]
    _, second, most = sorted(pairs, key=lambda pair: (ridden[pair], pair))
    return most if ridden[most] > MOSTLY * max(ridden[second], 1) else None


def _way(web: Web, end: End) -> Floats:
    """Point from a line's end to a place some way out, as a unit vector ``(2,)``."""
    step = place_out(web, end, WAY_M) - web.from_end(end)[0, :2]
    return np.asarray(unit(step[None])[0])


def _changes(
    forks: Mapping[End, _Fork], runs: Iterable[Run], samples: Samples
) -> Iterator[tuple[_Fork, Rows]]:
    """Yield the samples of rides that change over, in order from the trail to the branch."""
    for one, two in pairwise(runs):
        if not one.goes_on(two):
            continue
        low = max(one.last - NEAR_ROWS, int(samples.first[one.piece]))
        high = min(two.first + NEAR_ROWS, int(samples.first[one.piece + 1]) - 1)
        rows = np.arange(low, high + 1)
        # The fork may lie on either side of where the ride parts: the trail counts either way.
        for branch, trail, way in ((two.came, one.number, 1), (one.left, two.number, -1)):
            fork = forks.get(branch)
            if fork is not None and trail in {fork.back[0], fork.ahead[0]}:
                yield fork, rows[::way]


def _parting_m(fork: _Fork, xy: Floats) -> float | None:
    """Tell where along the trail a ride ``(n, 2)`` leaves it, in metres ahead of the fork.

    It is followed back to the trail from where it is clear of it; None where it never is.
    """
    spots = points(xy)
    off, place = distance_m(fork.trail, spots), line_locate_point(fork.trail, spots)
    near = np.flatnonzero(off <= ON_M)
    far = np.flatnonzero(off >= OFF_M)
    far = far[far > near[0]] if len(near) else far[:0]
    if not len(far):
        return None
    last, first = near[near < far[0]][-1], far[0]
    slope = (place[first] - place[last]) / (off[first] - off[last])
    left = place[last] - np.clip(slope, -SLOPE, SLOPE) * off[last]
    return float(left) - fork.fork_m


def _moved(web: Web, fork: _Fork, ahead_m: float) -> bool:
    """Hang a branch on the trail so far ahead of its fork, or back where negative."""
    side = fork.ahead if ahead_m > 0 else fork.back
    # An earlier move may have taken any of the lines.
    there = all(web.hangs_on(end, fork.node) for end in (fork.branch, fork.back, fork.ahead))
    if not there or not LEAST_M <= abs(ahead_m) <= MOST_M:
        return False
    way = from_end(web, side)
    run = along(way)
    if run[-1] <= abs(ahead_m):
        return False
    vertex = int(np.abs(run - abs(ahead_m)).argmin())
    far = web.nodes[web.beyond(fork.branch)][:2]
    if np.hypot(*(way[vertex] - far)) < CLOSED_M and _again(web, fork):
        web.drop_line(fork.branch[0])  # it leaves the trail where it comes back to it
        return True
    return hang_on(web, fork.branch, side, vertex)


def _again(web: Web, fork: _Fork) -> bool:
    """Tell whether a branch keeps to its trail all the way."""
    off = distance_m(fork.trail, points(web.lines[fork.branch[0]].xyz[:, :2]))
    return bool(off.max() <= AGAIN_M)
