"""Jobs end in exactly one way, newer ones replace older, closing leaves no thread."""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest
from pytestqt.qtbot import QtBot

from app_help import wait_until
from loopwright.app.giving_way import STEPS_BEHIND
from loopwright.app.jobs import LEISURE_S, InTurn, Jobs
from loopwright.jobs import Report


@dataclass
class Heard:
    """What a job's owner was told."""

    told: list[object] = field(default_factory=list)

    def done(self, value: object) -> None:
        self.told.append(("done", value))

    def best(self, value: object) -> None:
        self.told.append(("best", value))

    def failed(self, error: BaseException) -> None:
        self.told.append(("failed", str(error)))

    def cancelled(self) -> None:
        self.told.append("cancelled")


@pytest.fixture
def jobs(qtbot: QtBot) -> Iterator[Jobs]:
    made = Jobs()
    yield made
    assert made.close()
    assert not made.polling
    assert not [t for t in threading.enumerate() if t.name.startswith("loopwright")]


def start(jobs: Jobs, heard: Heard, work: object, kind: str = "k") -> None:
    jobs.start(
        kind,
        work,  # type: ignore[arg-type] # tests pass plain functions
        on_done=heard.done,
        on_best=heard.best,
        on_failed=heard.failed,
        on_cancelled=heard.cancelled,
    )


def loop_until_cancelled(report: Report) -> None:
    while True:
        report.check()
        time.sleep(0.001)


def test_a_job_ends_done_once(jobs: Jobs, qtbot: QtBot) -> None:
    heard = Heard()
    start(jobs, heard, lambda _report: 7)
    wait_until(qtbot, lambda: bool(heard.told))
    assert heard.told == [("done", 7)]
    assert not jobs.polling


def test_a_failing_job_ends_failed_once(jobs: Jobs, qtbot: QtBot) -> None:
    heard = Heard()

    def work(_report: Report) -> None:
        raise ValueError("no such trail")

    start(jobs, heard, work)
    wait_until(qtbot, lambda: bool(heard.told))
    assert heard.told == [("failed", "no such trail")]


def test_cancel_ends_cancelled_once_and_keeps_the_best(jobs: Jobs, qtbot: QtBot) -> None:
    heard = Heard()

    def work(report: Report) -> None:
        report.best(1)
        loop_until_cancelled(report)

    start(jobs, heard, work)
    wait_until(qtbot, lambda: bool(heard.told))
    jobs.cancel()
    wait_until(qtbot, lambda: not jobs.busy())
    assert heard.told == [("best", 1), "cancelled"]


def test_a_newer_job_of_a_kind_silences_the_older(jobs: Jobs, qtbot: QtBot) -> None:
    older, newer = Heard(), Heard()
    start(jobs, older, loop_until_cancelled)
    start(jobs, newer, lambda _report: "new")
    wait_until(qtbot, lambda: bool(newer.told) and not jobs.polling)
    assert older.told == []
    assert newer.told == [("done", "new")]


def test_jobs_of_other_kinds_are_left_alone(jobs: Jobs, qtbot: QtBot) -> None:
    first, second = Heard(), Heard()
    start(jobs, first, loop_until_cancelled, "one")
    start(jobs, second, lambda _report: 2, "two")
    wait_until(qtbot, lambda: bool(second.told))
    assert jobs.busy("one")
    jobs.cancel("one")
    wait_until(qtbot, lambda: not jobs.busy())
    assert first.told == ["cancelled"]


def test_progress_shows_only_after_a_while(jobs: Jobs, qtbot: QtBot) -> None:
    heard = Heard()

    def work(report: Report) -> None:
        report.step(0.4, "reading")
        loop_until_cancelled(report)

    start(jobs, heard, work)
    wait_until(qtbot, lambda: jobs.to_show(after_s=0.0) is not None)
    assert jobs.to_show(after_s=3600.0) is None
    wait_until(qtbot, lambda: words(jobs) == "reading")
    jobs.cancel()


def words(jobs: Jobs) -> str:
    progress = jobs.to_show(after_s=0.0)
    return progress.words if progress else ""


def test_nothing_starts_after_closing(qtbot: QtBot) -> None:
    jobs, heard = Jobs(), Heard()
    assert jobs.close()
    start(jobs, heard, lambda _report: 1)
    assert not jobs.busy()


def test_closing_ends_running_jobs_without_telling(qtbot: QtBot) -> None:
    jobs, heard = Jobs(), Heard()
    start(jobs, heard, loop_until_cancelled)
    assert jobs.close()
    assert heard.told == []


def test_closing_does_not_wait_for_ever(qtbot: QtBot) -> None:
    jobs, heard, begun, stop = Jobs(), Heard(), threading.Event(), threading.Event()

    def hold(_report: Report) -> bool:
        begun.set()
        return stop.wait(20.0)

    start(jobs, heard, hold)
    assert begun.wait(10.0)
    assert not jobs.close(wait_s=0.05)
    stop.set()
    assert jobs.close()


