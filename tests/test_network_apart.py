"""Two trails that errors laid together are told by their groups of passes and laid apart."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import scipy.linalg

from loopwright.invented.lines import beside
from loopwright.invented.receiver import fading
from loopwright.model.arrays import Floats
from loopwright.network import groups
from loopwright.network.apart import laid_apart
from loopwright.network.attract import Aligned
from loopwright.network.corridors import Corridor, Reading
from loopwright.network.ends import best_span
from loopwright.network.groups import amplitudes, by_itself, one_group, zones_of
from loopwright.network.repair import untwin
from loopwright.network.rows import Bools
from loopwright.network.samples import Samples, gather
from loopwright.network.shadows import drop_shadows
from loopwright.network.spans import FLANK_M, agreement, profile
from loopwright.network.strays import drop_strays
from loopwright.network.web import Web
from network_help import cleaned, recorded

LENGTH_M, FROM_M, TO_M = 420.0, 130.0, 290.0
ERROR_M, FADE_M = 5.0, 300.0


def corridor(*, gap_m: float, apart: int, passes: int = 14, seed: int = 0) -> Corridor:
    """A straight trail; the first ``apart`` passes leave it by ``gap_m`` and come back."""
    rng = np.random.default_rng(seed)
    dist = np.arange(0.0, LENGTH_M + 1.0, 5.0)
    xy, left = np.column_stack((dist, 0.0 * dist)), np.tile([0.0, 1.0], (len(dist), 1))
    away = gap_m * profile(dist, np.array(FROM_M), np.array(TO_M))
    readings = []
    for number in range(passes):
        error = ERROR_M * fading(rng, np.diff(dist), FADE_M, 1)[:, 0]
        recorded_m = error + away * (number < apart)
        readings.append(
            Reading(
                low=0, high=len(dist), recorded=recorded_m, aligned=0.0 * dist,
                sigma=np.full(len(dist), ERROR_M), rows=np.arange(len(dist)), place=dist,
            )
        )  # fmt: skip
    return Corridor(dist=dist, xy=xy, left=left, fade_m=FADE_M, readings=tuple(readings))


@pytest.mark.parametrize("apart", [3, 7])
def test_two_groups_two_errors_apart_are_told(apart: int) -> None:
    for seed in range(5):
        (zone,) = zones_of(corridor(gap_m=10.0, apart=apart, seed=seed))
        assert abs(zone.from_m - FROM_M) <= 10.0
        assert abs(zone.to_m - TO_M) <= 10.0
        assert zone.gap_m == pytest.approx(10.0, abs=2.5)
        assert zone.side.tolist() == [1] * apart + [-1] * (14 - apart)


def test_the_few_of_many_are_told() -> None:
    """Two of forty: cutting one group there explains far less than cutting it in the middle."""
    found = [zones_of(corridor(gap_m=8.0, apart=2, passes=40, seed=seed)) for seed in range(20)]
    told = [[zone.side.tolist() for zone in zones] == [[1] * 2 + [-1] * 38] for zones in found]
    assert sum(told) >= 15  # 8 where each pass counts as in an even cut


def test_one_trail_is_one_however_many_ride_it() -> None:
    assert not any(
        zones_of(corridor(gap_m=0.0, apart=5, passes=60, seed=seed)) for seed in range(20)
    )


@pytest.mark.parametrize("share", [0.1, 0.2, 0.5])
@pytest.mark.parametrize("passes", [32, 60])
def test_no_error_larger_than_told_makes_a_cut_explain_more(share: float, passes: int) -> None:
    """Against normal samples of five times the told error, cut there (numpy)."""
    drawn = 5.0 * np.sort(np.random.default_rng(1).standard_normal((4000, passes)), axis=1)
    cut = round(share * passes)
    low, high = drawn[:, :cut].mean(axis=1), drawn[:, cut:].mean(axis=1)
    gain = cut * (passes - cut) / passes * (high - low) ** 2
    rest = (passes * drawn.var(axis=1) - gain) / (passes - 2)
    alone = by_itself(np.array([cut / passes]), np.array([passes]))[0]
    assert (gain / rest).mean() <= 1.02 * alone


def test_few_passes_are_taken_at_their_word() -> None:
    assert by_itself(np.array([0.5]), np.array([16]))[0] == pytest.approx(16.0)


@pytest.mark.parametrize("share", [0.05, 0.2, 0.5, 0.9])
def test_what_cutting_one_group_explains_is_that_of_a_normal_distribution(share: float) -> None:
    """Against a sorted sample of a normal distribution, cut there (numpy)."""
    drawn = np.sort(np.random.default_rng(0).standard_normal(400_000))
    cut = int(share * len(drawn))
    low, high = drawn[:cut].mean(), drawn[cut:].mean()
    explained = share * (1.0 - share) * (high - low) ** 2
    assert one_group(np.array([share]))[0] * 2.0 / np.pi == pytest.approx(explained, rel=0.01)


def test_one_trail_is_one_however_its_its_rides_scatter() -> None:
    assert not any(zones_of(corridor(gap_m=0.0, apart=7, seed=seed)) for seed in range(40))


def test_groups_nearer_than_riders_choose_their_line_are_one() -> None:
    assert not any(zones_of(corridor(gap_m=3.0, apart=7, seed=seed)) for seed in range(10))


def test_a_zone_whose_ends_move_away_is_looked_for_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Wherever a look begins, it ends at one place far from most: still one zone, and an end."""
    monkeypatch.setattr(groups, "best_span", lambda *_: np.array([FROM_M, TO_M]))
    monkeypatch.setattr(groups, "LEAST_SCORE", 10.0)
    assert len(zones_of(corridor(gap_m=10.0, apart=7))) == 1


