"""Heights of a place are those of all rides that passed; the pace tells how long an error lasts."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.corridors import UNKNOWN_FADE_M, corridors_of
from loopwright.network.heights import shared
from loopwright.network.pairs import abreast
from loopwright.network.samples import Samples, gather
from network_help import cleaned, recorded
from test_network_knots import walked

ROAD = np.column_stack((np.arange(0.0, 400.0, 4.0), np.zeros(100)))
UP, RIGHT = np.array([0.0, 1.0]), np.array([0.0, -2.0])


def sampled(*rides: tuple[Floats, float], apart_s: float = 1.0) -> Samples:
    """Samples of rides (places, height), a day apart, ``apart_s`` seconds between points."""
    tracks = []
    for k, (xy, ele) in enumerate(rides):
        time = np.asarray(apart_s * np.arange(len(xy)), dtype=np.float64)
        tracks.append(recorded(xy, ele=ele, time=time, start=1.9e9 + 91_234.0 * k))
    return gather(cleaned(tracks))


def heights(*rides: tuple[Floats, float]) -> list[float]:
    """The usual shared height of each ride."""
    samples = sampled(*rides)
    pairs = abreast(samples, samples.xy, samples.head, reach_m=7.0)
    found = shared(samples.ele, Aligned(xy=samples.xy, head=samples.head), pairs)
    return [float(np.median(found[samples.ride == k])) for k in range(len(rides))]


def test_a_place_has_the_mean_height_of_its_rides() -> None:
    found = heights((ROAD, 100.0), (ROAD + UP, 103.0), (ROAD + RIGHT, 101.0))
    assert found == pytest.approx([101.33] * 3, abs=0.05)


def test_a_ride_without_heights_gets_those_of_the_others() -> None:
    assert heights((ROAD, np.nan), (ROAD + UP, 102.0)) == pytest.approx([102.0, 102.0], abs=0.01)
    assert np.isnan(heights((ROAD, np.nan), (ROAD + UP, np.nan))).all()


def test_what_lies_above_or_farther_aside_is_another_place() -> None:
    assert heights((ROAD, 100.0), (ROAD + UP, 108.5)) == pytest.approx([100.0, 108.5], abs=0.01)
    beside = (ROAD + 6.5 * UP, 104.0)
    assert heights((ROAD, 100.0), beside) == pytest.approx([100.0, 104.0], abs=0.01)


@pytest.mark.parametrize(
    ("apart_s", "fade_m"),
    [(1.0, 240.0), (4.0, 60.0), (8.0, 60.0), (0.4, 400.0), (np.nan, UNKNOWN_FADE_M)],
)
def test_errors_fade_over_a_minute_of_the_usual_pace(apart_s: float, fade_m: float) -> None:
    # 4 m between points: 4 m/s a second apart, 240 m a minute; 60 to 400 m at most.
    known = np.isfinite(apart_s)
    samples = sampled((ROAD, 100.0), (ROAD + UP, 100.0), apart_s=apart_s if known else 1.0)
    if not known:
        samples = dataclasses.replace(samples, time=np.full(len(samples), np.nan))
    web = walked((0, 1, np.column_stack((ROAD, np.full(len(ROAD), 100.0))), 2.0))
    laid = Aligned(xy=samples.xy, head=samples.head)
    found = corridors_of(web, samples, laid, samples.ele, np.full(len(samples), 3.0))
    assert [one.fade_m for one in found] == pytest.approx([fade_m], rel=0.02)
