"""A race recording of several laps gets heights, so that what it asks can be measured."""

from __future__ import annotations

import numpy as np

from loopwright.clean import clean_rides
from loopwright.geo.frame import origin_for
from loopwright.io.tracks import ride_id
from loopwright.laps import find_circuit
from loopwright.model.track import Ride, RideRole
from loopwright.race import ring_network, with_heights
from worlds import lap_rides, square


def test_a_circuit_of_three_laps_takes_the_rides_heights() -> None:
    (track,) = lap_rides(square(), rides=1, laps=3)
    origin = origin_for(track.lat, track.lon)
    ride = Ride(id=ride_id(track), track=track, role=RideRole.RACE)
    (clean,) = clean_rides([ride], origin)
    line = find_circuit(clean)
    assert line is not None
    whole = with_heights(line, clean)
    assert whole.shape == (len(line), 3)
    low, high = np.nanmin(track.ele_m), np.nanmax(track.ele_m)
    assert (whole[:, 2] >= low - 30).all()
    assert (whole[:, 2] <= high + 30).all()
    assert ring_network(whole, origin) is not None
