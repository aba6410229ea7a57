"""Repainting must not lose references to None (seen in one release of the Qt binding)."""

from __future__ import annotations

import sys

from pytestqt.qtbot import QtBot

from app_help import found, ladder_document, wait_until, window_on

REPAINTS = 200
SPARE = 300
"""References to None come and go by the hundred; the fault lost several a repaint."""


def test_repainting_keeps_none_alive(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened))
        opened.window.grab()
        before = sys.getrefcount(None)
        for _ in range(REPAINTS):
            opened.window.map_pane.map.viewport().repaint()
            opened.window.profile.repaint()
        after = sys.getrefcount(None)
        assert before - after < SPARE
