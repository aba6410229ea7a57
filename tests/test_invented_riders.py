"""Invented rides err as they say, go where they may, and know their true times."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import numpy as np
import pytest

from loopwright.geo.frame import to_local
from loopwright.geo.polyline import length_m, project
from loopwright.invented.faults import at_bends, strayed
from loopwright.invented.park import Park, make_park
from loopwright.invented.receiver import Faults, Receiver, fading, misplace
from loopwright.invented.riders import lay_out, ride_arcs, ride_park
from loopwright.invented.shade import shade_at
from loopwright.invented.speed import Legs, times_along
from loopwright.invented.walks import cover
from loopwright.model.arrays import Floats
from loopwright.model.ids import Way
from worlds import hill, ladder, one_way, ring, square


@pytest.fixture(scope="module")
def park() -> Park:
    return make_park(1)


def test_walks_join_up_honour_one_ways_and_pass_everything(park: Park) -> None:
    network = park.network
    named = {s.id: s for s in network.stretches}
    walks = cover(network, np.random.default_rng(3), rides=12, length_m=(5000, 12_000))
    for walk in walks:
        for (a, way_a), (b, way_b) in pairwise(walk):
            tip = named[a].end if way_a is Way.FORWARD else named[a].start
            tail = named[b].start if way_b is Way.FORWARD else named[b].end
            assert tip == tail
    assert all(named[name].ways.allows(way) for walk in walks for name, way in walk)
    passes = Counter(name for walk in walks for name, _ in walk)
    assert min(passes[name] for name in named) >= 2


def test_the_same_seed_gives_the_same_rides(park: Park) -> None:
    one, two, other = (ride_park(park, rides=2, error_m=3.0, seed=k) for k in (4, 4, 5))
    assert all(np.array_equal(a.lat, b.lat) for a, b in zip(one, two, strict=True))
    assert len(one[0]) != len(other[0]) or not np.array_equal(one[0].lat, other[0].lat)


@pytest.mark.parametrize("error_m", [2.0, 5.0])
def test_error_of_one_axis_is_the_one_asked_for(error_m: float) -> None:
    rng = np.random.default_rng(8)
    receiver = Receiver(error_m=error_m)
    still, times = np.zeros((1200, 2)), np.arange(1200.0)
    errors = np.concatenate([misplace(rng, still, times, receiver) for _ in range(200)])
    assert errors.std() == pytest.approx(error_m, rel=0.08)


def test_fading_noise_has_the_asked_correlation() -> None:
    # For first-order autocorrelated noise the correlation over a lag t is exp(-t / fade).
    rng = np.random.default_rng(2)
    noise = fading(rng, np.ones(60_000), 30.0, 1)[:, 0]
    lagged = float(np.corrcoef(noise[:-30], noise[30:])[0, 1])
    assert lagged == pytest.approx(np.exp(-1.0), abs=0.06)
    uneven = fading(rng, rng.uniform(0.5, 1.5, 60_000), 30.0, 1)[:, 0]
    assert uneven.std() == pytest.approx(1.0, abs=0.1)


def test_gate_times_are_true_without_error(park: Park) -> None:
    world = square()
    ridden = ride_arcs(world.network, world.lap, error_m=0.0, laps=3)
    assert np.all(np.diff(ridden.gate_s) > 0)
    xy = to_local(world.network.origin, ridden.track.lat, ridden.track.lon)
    for gate in ridden.gate_s[1:-1]:
        near = np.abs(ridden.track.time_s - gate) <= 1.0
        assert np.hypot(*(xy[near] - np.array([0.0, -100.0])).T).min() < 6.0


def test_flying_laps_are_equal_and_the_first_is_slower() -> None:
    world = ring()
    laps = np.diff(ride_arcs(world.network, world.lap, error_m=1.0, laps=4).gate_s)
    assert laps[1:] == pytest.approx([laps[1]] * 3, rel=1e-3)
    assert laps[0] > laps[1]


def test_fading_legs_get_slower_lap_by_lap() -> None:
    world = hill()
    legs = Legs(fade_per_km=0.05)
    laps = np.diff(ride_arcs(world.network, world.lap, laps=4, legs=legs).gate_s[::2])
    assert np.all(np.diff(laps) > 0)


def test_steady_speed_solves_the_power_balance() -> None:
    # Steady speed at 250 W, 80 kg, drag 0.35 m2, air 1.2 kg/m3, grade 5 %, rolling 0.0125:
    # 4.6674 m/s, computed independently with g = 9.81 and no losses.
    run = np.arange(0.0, 1500.0)
    xy = np.column_stack((run, np.zeros(len(run))))
    legs = Legs(power_w=250.0, mass_kg=80.0, drag_m2=0.35, rolling=0.0125)
    times = times_along(xy, 0.05 * run, legs)
    assert 1.0 / np.diff(times)[-50:].mean() == pytest.approx(4.6674, rel=2e-3)


def test_corners_are_ridden_within_grip() -> None:
    world = square()
    line, ele, _ = lay_out(world.network, world.lap)
    speed = 1.0 / np.diff(times_along(line, ele, Legs(grip=0.4, top_mps=12.0)))
    # Radius 10 m and sideways grip 0.4 g allow sqrt(0.4 * 9.81 * 10) = 6.26 m/s.
    assert speed[105:].min() == pytest.approx(6.26, abs=0.5)


def test_faults_show(park: Park) -> None:
    clean = ride_park(park, rides=1, error_m=1.0, seed=3)[0]
    steps = _steps_m(park, clean.lat, clean.lon)
    spiky = ride_park(park, rides=1, error_m=1.0, seed=3, faults=Faults(spikes=20.0))[0]
    assert steps.max() < 15.0
    assert (_steps_m(park, spiky.lat, spiky.lon) > 20.0).sum() >= 2
    gappy = ride_park(park, rides=1, error_m=1.0, seed=3, faults=Faults(gaps=10.0))[0]
    assert np.diff(gappy.time_s).max() > 9.0
    paused = ride_park(park, rides=1, error_m=1.0, seed=3, faults=Faults(pauses=10.0))[0]
    assert np.ptp(paused.time_s) > np.ptp(clean.time_s) + 20.0


def _steps_m(park: Park, lat: Floats, lon: Floats) -> Floats:
    steps = np.diff(to_local(park.network.origin, lat, lon), axis=0)
    return np.asarray(np.hypot(steps[:, 0], steps[:, 1]), dtype=np.float64)


def test_faults_of_a_whole_ride(park: Park) -> None:
    def ride(faults: Faults) -> tuple[float, float, int]:
        track = ride_park(park, rides=1, error_m=1.0, seed=3, faults=faults)[0]
        return float(np.nanmax(track.ele_m, initial=-1)), float(track.time_s[0]), len(track)

    usual = ride(Faults())
    assert ride(Faults(no_height=1.0))[0] == -1.0
    assert ride(Faults(zero_height=1.0))[0] == 0.0
    assert np.isnan(ride(Faults(no_time=1.0))[1])
    assert ride(Faults(repeated=1.0))[2] == 2 * usual[2]


def test_sampling_and_mixed_receivers(park: Park) -> None:
    sparse = ride_park(park, rides=1, error_m=3.0, seed=3, interval_s=5.0)[0]
    assert np.diff(sparse.time_s) == pytest.approx(np.full(len(sparse) - 1, 5.0))
    mixed = ride_park(park, rides=4, error_m=3.0, seed=3, intervals_s=(1.0, 4.0))
    steps = {round(float(np.median(np.diff(track.time_s))), 3) for track in mixed}
    assert len(steps) == 4


def test_a_walk_with_a_jump_is_refused() -> None:
    world = ladder()
    arcs = (world.lap[0], world.lap[2])
    with pytest.raises(ValueError, match="does not begin"):
        ride_arcs(one_way(world, "rung0").network, arcs)


def test_lay_out_goes_as_far_as_its_gates() -> None:
    world = ladder()
    line, ele, gates = lay_out(world.network, world.lap)
    assert len(line) == len(ele)
    assert gates[-1] == pytest.approx(length_m(line))


def test_a_fifth_of_the_ground_is_shaded_and_the_same_for_every_ride() -> None:
    spots = np.random.default_rng(1).uniform(-3000.0, 3000.0, (20_000, 2))
    shares = [float((shade_at(spots, seed) > 0.0).mean()) for seed in range(4)]
    assert 0.1 < np.mean(shares) < 0.3
    assert (shade_at(spots, 2) == shade_at(spots, 2)).all()
    assert np.ptp(shade_at(spots, 2)) == 1.0


def test_receivers_err_more_in_shade() -> None:
    time_s = np.arange(40_000.0)
    spots = np.random.default_rng(1).uniform(-3000.0, 3000.0, (len(time_s), 2))
    one = Receiver(error_m=2.0, offset_share=0.0, white_share=1.0, shade=2.0, shade_seed=1)
    off = misplace(np.random.default_rng(2), spots, time_s, one) - spots
    shade = shade_at(spots, 1)
    assert off[shade == 0.0].std() == pytest.approx(2.0, rel=0.05)
    assert off[shade == 1.0].std() == pytest.approx(6.0, rel=0.1)


def test_strays_swing_out_and_come_back() -> None:
    time_s = np.arange(3600.0)
    still = np.zeros((3600, 2))
    off = np.hypot(*strayed(np.random.default_rng(4), still, time_s, Faults(strays=3.0)).T)
    assert 10.0 < off.max() < 80.0
    assert max(off[0], off[-1]) < 1e-9
    assert (strayed(np.random.default_rng(4), still, time_s, Faults()) == still).all()


def test_a_saving_recorder_keeps_the_bends() -> None:
    turn = np.linspace(0.0, 6 * np.pi, 600)
    line = np.column_stack((turn * 30.0, 40.0 * np.sin(turn)))
    rows = at_bends(line, np.arange(600.0))
    assert rows[0] == 0
    assert rows[-1] == 599
    assert len(rows) < 60
    assert np.abs(project(line[rows], line)[1]).max() <= 3.0
    assert np.diff(rows).max() <= 60
