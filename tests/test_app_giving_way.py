"""Jobs that let the window go first: by clocks that the test turns."""

from __future__ import annotations

from threading import Thread
from time import thread_time

import pytest

from loopwright.app.giving_way import (
    BUSY_SHARE,
    GOES_ON_S,
    LOOK_S,
    NAP_S,
    PATIENCE_S,
    GivesWay,
    work_of_window,
)
from loopwright.app.jobs import Ticket


class Clocks:
    """Time goes on only in naps and steps; the window works for a share of it until it rests."""

    def __init__(self, share: float, rests_at_s: float = float("inf")) -> None:
        self.now_s, self.work_s, self.share, self.rests_at_s = 0.0, 0.0, share, rests_at_s
        self.naps = 0

    def go_on(self, seconds: float) -> None:
        if self.now_s < self.rests_at_s:
            self.work_s += self.share * seconds
        self.now_s += seconds

    def nap(self, seconds: float) -> None:
        self.naps += 1
        self.go_on(seconds)

    def given_way(self) -> GivesWay:
        return GivesWay(lambda: self.work_s, now=lambda: self.now_s, sleep=self.nap)


def call_in_thread(gives_way: GivesWay) -> None:
    """As a job does; on the main thread nobody waits."""
    thread = Thread(target=gives_way)
    thread.start()
    thread.join()


def after(clocks: Clocks, seconds: float) -> int:
    """Naps of a job that checks after a while of work."""
    gives_way = clocks.given_way()
    clocks.go_on(seconds)
    call_in_thread(gives_way)
    return clocks.naps


def test_a_job_sleeps_until_the_window_has_done() -> None:
    assert after(Clocks(share=1.0, rests_at_s=0.0105), 0.004) == 8


@pytest.mark.parametrize(("share", "naps"), [(BUSY_SHARE - 0.01, 0), (BUSY_SHARE + 0.01, 51)])
def test_a_little_work_of_the_window_is_let_pass(share: float, naps: int) -> None:
    assert after(Clocks(share=share), 0.004) == pytest.approx(naps, abs=1)


def test_a_look_comes_no_sooner_than_some_time_after_the_last() -> None:
    assert after(Clocks(share=1.0), LOOK_S * 0.9) == 0
    assert after(Clocks(share=1.0), LOOK_S * 1.1) > 0


def test_patience_ends_and_the_job_goes_on_for_a_while() -> None:
    clocks = Clocks(share=1.0)
    most = PATIENCE_S / NAP_S + 2
    gives_way = clocks.given_way()
    clocks.go_on(0.001)
    call_in_thread(gives_way)
    first = clocks.naps
    assert 0 < first <= most
    clocks.go_on(GOES_ON_S / 2)
    call_in_thread(gives_way)
    assert clocks.naps == first
    clocks.go_on(GOES_ON_S)
    call_in_thread(gives_way)
    assert first < clocks.naps <= 2 * most


def test_nobody_waits_on_the_windows_own_thread_or_without_a_clock() -> None:
    clocks = Clocks(share=1.0)
    gives_way = clocks.given_way()
    clocks.go_on(0.01)
    gives_way()
    assert clocks.naps == 0
    call_in_thread(GivesWay(None, now=lambda: clocks.now_s, sleep=clocks.nap))
    assert clocks.naps == 0


@pytest.mark.skipif(work_of_window() is None, reason="the system keeps no clock of a thread's work")
def test_the_clock_tells_of_the_main_threads_work_alone() -> None:
    clock = work_of_window()
    assert clock is not None
    before = clock()
    thread = Thread(target=work_for, args=(0.05,))
    thread.start()
    thread.join()
    waited = clock() - before
    work_for(0.05)
    assert clock() - before - waited >= 0.05 > waited


def work_for(seconds: float) -> None:
    until = thread_time() + seconds
    while thread_time() < until:
        pass


def test_every_check_of_a_job_gives_way(monkeypatch: pytest.MonkeyPatch) -> None:
    ticket, asked = Ticket(), list[bool]()
    monkeypatch.setattr(ticket, "_give_way", lambda: asked.append(True))
    ticket.check()
    ticket.step(0.5, "half")
    assert asked == [True, True]


def test_a_job_begins_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    ticket, asked = Ticket(), list[bool]()
    monkeypatch.setattr(ticket, "_give_way", lambda: asked.append(True))
    ticket.run(lambda _report: "done")
    assert (ticket.result, asked) == ("done", [])
