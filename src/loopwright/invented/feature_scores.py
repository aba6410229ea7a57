"""How good found features are, against the truth.

Gets found features on a built network and a park; gives corner and climb scores. Corners are
matched one to one within 10 m, those near a junction left out on both sides because they belong
to its passages; climbs are compared metre for metre.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linear_sum_assignment

from loopwright.geo.polyline import along, at
from loopwright.invented.marbles import Share, forks, matched
from loopwright.invented.park import Park
from loopwright.model.arrays import Floats
from loopwright.model.ground import Feature, FeatureKind
from loopwright.model.network import Network

CORNER_WITHIN_M = 10.0
JUNCTION_M = 15.0
CLIMB_WITHIN_M = 10.0
STEP_M = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureScores:
    """Corners by count, climbs by length.

    ``radius_error`` and ``turn_error_deg`` are medians over matched corners, the first as a share
    of the true radius; NaN when no corner was matched.
    """

    corners: Share
    radius_error: float
    turn_error_deg: float
    climbs: Share
    steep_climbs: Share


def score_features(features: Sequence[Feature], built: Network, park: Park) -> FeatureScores:
    """Score the features found on ``built`` against those of the park."""
    junctions = forks(park.network)
    found, found_at = _corners(features, built, junctions)
    true, true_at = _corners(park.features, park.network, junctions)
    pairs = _pairs(found_at, true_at)
    radius = [abs(found[a].radius_m / true[b].radius_m - 1) for a, b in pairs]
    turn = [abs(abs(found[a].turn_deg) - abs(true[b].turn_deg)) for a, b in pairs]
    return FeatureScores(
        corners=Share(hits=len(pairs), found=len(found), true=len(true)),
        radius_error=_median(radius),
        turn_error_deg=_median(turn),
        climbs=_by_length(FeatureKind.CLIMB, features, built, park),
        steep_climbs=_by_length(FeatureKind.STEEP_CLIMB, features, built, park),
    )


def _corners(
    features: Sequence[Feature], network: Network, junctions: Floats
) -> tuple[list[Feature], Floats]:
    lines = {stretch.id: stretch.xy for stretch in network.stretches}
    kept, places = [], []
    for feature in features:
        if feature.kind is not FeatureKind.CORNER:
            continue
        place = at(lines[feature.stretch], np.array([feature.at_m]))[0]
        if len(junctions) == 0 or np.hypot(*(junctions - place).T).min() > JUNCTION_M:
            kept.append(feature)
            places.append(place)
    return kept, np.array(places).reshape(-1, 2)


def _pairs(found: Floats, true: Floats) -> list[tuple[int, int]]:
    """Pair places one to one within reach, as many as can be, nearest in sum."""
    dist = np.hypot(*(found[:, None] - true[None]).transpose(2, 0, 1))
    rows, columns = linear_sum_assignment(np.where(dist <= CORNER_WITHIN_M, dist, 1e6))
    return [
        (int(a), int(b))
        for a, b in zip(rows, columns, strict=True)
        if dist[a, b] <= CORNER_WITHIN_M
    ]


def _by_length(kind: FeatureKind, features: Sequence[Feature], built: Network, park: Park) -> Share:
    found = _inside(kind, features, built)
    true = _inside(kind, park.features, park.network)
    return matched(found, true, CLIMB_WITHIN_M)


def _inside(kind: FeatureKind, features: Sequence[Feature], network: Network) -> Floats:
    """Places every 5 m inside features of a kind; ground that climbs both ways counts once."""
    lines = {stretch.id: stretch.xy for stretch in network.stretches}
    parts = []
    for name, line in lines.items():
        run = np.arange(STEP_M / 2, along(line)[-1], STEP_M)
        inside = np.zeros(len(run), dtype=bool)
        for feature in features:
            if feature.kind is kind and feature.stretch == name:
                inside |= (run >= feature.from_m) & (run <= feature.to_m)
        parts.append(at(line, run[inside]))
    return np.vstack(parts) if parts else np.zeros((0, 2))


def _median(values: Sequence[float]) -> float:
    return float(np.median(values)) if values else float("nan")


def added(scores: Sequence[FeatureScores]) -> FeatureScores:
    """Add counts up and take the mean of the medians."""
    empty = Share(hits=0, found=0, true=0)
    return FeatureScores(
        corners=sum((s.corners for s in scores), empty),
        radius_error=float(np.nanmean([s.radius_error for s in scores])),
        turn_error_deg=float(np.nanmean([s.turn_error_deg for s in scores])),
        climbs=sum((s.climbs for s in scores), empty),
        steep_climbs=sum((s.steep_climbs for s in scores), empty),
    )


def features_table(rows: Sequence[tuple[str, FeatureScores]]) -> str:
    """Feature scores as a plain-text table, one named row each."""
    wide = max([len(name) for name, _ in rows] + [4])
    heads = ("corner P", "corner R", "radius", "turn", "climb P", "climb R", "steep P", "steep R")
    lines = [" ".join([" " * wide, *[f"{head:>8}" for head in heads]])]
    for name, s in rows:
        cells = [
            f"{s.corners.precision:8.3f}", f"{s.corners.recall:8.3f}", f"{s.radius_error:8.1%}",
            f"{s.turn_error_deg:8.1f}", f"{s.climbs.precision:8.3f}", f"{s.climbs.recall:8.3f}",
            f"{s.steep_climbs.precision:8.3f}", f"{s.steep_climbs.recall:8.3f}",
        ]  # fmt: skip
        lines.append(" ".join([f"{name:<{wide}}", *cells]))
    return "\n".join(lines)
