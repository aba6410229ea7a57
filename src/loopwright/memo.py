"""Remember the last few results of a pure function by the identity of its inputs.

Promises: safe from several threads, of which one makes a result and the others wait for it; inputs
are held, so an identity is never reused by mistake.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Event, Lock
from typing import Generic, TypeVar

T = TypeVar("T")


class Memo(Generic[T]):
    """Results of one stage. ``keep`` is how many; undo finds them ready."""

    def __init__(self, keep: int = 6) -> None:
        self._keep = keep
        self._lock = Lock()
        self._held: OrderedDict[Hashable, tuple[tuple[object, ...], T]] = OrderedDict()
        self._making: dict[Hashable, Event] = {}

    def get(self, inputs: tuple[object, ...], make: Callable[[], T]) -> T:
        """Give the remembered result for the identical inputs, or make it.

        Where another thread is making it, wait; should that one fail or be stopped, make it here.
        """
        key = _key(inputs)
        while True:
            with self._lock:
                if key in self._held:
                    self._held.move_to_end(key)
                    return self._held[key][1]
                elsewhere = self._making.get(key)
                if elsewhere is None:
                    mine = self._making[key] = Event()
                    break
            elsewhere.wait()
        try:
            result = make()
            self.put(inputs, result)
        finally:
            with self._lock:
                del self._making[key]
            mine.set()
        return result

    def last(self, inputs: tuple[object, ...]) -> T | None:
        """Give the remembered result for the identical inputs, None where there is none."""
        with self._lock:
            held = self._held.get(_key(inputs))
            return held[1] if held is not None else None

    def put(self, inputs: tuple[object, ...], result: T) -> None:
        """Remember a result that is known already."""
        with self._lock:
            self._held[_key(inputs)] = (inputs, result)
            while len(self._held) > self._keep:
                self._held.popitem(last=False)


def _key(inputs: tuple[object, ...]) -> Hashable:
    return tuple(id(value) for value in inputs)
