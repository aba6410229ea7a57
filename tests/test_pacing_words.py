"""What is said of where a plan's numbers come from."""

from __future__ import annotations

import pytest

from loopwright.model.rider import FitValue, RiderFit
from loopwright.pacing.effort import Capacity, capacity_words, from_efforts
from loopwright.pacing.fit_words import fitted_words
from loopwright.pacing.words import LONG_S, _effort_words, _rider_words

VALUE = FitValue(value=0.02, low=0.01, high=0.03, observations=7)
FIT = RiderFit(
    values={"crr:dirt": VALUE}, error_share=0.021, words="", spread_keys=(), spread_rows=(),
    trails={},
)  # fmt: skip


def test_whose_speeds_they_are() -> None:
    assert _rider_words(None).startswith("Speeds from general values")
    assert _rider_words(FIT) == (
        "Speeds fitted to your own rides (off by 2.1% on rides left out of the fit)"
    )
    bare = RiderFit(
        values={"crr:dirt": VALUE}, error_share=None, words="", spread_keys=(), spread_rows=(),
        trails={},
    )  # fmt: skip
    assert _rider_words(bare) == "Speeds fitted to your own rides"


@pytest.mark.parametrize(("total_s", "warned"), [(LONG_S, False), (LONG_S + 1, True)])
def test_beyond_half_an_hour_the_model_is_doubted(total_s: float, *, warned: bool) -> None:
    known = Capacity(cp_w=250.0, w_prime_j=2e4, low_j=1e4, high_j=3e4, words="two efforts")
    words = _effort_words(known, total_s, "")
    assert words.startswith("Effort from two efforts; the W' balance is an indication")
    assert ("beyond 30 minutes" in words) is warned
    bare = "No critical power known: times and perceived effort only"
    assert _effort_words(None, total_s, "") == bare
    assert _effort_words(None, total_s, "two of one length") == f"{bare} (two of one length)"


def test_efforts_of_one_length_say_nothing() -> None:
    assert from_efforts([(300.0, 320.0), (300.0, 310.0), (0.0, 900.0), (600.0, 0.0)]) is None
    assert from_efforts([(300.0, 300.0), (600.0, 320.0)]) is None
    assert from_efforts([(100.0, 450.0), (400.0, 300.0)]) == pytest.approx((250.0, 20_000.0))


def test_capacity_in_words() -> None:
    known = Capacity(cp_w=251.4, w_prime_j=19_640.0, low_j=16_700.0, high_j=22_600.0, words="")
    assert capacity_words(known) == "critical power 251 W, W' 19.6 kJ (between 17 and 23)"
    assert capacity_words(None) == "no critical power known: times and perceived effort only"


def test_ground_ridden_little_is_named() -> None:
    met = {"gravel": 9, "dirt": 10, "rock": 1, "grass": 0}
    values = {
        f"grip:{word}": FitValue(value=0.6, low=0.5, high=0.7, observations=count)
        for word, count in met.items()
    }
    values["rolling:sand"] = FitValue(value=0.1, low=0.0, high=0.2, observations=1)
    words = fitted_words(values, metres=12_340.0, rides=1, error=0.021)
    assert words == (
        "Fitted to 12.3 km of trail in 1 ride; a ride left out was off by 2.1% on average; "
        "little ridden so far: gravel, rock."
    )
    assert fitted_words({}, metres=12_340.0, rides=2, error=None) == (
        "Fitted to 12.3 km of trail in 2 rides; too few rides to tell how far off a new one "
        "would be."
    )
