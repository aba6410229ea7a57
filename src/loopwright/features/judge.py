"""How well features match a known truth.

Gets a true network with its true features and a terrain, on the same frame; gives recall,
precision and radius error of corners and of climbs. Promises: what lies within reach of a true
junction is not held against either side, for there a passage may tell the corner instead.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from loopwright.geo import polyline
from loopwright.model.arrays import Floats
from loopwright.model.ground import Feature, FeatureKind, Terrain
from loopwright.model.ids import Way
from loopwright.model.network import Network

NEAR_M = 10.0
JUNCTION_M = 15.0
ON_TRAIL_M = 15.0
STEP_M = 3.0
HEADING_M = 20.0
"""A place ridden the other way counts as this far off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureScores:
    """Shares 0..1, NaN where there is nothing to find; ``corners`` is how many there are.

    ``radius_error`` is the median of |found / true - 1|; climbs count by length.
    """

    corners: int
    corner_recall: float
    corner_precision: float
    radius_error: float
    climb_recall: float
    climb_precision: float
    steep_recall: float
    steep_precision: float


def score_features(
    true_network: Network, true_features: Sequence[Feature], terrain: Terrain
) -> FeatureScores:
    """Score ``terrain`` against the truth."""
    recall, precision, radius = _corners(true_network, true_features, terrain)
    climbs = _climbs(true_network, true_features, terrain, FeatureKind.CLIMB)
    steep = _climbs(true_network, true_features, terrain, FeatureKind.STEEP_CLIMB)
    return FeatureScores(
        corners=len(_of_kind(true_features, FeatureKind.CORNER)),
        corner_recall=recall,
        corner_precision=precision,
        radius_error=radius,
        climb_recall=climbs[0],
        climb_precision=climbs[1],
        steep_recall=steep[0],
        steep_precision=steep[1],
    )


def _of_kind(features: Sequence[Feature], kind: FeatureKind) -> list[Feature]:
    return [f for f in features if f.kind is kind]


def _places(network: Network, corners: Sequence[Feature]) -> Floats:
    lines = {s.id: s.xy for s in network.stretches}
    rows = [polyline.at(lines[c.stretch], np.array([c.at_m]))[0] for c in corners]
    return np.array(rows).reshape(-1, 2)


def _corners(
    true_network: Network, true_features: Sequence[Feature], terrain: Terrain
) -> tuple[float, float, float]:
    true = _of_kind(true_features, FeatureKind.CORNER)
    found = _of_kind(terrain.features, FeatureKind.CORNER)
    at_true, at_found = _places(true_network, true), _places(terrain.network, found)
    pairs = _pairs(at_true, at_found)
    passages = [p.corner for p in terrain.passages if p.corner is not None]
    missed = [k for k in range(len(true)) if k not in pairs]
    told = _near(at_true[missed], _places(terrain.network, passages), NEAR_M)
    extra = [k for k in range(len(found)) if k not in pairs.values()]
    forks = np.array([j.xy for j in true_network.junctions]).reshape(-1, 2)
    wrong = len(extra) - _near(at_found[extra], forks, JUNCTION_M)
    radius = [abs(found[k].radius_m / true[i].radius_m - 1) for i, k in pairs.items()]
    return (
        _share(len(pairs) + told, len(true)),
        _share(len(pairs), len(pairs) + wrong),
        float(np.median(radius)) if radius else float("nan"),
    )


def _share(part: float, whole: float) -> float:
    return part / whole if whole else float("nan")


def _pairs(one: Floats, other: Floats) -> dict[int, int]:
    """Match places one to one, nearest first."""
    gap = np.hypot(*(one[:, None] - other[None]).transpose(2, 0, 1))
    pairs: dict[int, int] = {}
    taken: set[int] = set()
    for i, k in sorted(np.argwhere(gap < NEAR_M).tolist(), key=lambda pair: gap[tuple(pair)]):
        if i not in pairs and k not in taken:
            pairs[i] = k
            taken.add(k)
    return pairs


def _near(places: Floats, others: Floats, within_m: float) -> int:
    """Count the places that have another within reach."""
    if len(places) == 0 or len(others) == 0:
        return 0
    return int(np.count_nonzero(cKDTree(others).query(places)[0] < within_m))


def _climbs(
    true_network: Network, true_features: Sequence[Feature], terrain: Terrain, kind: FeatureKind
) -> tuple[float, float]:
    """Recall and precision by length, where the other side has a trail ridden that way."""
    true = _rows(true_network, _of_kind(true_features, kind))
    found = _rows(terrain.network, _of_kind(terrain.features, kind))
    return _covered(true, found), _covered(found, true)


def _covered(here: tuple[Floats, Floats], there: tuple[Floats, Floats]) -> float:
    gap, near = cKDTree(there[0]).query(here[0])
    counts = (here[1] > 0) & (gap < ON_TRAIL_M)
    return float(there[1][near][counts].mean()) if counts.any() else float("nan")


def _rows(network: Network, climbs: Sequence[Feature]) -> tuple[Floats, Floats]:
    """Places and ways along every arc ``(n, 4)``, and 1 where it climbs ``(n,)``."""
    rows, up = [np.zeros((0, 4))], [np.zeros(0)]
    for stretch in network.stretches:
        run = np.arange(STEP_M / 2, polyline.length_m(stretch.xy), STEP_M)
        if len(run) < 2:
            continue
        xy = polyline.at(stretch.xy, run)
        turn = polyline.headings(xy)
        for way, half in ((Way.FORWARD, 0.0), (Way.BACKWARD, np.pi)):
            ahead = np.column_stack((np.cos(turn + half), np.sin(turn + half)))
            rows.append(np.hstack((xy, HEADING_M / 2 * ahead)))
            here = [c for c in climbs if c.stretch == stretch.id and c.way.counts(way)]
            inside = [(run >= c.from_m) & (run <= c.to_m) for c in here]
            up.append(np.any([*inside, np.zeros(len(run), dtype=bool)], axis=0).astype(np.float64))
    return np.concatenate(rows), np.concatenate(up)
