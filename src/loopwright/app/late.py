"""The pipeline, made when it is first asked for.

Gets a way to make one; gives something that behaves as one. Promises: the window is up before the
rooms are loaded; made once, also when several threads ask at once.
"""

from __future__ import annotations

from collections.abc import Callable
from threading import Lock
from typing import TYPE_CHECKING, Any, cast

from loopwright.jobs import Runner

if TYPE_CHECKING:
    from loopwright.pipeline import Pipeline


class _Late:
    def __init__(self, make: Callable[[], Pipeline]) -> None:
        self._make, self._lock = make, Lock()
        self._made: Pipeline | None = None

    def __getattr__(self, name: str) -> Any:
        with self._lock:
            if self._made is None:
                self._made = self._make()
        return getattr(self._made, name)


def late_pipeline(make: Callable[[], Pipeline]) -> Pipeline:
    """Give a pipeline that is made at first use."""
    return cast("Pipeline", _Late(make))


def plain() -> Pipeline:
    """Make a pipeline that keeps nothing between starts."""
    from loopwright.pipeline import Pipeline

    return Pipeline()


def kept(run: Runner) -> Pipeline:
    """Make a pipeline that keeps built networks between starts; ``run`` as for the pipeline."""
    from loopwright.cached import cached_pipeline

    return cached_pipeline(run=run)
