"""Numbers in words. Conversions: international foot and mile, exact by definition (1959)."""

from __future__ import annotations

import math

import pytest

from loopwright.units import Units, distance, duration, percent, short, speed


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "0:00"), (59.6, "1:00"), (845, "14:05"), (3750, "1:02:30"), (-61, "-1:01")],
)
def test_durations(seconds: float, words: str) -> None:
    assert duration(seconds) == words


def test_tenths_carry() -> None:
    assert duration(59.96, tenths=True) == "1:00.0"
    assert duration(48.34, tenths=True) == "0:48.3"


def test_distances() -> None:
    assert distance(4312) == "4.31 km"
    assert distance(1609.344, Units.IMPERIAL) == "1.00 mi"
    assert short(35.4) == "35 m"
    assert short(0.3048 * 115, Units.IMPERIAL) == "115 ft"
    assert speed(5) == "18 km/h"
    assert speed(0.44704 * 11, Units.IMPERIAL) == "11 mph"
    assert percent(0.123) == "12 %"


def test_unknown_numbers_are_a_dash() -> None:
    assert {distance(math.nan), short(math.nan), speed(math.nan), duration(math.nan)} == {"–"}  # noqa: RUF001 - the dash is meant
    assert percent(math.nan) == duration(math.nan)
