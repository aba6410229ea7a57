"""Make a graph of kept runs.

Gets runs and aligned samples; gives a web: runs tied where they touch kept lines and where they
cross on one level. Promises: lines that cross with more than ``BRIDGE_M`` between their heights
stay apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from scipy.spatial import cKDTree

from loopwright.model.arrays import Floats
from loopwright.network.cover import Run
from loopwright.network.kiss import grown, kissed
from loopwright.network.rows import Rows
from loopwright.network.stations import BRIDGE_M
from loopwright.network.web import Web

OWN_ROWS = 6
"""Nearer along its own line than this a loose end does not close a ring."""
TOUCH_M = 4.5
"""A dead end this near to another line meets it: 1.5 errors of an aligned line."""


def weave(runs: Sequence[Run], place: Floats) -> Web:
    """Tie ``runs`` of samples at ``place`` ``(n, 3)`` metres into a web."""
    chains = [_chain(run) for run in runs]
    place, chains = _crossed(place, chains)
    place, chains = kissed(place, chains, level_m=BRIDGE_M)
    chains = _tied(place, chains)
    return _web(place, chains)


def _chain(run: Run) -> list[int]:
    rows = list(range(run.start, run.stop))
    head = [run.head] if run.head >= 0 else []
    tail = [run.tail] if run.tail >= 0 else []
    return head + rows + tail


def _segments(chains: Sequence[Sequence[int]]) -> Rows:
    """Rows ``(k, 4)``: vertex, vertex, chain, place in the chain."""
    parts = [
        np.column_stack((c[:-1], c[1:], np.full(len(c) - 1, k), np.arange(len(c) - 1)))
        for k, c in enumerate(chains)
        if len(c) > 1
    ]
    return np.concatenate(parts).astype(np.int64) if parts else np.zeros((0, 4), dtype=np.int64)


def _crossed(place: Floats, chains: list[list[int]]) -> tuple[Floats, list[list[int]]]:
    """Put one new vertex into both chains wherever two segments cross on one level."""
    seg = _segments(chains)
    if len(seg) < 2:
        return place, chains
    one, two, share_one, share_two = _hits(place, seg)
    new: dict[int, list[tuple[int, float, int]]] = {}
    spots: list[Floats] = []
    for k, m, s, t in zip(one, two, share_one, share_two, strict=True):
        here = place[seg[k, 0]] * (1 - s) + place[seg[k, 1]] * s
        there = place[seg[m, 0]] * (1 - t) + place[seg[m, 1]] * t
        if abs(here[2] - there[2]) > BRIDGE_M:
            continue
        number = len(place) + len(spots)
        spots.append((here + there) / 2)
        new.setdefault(int(seg[k, 2]), []).append((int(seg[k, 3]), float(s), number))
        new.setdefault(int(seg[m, 2]), []).append((int(seg[m, 3]), float(t), number))
    longer = [grown(chain, new.get(k, [])) for k, chain in enumerate(chains)]
    return (np.vstack((place, *[s[None] for s in spots])) if spots else place), longer


def _hits(place: Floats, seg: Rows) -> tuple[Rows, Rows, Floats, Floats]:
    """Pairs of segments without a common vertex that cross, and where along each."""
    p, r = place[seg[:, 0], :2], place[seg[:, 1], :2] - place[seg[:, 0], :2]
    size = np.hypot(r[:, 0], r[:, 1])
    reach = float(np.percentile(size, 99.5)) if len(size) else 0.0
    near = cKDTree(p + r / 2).query_pairs(max(reach, 6.0) + 0.5, output_type="ndarray")
    a, b = near[:, 0], near[:, 1]
    apart = np.ones(len(a), dtype=bool)
    for x in (0, 1):
        for y in (0, 1):
            apart &= seg[a, x] != seg[b, y]
    apart &= (seg[a, 2] != seg[b, 2]) | (np.abs(seg[a, 3] - seg[b, 3]) > 3)
    a, b = a[apart], b[apart]
    cross = r[a, 0] * r[b, 1] - r[a, 1] * r[b, 0]
    gap = p[b] - p[a]
    with np.errstate(divide="ignore", invalid="ignore"):
        s = (gap[:, 0] * r[b, 1] - gap[:, 1] * r[b, 0]) / cross
        t = (gap[:, 0] * r[a, 1] - gap[:, 1] * r[a, 0]) / cross
    hit = (s >= 0) & (s < 1) & (t >= 0) & (t < 1)
    order = np.lexsort((b[hit], a[hit]))
    return a[hit][order], b[hit][order], s[hit][order], t[hit][order]


def _tied(place: Floats, chains: list[list[int]]) -> list[list[int]]:
    """Tie loose ends to the nearest other line within ``TOUCH_M``."""
    rows = np.array([v for chain in chains for v in chain], dtype=np.int64)
    if len(rows) == 0:
        return chains
    owner = np.repeat(np.arange(len(chains)), [len(chain) for chain in chains])
    spot = np.concatenate([np.arange(len(chain)) for chain in chains])
    index = _Index(place, rows, owner, spot)
    tied = []
    for k, chain in enumerate(chains):
        head = index.near(chain[0], chain=k, at=0)
        tail = index.near(chain[-1], chain=k, at=len(chain) - 1)
        tied.append(head + chain + tail)
    return tied


class _Index:
    """All vertices of all chains, to find what a loose end touches."""

    def __init__(self, place: Floats, rows: Rows, owner: Rows, spot: Rows) -> None:
        """Keep vertex ``rows`` with the chain that owns them and their spot in it."""
        self.place, self.rows, self.owner, self.spot = place, rows, owner, spot
        self.tree = cKDTree(place[rows, :2])
        self.used = np.bincount(rows, minlength=len(place))

    def near(self, vertex: int, *, chain: int, at: int) -> list[int]:
        """Give the vertex a chain's end meets, as a list of one or none."""
        if self.used[vertex] > 1:
            return []
        here = self.place[vertex]
        near = np.array(self.tree.query_ball_point(here[:2], TOUCH_M), dtype=np.int64)
        rows = self.rows[near]
        other = (self.owner[near] != chain) | (np.abs(self.spot[near] - at) > OWN_ROWS)
        level = ~(np.abs(self.place[rows, 2] - here[2]) > BRIDGE_M)
        rows = rows[other & level & (rows != vertex)]
        if len(rows) == 0:
            return []
        gap = np.hypot(*(self.place[rows, :2] - here[:2]).T)
        return [int(rows[gap.argmin()])]


def _web(place: Floats, chains: Sequence[Sequence[int]]) -> Web:
    """Part the chains where vertices are shared; degree-2 vertices stay inside lines."""
    ends: dict[int, int] = {}
    for chain in chains:
        for v in chain[1:-1]:
            ends[v] = ends.get(v, 0) + 2
        for v in (chain[0], chain[-1]):
            ends[v] = ends.get(v, 0) + 1
    web = Web()
    for chain in chains:
        cut = [k for k, v in enumerate(chain) if k in {0, len(chain) - 1} or ends[v] > 2]
        for low, high in pairwise(cut):
            part = chain[low : high + 1]
            for v in (part[0], part[-1]):
                if v not in web.nodes:
                    web.add_node(v, place[v])
            web.add_line(part[0], part[-1], place[np.array(part)])
    return web
