"""Slow work off the window's thread.

Gets pure functions of a snapshot (``work(report) -> result``), gives one of three endings.
Promises: every job ends in exactly one of done, failed, cancelled; a newer job of a kind cancels
the older; endings and progress are told on the window's thread, by a timer that runs only while
something is under way; closing cancels and waits a limited time.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from enum import StrEnum
from threading import Event, Lock
from typing import Any

from PySide6.QtCore import QObject, QTimer, Signal

from loopwright.app.giving_way import GivesWay, stand_behind, work_of_window
from loopwright.jobs import Cancelled, Report

POLL_MS = 30
"""Each hop from one job to the next waits up to this long: loop, course, plan."""
TURN_S = 0.02
SHOW_AFTER_S = 0.6
"""Work that ends sooner shows no progress: a flash would only disturb."""
LEISURE_S = 0.3
"""What waits for a quiet moment waits until nothing else was under way for so long."""
CLOSE_WAIT_S = 2.0
THREADS = 4
"""One waits for the search in its own process, one may work on the rider: room for two more."""
OF_ONE_AREA = (
    "build", "search", "course", "plan", "laps", "import", "extract", "race", "season", "draw",
    "open",
)  # fmt: skip
"""Kinds whose answers belong to the area they were asked in, and must not reach another."""

Work = Callable[[Report], Any]


class Ending(StrEnum):
    """How a job ended."""

    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"


class Ticket:
    """One job's side of the contract; safe from any thread."""

    def __init__(self) -> None:
        self._stop = Event()
        self._lock = Lock()
        self._give_way = GivesWay(work_of_window())
        self._share = 0.0
        self._words = ""
        self._best: list[object] = []
        self.result: Any = None
        self.error: BaseException | None = None
        self.ending: Ending | None = None

    def step(self, share: float, words: str) -> None:
        """Tell the share done (0..1) and what is being done."""
        with self._lock:
            self._share, self._words = share, words
        self.check()

    def best(self, result: object) -> None:
        """Show the best result so far; only the newest is kept until it is collected."""
        with self._lock:
            self._best = [result]

    def check(self) -> None:
        """Raise Cancelled if asked to stop; let the window go first."""
        self._give_way()
        self._stop_if_asked()

    def _stop_if_asked(self) -> None:
        if self._stop.is_set():
            raise Cancelled

    def cancelled(self) -> bool:
        """Tell whether asked to stop."""
        return self._stop.is_set()

    def stop(self) -> None:
        """Ask the job to stop."""
        self._stop.set()

    def progress(self) -> tuple[float, str]:
        """Share done and words, as last told."""
        with self._lock:
            return self._share, self._words

    def take_best(self) -> list[object]:
        """Collect the newest best-so-far, if any came since the last time."""
        with self._lock:
            best, self._best = self._best, []
        return best

    def run(self, work: Work) -> None:
        """Do the work and record the one ending."""
        try:
            self._stop_if_asked()  # without giving way: what is asked of a worker is asked at once
            self.result = work(self)
            self.ending = Ending.DONE
        except Cancelled:
            self.ending = Ending.CANCELLED
        except BaseException as error:  # noqa: BLE001 - handed to the window's thread, not lost
            self.error = error
            self.ending = Ending.FAILED


class InTurn:
    """Lets one piece of work run at a time; whoever waits for a turn can still be cancelled.

    For work that shares a costly part: the second finds it ready instead of doing it again.
    """

    def __init__(self) -> None:
        self._lock = Lock()

    @contextmanager
    def turn(self, report: Report) -> Iterator[None]:
        """Wait for the turn and hold it. Raises Cancelled if asked to stop before it came."""
        while not self._lock.acquire(timeout=TURN_S):
            report.check()
        try:
            report.check()
            yield
        finally:
            self._lock.release()


@dataclass(kw_only=True, eq=False)
class Job:
    """A job under way, as the window sees it."""

    kind: str
    ticket: Ticket
    on_done: Callable[[Any], None]
    on_best: Callable[[Any], None] | None = None
    on_failed: Callable[[BaseException], None] | None = None
    on_cancelled: Callable[[], None] | None = None
    began: float = field(default_factory=time.monotonic)
    work: Work | None = None
    """What waits for a quiet moment; None once it was begun."""
    dropped: bool = False
    """True once a newer job of the kind replaced it: its answer is no longer wanted."""


@dataclass(frozen=True, kw_only=True)
class Progress:
    """What to show: the job's kind, its share done and its words."""

    kind: str
    share: float
    words: str


