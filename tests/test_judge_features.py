"""Feature scores on cases worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopwright.invented.feature_scores import FeatureScores, added, features_table, score_features
from loopwright.invented.marbles import Share
from loopwright.invented.park import Park, make_park
from loopwright.model.ground import Feature, FeatureKind


@pytest.fixture(scope="module")
def park() -> Park:
    return make_park(3)


def _corners(park: Park) -> list[Feature]:
    return [f for f in park.features if f.kind is FeatureKind.CORNER]


def test_the_truth_is_found_whole(park: Park) -> None:
    scores = score_features(park.features, park.network, park)
    for share in (scores.corners, scores.climbs, scores.steep_climbs):
        assert share.hits == share.found == share.true > 0
    assert scores.radius_error == scores.turn_error_deg == 0.0


def test_nothing_found_scores_nothing(park: Park) -> None:
    scores = score_features((), park.network, park)
    assert scores.corners.recall == scores.climbs.recall == 0.0
    assert np.isnan(scores.radius_error)


def test_corners_elsewhere_on_the_line_do_not_count(park: Park) -> None:
    moved = [replace(f, at_m=f.at_m + 11.0) for f in _corners(park)]
    near = [replace(f, at_m=f.at_m + 3.0) for f in _corners(park)]
    assert score_features(near, park.network, park).corners.recall > 0.95
    assert score_features(moved, park.network, park).corners.recall < 0.4


def test_radius_and_turn_errors_are_told(park: Park) -> None:
    wide = [
        replace(f, radius_m=f.radius_m * 1.2, turn_deg=f.turn_deg * 1.1) for f in _corners(park)
    ]
    scores = score_features(wide, park.network, park)
    assert scores.radius_error == pytest.approx(0.2)
    turns = [abs(f.turn_deg) for f in _corners(park)]
    assert min(turns) * 0.1 <= scores.turn_error_deg <= max(turns) * 0.1


def test_the_other_hand_is_the_same_corner_on_a_line_stored_the_other_way(park: Park) -> None:
    turned = [replace(f, turn_deg=-f.turn_deg) for f in _corners(park)]
    assert score_features(turned, park.network, park).turn_error_deg == 0.0


def test_climbs_count_by_length(park: Park) -> None:
    climbs = [f for f in park.features if f.kind is FeatureKind.CLIMB]
    halves = [replace(f, to_m=(f.from_m + f.to_m) / 2) for f in climbs]
    share = score_features(halves, park.network, park).climbs
    assert share.precision == 1.0
    assert share.recall == pytest.approx(0.5, abs=0.05)


def test_scores_add_up_and_fill_a_table() -> None:
    one = FeatureScores(
        corners=Share(hits=1, found=2, true=4),
        radius_error=0.1,
        turn_error_deg=3.0,
        climbs=Share(hits=1, found=1, true=1),
        steep_climbs=Share(hits=0, found=0, true=0),
    )
    both = added([one, replace(one, radius_error=0.3)])
    assert both.corners == Share(hits=2, found=4, true=8)
    assert both.radius_error == pytest.approx(0.2)
    lines = features_table([("one", one), ("both", both)]).splitlines()
    assert len({len(line) for line in lines}) == 1
    assert lines[2].split() == ["both", "0.500", "0.250", "20.0%", "3.0", "1.000", "1.000",
                                "1.000", "1.000"]  # fmt: skip
