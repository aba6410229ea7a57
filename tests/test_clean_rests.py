"""A long rest is one place however far the receiver wanders; riding on the spot is no rest."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from loopwright.clean.rests import resting
from loopwright.clean.strand import strand_of
from loopwright.invented.park import OPEN_OCEAN
from loopwright.invented.receiver import fading
from loopwright.model.arrays import Floats
from loopwright.model.track import FaultKind
from network_help import cleaned, faults_of, recorded, words_of

WALK_M_S = 1.3


def walk(metres: float, speed: float = WALK_M_S) -> Floats:
    """Straight east, a place each second."""
    x = np.arange(0.0, metres, speed)
    return np.column_stack((x, np.zeros(len(x))))


def with_rest(error_m: float, rest_s: int, seed: int = 1) -> Floats:
    """A walk with a rest in the middle, seen by a receiver whose error fades in a minute."""
    xy = walk(600.0)
    half = len(xy) // 2
    stood = np.vstack((xy[:half], np.repeat(xy[half : half + 1], rest_s, axis=0), xy[half:]))
    error = fading(np.random.default_rng(seed), np.ones(len(stood) - 1), 60.0, 2)
    return np.asarray(stood + error_m * error)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("error_m", [3.0, 8.0])
def test_a_long_rest_under_trees_is_folded(error_m: float, seed: int) -> None:
    xy = with_rest(error_m, 900, seed)
    track = cleaned([recorded(xy)])[0]
    assert FaultKind.PAUSE in faults_of(track)
    assert "stood still" in words_of(track, FaultKind.PAUSE)
    (piece,) = track.pieces
    middle = np.flatnonzero(np.diff(piece.time_s) > 600.0)
    assert len(middle) == 1
    # Of 15 minutes' scatter nothing is left: the rows before and after are those of the walk.
    assert len(piece.xy) < 600
    assert piece.time_s[-1] - piece.time_s[0] == len(xy) - 1


def circle(radius: float, speed: float, seconds: int) -> Floats:
    """Round and round on the spot."""
    angle = np.arange(seconds) * speed / radius
    return radius * np.column_stack((np.cos(angle), np.sin(angle)))


def hairpins(legs: int, leg_m: float, speed: float) -> Floats:
    """Up a slope in hairpins 8 m apart."""
    corners = [(leg_m * ((k + 1) // 2 % 2), 8.0 * (k // 2)) for k in range(2 * legs)]
    parts = [
        np.linspace(a, b, max(2, round(float(np.hypot(*np.subtract(b, a))) / speed)))[:-1]
        for a, b in pairwise(corners)
    ]
    return np.vstack(parts)


@pytest.mark.parametrize(
    "xy",
    [
        circle(6.0, 1.3, 900),
        circle(12.0, 2.0, 900),
        circle(10.0, 3.1, 900),
        circle(15.0, 4.7, 900),
        hairpins(12, 30.0, 1.0),
        hairpins(8, 20.0, 0.8),
        walk(600.0, 0.6),
    ],
    ids=["6 m", "12 m", "10 m", "15 m", "hairpins", "short hairpins", "slow"],
)
def test_riding_round_on_the_spot_is_no_rest(xy: Floats) -> None:
    way = np.vstack((walk(400.0) - [400.0, 0.0] + xy[0], xy, walk(400.0) + xy[-1]))
    assert not resting(strand_of(recorded(way), OPEN_OCEAN)).any()


@pytest.mark.parametrize("seconds", [150, 300_000])
def test_a_recording_shorter_than_a_rest_or_of_no_believable_length_shows_none(
    seconds: int,
) -> None:
    xy = np.zeros((150, 2))
    time = np.linspace(0.0, seconds, 150)
    assert not resting(strand_of(recorded(xy, time=time), OPEN_OCEAN)).any()


def test_points_far_apart_show_a_rest_too() -> None:
    xy = with_rest(6.0, 1200)
    time = np.arange(len(xy), dtype=np.float64)[::10]
    track = cleaned([recorded(xy[::10], time=time)])[0]
    assert FaultKind.PAUSE in faults_of(track)
    assert max(np.diff(track.pieces[0].time_s)) > 800.0
