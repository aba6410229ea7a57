"""Odd rides: nothing a recorder can write makes the lap finder fall over."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from laps_help import track_of
from loopwright.laps import find_circuit, section_times, sheet_of
from loopwright.model.arrays import Floats
from loopwright.model.track import CleanTrack
from pacing_help import course_of, ring

LOOP = course_of(ring(60.0))


def track(xy: Floats, every_s: float = 1.0) -> CleanTrack:
    time = 1e9 + every_s * np.linspace(0.0, len(xy) - 1.0, len(xy))
    return track_of(xy, time, np.arange(len(xy)))


@pytest.mark.parametrize(
    "xy",
    [
        np.array([[60.0, 0.0], [60.0, 1.0]]),
        np.tile([60.0, 0.0], (50, 1)),
        np.tile([500.0, 0.0], (50, 1)),
        np.column_stack((np.linspace(-500, 500, 200), np.zeros(200))),
    ],
    ids=["two fixes", "standing on the loop", "standing elsewhere", "riding across"],
)
def test_no_lap_comes_of_it(xy: Floats) -> None:
    sheet = sheet_of(track(xy), LOOP)
    assert not any(lap.complete for lap in sheet.laps)
    assert section_times(sheet) == ()


@settings(max_examples=40, deadline=None)
@example(231, 5.0, 55, 2.0)
@example(11, 4.0, 148, 2.0)
@given(st.integers(0, 10_000), st.floats(0.5, 30.0), st.integers(2, 400), st.floats(0.2, 30.0))
def test_any_wandering_gives_a_sheet(seed: int, step: float, fixes: int, every_s: float) -> None:
    walk = np.random.default_rng(seed).normal(0, step, (fixes, 2)).cumsum(axis=0)
    ride = track(np.asarray(walk + np.array((60.0, 0.0))), every_s)
    if not ride.pieces:
        return
    sheet = sheet_of(ride, LOOP)
    for lap in sheet.laps:
        assert lap.elapsed_s >= 0
        assert -1e-6 <= lap.moving_s <= lap.elapsed_s + 1e-6
        assert np.isfinite([lap.start_s, lap.length_m]).all()
        assert all(one.elapsed_s >= 0 and one.std_error_s > 0 for one in lap.splits)
    find_circuit(ride)


def test_a_short_ring_ridden_thirty_times() -> None:
    turn = np.linspace(0.0, 30 * 2 * np.pi, 30 * 75)
    rng = np.random.default_rng(1)
    xy = 60.0 * np.column_stack((np.cos(turn), np.sin(turn))) + rng.normal(0, 1.0, (len(turn), 2))
    sheet = sheet_of(track(np.asarray(xy)), LOOP)
    whole = [lap.elapsed_s for lap in sheet.laps if lap.complete]
    assert len(whole) in {29, 30}
    assert np.median(whole) == pytest.approx(75.0, abs=0.5)
