"""A narrow loop at a dead end is out and back; a ring with ground inside stays one."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.network.tips import close_tips
from loopwright.network.web import Web


def lollipop(wide_m: float) -> Web:
    """A stem of 100 m and an oval ring of 80 m by ``wide_m``."""
    turn = np.linspace(0.0, 2 * np.pi, 81)
    ring = np.column_stack(
        (140.0 - 40.0 * np.cos(turn), wide_m / 2 * np.sin(turn), np.full(81, 7.0))
    )
    web = Web()
    web.add_node(0, np.array([0.0, 0.0, 7.0]))
    web.add_node(1, ring[0])
    web.add_line(0, 1, np.array([[0.0, 0.0, 7.0], ring[0]]), passes=3.0)
    web.add_line(1, 1, ring, passes=3.0)
    return web


@pytest.mark.parametrize("wide_m", [0.5, 6.0])
def test_a_narrow_loop_becomes_a_dead_end_along_its_middle(wide_m: float) -> None:
    web = lollipop(wide_m)
    assert close_tips(web) == 1
    (number,) = (k for k, line in web.lines.items() if line.b not in {0, 1})
    spur = web.lines[number]
    assert np.abs(spur.xyz[:, 1]).max() < 0.5
    assert np.hypot(*(spur.xyz[-1, :2] - [180.0, 0.0])) < 1.0
    assert (web.degree(spur.a), web.degree(spur.b), spur.passes) == (2, 1, 3.0)


def test_a_ring_with_ground_inside_stays() -> None:
    web = lollipop(24.0)
    assert close_tips(web) == 0
    assert any(line.a == line.b for line in web.lines.values())


def test_a_narrow_loop_on_a_trail_that_goes_on_stays() -> None:
    web = lollipop(4.0)
    web.add_node(2, np.array([100.0, 90.0, 7.0]))
    web.add_line(1, 2, np.vstack((web.nodes[1], web.nodes[2])))
    assert close_tips(web) == 0
