"""A climb beside its descent is two lines, though errors reach from the one to the other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from loopwright.geo.polyline import along, length_m
from loopwright.invented.lines import beside, wiggle
from loopwright.invented.marbles import forks
from loopwright.invented.park import OPEN_OCEAN
from loopwright.invented.receiver import Receiver, misplace
from loopwright.model.arrays import Floats
from loopwright.model.network import Network
from loopwright.model.track import CleanTrack
from loopwright.network import build_network
from loopwright.network.company import company
from loopwright.network.lanes import lanes
from loopwright.network.pairs import abreast
from loopwright.network.rows import Bools
from loopwright.network.samples import Samples, gather
from network_help import cleaned, recorded

PACE_MPS = 5.5
FROM_M, TO_M, LEAD_M, GAP_M = 250.0, 950.0, 20.0, 11.0
ERROR_M = 5.0


def trails() -> tuple[Floats, Floats, Floats]:
    """A winding climb, the same by way of a descent beside it, and the two forks ``(2, 2)``."""
    rng = np.random.default_rng(4)
    climb = wiggle(rng, np.array([-600.0, 0.0]), np.array([600.0, 0.0]), scale=0.7)
    second = beside(climb, from_m=FROM_M, to_m=TO_M, gap_m=GAP_M, lead_m=LEAD_M)
    run = along(climb)
    descent = np.vstack((climb[run < FROM_M], second, climb[run > TO_M]))
    return climb, descent, second[[0, -1]]


def ridden(lines: Sequence[Floats], *, seed: int = 0) -> tuple[CleanTrack, ...]:
    """Ride each line once, steadily, a point a second, with 5 m of error an axis."""
    rides = []
    for k, line in enumerate(lines):
        time = np.arange(0.0, length_m(line) / PACE_MPS)
        true = np.column_stack(
            [np.interp(time * PACE_MPS, along(line), line[:, axis]) for axis in (0, 1)]
        )
        rng = np.random.default_rng(1000 * seed + k)
        seen = misplace(rng, true, time, Receiver(error_m=ERROR_M))
        rides.append(recorded(seen, start=1.9e9 + 90_000.0 * k))
    return cleaned(rides)


def marked(tracks: Sequence[CleanTrack]) -> tuple[Samples, Bools]:
    """Samples of the tracks, and which of them have a line of their own way."""
    samples = gather(tracks)
    pairs = abreast(samples, samples.xy, samples.head, reach_m=20.0)
    kept = company(samples, samples.head, pairs)
    return samples, lanes(samples, kept, np.full(len(tracks), ERROR_M))


def away_m(network: Network, want: Floats) -> Floats:
    """How far the forks of a network are from those wanted ``(k,)``; inf where it has none."""
    have = forks(network)
    if len(have) == 0:
        return np.full(len(want), np.inf)
    return np.asarray(np.hypot(*(have[:, None] - want[None]).transpose(2, 0, 1)).min(axis=0))


def test_a_climb_beside_its_descent_is_a_line_of_its_own() -> None:
    climb, descent, want = trails()
    right = 0
    for seed in range(4):
        network = build_network(ridden([climb] * 7 + [descent[::-1]] * 7, seed=seed), OPEN_OCEAN)
        right += len(forks(network)) == 2 and bool((away_m(network, want) < 25.0).all())
    assert right >= 3


def test_a_trail_ridden_both_ways_is_one_line() -> None:
    climb, _, _ = trails()
    for seed in range(4):
        tracks = ridden([climb] * 7 + [climb[::-1]] * 7, seed=seed)
        assert not marked(tracks)[1].any()
        assert len(build_network(tracks, OPEN_OCEAN).stretches) == 1


def test_only_where_both_ways_have_lines_of_their_own_is_marked() -> None:
    climb, descent, _ = trails()
    samples, found = marked(ridden([climb] * 7 + [descent[::-1]] * 7))
    from_start = samples.dist + np.where(samples.ride < 7, 0.0, length_m(climb) - length_m(descent))
    place = np.where(samples.ride < 7, from_start, length_m(climb) - from_start)
    inside = (place > FROM_M + 100.0) & (place < TO_M - 100.0)
    outside = (place < FROM_M - 120.0) | (place > TO_M + 120.0)
    assert found[inside].mean() > 0.9
    assert not found[outside].any()


@pytest.mark.parametrize(("up", "down"), [(7, 1), (7, 0), (1, 1)])
def test_one_pass_the_other_way_tells_nothing(up: int, down: int) -> None:
    climb, descent, _ = trails()
    assert not marked(ridden([climb] * up + [descent[::-1]] * down))[1].any()


def test_lines_ridden_alike_are_told_by_where_passes_lie() -> None:
    climb, descent, want = trails()
    right = 0
    for seed in range(4):
        tracks = ridden([climb, descent, climb[::-1], descent[::-1]] * 4, seed=seed)
        assert not marked(tracks)[1].any()
        network = build_network(tracks, OPEN_OCEAN)
        right += len(forks(network)) == 2 and bool((away_m(network, want) < 25.0).all())
    assert right >= 3
