"""The worker process answers, cancels, fails and is replaced, as if it were here."""

from __future__ import annotations

import os
import pickle
import signal
import struct
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from multiprocessing.reduction import ForkingPickler

import pytest

from loopwright.app.worker import Worker, packed
from loopwright.errors import WorldError
from loopwright.jobs import Cancelled, Report, Silent


def double(number: int, report: Report) -> int:
    report.best(number)
    report.step(0.5, "half way")
    return 2 * number


def priority(_report: Report) -> int:
    return os.nice(0)


def refuse(_number: int, _report: Report) -> int:
    raise WorldError("park.gpx", "is empty", "export the ride again")


def wait_for_ever(_number: int, report: Report) -> int:
    report.best("begun")
    while True:
        report.check()
        time.sleep(0.001)


def meets_a_broken_disk(_number: int, _report: Report) -> int:
    raise BrokenPipeError("a pipe of the job's own")


def die_in_the_middle_of_a_word(_number: int, report: Report) -> int:
    """Promise a thousand bytes, send three, and be gone."""
    pipe = report._pipe  # type: ignore[attr-defined]
    os.write(pipe.fileno(), struct.pack("!i", 1000) + b"abc")
    os.kill(os.getpid(), signal.SIGKILL)
    return 0


def die(_number: int, _report: Report) -> int:
    os._exit(3)


@dataclass
class Kept:
    """A report that keeps what it hears and can be cancelled."""

    bests: list[object] = field(default_factory=list)
    steps: list[tuple[float, str]] = field(default_factory=list)
    stop: threading.Event = field(default_factory=threading.Event)

    def step(self, share: float, words: str) -> None:
        self.steps.append((share, words))
        self.check()

    def best(self, result: object) -> None:
        self.bests.append(result)

    def check(self) -> None:
        if self.stop.is_set():
            raise Cancelled

    def cancelled(self) -> bool:
        return self.stop.is_set()


@dataclass(frozen=True)
class Marks:
    """Something to be sent that is of no built-in type."""

    at: tuple[int, ...]


@pytest.fixture(scope="module")
def worker() -> Iterator[Worker]:
    made = Worker()
    yield made
    made.close()


@pytest.mark.skipif(not hasattr(os, "nice"), reason="no such priorities here")
def test_a_worker_stands_back_for_the_window(worker: Worker) -> None:
    assert worker.call(priority, (), Silent()) > os.nice(0)


def test_results_bests_and_steps_cross_over(worker: Worker) -> None:
    heard = Kept()
    assert worker.call(double, (21,), heard) == 42
    assert heard.bests == [21]
    assert heard.steps == [(0.5, "half way")]


def test_errors_cross_over_whole(worker: Worker) -> None:
    with pytest.raises(WorldError, match=r"park.gpx: is empty; export the ride again"):
        worker.call(refuse, (1,), Silent())
    assert worker.call(double, (1,), Silent()) == 2


def test_cancel_is_seen_and_the_worker_lives_on(worker: Worker) -> None:
    heard = Kept()
    threading.Thread(target=stop_once_begun, args=(heard,)).start()
    with pytest.raises(Cancelled):
        worker.call(wait_for_ever, (1,), heard)
    assert worker.call(double, (2,), Silent()) == 4


def stop_once_begun(heard: Kept) -> None:
    wait_for(heard)
    heard.stop.set()


def wait_for(heard: Kept) -> None:
    while not heard.bests:
        time.sleep(0.005)


@pytest.mark.parametrize("end", [die, die_in_the_middle_of_a_word])
def test_a_dead_worker_is_told_and_replaced(
    worker: Worker, end: Callable[[int, Report], int]
) -> None:
    with pytest.raises(WorldError, match="stopped unexpectedly"):
        worker.call(end, (1,), Silent())
    assert worker.call(double, (4,), Silent()) == 8


def test_an_error_of_the_job_is_not_taken_for_a_dead_worker(worker: Worker) -> None:
    before = worker._process
    with pytest.raises(BrokenPipeError, match="own"):
        worker.call(meets_a_broken_disk, (1,), Silent())
    assert worker._process is before


def test_closing_ends_a_running_job() -> None:
    worker, heard, ended = Worker(), Kept(), []

    def run() -> None:
        try:
            worker.call(wait_for_ever, (1,), heard)
        except Cancelled:
            ended.append("cancelled")

    thread = threading.Thread(target=run)
    thread.start()
    wait_for(heard)
    worker.close()
    thread.join(10.0)
    assert not thread.is_alive()
    assert ended == ["cancelled"]


def test_prepared_it_runs_before_it_is_asked_and_serves_from_the_same_process() -> None:
    worker = Worker()
    worker.prepare(note_the_process)
    while not (noted := worker.call(the_process, (), Silent())[0]):
        time.sleep(0.005)
    assert noted == [worker.call(the_process, (), Silent())[1]]
    assert noted != [os.getpid()]
    worker.close()


NOTED: list[int] = []


def note_the_process(_report: Report) -> None:
    NOTED.append(os.getpid())


def the_process(_report: Report) -> tuple[list[int], int]:
    return NOTED, os.getpid()


def test_closed_before_it_began_it_starts_no_process() -> None:
    worker = Worker()
    worker.close()
    worker.prepare(note_the_process)
    with pytest.raises(Cancelled):
        worker.call(double, (1,), Silent())
    assert worker._process is None


@dataclass
class Impatient(Kept):
    """A report asked to stop at its third check."""

    checks: int = 0

    def check(self) -> None:
        self.checks += 1
        if self.checks == 3:
            raise Cancelled


def test_what_is_asked_is_packed_as_a_pipe_does_and_looks_round_meanwhile() -> None:
    few, many = ([Marks((k,)) for k in range(number)] for number in (1, 9))
    assert packed(few, Impatient()) == ForkingPickler.dumps(few)
    assert pickle.loads(packed(many, Silent())) == many  # noqa: S301 - our own
    with pytest.raises(Cancelled):
        packed(many, Impatient())
