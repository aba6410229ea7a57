"""Compiled functions where their code cannot be kept, or what was kept is damaged."""

from __future__ import annotations

import errno
from typing import Any

import pytest
from numba.core import caching

from loopwright.geo.compiled import compiled


def _double(value: float) -> float:
    return 2.0 * value


def test_a_full_disk_costs_nothing_but_compiling(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []

    def full(self: Any, key: object, data: object) -> None:
        asked.append(key)
        raise OSError(errno.ENOSPC, "no space left on device")

    monkeypatch.setattr(caching.IndexDataCacheFile, "save", full)
    monkeypatch.setattr(caching.IndexDataCacheFile, "load", lambda _self, _key: None)
    assert compiled(_double)(1.5) == 3.0
    assert asked


@pytest.mark.parametrize("error", [EOFError, AttributeError, ModuleNotFoundError])
def test_what_was_kept_and_is_damaged_is_made_again(
    monkeypatch: pytest.MonkeyPatch, error: type[Exception]
) -> None:
    """Also what an older version kept, with types that have gone since."""

    def cut(self: Any, key: object) -> None:
        raise error("cannot be read")

    monkeypatch.setattr(caching.IndexDataCacheFile, "load", cut)
    monkeypatch.setattr(caching.IndexDataCacheFile, "save", lambda _self, _key, _data: None)
    assert compiled(_double)(2.5) == 5.0


def test_without_any_place_to_keep_code_it_is_compiled_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(caching.CompileResultCacheImpl, "_locator_classes", [])
    assert compiled(_double)(3.5) == 7.0
