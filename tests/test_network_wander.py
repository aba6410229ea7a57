"""Receivers that wander within the length of a trail: told from the rides, and seen through."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.invented.park import OPEN_OCEAN
from loopwright.invented.receiver import fading
from loopwright.invented.riders import DAY_S
from loopwright.model.arrays import Floats
from loopwright.network import build_network
from loopwright.network.attract import Aligned
from loopwright.network.repair import untwin
from loopwright.network.samples import STEP_M, gather
from loopwright.network.wander import FAR, INSIDE, NEAR, wander_m
from loopwright.network.web import Web
from network_help import START_S, cleaned, degrees, recorded

LINE = np.column_stack((np.arange(0.0, 1200.0, 5.0), np.zeros(240)))


def seen(line: Floats, seed: int, error_m: float, fade_m: float) -> Floats:
    noise = fading(np.random.default_rng([seed, 3]), np.full(len(line) - 1, 5.0), fade_m, 2)
    return np.asarray(line + error_m * noise)


def swung(by_m: float) -> Floats:
    share = np.clip((LINE[:, 0] - 500.0) / 100.0, 0.0, 1.0)
    return np.column_stack((LINE[:, 0], by_m * np.sin(np.pi * share) ** 2))


def told_m(fade_m: float) -> float:
    tracks = [
        recorded(seen(LINE, seed, 1.5, fade_m), start=START_S + DAY_S * seed) for seed in range(40)
    ]
    samples = gather(cleaned(tracks))
    web = Web()
    for node, xyz in enumerate(([0.0, 0.0, 100.0], [1195.0, 0.0, 100.0])):
        web.add_node(node, np.array(xyz))
    web.add_line(0, 1, np.column_stack((LINE, np.full(len(LINE), 100.0))))
    level = np.full(len(samples), 100.0)
    aligned = Aligned(xy=samples.xy, head=samples.head)
    return wander_m(web, samples, aligned, level, unknown_m=-1.0)


@pytest.mark.parametrize("fade_m", [60.0, 300.0])
def test_wandering_is_what_a_fading_error_must_show(fade_m: float) -> None:
    """A first-order Gauss-Markov error has the covariance exp(-|d| / fade) (textbook, from memory).

    The variance of a weighted sum of such errors follows from it exactly.
    """
    steps = np.arange(-FAR, FAR + 1)
    middle = (np.abs(steps) <= INSIDE) / (2 * INSIDE + 1)
    around = (np.abs(steps) >= NEAR) / (2 * (FAR - NEAR + 1))
    cov = np.exp(-np.abs(steps[:, None] - steps[None]) * STEP_M / fade_m)
    weight = middle - around
    want = 1.5 * float(weight @ cov @ weight) ** 0.5
    assert told_m(fade_m) == pytest.approx(want, rel=0.12)


def test_too_little_riding_tells_nothing() -> None:
    samples = gather(cleaned([recorded(LINE[:30])]))
    web = Web()
    for node in (0, 1):
        web.add_node(node, np.array([145.0 * node, 0.0, 100.0]))
    web.add_line(0, 1, np.array([[0.0, 0.0, 100.0], [145.0, 0.0, 100.0]]))
    aligned = Aligned(xy=samples.xy, head=samples.head)
    assert wander_m(web, samples, aligned, samples.ele, unknown_m=-1.0) == -1.0


def swings_kept(error_m: float, fade_m: float) -> list[bool]:
    """Eight rides on a line and one that swings out 36 m, eight times: is that a trail?"""
    kept = []
    for start in range(0, 800, 100):
        lines = [seen(LINE, start + seed, error_m, fade_m) for seed in range(8)]
        lines.append(seen(swung(36.0), start + 99, error_m, fade_m))
        tracks = [recorded(line, start=START_S + DAY_S * k) for k, line in enumerate(lines)]
        kept.append(degrees(build_network(cleaned(tracks), OPEN_OCEAN)) == [1, 1, 3, 3])
    return kept


def test_a_far_swing_is_a_trail_unless_receivers_wander() -> None:
    steady, wandering = swings_kept(1.5, 300.0), swings_kept(4.5, 60.0)
    assert sum(steady) >= 6
    assert sum(wandering) <= 4


def bubble(half_m: float) -> Web:
    """Five passes and four from one place to another, so many metres to either side."""
    web = Web()
    for node in (0, 1):
        web.add_node(node, np.array([100.0 * node, 0.0, 0.0]))
    x = np.array([0.0, 10.0, 90.0, 100.0])
    for side, passes in ((half_m, 5.0), (-half_m, 4.0)):
        y = side * np.array([0.0, 1.0, 1.0, 0.0])
        web.add_line(0, 1, np.column_stack((x, y, np.zeros(4))), passes)
    return web


@pytest.mark.parametrize(("wandering_m", "gone"), [(1.0, 0), (2.2, 1)])
def test_wandering_parts_bundles_further(wandering_m: float, gone: int) -> None:
    """Ten metres lie between five passes and four; 7 x 2.2 m x sqrt(1/5 + 1/4) is 10.3 m."""
    assert untwin(bubble(5.0), 4.2, 0.0, wandering_m) == gone


@pytest.mark.parametrize(("half_m", "gone"), [(6.2, 1), (6.6, 0)])
def test_bubbles_of_those_who_wander_are_doubtful_up_to_130_m(half_m: float, gone: int) -> None:
    """At 101 m half of what is short of 130 m, by 65 m, is added to the 10.3 m: 12.6 m."""
    assert untwin(bubble(half_m), 4.2, 0.0, 2.2) == gone


@pytest.mark.parametrize(("grain_m", "gone"), [(22.0, 0), (33.0, 1)])
def test_long_steps_cut_corners_further(grain_m: float, gone: int) -> None:
    """Twelve metres; a curve through points may miss a fifth of their gap to either side."""
    assert untwin(bubble(6.0), 3.0, grain_m) == gone
