"""Small networks for the tests of features.

Gets lines and heights; gives networks whose ends meet where they coincide.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from loopwright.geo.frame import to_degrees
from loopwright.geo.polyline import along, at, stations
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin
from loopwright.model.ground import Feature, FeatureKind, Tag, Terrain
from loopwright.model.ids import JunctionId, StretchId
from loopwright.model.network import Junction, Network, Stretch

OCEAN = Origin(lat=-47.0, lon=-122.0)
Height = Callable[[Floats], Floats]
"""Heights ``(n,)`` of places ``(n, 2)``."""


def level(xy: Floats) -> Floats:
    return np.full(len(xy), 50.0)


def network_of(*lines: Floats, height: Height = level, error_m: float = 0.0) -> Network:
    """Stretches a, b, c, ... along ``lines`` ``(n, 2)``; junctions j0, j1, ... where ends meet."""
    places: list[Floats] = []
    ends = [(_place(places, line[0]), _place(places, line[-1])) for line in lines]
    stretches = tuple(
        Stretch(
            id=StretchId("abcdefghijklmnopqrstuvwxyz"[k]),
            start=JunctionId(f"j{first}"),
            end=JunctionId(f"j{last}"),
            xy=line,
            ele_m=height(line),
            std_error_m=np.full(len(line), error_m),
        )
        for k, (line, (first, last)) in enumerate(zip(lines, ends, strict=True))
    )
    junctions = tuple(
        Junction(
            id=JunctionId(f"j{k}"),
            xy=place,
            ele_m=float(height(place[None, :])[0]),
            degree=sum(pair.count(k) for pair in ends),
        )
        for k, place in enumerate(places)
    )
    return Network(origin=OCEAN, stretches=stretches, junctions=junctions)


def _place(places: list[Floats], xy: Floats) -> int:
    for k, place in enumerate(places):
        if np.hypot(*(place - xy)) < 1e-6:
            return k
    places.append(xy)
    return len(places) - 1


def path(*points: tuple[float, float], step_m: float = 1.0) -> Floats:
    """Straight lines from point to point, a vertex about every metre."""
    line = np.array(points, dtype=np.float64)
    run = along(line)
    even = stations(float(run[-1]), step_m)
    return at(line, np.unique(np.concatenate((even, run))))


def bent(
    *parts: tuple[float, float], start: tuple[float, float] = (0.0, 0.0), heading_deg: float = 0.0
) -> Floats:
    """A line of (length in m, turn in degrees, left positive) parts, each of even curvature."""
    heading, step = [np.radians(heading_deg)], 1.0
    steps: list[float] = []
    for length, turn in parts:
        count = max(1, round(length / step))
        for _ in range(count):
            steps.append(length / count)
            heading.append(heading[-1] + np.radians(turn) / count)
    middle = (np.array(heading[:-1]) + np.array(heading[1:])) / 2
    moves = np.array(steps)[:, None] * np.column_stack((np.cos(middle), np.sin(middle)))
    line = np.vstack((np.zeros((1, 2)), np.cumsum(moves, axis=0)))
    return np.asarray(line + np.array(start), dtype=np.float64)


def found(terrain: Terrain, kind: FeatureKind, stretch: str = "a") -> list[Feature]:
    return [f for f in terrain.features if f.kind is kind and f.stretch == stretch]


def tag_on(line: Floats, **words: object) -> Tag:
    """A tag along local metres ``(n, 2)``."""
    lat, lon = to_degrees(OCEAN, line)
    return Tag(line=np.column_stack((lon, lat)), **words)  # type: ignore[arg-type] # words of a test


def moved(network: Network, change: Callable[[Floats], Floats]) -> Network:
    """The same network with all places changed, heights kept."""
    return Network(
        origin=network.origin,
        stretches=tuple(
            Stretch(
                id=s.id, start=s.start, end=s.end, xy=change(s.xy), ele_m=s.ele_m,
                std_error_m=s.std_error_m,
            )
            for s in network.stretches
        ),
        junctions=tuple(
            Junction(id=j.id, xy=change(j.xy[None, :])[0], ele_m=j.ele_m, degree=j.degree)
            for j in network.junctions
        ),
    )  # fmt: skip


def turned_round(network: Network, stretches: Sequence[str]) -> Network:
    """The same network with some stretches stored the other way round."""
    return Network(
        origin=network.origin,
        stretches=tuple(
            s if s.id not in stretches else Stretch(
                id=s.id, start=s.end, end=s.start, xy=s.xy[::-1], ele_m=s.ele_m[::-1],
                std_error_m=s.std_error_m[::-1],
            )
            for s in network.stretches
        ),
        junctions=network.junctions,
    )  # fmt: skip
