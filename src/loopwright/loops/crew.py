"""Runs a few independent tasks at once, on as many cores as there are.

Gets tasks that release the interpreter lock; gives nothing back: tasks keep their own results.
Promises: what a task computes does not depend on how many others run beside it; once the caller's
``tick`` raises, every task is asked to stop and waited for.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from types import TracebackType
from typing import Self

POLL_S = 0.005


def cores() -> int:
    """How many cores this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not every system tells
        return os.cpu_count() or 1


class Crew:
    """Workers for one search. ``stopping`` is set when tasks should end early."""

    def __init__(self, workers: int, tick: Callable[[], None]) -> None:
        """Take the number of workers, and what to call every few milliseconds meanwhile."""
        self.tick = tick
        self.stopping = False
        self._pool = ThreadPoolExecutor(workers) if workers > 1 else None

    def __enter__(self) -> Self:
        """Begin."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        value: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Let the workers go."""
        if self._pool is not None:
            self._pool.shutdown()

    def check(self) -> None:
        """Let a task that runs in the caller's own thread be stopped."""
        if self._pool is None:
            self.tick()

    def all(self, tasks: Sequence[Callable[[], None]]) -> None:
        """Run all tasks to their end."""
        if self._pool is None:
            for task in tasks:
                task()
                self.tick()
            return
        pending = {self._pool.submit(task) for task in tasks}
        try:
            while pending:
                done, pending = wait(pending, timeout=POLL_S)
                for future in done:
                    future.result()
                self.tick()
        except BaseException:
            self.stopping = True
            wait(pending)
            raise
