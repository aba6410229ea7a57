"""The long day's verdict: what grows is named, what only warmed up is not."""

from __future__ import annotations

from dataclasses import replace

from torture_long import Count, grew

MORNING = Count(
    actions=0, window_mb=300.0, workers_mb=300.0, widgets=700, timers=5, threads=4, processes=3,
    defunct=0,
)  # fmt: skip
FLAT = [MORNING, *(replace(MORNING, actions=n, window_mb=400.0, threads=5) for n in (40, 70, 100))]


def test_what_only_warms_up_has_not_grown() -> None:
    assert grew(FLAT) == []


def test_each_thing_that_grows_is_named() -> None:
    last = replace(
        FLAT[-1], window_mb=441.0, workers_mb=331.0, widgets=701, timers=6, threads=6, processes=4,
        defunct=1,
    )  # fmt: skip
    words = grew([*FLAT[:-1], last])
    assert [line.split()[0] for line in words] == [
        "window_mb", "workers_mb", "widgets", "timers", "threads", "processes", "1",
    ]  # fmt: skip
