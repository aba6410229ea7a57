"""Invented trail networks for the loop search: planar, about 335 m a stretch, all made up."""

from __future__ import annotations

import numpy as np
from scipy.spatial import Delaunay

from loopwright.model.frame import Origin
from loopwright.model.ground import Passage, Terrain
from loopwright.model.ids import Arc, JunctionId, StretchId, Way, Ways
from loopwright.model.loops import SearchResult
from loopwright.model.network import Junction, Network, Stretch
from loopwright.model.wishes import Mix, Question, Wishes

MEAN_M = 335.0


class Listener:
    """A report that keeps every answer."""

    def __init__(self) -> None:
        self.answers: list[SearchResult] = []

    def step(self, share: float, words: str) -> None: ...

    def best(self, result: object) -> None:
        assert isinstance(result, SearchResult)
        self.answers.append(result)

    def check(self) -> None: ...

    def cancelled(self) -> bool:
        return False


def planar_edges(rng: np.random.Generator, stretches: int) -> tuple[np.ndarray, np.ndarray]:
    """Points and edges of a thinned Delaunay graph with ``stretches`` edges."""
    count = max(4, round(stretches / 1.55) + 1)
    points = rng.random((count, 2))
    sides = Delaunay(points).simplices
    edges = np.unique(
        np.sort(np.vstack((sides[:, :2], sides[:, 1:], sides[:, ::2])), axis=1), axis=0
    )
    size = np.hypot(*(points[edges[:, 0]] - points[edges[:, 1]]).T)
    keep = np.argsort(size * rng.uniform(0.6, 1.6, len(size)), kind="stable")[:stretches]
    return points, edges[np.sort(keep)]


def random_terrain(
    seed: int,
    stretches: int,
    *,
    one_way: float = 0.05,
    rings: int = 0,
    parallel: int = 0,
    passages: float = 0.3,
    banned: float = 0.02,
) -> Terrain:
    """A terrain on an invented network: climbs, corners and rough descents scattered over it."""
    rng = np.random.default_rng(seed)
    points, edges = planar_edges(rng, stretches)
    size = np.hypot(*(points[edges[:, 0]] - points[edges[:, 1]]).T)
    points = points * (MEAN_M / size.mean())
    heights = 40 * np.sin(points[:, 0] / 700) + 30 * np.cos(points[:, 1] / 500)
    ends = [(int(a), int(b)) for a, b in edges]
    ends += [ends[int(rng.integers(len(ends)))] for _ in range(parallel)]
    ends += [(int(j), int(j)) for j in rng.integers(len(points), size=rings)]
    lengths = [
        float(np.hypot(*(points[a] - points[b])) * rng.uniform(1.0, 1.5))
        or float(rng.uniform(100, 400))
        for a, b in ends
    ]
    return terrain_of(
        rng, points, heights, ends, lengths, one_way=one_way, passages=passages, banned=banned
    )


def terrain_of(
    rng: np.random.Generator,
    points: np.ndarray,
    heights: np.ndarray,
    ends: list[tuple[int, int]],
    lengths: list[float],
    *,
    one_way: float = 0.0,
    passages: float = 0.0,
    banned: float = 0.0,
) -> Terrain:
    """Dress a graph of junction points and stretch ends with amounts and passages."""
    names = [JunctionId(f"j{i}") for i in range(len(points))]
    stretches = tuple(
        Stretch(
            id=StretchId(f"s{i:04d}"), start=names[a], end=names[b],
            xy=np.array([points[a], (points[a] + points[b]) / 2 + 1.0, points[b]]),
            ele_m=np.array([heights[a], (heights[a] + heights[b]) / 2, heights[b]]),
            std_error_m=np.ones(3),
            ways=Ways.FORWARD if rng.random() < one_way else Ways.BOTH,
        )
        for i, (a, b) in enumerate(ends)
    )  # fmt: skip
    degree = [sum((a == j) + (b == j) for a, b in ends) for j in range(len(points))]
    junctions = tuple(
        Junction(id=names[j], xy=points[j], ele_m=float(heights[j]), degree=degree[j])
        for j in range(len(points))
    )
    amounts: dict[Arc, dict[str, float]] = {}
    ascents: dict[Arc, float] = {}
    for i, (a, b) in enumerate(ends):
        rough, corners, tight = rng.random() < 0.3, int(rng.poisson(1.5)), int(rng.poisson(0.4))
        steady = lengths[i] * rng.random() if rng.random() < 0.4 else 0.0
        for way, rise in (
            (Way.FORWARD, heights[b] - heights[a]),
            (Way.BACKWARD, heights[a] - heights[b]),
        ):
            up = max(0.0, float(rise)) + float(rng.exponential(3))
            arc = (stretches[i].id, way)
            ascents[arc] = up
            amounts[arc] = {
                "climb_gain_m": up if rng.random() < 0.7 else 0.0,
                "steep_gain_m": max(0.0, up - 12.0),
                "corners": float(corners), "tight_corners": float(tight), "steady_m": steady,
                "rough_descent_m": lengths[i] * 0.8 if rough and rise < 0 else 0.0,
            }  # fmt: skip
    network = Network(origin=Origin(lat=45.0, lon=7.0), stretches=stretches, junctions=junctions)
    return Terrain(
        network=network, spans={}, features=(), amounts=amounts, ascents_m=ascents,
        lengths_m={s.id: length for s, length in zip(stretches, lengths, strict=True)},
        passages=tuple(_passages(rng, stretches, passages, banned)),
    )  # fmt: skip


def _passages(
    rng: np.random.Generator, stretches: tuple[Stretch, ...], share: float, banned: float
) -> list[Passage]:
    leaving: dict[str, list[Arc]] = {}
    arcs: list[tuple[Arc, JunctionId]] = []
    for s in stretches:
        for way, tail, head in ((Way.FORWARD, s.start, s.end), (Way.BACKWARD, s.end, s.start)):
            leaving.setdefault(tail, []).append((s.id, way))
            arcs.append(((s.id, way), head))
    found = []
    for before, head in arcs:
        for after in leaving.get(head, []):
            draw = rng.random()
            if draw < banned:
                found.append(Passage(before=before, after=after, allowed=False))
            elif draw < share:
                gives = {"corners": 1.0, "tight_corners": float(rng.random() < 0.3)}
                found.append(Passage(before=before, after=after, amounts=gives))
    return found


RACE = Mix(
    name="invented race",
    targets={
        "climb_gain_m": 110.0, "corners": 30.0, "tight_corners": 8.0, "rough_descent_m": 700.0,
        "steady_m": 600.0,
    },
    weights={"climb_gain_m": 3.0, "rough_descent_m": 2.0},
)  # fmt: skip


def question_of(
    mix: Mix = RACE,
    *,
    low_m: float = 3000.0,
    high_m: float = 5000.0,
    count: int = 1,
    seconds: float = 60.0,
) -> Question:
    """A question with a lap window and nothing else."""
    return Question(
        wishes=Wishes(
            mix=mix, min_length_m=low_m, max_length_m=high_m, count=count, seconds=seconds
        )
    )
