"""A process of its own for compiled work, so that it never shares the window's lock.

Gets a function of the module level and picklable inputs; gives its result, best-so-far, error or
Cancelled, exactly as if it had run here. Promises: no Qt inside; cancelling is seen within one
check of the job; a process that dies is replaced at the next call and the failure told in words.
"""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from io import BytesIO
from multiprocessing.connection import Connection
from multiprocessing.reduction import ForkingPickler
from multiprocessing.sharedctypes import Synchronized
from threading import Lock, Thread
from typing import Any, TypeVar, cast

from loopwright.app.giving_way import stand_behind
from loopwright.errors import WorldError
from loopwright.jobs import Cancelled, Report, Silent

T = TypeVar("T")
POLL_S = 0.02
WAIT_FOR_END_S = 1.0
GENTLER = 5
"""Steps of priority a worker stands behind who starts it: a click must not wait for a search."""


class _Gone(Exception):  # noqa: N818 - no fault of ours: the process at the other end has ended
    """The other end of the pipe is not there any more."""


@contextmanager
def _talking() -> Iterator[None]:
    """Tell a pipe that broke, also in the middle of a message, from errors the job itself met."""
    try:
        yield
    except (EOFError, OSError) as error:
        raise _Gone from error


class _PipeReport:
    """The report a job in the worker sees."""

    def __init__(self, pipe: Connection, number: int, stop: Synchronized[int]) -> None:
        self._pipe, self._number, self._stop = pipe, number, stop

    def step(self, share: float, words: str) -> None:
        self._pipe.send(("step", (share, words)))

    def best(self, result: object) -> None:
        self._pipe.send(("best", result))

    def check(self) -> None:
        if self.cancelled():
            raise Cancelled

    def cancelled(self) -> bool:
        return self._stop.value >= self._number


def serve(pipe: Connection, stop: Synchronized[int]) -> None:
    """Answer calls until the pipe closes. Runs in the worker."""
    if hasattr(os, "nice"):
        os.nice(GENTLER)
    while True:
        try:
            number, function, inputs = pipe.recv()
        except (EOFError, OSError, KeyboardInterrupt):
            return
        _answer(pipe, function, inputs, _PipeReport(pipe, number, stop))


def _answer(
    pipe: Connection, function: Callable[..., Any], inputs: tuple[Any, ...], report: Report
) -> None:
    try:
        pipe.send(("done", function(*inputs, report)))
    except Cancelled:
        pipe.send(("cancelled", None))
    except Exception as error:  # noqa: BLE001 - sent to the caller, not lost
        pipe.send(("failed", error))


class Worker:
    """One worker process, started when it is prepared or at the first call.

    ``call`` blocks: use it from a job. ``prepare`` does not.
    """

    def __init__(self, name: str = "work") -> None:
        self._name = f"loopwright-{name}"
        self._lock = Lock()
        self._process: multiprocessing.process.BaseProcess | None = None
        self._pipe: Connection | None = None
        self._stop: Synchronized[int] | None = None
        self._number = 0
        self._closed = False

    def prepare(self, function: Callable[[Report], Any]) -> None:
        """Start the process and have it run ``function(report)`` before anything is asked.

        What goes wrong here is not told: the first call meets it again and tells it.
        """

        def run() -> None:
            stand_behind()
            with suppress(Exception):  # also Cancelled, when closed before it began
                self.call(function, (), Silent())

        Thread(target=run, name="loopwright-prepare", daemon=True).start()

    def call(self, function: Callable[..., T], inputs: tuple[Any, ...], report: Report, /) -> T:
        """Run ``function(*inputs, report)`` in the worker and give what it gives."""
        with self._lock:
            report.check()
            if self._closed:
                raise Cancelled
            self._start()
            self._number += 1
            try:
                return cast("T", self._converse(function, inputs, report))
            except _Gone as error:
                self._discard()
                if self._closed:
                    raise Cancelled from error
                raise WorldError("a helper process", "stopped unexpectedly", "try again") from error

    def _converse(
        self, function: Callable[..., Any], inputs: tuple[Any, ...], report: Report
    ) -> Any:
        assert self._pipe is not None  # noqa: S101 - for the type checker: _start made it
        assert self._stop is not None  # noqa: S101 - the same
        question = packed((self._number, function, inputs), report)
        with _talking():
            self._pipe.send_bytes(question)
        while True:
            if report.cancelled():
                self._stop.value = self._number
            with _talking():
                if not self._pipe.poll(POLL_S):
                    continue
                word, value = self._pipe.recv()
            if word == "step":
                _tell(report, value)
            elif word == "best":
                report.best(value)
            elif word == "done":
                return value
            elif word == "failed":
                raise value
            else:
                raise Cancelled

    def _start(self) -> None:
        if self._process is not None and self._process.is_alive():
            return
        context = multiprocessing.get_context("spawn")
        self._pipe, theirs = context.Pipe()
        self._stop = context.Value("q", 0)
        self._process = context.Process(
            target=serve, args=(theirs, self._stop), daemon=True, name=self._name
        )
        self._process.start()
        theirs.close()

    def _discard(self) -> None:
        process, pipe = self._process, self._pipe
        self._process = self._pipe = None
        if pipe is not None:
            pipe.close()
        if process is not None:
            process.join(0.2)
            if process.is_alive():
                process.kill()
                process.join(WAIT_FOR_END_S)

    def close(self) -> None:
        """Stop the process: it gets a moment to see the cancelled job, then is ended."""
        self._closed = True
        if self._stop is not None:
            self._stop.value = 2**62
        if self._lock.acquire(timeout=WAIT_FOR_END_S):
            try:
                self._discard()
            finally:
                self._lock.release()
        else:
            self._discard()


class _Packer(ForkingPickler):
    """Pickles as a pipe does, with a check at each object that is not of a built-in type."""

    def __init__(self, file: BytesIO, report: Report) -> None:
        super().__init__(file)
        self._report = report

    def reducer_override(self, _thing: object) -> Any:
        """Leave how to pickle to the thing itself."""
        self._report.check()
        return NotImplemented


def packed(thing: object, report: Report) -> memoryview:
    """Pickle for a pipe's other end, giving way meanwhile. Raises Cancelled if asked to stop."""
    file = BytesIO()
    _Packer(file, report).dump(thing)
    return file.getbuffer()


def _tell(report: Report, value: tuple[float, str]) -> None:
    """Pass progress on; a cancelled report raises here, but the worker still owes its ending."""
    try:
        report.step(*value)
    except Cancelled:
        return