def test_zones_of_one_corridor_keep_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    """With hardly any doubt asked for, chance alone makes zones; even these never share ground."""
    monkeypatch.setattr(groups, "LEAST_SCORE", 0.5)
    monkeypatch.setattr(groups, "LEAST_GAP_M", 0.5)
    many = [zones_of(corridor(gap_m=0.0, apart=7, seed=seed)) for seed in range(10)]
    assert max(map(len, many)) > 1
    for zones in many:
        for one, two in pairwise(sorted(zones, key=lambda zone: zone.from_m)):
            assert two.from_m - one.to_m >= FLANK_M


def test_a_single_pass_makes_no_group() -> None:
    assert not any(zones_of(corridor(gap_m=12.0, apart=1, seed=seed)) for seed in range(10))


def test_a_swelling_of_the_error_is_no_second_trail() -> None:
    told = {
        known: sum(bool(zones_of(shaded(known, seed))) for seed in range(8))
        for known in (True, False)
    }
    assert told[True] == 0
    assert told[False] > 0


def shaded(known: bool, seed: int) -> Corridor:  # noqa: FBT001
    """A single trail on which errors are four times as large for a while, ``known`` or not."""
    one = corridor(gap_m=0.0, apart=0, seed=seed)
    swell = 1.0 + 3.0 * profile(one.dist, np.array(FROM_M), np.array(TO_M))
    readings = [
        replace(r, recorded=r.recorded * swell, sigma=r.sigma * (swell if known else 1.0))
        for r in one.readings
    ]
    return replace(one, readings=tuple(readings))


def twins(gap_m: float) -> tuple[Web, Floats, Floats]:
    """A web of one line 600 m long, and two ways along it that differ for 160 m."""
    x = np.arange(0.0, 601.0, 4.0)
    straight = np.column_stack((x, 0.0 * x))
    second = beside(straight, from_m=220.0, to_m=380.0, gap_m=gap_m, lead_m=20.0)
    web = Web()
    web.add_node(0, np.array([0.0, 0.0, 100.0]))
    web.add_node(1, np.array([600.0, 0.0, 100.0]))
    web.add_line(0, 1, np.column_stack((straight, np.full(len(x), 100.0))), 10.0)
    return web, straight, np.vstack((straight[x < 220.0], second, straight[x > 380.0]))


def ridden(*ways: Floats, error_m: float) -> Samples:
    """Each way ridden five times in turn, with an error that fades slowly."""
    rng = np.random.default_rng(8)
    rides = []
    for number in range(5 * len(ways)):
        xy = ways[number % len(ways)]
        error = fading(rng, np.full(len(xy) - 1, 4.0), FADE_M, 2)
        rides.append(recorded(xy + error_m * error, start=1.9e9 + 91_234.0 * number))
    return gather(cleaned(rides))


