"""A line tied across between hairpin legs goes where nobody turns at one of its ends."""

from __future__ import annotations

import pytest

from loopwright.network.chords import LONGEST_M, drop_chords
from loopwright.network.web import Web
from network_help import ridden
from test_network_repair import even, web_of

TOP, FOOT, EXIT = (0.0, 60.0), (0.0, -60.0), (14.0, 60.0)
ACROSS = (7.0, 20.0)
WEST, EAST = (-150.0, 60.0), (150.0, 60.0)
DOWN_UP = (TOP, FOOT, (7.0, -60.0), ACROSS)


def legs(*, parted: bool = False) -> Web:
    """Down one leg and up another; a line from the top of the first is tied to the second."""
    web = web_of(
        (0, 1, even(TOP, WEST)), (0, 2, even(*DOWN_UP)), (0, 2, even(TOP, (2.0, 30.0), ACROSS)),
        (2, 3, even(ACROSS, (7.0, 60.0), EXIT, EAST)),
    )  # fmt: skip
    web.lines[2].parted = parted
    return web


LAP = (WEST, TOP, (2.0, 30.0), (0.0, 20.0), FOOT, (7.0, -60.0), ACROSS, (7.0, 60.0), EXIT, EAST)
CUT = (WEST, TOP, (2.0, 30.0), ACROSS, (7.0, 60.0), EXIT, EAST)


def dropped(web: Web, *rides: tuple[tuple[float, float], ...]) -> int:
    return drop_chords(web, *ridden(*(even(*ride)[:, :2] for ride in rides), ele=50.0))


def test_a_line_tied_where_nobody_turns_goes() -> None:
    web = legs()
    assert dropped(web, *[LAP] * 4) == 1
    assert sorted(web.lines) == [0, 1, 3]


def test_it_stays_where_somebody_cuts_across() -> None:
    assert dropped(legs(), *[LAP] * 4, CUT) == 0


@pytest.mark.parametrize("laps", [0, 2])
def test_it_stays_where_too_few_show_it(laps: int) -> None:
    assert dropped(legs(), *[LAP] * laps, (WEST, TOP)) == 0


def test_trails_told_apart_by_their_passes_stay() -> None:
    assert dropped(legs(parted=True), *[LAP] * 4) == 0


def test_a_line_on_ground_of_its_own_stays() -> None:
    far = (60.0, 0.0)
    web = legs()
    web.lines[2].xyz = even(TOP, far, ACROSS)
    assert dropped(web, *[(WEST, TOP, far)] * 4) == 0
    assert web.lines[2].length_m > LONGEST_M
