"""Single steps of a build where there is little or nothing to build from."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.invented.park import OPEN_OCEAN
from loopwright.model.arrays import Floats
from loopwright.model.ids import RideId
from loopwright.model.track import CleanTrack, TrackPiece
from loopwright.network import build_network
from loopwright.network.attract import Aligned
from loopwright.network.calm import calmed
from loopwright.network.fitted import MOST_ROUNDS
from loopwright.network.samples import SHORTEST_M, curve, gather, smoothed, white_m
from loopwright.network.weave import weave
from loopwright.network.web import Web
from network_help import START_S, cleaned, recorded, winding


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


def there_and_back(number: int) -> TrackPiece:
    """Seven metres north and back again, a second each."""
    north = np.abs(np.arange(15.0) - 7.0) * -1.0 + 7.0
    rows = np.arange(15, dtype=np.int32) + 20 * number
    return TrackPiece(
        xy=np.column_stack((np.full(15, 60.0 * number), north)), ele_m=np.full(15, 100.0),
        time_s=rows.astype(np.float64) + 100.0 * number, index=rows,
    )  # fmt: skip


def test_a_ride_of_nothing_but_turning_round_makes_no_trail() -> None:
    track = CleanTrack(ride=RideId("round"), pieces=tuple(map(there_and_back, range(3))))
    assert len(gather([track])) > 0
    network = build_network([track], OPEN_OCEAN)
    assert (network.stretches, network.junctions, network.asides) == ((), (), ())


def test_rides_told_in_batches_give_the_same_network(monkeypatch: pytest.MonkeyPatch) -> None:
    chance = np.random.default_rng(5)
    tracks = cleaned(
        recorded(winding() + chance.normal(0.0, 2.0, 2), start=START_S + 86_400.0 * k)
        for k in range(4)
    )
    whole = build_network(tracks, OPEN_OCEAN)
    monkeypatch.setattr("loopwright.network.build.BATCH_POINTS", 2 * len(winding()))
    again = build_network(tracks, OPEN_OCEAN)
    assert [s.xy.tobytes() for s in again.stretches] == [s.xy.tobytes() for s in whole.stretches]
    assert [s.passes for s in again.stretches] == [s.passes for s in whole.stretches]


def test_dropping_that_never_ends_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    tracks = cleaned([recorded(winding())])
    whole, rounds = build_network(tracks, OPEN_OCEAN), list[int]()

    def dropped(web: Web, _: float) -> int:
        rounds.append(len(web.lines))
        return 1

    monkeypatch.setattr("loopwright.network.fitted.drop_shadows", dropped)
    again = build_network(tracks, OPEN_OCEAN)
    assert rounds == [1] * MOST_ROUNDS
    assert [s.xy.tobytes() for s in again.stretches] == [s.xy.tobytes() for s in whole.stretches]


def test_loose_ends_are_looked_at_once_more_after_something_was_tied(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tracks = cleaned([recorded(winding())])
    whole, looks = build_network(tracks, OPEN_OCEAN), list[int]()

    def tied(web: Web, *_: object) -> int:
        looks.append(len(web.lines))
        return 1

    monkeypatch.setattr("loopwright.network.fitted.tie_onward", tied)
    again = build_network(tracks, OPEN_OCEAN)
    assert looks == [1, 1]
    assert [s.xy.tobytes() for s in again.stretches] == [s.xy.tobytes() for s in whole.stretches]


@pytest.mark.parametrize(("gone", "lines"), [(1, 1), (0, 2)])
def test_what_chords_leave_is_mended_before_hairpins_are_looked_for(
    monkeypatch: pytest.MonkeyPatch, gone: int, lines: int
) -> None:
    found = list[int]()

    def parted(web: Web, *_: object) -> int:
        (number,) = web.lines
        web.split_line(number, len(web.lines[number].xyz) // 2, web.new_node())
        return gone

    def looked(web: Web, _: object, aligned: Aligned, __: object) -> Aligned:
        found.append(len(web.lines))
        return aligned

    monkeypatch.setattr("loopwright.network.fitted.drop_chords", parted)
    monkeypatch.setattr("loopwright.network.fitted.unfold", looked)
    build_network(cleaned([recorded(winding())]), OPEN_OCEAN)
    assert found == [lines]


@pytest.mark.parametrize(("step_s", "looks"), [(1.0, 2), (6.0, 4)])
def test_lines_that_are_drawn_again_are_thinned_out_only_at_last(
    monkeypatch: pytest.MonkeyPatch, step_s: float, looks: int
) -> None:
    line = winding(2400.0, 4.0 * step_s)
    tracks = cleaned(
        recorded(
            line, time=step_s * np.arange(len(line), dtype=np.float64), start=START_S + 86_400.0 * k
        )
        for k in range(4)
    )
    found = list[int]()

    def tied(web: Web, *_: object) -> int:
        found.append(len(web.lines))
        return 1

    monkeypatch.setattr("loopwright.network.fitted.tie_onward", tied)
    build_network(tracks, OPEN_OCEAN)
    assert len(found) == looks


def test_a_curve_needs_three_places() -> None:
    xy = np.array([[0.0, 0.0], [20.0, 5.0], [20.0, 5.0]])
    line, number = curve(xy, 20.0)
    assert line.tolist() == xy.tolist()
    assert number.tolist() == [0.0, 1.0, 2.0]


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
