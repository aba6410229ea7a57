"""Small parts of lap finding, one by one: gates, breaks, climbs, what is no circuit."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from laps_help import record, ride_loop, track_of
from loopwright.laps import find_circuit
from loopwright.laps.climbs import UPHILL, _clock, _ridden, _torque, _weighted
from loopwright.laps.follow import SLACK_M, WOBBLE_SHARE, Break, _joined, _over_gap
from loopwright.laps.gates import AT_GATE_M, REST_S, arrive_s, in_few_words, leave_s, spans_of
from loopwright.laps.kernels import FASTEST_MPS, best_way
from loopwright.laps.sections import _slope
from loopwright.laps.timing import Timed
from loopwright.model.ground import FeatureKind
from loopwright.model.ids import Way
from loopwright.model.laps import Lap, Split
from loopwright.model.track import RecordedTrack
from pacing_help import course_of, feature, ring


def chain(
    time: list[float], progress: list[float], stops: tuple[tuple[float, float], ...] = ()
) -> Timed:
    """A chain of fixes without errors."""
    n = len(time)
    return Timed(
        way=Way.FORWARD, time_s=np.array(time), progress_m=np.array(progress),
        std_error_m=np.ones(n), drift_m=np.zeros((n, 2)), offset_m=np.zeros(n),
        moving_s=np.array(time), stops=stops, breaks=(),
    )  # fmt: skip


STEADY = chain([float(t) for t in range(0, 201, 2)], [5.0 * t for t in range(0, 201, 2)])


def test_a_gate_is_passed_between_two_fixes() -> None:
    assert leave_s(STEADY, 503.0) == pytest.approx(100.6)
    assert arrive_s(STEADY, 503.0) == pytest.approx(100.6)


@pytest.mark.parametrize(
    ("seconds", "aside_m", "rested"),
    [
        (REST_S, 0.0, True), (REST_S - 0.1, 0.0, False),
        (30.0, AT_GATE_M - 0.1, True), (30.0, AT_GATE_M, False),
    ],
)  # fmt: skip
def test_a_rest_at_the_gate_parts_two_laps(*, seconds: float, aside_m: float, rested: bool) -> None:
    time = [*range(101), *(100.0 + seconds + t for t in range(100))]
    progress = [*(5.0 * t for t in range(101)), *(500.0 + 5.0 * t for t in range(100))]
    ride = chain([float(t) for t in time], progress, ((100.0, 100.0 + seconds),))
    gate = 500.0 - aside_m
    both = arrive_s(ride, gate), leave_s(ride, gate)
    if rested:
        assert both == (100.0, 100.0 + seconds)
    else:
        assert both[0] == pytest.approx(both[1], abs=0.2)


def test_a_ride_that_begins_just_past_the_gate_is_run_back() -> None:
    assert leave_s(STEADY, -10.0) == pytest.approx(-2.0)
    standing = chain([0.0, 30.0, 32.0, 34.0], [4.0, 4.0, 14.0, 24.0], ((0.0, 30.0),))
    assert leave_s(standing, 0.0) == 30.0
    short = chain([0.0, 10.0, 12.0, 14.0], [4.0, 4.0, 14.0, 24.0], ((0.0, 10.0),))
    assert leave_s(short, 0.0) == 10.0
    crawling = chain([0.0, 10.0, 20.0], [4.0, 8.0, 12.0])
    assert leave_s(crawling, 0.0) == 0.0


def test_a_ride_that_ends_at_the_gate_runs_on_at_its_speed() -> None:
    """The last fix was written standing, 30 s after the line."""
    late = chain(
        [*(float(t) for t in range(0, 41, 2)), 70.0], [*(5.0 * t for t in range(0, 41, 2)), 212.0]
    )
    assert arrive_s(late, 210.0) == pytest.approx(42.0, abs=0.01)
    assert arrive_s(late, 215.0) == pytest.approx(43.0, abs=0.01)
    assert arrive_s(STEADY, 1000.0) == pytest.approx(200.0)


def test_spans_from_gate_to_gate_and_what_is_left() -> None:
    spans = spans_of(STEADY, 300.0)
    assert [(s.turn, s.complete) for s in spans] == [(0, True), (1, True), (2, True), (3, False)]
    assert [round(s.end_s - s.start_s, 3) for s in spans] == [60.0, 60.0, 60.0, 20.0]
    assert spans[-1].note == "100 of 300 m"


def test_many_gaps_of_a_lap_are_told_as_one_sum() -> None:
    """12 gaps of 5 s over 20 m make 60 s over 240 m; what spoils a lap is told by itself."""
    gaps = [Break(from_m=50.0 * n, to_m=50.0 * n + 20.0, words=f"gap {n}", spoils=False,
                  silent_s=5.0) for n in range(12)]  # fmt: skip
    left = Break(from_m=620.0, to_m=640.0, words="left the loop for 90 m")
    assert in_few_words([]) == []
    assert in_few_words([gaps[0], left, gaps[1]]) == ["gap 0", left.words, "gap 1"]
    whole = "60 s not recorded over 240 m in 12 gaps"
    assert in_few_words([*gaps[:6], left, *gaps[6:]]) == [left.words, whole]
    whole_lap, *_ = spans_of(replace(STEADY, breaks=tuple(gaps)), 1000.0)
    assert (whole_lap.note, whole_lap.complete) == (whole, True)
    piece = spans_of(replace(STEADY, breaks=tuple(gaps)), 700.0)[-1]
    assert piece.note == "300 of 700 m"


def matched(*, metres: list[float], run: list[float], silent: float = 0.0) -> Any:
    """Two or more samples on a loop of 1,000 m, as the lap finder holds them."""

    def forward(a: int, b: int) -> float:
        return metres[b] - metres[a]

    return SimpleNamespace(
        forward=forward, run=np.array(run), silent=np.cumsum([0.0] + [silent] * (len(run) - 1)),
        skip_m=20.0, strayed_m=lambda _a, _b, _step: 1e9,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("step", "ridden", "words"),
    [
        (40.0, 40.0, None), (45.0 + 0.25 * 20.0, 20.0, "cut 30 m short"),
        (20.0 + 20.0 + WOBBLE_SHARE * 20.0, 20.0, None), (-20.0, 20.0, None),
        (-21.0, 21.0, "went back 21 m"),
    ],
)  # fmt: skip
def test_what_is_amiss_between_two_samples(step: float, ridden: float, words: str | None) -> None:
    got, broken = _joined(matched(metres=[100.0, 100.0 + step], run=[0.0, ridden]), 0, 1, 500.0)
    assert got == step
    assert (None if broken is None else broken.words) == words
    if broken is not None:
        assert (broken.from_m, broken.to_m) == (min(500.0, 500.0 + step), max(500.0, 500.0 + step))
        assert broken.spoils


def test_leaving_the_loop_is_told_with_what_was_missed() -> None:
    gone = matched(metres=[100.0, 0.0, 190.0], run=[0.0, 100.0, 300.0])
    assert _joined(gone, 0, 2, 0.0)[1].words == "left the loop for 300 m and missed 90 m of it"  # type: ignore[union-attr] # there is one
    back = matched(metres=[100.0, 0.0, 110.0], run=[0.0, 100.0, 300.0])
    assert _joined(back, 0, 2, 0.0)[1].words == "left the loop for 300 m"  # type: ignore[union-attr] # there is one


@pytest.mark.parametrize(
    ("step", "ridden", "spoils"),
    [
        (2.0, 2.0, None), (2.1, 2.1, False), (10 * FASTEST_MPS + SLACK_M, 100.0, False),
        (10 * FASTEST_MPS + SLACK_M + 0.1, 100.0, True), (40.0, 40.0 + SLACK_M, False),
        (40.0, 40.1 + SLACK_M, True), (-50.0, 0.0, None),
    ],
)  # fmt: skip
def test_a_break_in_the_recording(*, step: float, ridden: float, spoils: bool | None) -> None:
    got, broken = _over_gap(step, ridden, 10.0, 300.0)
    assert got == step
    assert (None if broken is None else broken.spoils) is spoils
    if broken is not None:
        assert broken.words == f"10 s not recorded over {step:.0f} m"
        assert broken.silent_s == (0.0 if broken.spoils else 10.0)


def lap(*edges: float, way: Way = Way.FORWARD, complete: bool = True) -> Lap:
    splits = tuple(
        Split(
            number=i, name="x", from_m=a, to_m=b, elapsed_s=(b - a) / 5, moving_s=1, std_error_s=1
        )
        for i, (a, b) in enumerate(pairwise(edges))
    )  # fmt: skip
    splits = splits if way is Way.FORWARD else splits[::-1]
    return Lap(
        number=1, way=way, start_s=1000.0, elapsed_s=0, moving_s=0, length_m=0, complete=complete,
        splits=splits,
    )  # fmt: skip


def test_climbs_count_when_they_were_ridden_whole() -> None:
    climbs = (
        feature(1, FeatureKind.CLIMB, 0.0, 100.0), feature(2, FeatureKind.CLIMB, 200.0, 300.0),
        feature(3, FeatureKind.CLIMB, 299.0, 301.0), feature(4, FeatureKind.DESCENT, 10.0, 50.0),
    )  # fmt: skip
    course = course_of(ring(60.0), features=climbs)
    whole = list(_ridden(lap(0.0, 150.0, 300.0), course))
    assert [f.number for f, _ in whole] == [1, 2]
    assert [times for _, times in whole] == [(1000.0, 1020.0), (1040.0, 1060.0)]
    back = list(_ridden(lap(0.0, 150.0, 300.0, way=Way.BACKWARD), course))
    assert [f.number for f, _ in back] == [4]
    assert [times for _, times in back] == [(1050.0, 1058.0)]
    assert FeatureKind.DESCENT in UPHILL[Way.BACKWARD]
    assert list(_ridden(lap(0.0, 300.0, complete=False), course)) == []


def test_a_clock_with_holes_is_no_clock() -> None:
    assert _clock(lap(0.0, 50.0, 90.0))[0].tolist() == [0.0, 50.0, 90.0]
    torn = lap(0.0, 50.0, 90.0)
    torn = replace(torn, splits=(torn.splits[0], replace(torn.splits[1], from_m=51.0)))
    assert _clock(torn)[0].size == 0
    assert _clock(lap(0.0))[0].size == 0


def test_a_mean_needs_four_fifths_of_the_time() -> None:
    values, weights = np.array([100.0, 200.0, np.nan]), np.array([4.0, 4.0, 2.0])
    assert _weighted(values, weights, 10.0) == 150.0
    assert _weighted(values, weights, 10.1) is None


def test_torque_is_of_turning_cranks() -> None:
    track = RecordedTrack(
        name="t", source="t", lat=np.zeros(4), lon=np.zeros(4), ele_m=np.zeros(4),
        time_s=np.arange(4.0), piece=np.zeros(4, np.int32),
        extras={"power_w": np.full(4, 200.0), "cadence_rpm": np.array([0.0, 60.0, 60.0, 20.0])},
    )  # fmt: skip
    assert _torque(track, (0.0, 3.0)) == pytest.approx(200.0 / (2 * np.pi))
    assert _torque(track, (0.0, 1.0)) is None
    still = replace(track, extras=dict(track.extras) | {"cadence_rpm": np.zeros(4)})
    assert _torque(still, (0.0, 3.0)) is None
    assert _torque(replace(track, extras={}), (0.0, 3.0)) is None


def test_a_slope_needs_two_values() -> None:
    assert _slope([3.0]) is None
    assert _slope([3.0, 5.0, 7.0]) == pytest.approx(2.0)


def test_leaving_the_loop_in_the_middle_of_a_ride() -> None:
    """Twenty samples on the loop, then so dear that being off is cheaper than staying."""
    places = np.cumsum(np.full((26, 1), 5.0), axis=0)
    cost = np.zeros((26, 2, 1))
    cost[:, 1] = 50.0
    cost[20:] = 50.0
    states = best_way(places, cost, np.full(26, 5.0), np.zeros(26), 400.0)
    assert states.tolist() == [0] * 20 + [2] * 6


def test_laps_that_were_never_recorded_in_one_go_are_no_circuit() -> None:
    """Every piece ends before the lap does: nobody saw a whole one."""
    course = course_of(ring(100.0))
    truth = ride_loop(course, from_m=0, to_m=5.0 * course.length_m, seed=2)
    whole = record(truth, seed=2, error_m=1.0)
    part = whole.pieces[0]
    run = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(part.xy, axis=0).T))))
    keep = run % (0.8 * course.length_m) > 40.0
    torn = track_of(part.xy[keep], part.time_s[keep], np.flatnonzero(keep))
    assert len(torn.pieces) > 4
    assert find_circuit(whole) is not None
    assert find_circuit(torn) is None
