"""Single steps of a build where there is little or nothing to build from."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.model.ids import RideId
from loopwright.model.track import CleanTrack, TrackPiece
from loopwright.network.calm import calmed
from loopwright.network.samples import SHORTEST_M, gather, smoothed, white_m
from loopwright.network.weave import weave


def ride(length_m: float, step_m: float = 2.0) -> CleanTrack:
    """A ride due east."""
    run = np.linspace(0.0, length_m, round(length_m / step_m) + 1)
    rows = np.arange(len(run), dtype=np.int32)
    piece = TrackPiece(
        xy=np.column_stack((run, np.zeros(len(run)))),
        ele_m=np.full(len(run), np.nan),
        time_s=rows.astype(np.float64),
        index=rows,
    )
    return CleanTrack(ride=RideId("east"), pieces=(piece,))


def test_nothing_to_weave_is_an_empty_web() -> None:
    web = weave([], np.zeros((0, 3)))
    assert (web.nodes, web.lines) == ({}, {})


@pytest.mark.parametrize(("length_m", "there"), [(SHORTEST_M - 0.5, False), (SHORTEST_M, True)])
def test_a_piece_too_short_to_show_a_direction_is_left_out(length_m: float, *, there: bool) -> None:
    samples = gather([ride(length_m)])
    assert bool(len(samples)) is there
    assert len(samples.first) == (2 if there else 1)


def test_few_points_show_no_jitter_and_are_not_smoothed() -> None:
    chance = np.random.default_rng(3)
    noisy: Floats = np.column_stack((np.arange(400.0), np.zeros(400)))
    noisy += chance.normal(0.0, 0.8, noisy.shape)
    assert white_m(noisy) == pytest.approx(0.8, rel=0.15)
    assert white_m(noisy[:7]) == 0.0
    assert smoothed(noisy[:4], 1.0) is not None
    assert (smoothed(noisy[:4], 1.0) == noisy[:4]).all()


def test_a_piece_shorter_than_a_window_is_calmed_by_nothing() -> None:
    samples = gather([ride(16.0)])
    assert len(samples) < 5
    assert (calmed(samples, np.full(len(samples), 12.0)).xy == samples.xy).all()
