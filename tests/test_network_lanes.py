"""A climb beside its descent is two lines, though errors reach from the one to the other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from loopwright.geo.polyline import length_m
from loopwright.invented.park import OPEN_OCEAN
from loopwright.model.track import CleanTrack
from loopwright.network import build_network
from loopwright.network.company import company
from loopwright.network.lanes import lanes
from loopwright.network.pairs import abreast
from loopwright.network.rows import Bools
from loopwright.network.samples import Samples, gather
from side_by_side_help import ERROR_M, forks_at, ridden, trails

FROM_M, TO_M = 250.0, 950.0
CLIMB, DESCENT, FORKS = trails(half_m=600.0, from_m=FROM_M, to_m=TO_M, gap_m=11.0)


def marked(tracks: Sequence[CleanTrack]) -> tuple[Samples, Bools]:
    """Samples of the tracks, and which of them have a line of their own way."""
    samples = gather(tracks)
    pairs = abreast(samples, samples.xy, samples.head, reach_m=20.0)
    kept = company(samples, samples.head, pairs)
    return samples, lanes(samples, kept, np.full(len(tracks), ERROR_M))


def test_a_climb_beside_its_descent_is_a_line_of_its_own() -> None:
    right = 0
    for seed in range(4):
        network = build_network(
            ridden([CLIMB] * 7 + [DESCENT[::-1]] * 7, seed=1000 * seed), OPEN_OCEAN
        )
        right += forks_at(network, FORKS, within_m=25.0)
    assert right >= 3


def test_a_trail_ridden_both_ways_is_one_line() -> None:
    for seed in range(4):
        tracks = ridden([CLIMB] * 7 + [CLIMB[::-1]] * 7, seed=1000 * seed)
        assert not marked(tracks)[1].any()
        assert len(build_network(tracks, OPEN_OCEAN).stretches) == 1


def test_only_where_both_ways_have_lines_of_their_own_is_marked() -> None:
    samples, found = marked(ridden([CLIMB] * 7 + [DESCENT[::-1]] * 7))
    from_start = samples.dist + np.where(samples.ride < 7, 0.0, length_m(CLIMB) - length_m(DESCENT))
    place = np.where(samples.ride < 7, from_start, length_m(CLIMB) - from_start)
    inside = (place > FROM_M + 100.0) & (place < TO_M - 100.0)
    outside = (place < FROM_M - 120.0) | (place > TO_M + 120.0)
    assert found[inside].mean() > 0.9
    assert not found[outside].any()


@pytest.mark.parametrize(("up", "down"), [(7, 1), (7, 0), (1, 1)])
def test_one_pass_the_other_way_tells_nothing(up: int, down: int) -> None:
    assert not marked(ridden([CLIMB] * up + [DESCENT[::-1]] * down))[1].any()


def test_lines_ridden_alike_are_told_by_where_passes_lie() -> None:
    right = 0
    for seed in range(4):
        tracks = ridden([CLIMB, DESCENT, CLIMB[::-1], DESCENT[::-1]] * 4, seed=1000 * seed)
        assert not marked(tracks)[1].any()
        network = build_network(tracks, OPEN_OCEAN)
        right += forks_at(network, FORKS, within_m=25.0)
    assert right >= 3
