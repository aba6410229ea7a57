"""Results remembered by the identity of their inputs, from several threads."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier, Event

import pytest

from loopwright.memo import Memo

WAIT_S = 10.0


def test_one_thread_makes_it_and_the_others_wait() -> None:
    memo, ready, made = Memo[str](), Barrier(3), list[int]()
    inputs = (object(),)

    def make() -> str:
        made.append(1)
        assert not Event().wait(0.05)  # time for the others to come
        return "found"

    def ask() -> str:
        ready.wait(WAIT_S)
        return memo.get(inputs, make)

    with ThreadPoolExecutor(3) as pool:
        answers = [pool.submit(ask) for _ in range(3)]
        assert [answer.result(WAIT_S) for answer in answers] == ["found"] * 3
    assert len(made) == 1


def test_where_one_fails_another_makes_it() -> None:
    memo, begun, go_on = Memo[str](), Event(), Event()
    inputs = (object(),)

    def fail() -> str:
        begun.set()
        assert go_on.wait(WAIT_S)
        raise ValueError("stopped")

    with ThreadPoolExecutor(2) as pool:
        first = pool.submit(memo.get, inputs, fail)
        assert begun.wait(WAIT_S)
        second = pool.submit(memo.get, inputs, lambda: "found")
        go_on.set()
        with pytest.raises(ValueError, match="stopped"):
            first.result(WAIT_S)
        assert second.result(WAIT_S) == "found"


def test_the_oldest_is_forgotten_first() -> None:
    memo, (first, second, third) = Memo[int](keep=2), [(object(),) for _ in range(3)]
    assert memo.get(first, lambda: 1) == 1
    assert memo.get(second, lambda: 2) == 2
    assert memo.get(third, lambda: 3) == 3
    assert memo.get(third, lambda: 9) == 3
    assert memo.get(first, lambda: 9) == 9
