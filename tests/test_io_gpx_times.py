"""Time words: the same as gpxpy's parser and the standard library give."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.io.gpx_times import microseconds, read_times

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@given(st.lists(st.datetimes(), min_size=1, max_size=20))
def test_every_moment_of_the_calendar(moments: list[datetime]) -> None:
    expected = [(m.replace(tzinfo=UTC) - EPOCH) / timedelta(seconds=1) for m in moments]
    words = [m.isoformat() + "Z" for m in moments]
    assert read_times(words).tolist() == expected


def test_every_day_of_eight_hundred_years() -> None:
    days = np.arange(np.datetime64("1600-01-01"), np.datetime64("2400-03-02"))
    words = [f"{day}T12:34:56Z" for day in days]
    expected = days.astype("datetime64[s]").astype(np.int64) + 12 * 3600 + 34 * 60 + 56
    np.testing.assert_array_equal(read_times(words), expected)


@pytest.mark.parametrize(
    ("word", "seconds"),
    [
        ("1970-01-01T00:00:00Z", 0.0),
        ("1970-01-01T00:00:00", 0.0),
        ("1970-01-01T01:30:00+01:30", 0.0),
        ("1970-01-01T00:00:00-00:30", 1800.0),
        ("1970-01-01T00:00:01.5Z", 1.5),
        ("1970-01-01T00:00:00.123456789Z", 0.123456),
        ("  1970-01-01T00:00:02Z\n", 2.0),
        ("1969-12-31T23:59:59Z", -1.0),
        ("2000-02-29T00:00:00Z", 951782400.0),
    ],
)
def test_known_words(word: str, seconds: float) -> None:
    assert read_times([word]).tolist() == [seconds]


@pytest.mark.parametrize(
    "word",
    [
        None, "", " ", "yesterday", "2023-02-29T00:00:00Z", "2023-04-31T00:00:00Z",
        "2023-00-10T00:00:00Z", "2023-13-10T00:00:00Z", "2023-01-00T00:00:00Z",
        "2023-01-01T24:00:00Z", "2023-01-01T00:60:00Z", "2023-01-01T00:00:60Z",
        "2023-01-01T00:00:00X", "0000-01-01T00:00:00Z",
        "\uff12\uff10\uff12\uff13-01-01T00:00:00Z", "1e9",
        "2023-01-01T00:00:00+99:99:99", "9" * 400,
    ],
)  # fmt: skip
def test_what_is_no_time_is_missing(word: str | None) -> None:
    assert np.isnan(read_times(["2023-01-01T00:00:00Z", word])).tolist() == [False, True]


def test_nothing_gives_nothing() -> None:
    assert read_times([]).shape == (0,)
    assert microseconds("") is None


def test_time_zones_beyond_the_calendar_do_no_harm() -> None:
    early = read_times(["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00"])
    assert early.shape == (2,)
