"""A surveyed street map with the two carriageways of a street laid into one line.

Gets a true network; gives it with lines that run beside each other within ``MERGED_M`` merged. A
builder of trails draws one line for a street; a survey may draw two, with four junctions where
two such streets cross. Promises: nothing is moved but ends, and those no further than the merging
distance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import networkx as nx
import numpy as np
from scipy.spatial import cKDTree
from shapely import LineString, Point, STRtree, points

from loopwright.geo.polyline import along, at, length_m, resample
from loopwright.model.arrays import Floats
from loopwright.model.network import Network

MERGED_M = 15.0
"""The two carriageways of a city street lie 10 to 15 m apart (measured on the open bus map)."""
CROSSING_M = 22.0
"""The corners of a crossing of two such streets lie 15 m by the root of two apart at most."""
SAME_WAY = 0.75
STEP_M = 5.0
PIECE_M = 20.0
"""What stands off for less than this is no street of its own."""


@dataclass(slots=True)
class _Piece:
    """A kept line ``xy``, the nodes at its ends, and where others tie in: metres along, node."""

    xy: Floats
    ends: tuple[int, int]
    ties: list[tuple[float, int]] = field(default_factory=list)


def single_lines(true: Network) -> tuple[list[tuple[int, int]], dict[int, Floats]]:
    """Merge; gives short edges between places, each place once."""
    names = {junction.id: k for k, junction in enumerate(true.junctions)}
    places = {k: np.asarray(junction.xy) for k, junction in enumerate(true.junctions)}
    kept: list[_Piece] = []
    for stretch in sorted(true.stretches, key=lambda s: (-length_m(s.xy), s.id)):
        ends = names[stretch.start], names[stretch.end]
        kept += _apart(np.asarray(stretch.xy), ends, kept, places)
    return _edges(kept, places)


def _apart(
    xy: Floats, ends: tuple[int, int], kept: Sequence[_Piece], places: dict[int, Floats]
) -> list[_Piece]:
    """Keep the parts of a line that run beside nothing kept; cut ends are tied to what is."""
    spots = resample(xy, STEP_M)
    beside = _beside(spots, kept)
    if not beside.any():
        return [_Piece(spots, ends)]
    edges = np.flatnonzero(np.diff(np.concatenate(([True], beside, [True])).astype(np.int8)))
    out = []
    for a, b in edges.reshape(-1, 2).tolist():
        if (b - a - 1) * STEP_M < PIECE_M:
            continue
        first = ends[0] if a == 0 else _tied(spots[a], kept, places)
        last = ends[1] if b == len(spots) else _tied(spots[b - 1], kept, places)
        out.append(_Piece(np.vstack((places[first], spots[a:b], places[last])), (first, last)))
    return out


def _beside(spots: Floats, kept: Sequence[_Piece]) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Mark spots with a kept line within reach that runs the same way, either way round."""
    out = np.zeros(len(spots), dtype=bool)
    if not kept:
        return out
    steps = np.vstack([np.stack((p.xy[:-1], p.xy[1:]), axis=1) for p in kept])
    tree = STRtree([LineString(step) for step in steps])
    which, row = tree.query(points(spots), predicate="dwithin", distance=MERGED_M)
    way, other = _unit(np.gradient(spots, axis=0))[which], _unit(steps[row, 1] - steps[row, 0])
    out[which[np.abs((way * other).sum(axis=1)) > SAME_WAY]] = True
    return out


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.maximum(np.hypot(*vectors.T), 1e-9)[:, None])


def _tied(spot: Floats, kept: Sequence[_Piece], places: dict[int, Floats]) -> int:
    """Put a node on the nearest kept line and give its number."""
    lines = [LineString(piece.xy) for piece in kept]
    nearest = int(np.argmin([line.distance(Point(spot)) for line in lines]))
    run = float(lines[nearest].project(Point(spot)))
    node = max(places) + 1
    places[node] = np.asarray(at(kept[nearest].xy, np.array([run]))[0])
    kept[nearest].ties.append((run, node))
    return node


def _edges(
    kept: Sequence[_Piece], places: dict[int, Floats]
) -> tuple[list[tuple[int, int]], dict[int, Floats]]:
    """Cut pieces where others tie in, and give near nodes one place."""
    same = _clusters(kept, places)
    spots = {node: np.asarray(place) for node, place in places.items()}
    pairs: list[tuple[int, int]] = []
    for piece in kept:
        run = along(piece.xy)
        marks = [(0.0, piece.ends[0]), *sorted(piece.ties), (float(run[-1]), piece.ends[1])]
        for (low, a), (high, b) in pairwise(marks):
            if same[a] == same[b] and high - low < 3 * MERGED_M:
                continue
            inner = piece.xy[(run > low + 1.0) & (run < high - 1.0)]
            numbers = range(len(spots), len(spots) + len(inner))
            spots.update(zip(numbers, inner, strict=True))
            chain = [same[a], *numbers, same[b]]
            pairs += [(u, v) for u, v in pairwise(chain) if u != v]
    return pairs, spots


def _clusters(kept: Sequence[_Piece], places: dict[int, Floats]) -> dict[int, int]:
    """Name for each node the first of those within reach of each other; its place is theirs."""
    used = sorted({n for p in kept for n in (*p.ends, *(node for _, node in p.ties))})
    xy = np.array([places[node] for node in used])
    graph: nx.Graph[int] = nx.Graph()
    graph.add_nodes_from(used)
    graph.add_edges_from((used[a], used[b]) for a, b in cKDTree(xy).query_pairs(CROSSING_M))
    same = {}
    for group in nx.connected_components(graph):
        first = min(group)
        places[first] = np.mean([places[node] for node in sorted(group)], axis=0)
        same.update(dict.fromkeys(group, first))
    return same
