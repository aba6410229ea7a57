"""Open recordings to judge on, when a person has them in a folder.

Gets a folder; gives recordings and, where there is one, the surveyed network that was driven.
Known are ``chicago.zip`` (889 bus trips with a street map; Ahmed, Karagiorgou, Pfoser and Wenk,
GeoInformatica 19(3):601-632, 2015, doi 10.1007/s10707-014-0222-6) and ``campus_walks/`` (GPX, no
map). Promises: the files are only read; a folder that holds neither is told in one sentence.
"""

from __future__ import annotations

import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import networkx as nx
import numpy as np
from shapely import LineString, STRtree, linestrings, points

from loopwright.errors import WorldError
from loopwright.geo.frame import origin_for, to_degrees
from loopwright.geo.polyline import resample
from loopwright.invented.park import OPEN_OCEAN
from loopwright.io.tracks import read_tracks
from loopwright.judging_matched import LONGEST_M, Street, taken
from loopwright.judging_single import single_lines
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin
from loopwright.model.ids import JunctionId, StretchId
from loopwright.model.network import Junction, Network, Stretch
from loopwright.model.track import RecordedTrack

DRIVEN_WITHIN_M = 20.0
DRIVEN_SHARE = 0.8
SAME_WAY = 0.8
CRUMB_M = 300.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OpenSet:
    """Recordings and the network they were made on, by what is taken of its survey.

    ``surveys`` is empty where nobody surveyed. ``best`` names the one that comes nearest to what
    was really taken: what it scores against the others is the most a builder can.
    """

    name: str
    tracks: tuple[RecordedTrack, ...]
    origin: Origin
    surveys: Mapping[str, Network]
    best: str = ""


def open_sets(folder: Path) -> Iterator[OpenSet]:
    """Yield every known set in ``folder``; raises WorldError when there is none."""
    found = False
    if (folder / "chicago.zip").is_file():
        found = True
        yield _chicago(folder / "chicago.zip")
    if (folder / "campus_walks").is_dir():
        found = True
        yield _walks(folder / "campus_walks")
    if not found:
        raise WorldError(str(folder), "holds no known open recordings",
                         "give the folder with chicago.zip or campus_walks")  # fmt: skip


def _walks(folder: Path) -> OpenSet:
    tracks = [track for path in sorted(folder.glob("*.gpx")) for track in read_tracks(path)]
    lat, lon = (np.concatenate([getattr(t, key) for t in tracks]) for key in ("lat", "lon"))
    return OpenSet(
        name="campus walks", tracks=tuple(tracks), origin=origin_for(lat, lon), surveys={}
    )


def _chicago(path: Path) -> OpenSet:
    with zipfile.ZipFile(path) as box:
        names = sorted(name for name in box.namelist() if name.startswith("trips/"))
        trips = [_rows(box.read(name), None) for name in names if name.endswith(".txt")]
        vertices = _rows(box.read("map/chicago_vertices_osm.txt"), ",")
        edges = _rows(box.read("map/chicago_edges_osm.txt"), ",")
    middle = np.vstack(trips)[:, :2].mean(axis=0)
    lines = [trip[:, :2] - middle for trip in trips]
    tracks = [
        _track(xy, trip[:, 2], name=f"trip {k + 1}")
        for k, (xy, trip) in enumerate(zip(lines, trips, strict=True))
    ]
    places = {int(row[0]): row[1:3] - middle for row in vertices}
    streets = [Street(a, b, one_way=bool(way)) for a, b, way in edges[:, 1:4].astype(int).tolist()]
    pairs, ahead = _driven(streets, places, lines)
    passed = set(pairs)
    near = [one for one in streets if one.pair in passed]
    matched = sorted(taken(near, places, lines) & set(ahead))
    driven = network_of(pairs, places)
    return OpenSet(
        name="chicago",
        tracks=tuple(tracks),
        origin=OPEN_OCEAN,
        surveys={
            "chicago": driven,
            "chicago, one line a street": network_of(*single_lines(driven)),
            "chicago, one-ways heeded": network_of(ahead, places),
            "chicago, matched": network_of(matched, places),
        },
        best="chicago, matched",
    )


def _rows(text: bytes, between: str | None) -> Floats:
    rows = [line.split(between) for line in text.decode("ascii").splitlines() if line.strip()]
    return np.array(rows, dtype=np.float64)


def _track(xy: Floats, time_s: Floats, *, name: str) -> RecordedTrack:
    """Lay a trip in its own shape into open ocean: only lengths and angles matter."""
    lat, lon = to_degrees(OPEN_OCEAN, xy)
    nothing = np.full(len(xy), np.nan)
    piece = np.zeros(len(xy), dtype=np.int32)
    return RecordedTrack(
        name=name, source=name, lat=lat, lon=lon, ele_m=nothing, time_s=time_s, piece=piece
    )


