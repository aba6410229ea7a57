"""The page on pacing prints the values the program uses."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from loopwright.model.rider import Rider
from loopwright.pacing import constants
from loopwright.pacing.belief import belief_of
from loopwright.pacing.constants import Prior

PAGE = (Path(__file__).parents[1] / "docs" / "pacing.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("heading", "table"),
    [
        ("### `grip:", constants.GRIP),
        ("### `rolling:", constants.ROLLING),
        ("### `comfort:", constants.COMFORT),
        ("### The rider", constants.SINGLE),
    ],
)
def test_every_value_is_printed_with_its_source(heading: str, table: Mapping[str, Prior]) -> None:
    part = PAGE.split(heading)[1].split("\n#")[0]
    rows = [line.strip("| ").split(" | ") for line in part.splitlines() if line.startswith("| ")]
    printed = {row[0]: row[1:] for row in rows[1:]}
    assert set(printed) == set(table)
    for key, prior in table.items():
        numbers = [float(cell) for cell in printed[key][:3]]
        assert numbers == pytest.approx([prior.value, prior.low, prior.high])
        assert printed[key][3] == prior.source
        assert prior.low < prior.value < prior.high


def test_every_prior_says_where_it_comes_from() -> None:
    for table in (constants.GRIP, constants.ROLLING, constants.COMFORT, constants.SINGLE):
        assert all(prior.source for prior in table.values())


def test_belief_has_a_key_for_every_value_on_the_page() -> None:
    keys = set(belief_of(Rider()))
    assert {f"grip:{word}" for word in constants.GRIP} <= keys
    assert set(constants.SINGLE) - {"power_per_kg"} <= keys
    assert "power_w" in keys


@pytest.mark.parametrize("limit", ["no wind", "no drafting", "no tiredness beyond W'"])
def test_limits_are_on_the_page(limit: str) -> None:
    assert limit in PAGE
