"""The contract for slow work: ``job(inputs, report) -> result``.

A job calls ``report.step`` to tell how far it is, ``report.best`` to show what it has so far, and
``report.check`` at least every 20 ms of work; ``check`` raises Cancelled when asked to stop.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any, Protocol, TypeVar

T = TypeVar("T")


class Cancelled(Exception):  # noqa: N818 - an outcome, not an error
    """Raised inside a job by ``report.check`` once the caller asked to stop."""


class Report(Protocol):
    """What a job may say while it works. Safe to call from any thread."""

    def step(self, share: float, words: str) -> None:
        """Tell the share done (0..1) and what is being done, in plain words."""

    def best(self, result: object) -> None:
        """Show the best result so far."""

    def check(self) -> None:
        """Raise Cancelled if the caller asked to stop."""

    def cancelled(self) -> bool:
        """Tell whether the caller asked to stop, without raising."""


class Silent:
    """A report nobody reads."""

    def step(self, share: float, words: str) -> None:
        """Say nothing."""

    def best(self, result: object) -> None:
        """Keep nothing."""

    def check(self) -> None:
        """Never cancelled."""

    def cancelled(self) -> bool:
        """Never cancelled."""
        return False


def watched(items: Iterable[T], check: Callable[[], None]) -> Iterator[T]:
    """Give items one by one, with a check (a report's) before each."""
    for item in items:
        check()
        yield item


class Runner(Protocol):
    """Does ``function(*inputs, report)``, here or elsewhere; function and inputs can be pickled."""

    def __call__(self, function: Callable[..., T], inputs: tuple[Any, ...], report: Report, /) -> T:
        """Give what the function gives."""


def run_here(function: Callable[..., T], inputs: tuple[Any, ...], report: Report, /) -> T:
    """Do it in this process."""
    return function(*inputs, report)
