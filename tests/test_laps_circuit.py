"""Circuits found without being given."""

from __future__ import annotations

import numpy as np
import pytest

from laps_help import Truth, record, ride_loop, track_of
from loopwright.geo.polyline import length_m, project
from loopwright.laps import find_circuit, find_circuits, sheet_of
from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.ids import RideId
from loopwright.model.track import CleanTrack
from pacing_help import course_of, wiggly


def loop_of(seed: int, *, length: float = 2500.0, at: tuple[float, float] = (0.0, 0.0)) -> Course:
    return course_of(wiggly(length, seed=seed) + np.array(at))


@pytest.mark.parametrize("every_s", [1.0, 4.0])
@pytest.mark.parametrize("laps", [2.3, 4.6])
def test_a_repeated_loop_is_found_with_its_length(laps: float, every_s: float) -> None:
    course = loop_of(2)
    truth = ride_loop(course, from_m=0, to_m=laps * course.length_m, seed=4)
    line = find_circuit(record(truth, seed=4, every_s=every_s))
    assert line is not None
    assert line[0] == pytest.approx(line[-1])
    assert length_m(line) == pytest.approx(course.length_m, rel=0.01)
    _, off = project(course.xy, line)
    assert float(np.sqrt((off**2).mean())) < 3.0


@pytest.mark.parametrize("every_s", [4.0, 15.0])
def test_a_poor_receiver_and_seldom_fixes_still_give_the_length(every_s: float) -> None:
    course = loop_of(2)
    truth = ride_loop(course, from_m=-300, to_m=6.4 * course.length_m, seed=3)
    line = find_circuit(record(truth, seed=3, every_s=every_s, error_m=9.0, cut_s=60.0))
    assert line is not None
    assert length_m(line) == pytest.approx(course.length_m, rel=0.015)


def test_the_circuit_runs_as_ridden_from_where_it_was_joined() -> None:
    course = loop_of(3)
    truth = ride_loop(course, from_m=0, to_m=3.4 * course.length_m, seed=5, backward=True)
    line = find_circuit(record(truth, seed=5))
    assert line is not None
    assert np.hypot(*(line[0] - course.xy[0])) < 25
    second = line[10] - line[0]
    ridden = truth.xy[30] - truth.xy[0]
    assert second @ ridden > 0


def test_laps_can_be_timed_on_the_found_circuit() -> None:
    course = loop_of(1)
    truth = ride_loop(course, from_m=-300, to_m=4.5 * course.length_m, seed=6)
    track = record(truth, seed=6)
    line = find_circuit(track)
    assert line is not None
    laps = [lap for lap in sheet_of(track, course_of(line)).laps if lap.complete]
    assert len(laps) == 4
    mean = np.mean([lap.elapsed_s for lap in laps])
    true = np.diff(truth.gate_times(course.length_m)).mean()
    assert mean == pytest.approx(true, rel=0.03)


def test_two_circuits_in_one_ride() -> None:
    first, second = loop_of(1), loop_of(4, length=1600.0, at=(2500.0, 0.0))
    one = ride_loop(first, from_m=0, to_m=3.2 * first.length_m, seed=1)
    two = ride_loop(second, from_m=0, to_m=3.2 * second.length_m, seed=2)
    begin = float(one.time_s[-1]) + 300.0
    steps = np.linspace(0, 1, 1500)[1:-1]
    between = one.xy[-1] + steps[:, None] * (two.xy[0] - one.xy[-1])
    whole = Truth(
        time_s=np.concatenate(
            (one.time_s, one.time_s[-1] + 300.0 * steps, two.time_s - two.time_s[0] + begin)
        ),
        xy=np.vstack((one.xy, between, two.xy)),
        progress_m=np.full(len(one.time_s) + len(steps) + len(two.time_s), np.nan),
    )
    found = find_circuits(record(whole, seed=8))
    lengths = sorted(length_m(line) for line in found)
    assert lengths == pytest.approx(sorted([first.length_m, second.length_m]), rel=0.012)


def straight_out() -> Floats:
    run = np.arange(0.0, 3000.0, 5.0)
    return np.column_stack((run, 40 * np.sin(run / 90)))


def out_and_back() -> Floats:
    there = straight_out()
    return np.vstack((there, there[::-1]))


@pytest.mark.parametrize("xy", [straight_out(), out_and_back(), wiggly(2000.0)])
def test_what_is_not_repeated_is_no_circuit(xy: Floats) -> None:
    time = np.linspace(0.0, len(xy) - 1.0, len(xy)) + 1e9
    assert find_circuit(track_of(np.asarray(xy), time, np.arange(len(xy)))) is None


def test_nothing_recorded_is_no_circuit() -> None:
    assert find_circuit(CleanTrack(ride=RideId("none"), pieces=())) is None