class Jobs(QObject):
    """Runs jobs and tells their endings on the thread it lives on."""

    progressed = Signal()

    def __init__(self, parent: QObject | None = None, *, threads: int = THREADS) -> None:
        super().__init__(parent)
        self._pool = ThreadPoolExecutor(
            max_workers=threads, thread_name_prefix="loopwright", initializer=stand_behind
        )
        self._live: list[Job] = []
        self._quiet_since = time.monotonic()
        self._closed = False
        self._timer = QTimer(self)
        self._timer.setInterval(POLL_MS)
        self._timer.timeout.connect(self.poll)
        self._more = QTimer(self)
        self._more.setSingleShot(True)
        self._more.timeout.connect(self.poll)

    def start(
        self,
        kind: str,
        work: Work,
        *,
        on_done: Callable[[Any], None],
        on_best: Callable[[Any], None] | None = None,
        on_failed: Callable[[BaseException], None] | None = None,
        on_cancelled: Callable[[], None] | None = None,
        at_leisure: bool = False,
    ) -> Job | None:
        """Start ``work``; an older job of the same kind is cancelled and its answer dropped.

        ``at_leisure`` it begins only once nothing else is under way, or when hurried.
        """
        if self._closed:
            return None
        self.drop(kind)
        job = Job(
            kind=kind, ticket=Ticket(), on_done=on_done, on_best=on_best,
            on_failed=on_failed, on_cancelled=on_cancelled, work=work,
        )  # fmt: skip
        self._live.append(job)
        self._quiet_since = job.began
        if not at_leisure:
            self._begin(job)
        self._timer.start()
        return job

    def hurry(self, kind: str) -> None:
        """Begin at once what waits for a quiet moment."""
        for job in self._live:
            if job.kind == kind:
                self._begin(job)

    def _begin(self, job: Job) -> None:
        work, job.work = job.work, None
        if work is not None:
            job.began = time.monotonic()
            self._pool.submit(job.ticket.run, work)

    def _begin_one_at_leisure(self) -> None:
        """Begin what waited, if all the others ended a while ago, or what waited in vain."""
        waiting = [job for job in self._live if job.work is not None]
        for job in waiting:
            if job.ticket.cancelled():
                self._begin(job)  # to its end
        if len(waiting) < len(self._live):
            self._quiet_since = time.monotonic()
        elif waiting and time.monotonic() - self._quiet_since > LEISURE_S:
            self._begin(waiting[0])

    def drop(self, kind: str) -> None:
        """Cancel jobs of a kind and forget their answers."""
        for job in self._live:
            if job.kind == kind:
                job.dropped = True
                job.ticket.stop()

    def cancel(self, kind: str | None = None) -> None:
        """Ask jobs to stop, of one kind or all; what they have found so far still counts."""
        for job in self._live:
            if kind is None or job.kind == kind:
                job.ticket.stop()

    def busy(self, kind: str | None = None) -> bool:
        """Tell whether a wanted job (of a kind) is under way."""
        return any(not j.dropped and (kind is None or j.kind == kind) for j in self._live)

    def to_show(self, *, after_s: float = SHOW_AFTER_S) -> Progress | None:
        """Progress of the longest running wanted job, None while all are young."""
        now = time.monotonic()
        for job in self._live:
            waits = job.work is not None
            if not (job.dropped or waits) and now - job.began >= after_s:
                share, words = job.ticket.progress()
                return Progress(kind=job.kind, share=share, words=words)
        return None

    def poll(self) -> None:
        """Collect what jobs have to say, one ending a turn. The timer calls this; tests may too."""
        for job in tuple(self._live):
            ended = job.ticket.ending
            self._tell_best(job)
            if ended is not None:
                self._live.remove(job)
                _tell_ending(job, ended)
                if not job.dropped and self._some_ended():
                    self._more.start()  # the window paints in between
                    break
        self._begin_one_at_leisure()
        if not self._live:
            self._timer.stop()
        self.progressed.emit()

    def _some_ended(self) -> bool:
        return not self._closed and any(job.ticket.ending for job in self._live)

    def _tell_best(self, job: Job) -> None:
        for best in job.ticket.take_best():
            if job.on_best and not job.dropped:
                job.on_best(best)

    def close(self, wait_s: float = CLOSE_WAIT_S) -> bool:
        """Cancel everything and wait; True if all threads came to rest in time."""
        self._closed = True
        self._timer.stop()
        self._more.stop()
        for job in self._live:
            job.dropped = True
            job.ticket.stop()
        self._pool.shutdown(wait=False, cancel_futures=True)
        until = time.monotonic() + wait_s
        while not self.at_rest() and time.monotonic() < until:
            time.sleep(0.01)
        return self.at_rest()

    def at_rest(self) -> bool:
        """Tell whether no thread of ours is running."""
        return not any(thread.is_alive() for thread in self._pool._threads)  # noqa: SLF001 - no public way to ask an executor

    @property
    def polling(self) -> bool:
        """Tell whether the timer runs."""
        return self._timer.isActive()


def _tell_ending(job: Job, ended: Ending) -> None:
    if job.dropped:
        return
    if ended is Ending.DONE:
        job.on_done(job.ticket.result)
    elif ended is Ending.CANCELLED and job.on_cancelled:
        job.on_cancelled()
    elif ended is Ending.FAILED and job.on_failed and job.ticket.error:
        job.on_failed(job.ticket.error)
