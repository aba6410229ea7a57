"""The sample area's network against the invented park its rides were made on."""

from __future__ import annotations

import pytest

from loopwright.clean import clean_rides
from loopwright.invented.island import sample_park
from loopwright.invented.judge import JUNCTION_WITHIN_M
from loopwright.invented.marbles import junction_share, length_ratio, path_share
from loopwright.model.track import RideRole
from loopwright.network import build_network
from loopwright.sample import sample_document


def test_the_sample_area_has_all_trails_and_junctions_and_no_others() -> None:
    """Hairpin legs 7 m apart had a line tied across; a loop of 50 m was ridden by nobody."""
    true = sample_park().network
    rides = [ride for ride in sample_document().rides if ride.role is RideRole.RIDE]
    built = build_network(clean_rides(rides, true.origin), true.origin)
    found, _ = junction_share(built, true, JUNCTION_WITHIN_M)
    assert (found.precision, found.recall) == (1.0, 1.0)
    assert path_share(built, true, 5.0).f > 0.99
    assert length_ratio(built, true) == pytest.approx(1.0, abs=0.01)
    assert all(stretch.passes for stretch in built.stretches)