def test_one_at_a_time_and_who_waits_can_be_cancelled(jobs: Jobs, qtbot: QtBot) -> None:
    turns, first, second, go, within = InTurn(), Heard(), Heard(), threading.Event(), []

    def hold(report: Report) -> str:
        with turns.turn(report):
            within.append("in")
            assert go.wait(10.0)
        return "held"

    start(jobs, first, hold, "a")
    wait_until(qtbot, lambda: bool(within))
    start(jobs, second, hold, "b")
    jobs.cancel("b")
    wait_until(qtbot, lambda: bool(second.told))
    assert second.told == ["cancelled"]
    assert within == ["in"]
    go.set()
    wait_until(qtbot, lambda: bool(first.told))
    assert first.told == [("done", "held")]
    start(jobs, second, hold, "b")
    wait_until(qtbot, lambda: len(second.told) == 2)
    assert second.told[1] == ("done", "held")


def test_endings_that_came_together_are_told_one_a_turn(jobs: Jobs, qtbot: QtBot) -> None:
    """Between two of them the window paints: both together would be felt."""
    heard = Heard()
    for number in range(3):
        start(jobs, heard, lambda _report, n=number: n, kind=str(number))
    began = time.monotonic()
    while not all(job.ticket.ending for job in jobs._live):
        assert time.monotonic() - began < 10.0
        time.sleep(0.001)
    for told in range(1, 4):
        jobs.poll()
        assert heard.told == [("done", number) for number in range(told)]
    assert not jobs.busy()


def test_the_next_ending_does_not_wait_for_the_clock(jobs: Jobs, qtbot: QtBot) -> None:
    heard = Heard()
    for number in range(3):
        start(jobs, heard, lambda _report: 1, kind=str(number))
    jobs._timer.setInterval(60_000)
    while not all(job.ticket.ending for job in jobs._live):
        time.sleep(0.001)
    jobs.poll()
    wait_until(qtbot, lambda: len(heard.told) == 3)


def test_what_can_wait_begins_once_nothing_else_is_under_way(qtbot: QtBot, jobs: Jobs) -> None:
    go, heard, later = threading.Event(), Heard(), Heard()
    begun: list[bool] = []
    jobs.start("later", lambda _report: begun.append(go.is_set()), on_done=later.done,
               at_leisure=True)  # fmt: skip
    start(jobs, heard, lambda _report: go.wait(5))
    until = time.monotonic() + 2 * LEISURE_S
    wait_until(qtbot, lambda: time.monotonic() > until)
    assert jobs.busy("later")
    assert not begun
    assert jobs.to_show(after_s=0.0).kind == "k"  # type: ignore[union-attr] # it is under way
    go.set()
    wait_until(qtbot, lambda: bool(later.told))
    assert begun == [True]
    assert heard.told == [("done", True)]


def test_what_waits_shows_no_progress(qtbot: QtBot, jobs: Jobs) -> None:
    heard = Heard()
    jobs.start("later", lambda _report: 1, on_done=heard.done, at_leisure=True)
    assert jobs.to_show(after_s=-1.0) is None
    assert jobs.busy()
    wait_until(qtbot, lambda: bool(heard.told))


def test_what_can_wait_is_hurried(qtbot: QtBot, jobs: Jobs) -> None:
    heard, later = Heard(), Heard()
    start(jobs, heard, loop_until_cancelled)
    jobs.start("later", lambda _report: 7, on_done=later.done, at_leisure=True)
    jobs.hurry("later")
    jobs.hurry("later")
    wait_until(qtbot, lambda: bool(later.told))
    assert later.told == [("done", 7)]
    jobs.cancel()
    wait_until(qtbot, lambda: not jobs.busy())


def test_what_waited_in_vain_comes_to_its_end(qtbot: QtBot, jobs: Jobs) -> None:
    heard, later = Heard(), Heard()
    start(jobs, heard, loop_until_cancelled)
    jobs.start("later", lambda _report: 7, on_done=later.done, on_cancelled=later.cancelled,
               at_leisure=True)  # fmt: skip
    jobs.cancel("later")
    wait_until(qtbot, lambda: bool(later.told))
    assert later.told == ["cancelled"]
    jobs.cancel()
    wait_until(qtbot, lambda: not jobs.busy())


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux keeps a priority for each thread")
def test_a_job_stands_behind_the_window(qtbot: QtBot, jobs: Jobs) -> None:
    heard = Heard()
    start(jobs, heard, lambda _report: os.getpriority(os.PRIO_PROCESS, threading.get_native_id()))
    wait_until(qtbot, lambda: bool(heard.told))
    window = os.getpriority(os.PRIO_PROCESS, threading.get_native_id())
    assert heard.told == [("done", min(window + STEPS_BEHIND, 19))]


def test_a_job_runs_where_priorities_are_forbidden(
    qtbot: QtBot, jobs: Jobs, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_inputs: int) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "setpriority", refuse, raising=False)
    heard = Heard()
    start(jobs, heard, lambda _report: 7)
    wait_until(qtbot, lambda: bool(heard.told))
    assert heard.told == [("done", 7)]
