"""Compiling ahead: done once, beside, and told by a stamp."""

from __future__ import annotations

import subprocess
from types import SimpleNamespace

import pytest

from loopwright import warming
from loopwright.cli.main import main


def test_warm_leaves_a_stamp_and_then_nothing_is_started(monkeypatch: pytest.MonkeyPatch) -> None:
    started: list[list[str]] = []

    def begin(words: list[str], **_: object) -> SimpleNamespace:
        started.append(words)
        return SimpleNamespace(returncode=None)

    monkeypatch.setattr(subprocess, "Popen", begin)
    warming.stamp().unlink(missing_ok=True)
    warming.warm_beside()
    assert started[0][-1] == "warm"
    assert main(["warm"]) == 0
    assert warming.stamp().exists()
    warming.warm_beside()
    assert len(started) == 1
