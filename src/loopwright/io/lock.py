"""One window an area: a lock beside the area file.

Gets the path of an area; holds it until released or until the program ends, however it ends.
Promises: a second holder is told at once; nothing is left locked after a crash. A folder that
cannot be written needs no lock, since nothing can be saved there.
"""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Self

from filelock import FileLock, Timeout

from loopwright.errors import WorldError


class AreaLock:
    """Exclusive hold on one area; use as a context manager or call acquire and release."""

    def __init__(self, path: Path) -> None:
        """Name the area; nothing is locked yet. Any thread may take it and any give it back."""
        self.path = path
        self._target = Path(os.path.realpath(path))
        self._lock = FileLock(
            self._target.with_name(f".{self._target.name}.lock"), timeout=0, thread_local=False
        )

    @property
    def held(self) -> bool:
        """Tell whether this object holds the lock."""
        return self._lock.is_locked

    def is_for(self, path: Path) -> bool:
        """Tell whether ``path`` names the area of this lock."""
        return self._target == Path(os.path.realpath(path))

    def acquire(self) -> None:
        """Take the lock, once; raises WorldError when another window has it."""
        if self.held:
            return
        try:
            self._lock.acquire()
        except Timeout:
            raise WorldError(
                str(self.path), "is open in another Loopwright window", "close it there first"
            ) from None
        except OSError:
            if os.access(self.path.parent, os.W_OK):
                raise WorldError(
                    str(self.path), "cannot be locked on this disk", "move it to another disk"
                ) from None

    def release(self) -> None:
        """Give the lock back; harmless when it is not held."""
        with suppress(OSError):
            self._lock.release()

    def __enter__(self) -> Self:
        """Take the lock."""
        self.acquire()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Give the lock back."""
        self.release()
