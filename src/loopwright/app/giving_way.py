"""Jobs let the window go first.

A job in a thread shares one interpreter with the window: while both work, either is half as fast,
and what the window does in 30 ms is felt as 60. So a job looks, as often as it checks whether to
stop, whether the window's thread is at work, and sleeps until it has done. Promises: a job waits
for a limited time and then goes on for a while; it never waits on the window's own thread, for a
window that waits itself, or where the system keeps no clock of a thread's work (POSIX does).
Where there are more of them than processors, the window's thread is also the first to have one.
"""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress

LOOK_S = 0.0005
"""No look sooner than this after the last: a look costs a microsecond."""
BUSY_SHARE = 0.25
"""The window is at work if it worked for more than this of the time since the last look."""
NAP_S = 0.001
PATIENCE_S = 0.05
GOES_ON_S = 0.01
"""After so long a wait a job works on for so long, should the window never rest."""

STEPS_BEHIND = 5
"""Steps of priority a job's thread stands behind the window's."""

Clock = Callable[[], float]


def stand_behind() -> None:
    """Let the calling thread, and what it starts, have the processor after the window.

    Linux keeps a priority for each thread (sched(7)); elsewhere, or where that is forbidden,
    nothing happens.
    """
    if sys.platform == "linux":
        with suppress(OSError):
            thread = threading.get_native_id()
            now = os.getpriority(os.PRIO_PROCESS, thread)
            os.setpriority(os.PRIO_PROCESS, thread, now + STEPS_BEHIND)  # beyond 19 it is 19


def work_of_window() -> Clock | None:
    """Give the clock of the main thread's work, s; None where there is no such clock."""
    main = threading.main_thread().ident
    clock_of = getattr(time, "pthread_getcpuclockid", None)
    if clock_of is None or main is None:
        return None
    number = clock_of(main)
    return lambda: time.clock_gettime(number)


class GivesWay:
    """Sleeps while the window works; one for each job, called from its thread."""

    def __init__(
        self,
        work: Clock | None,
        *,
        now: Clock = time.perf_counter,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._work, self._now, self._sleep = work, now, sleep
        self._looked = (now(), work() if work else 0.0)
        self._next_look_s = self._looked[0] + LOOK_S

    def __call__(self) -> None:
        """Wait for the window, if it is at work."""
        now = self._now()
        if self._work is None or now < self._next_look_s:
            return
        if threading.current_thread() is threading.main_thread():
            return
        while self._busy(self._work):
            if self._now() - now > PATIENCE_S:
                self._next_look_s = self._now() + GOES_ON_S
                return
            self._sleep(NAP_S)

    def _busy(self, work: Clock) -> bool:
        """Tell whether the window worked for much of the time since the last look."""
        then, before = self._looked
        self._looked = now, worked = self._now(), work()
        self._next_look_s = now + LOOK_S
        return worked - before > BUSY_SHARE * (now - then)