def laid(web: Web, samples: Samples, lanes: Bools | None = None) -> tuple[Floats, Bools]:
    """Lay samples apart that errors laid on one line."""
    if lanes is None:
        lanes = np.zeros(len(samples), dtype=bool)
    fused = Aligned(
        xy=np.column_stack((samples.xy[:, 0], 0.0 * samples.xy[:, 0])), head=samples.head
    )
    sigma = np.full(len(samples), 3.0)
    aligned, moved = laid_apart(web, samples, fused, samples.ele, sigma, lanes=lanes)
    return aligned.xy, moved


def test_each_group_is_laid_on_its_own_trail_and_the_rest_stays() -> None:
    web, straight, other = twins(9.0)
    samples = ridden(straight, other, error_m=3.0)
    xy, moved = laid(web, samples)
    abreast = (samples.xy[:, 0] > 250.0) & (samples.xy[:, 0] < 350.0)
    want = np.where(samples.ride % 2 == 1, 9.0, 0.0)
    assert moved[abreast].all()
    assert np.abs(xy[abreast, 1] - want[abreast]).max() < 3.0
    far = np.abs(samples.xy[:, 0] - 300.0) > 170.0
    assert not moved[far].any()
    assert np.abs(xy[far, 1]).max() == 0.0


@pytest.mark.parametrize(("low", "high"), [(120.0, 230.0), (370.0, 480.0)])
def test_lines_told_by_the_way_they_are_ridden_are_apart_already(low: float, high: float) -> None:
    """Beside a zone that goes on as two lines there is no common trail to lay it by."""
    web, straight, other = twins(9.0)
    samples = ridden(straight, other, error_m=3.0)
    east = samples.xy[:, 0]
    _, moved = laid(web, samples, (east > low) & (east < high))
    assert not moved.any()
    _, moved = laid(web, samples, (east > 250.0) & (east < 350.0))
    assert moved.any()


def test_nothing_moves_on_a_single_trail() -> None:
    web, straight, _ = twins(9.0)
    xy, moved = laid(web, ridden(straight, straight, error_m=3.0))
    assert not moved.any()
    assert np.abs(xy[:, 1]).max() == 0.0


def test_where_there_are_no_lines_nothing_moves() -> None:
    _, straight, _ = twins(9.0)
    _, moved = laid(Web(), ridden(straight, error_m=3.0))
    assert not moved.any()


def test_one_turn_of_both_ends_comes_near_the_forks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("loopwright.network.ends.TURNS", 1)
    side = np.array([1] * 7 + [-1] * 7)
    one = corridor(gap_m=10.0, apart=7)
    span = best_span(one, side, np.array([FROM_M + 25.0, TO_M + 45.0]))
    assert span == pytest.approx([FROM_M, TO_M], abs=10.0)


@pytest.mark.parametrize("drop", [untwin, drop_shadows, drop_strays])
def test_lines_whose_passes_were_told_apart_are_never_strays(
    drop: Callable[[Web, float], int],
) -> None:
    for parted in (False, True):
        web, _, _ = twins(8.0)
        straight = web.lines[0].xyz
        number = web.add_line(0, 1, straight + np.array([0.0, 7.0, 0.0]), 1.0)
        for line in web.lines.values():
            line.parted, line.error_m = parted, 5.0
        assert drop(web, 5.0) == (not parted)
        assert (number in web.lines) is parted


def test_what_passes_leave_the_trail_by_is_weighed_by_least_squares() -> None:
    """Held against scipy: errors that agree are made independent by their Cholesky factor."""
    one = corridor(gap_m=10.0, apart=7)
    rows = np.arange(len(one.dist))
    shape = profile(one.dist, np.array(FROM_M), np.array(TO_M))
    root = np.linalg.cholesky(agreement(one, rows))
    white = scipy.linalg.solve_triangular(root, shape, lower=True)
    for number, reading in enumerate(one.readings):
        seen = scipy.linalg.solve_triangular(root, reading.recorded, lower=True)
        want = np.linalg.lstsq(white[:, None], seen, rcond=None)[0][0]
        offset, error = amplitudes(one, rows, np.array([[FROM_M, TO_M]]))
        assert offset[0, number] == pytest.approx(want)
        assert error[0, number] == pytest.approx(ERROR_M / np.sqrt(white @ white))
