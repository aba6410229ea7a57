"""Trails are drawn twice: the second time only from riding that lies on a line of the first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from loopwright.invented.park import OPEN_OCEAN
from loopwright.model.arrays import Floats
from loopwright.network import build_network, fitted
from loopwright.network.cover import Run, cover
from loopwright.network.pairs import abreast
from loopwright.network.plots import Pairs
from loopwright.network.rows import Bools
from loopwright.network.samples import Samples
from network_help import cleaned, degrees, recorded, ridden, winding

PASSES = 12


def _swung(out_m: float) -> Floats:
    """Ride the winding trail, but out to one side and back between 300 and 380 m."""
    xy = winding()
    bulge = np.clip(1.0 - np.abs(xy[:, 0] - 340.0) / 40.0, 0.0, 1.0)
    return xy + np.column_stack((np.zeros(len(xy)), out_m * np.sin(np.pi / 2 * bulge)))


def test_a_run_is_made_only_of_what_is_marked() -> None:
    samples, aligned, _ = ridden(winding())
    pairs = abreast(samples, aligned.xy, aligned.head, reach_m=7.0)
    only = samples.xy[:, 0] < 400.0
    whole, half = (
        cover(samples, aligned.xy, aligned.head, pairs, np.ones(1), only=marked)
        for marked in (None, only)
    )
    assert [run.stop - run.start for run in whole] == [len(samples)]
    assert [(run.start, run.stop) for run in half] == [(0, int(only.sum()))]


@dataclass(frozen=True)
class _Asked:
    """What is asked of a drawing: samples at places ``xy``, rank of pieces, what may be drawn."""

    samples: Samples
    xy: Floats
    rank: Floats
    only: Bools | None


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[_Asked]:
    """Keep what is asked of each drawing."""
    kept: list[_Asked] = []

    def spied(
        samples: Samples, xy: Floats, head: Floats, pairs: Pairs, rank: Floats,
        *, only: Bools | None = None,
    ) -> list[Run]:  # fmt: skip
        kept.append(_Asked(samples, xy, rank, only))
        return cover(samples, xy, head, pairs, rank, only=only)

    monkeypatch.setattr(fitted, "cover", spied)
    return kept


def test_what_was_dropped_draws_nothing_the_second_time(
    asked: list[_Asked],
) -> None:
    lines = [winding() for _ in range(PASSES)] + [_swung(20.0)]
    rides = [recorded(xy, start=1.9e9 + 91_234.0 * k) for k, xy in enumerate(lines)]
    network = build_network(cleaned(rides), OPEN_OCEAN)

    assert degrees(network) == [1, 1]
    assert asked[0].only is None
    xy, only = asked[-1].xy, asked[-1].only
    assert only is not None
    off = np.abs(xy[:, 1] - np.interp(xy[:, 0], *winding().T))
    assert (off[~only] > 6.0).all(), "only the swing is left out"
    assert 4 <= (~only).sum() <= 20


def test_riding_near_the_middle_is_drawn_first(asked: list[_Asked]) -> None:
    lines = [winding() + np.array([0.0, y]) for y in (-6.0, 4.5, -3.0, 0.0, 3.0, -4.5, 6.0)]
    lines.insert(2, _swung(30.0))
    rides = [recorded(xy, start=1.9e9 + 91_234.0 * k) for k, xy in enumerate(lines)]
    build_network(cleaned(rides), OPEN_OCEAN)

    last = asked[-1]
    off = np.abs(last.xy[:, 1] - np.interp(last.xy[:, 0], *winding().T))
    mean = [np.minimum(part, 8.0).mean() for part in np.split(off, last.samples.first[1:-1])]
    assert last.rank == pytest.approx(-np.array(mean), abs=0.3)
    assert last.samples.ride[last.samples.first[last.rank.argmin()]] == 2


def test_nothing_is_drawn_again_where_all_riding_lies_on_lines(
    asked: list[_Asked],
) -> None:
    rides = [recorded(winding(), start=1.9e9 + 91_234.0 * k) for k in range(3)]
    assert degrees(build_network(cleaned(rides), OPEN_OCEAN)) == [1, 1]
    assert [one.only is not None for one in asked] == [False]