def _driven(
    streets: Sequence[Street], places: dict[int, Floats], lines: Sequence[Floats]
) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
    """Give the pairs of places along which somebody drove, and those with one-ways heeded."""
    steps = np.vstack([np.stack((xy[:-1], xy[1:]), axis=1) for xy in lines if len(xy) > 1])
    size = np.hypot(*(steps[:, 1] - steps[:, 0]).T)
    steps = steps[(size > 2.0) & (size < LONGEST_M)]
    ahead = steps[:, 1] - steps[:, 0]
    ahead = ahead / np.hypot(*ahead.T)[:, None]
    tree = STRtree(linestrings(steps))
    driven, heeded = set(), set()
    for one in streets:
        either, onward = _along(places[one.a], places[one.b], tree, ahead)
        if either:
            driven.add(one.pair)
        if onward if one.one_way else either:
            heeded.add(one.pair)
    return sorted(driven), sorted(heeded)


def _along(a: Floats, b: Floats, tree: STRtree, ahead: Floats) -> tuple[bool, bool]:
    """Tell whether somebody drove from ``a`` to ``b`` or back, and whether from ``a`` to ``b``."""
    size = float(np.hypot(*(b - a)))
    if size == 0.0:
        return False, False
    spots = resample(np.vstack((a, b)), 5.0)
    which, steps = tree.query(points(spots), predicate="dwithin", distance=DRIVEN_WITHIN_M)
    along = ahead[steps] @ ((b - a) / size)
    either, onward = (
        len(np.unique(which[same > SAME_WAY])) >= DRIVEN_SHARE * len(spots)
        for same in (np.abs(along), along)
    )
    return either, onward


def network_of(pairs: Sequence[tuple[int, int]], places: dict[int, Floats]) -> Network:
    """Chain edges between places where not exactly two meet."""
    graph = _without_crumbs(pairs, places)
    ends = {node for node in graph if graph.degree(node) != 2}
    chains = [*_chains(graph, ends)]
    used = sorted({node for chain in chains for node in (chain[0], chain[-1])})
    degree = {node: sum((c[0] == node) + (c[-1] == node) for c in chains) for node in used}
    return Network(
        origin=OPEN_OCEAN,
        stretches=tuple(_stretch(k, chain, places) for k, chain in enumerate(chains)),
        junctions=tuple(
            Junction(id=JunctionId(str(node)), xy=places[node], ele_m=np.nan, degree=degree[node])
            for node in used
        ),
    )


def _without_crumbs(pairs: Sequence[tuple[int, int]], places: dict[int, Floats]) -> nx.Graph[int]:
    """Leave out what hangs together for less than 300 m: side streets merely passed by."""
    graph: nx.Graph[int] = nx.Graph()
    for a, b in pairs:
        graph.add_edge(a, b, metres=float(np.hypot(*(places[a] - places[b]))))
    crumbs = [
        nodes
        for nodes in nx.connected_components(graph)
        if graph.subgraph(nodes).size(weight="metres") < CRUMB_M
    ]
    graph.remove_nodes_from([node for nodes in crumbs for node in nodes])
    return graph


def _chains(graph: nx.Graph[int], ends: set[int]) -> Iterator[list[int]]:
    left = nx.Graph(graph)
    while left.number_of_edges():
        start = min((n for n in left if n in ends and left.degree(n)), default=None)
        here = min(n for n in left if left.degree(n)) if start is None else start
        first = here
        chain = [here]
        while True:
            after = min(left[here])
            left.remove_edge(here, after)
            chain.append(after)
            here = after
            if here in ends or here == first:
                break
        yield chain


def _stretch(number: int, chain: list[int], places: dict[int, Floats]) -> Stretch:
    xy = np.array([places[node] for node in chain])
    return Stretch(
        id=StretchId(f"e{number}"),
        start=JunctionId(str(chain[0])),
        end=JunctionId(str(chain[-1])),
        xy=xy,
        ele_m=np.full(len(xy), np.nan),
        std_error_m=np.zeros(len(xy)),
    )


def covered_share(built: Network, tracks: Sequence[Floats], within_m: float) -> float:
    """Share of recorded places ``(n, 2)`` that lie within a distance of the built network."""
    if not built.stretches:
        return 0.0
    tree = STRtree([LineString(np.asarray(s.xy)) for s in built.stretches])
    spots = points(np.vstack(tracks))
    near = np.unique(tree.query(spots, predicate="dwithin", distance=within_m)[0])
    return len(near) / len(spots)
