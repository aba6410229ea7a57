"""The mixes to start from, as the docs print them, and scaling by hand."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from loopwright.errors import NoAnswerError
from loopwright.loops.mixes import Shortfall, built_in_mixes, for_lap, scaled_to, shortfalls
from loopwright.model.wishes import Mix

PAGE = Path(__file__).parents[1] / "docs" / "search.md"
WISH = re.compile(r"`([^`]+)` ([\d.]+)(?: \(([\d.]+)\))?")
MIX = Mix(
    name="three", targets={"corners": 40.0, "climb_gain_m": 100.0, "easy_m": 7.0},
    weights={"climb_gain_m": 3.0, "easy_m": 2.0},
)  # fmt: skip


def printed() -> dict[str, dict[str, tuple[float, float]]]:
    """Target and weight of each kind of each mix in the docs."""
    part = PAGE.read_text("utf-8").split("\n## Mixes\n")[1]
    rows = [line.strip("| ").split(" | ") for line in part.splitlines() if line.startswith("| ")]
    return {
        name: {kind: (float(x), float(w or 1.0)) for kind, x, w in WISH.findall(wishes)}
        for name, wishes in rows[1:]
    }


def test_the_docs_print_every_mix_as_it_is() -> None:
    mixes = {m.name: {k: (x, m.weight(k)) for k, x in m.targets.items()} for m in built_in_mixes()}
    assert printed() == mixes


def test_a_mix_for_another_lap_keeps_its_name_and_weights() -> None:
    double = for_lap(MIX, 10_000.0)
    assert double.targets == {"corners": 80.0, "climb_gain_m": 200.0, "easy_m": 14.0}
    assert (double.name, double.weights) == ("three", MIX.weights)


def test_what_is_just_on_offer_is_no_shortfall() -> None:
    most = {"corners": 40.0, "climb_gain_m": 99.0}
    assert shortfalls(MIX, most) == (Shortfall(kind="climb_gain_m", target=100.0, most=99.0),)


def test_a_target_comes_down_to_nine_tenths_of_the_most() -> None:
    scaled = scaled_to(MIX, {"corners": 50.0, "climb_gain_m": 100.0})
    assert scaled.targets == pytest.approx({"corners": 40.0, "climb_gain_m": 90.0, "easy_m": 7.0})
    assert (scaled.name, scaled.weights) == ("three", MIX.weights)
    bare = scaled_to(MIX, {"corners": 0.5, "climb_gain_m": 0.0})
    assert bare.targets == pytest.approx({"corners": 0.45, "easy_m": 7.0})
    assert bare.weights == {"easy_m": 2.0}
    with pytest.raises(NoAnswerError, match="offers any of its kinds"):
        scaled_to(MIX, dict.fromkeys(MIX.targets, 0.0))
