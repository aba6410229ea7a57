"""Contrast, text sizes, words and names: what everybody must be able to read and reach.

The contrast formula and the limit of 4.5 to 1 are those of WCAG 2.1, success criterion 1.4.3.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QComboBox,
    QDialog,
    QDoubleSpinBox,
    QListWidget,
    QSlider,
    QToolButton,
    QTreeWidget,
    QWidget,
)
from pytestqt.qtbot import QtBot

from app_help import Answers, found, ladder_document, rested, wait_until, window_on
from fit_help import longer_words
from loopwright.app.look import make_look
from loopwright.app.place_tabs import PLACES
from loopwright.app.preferences_dialog import PreferencesDialog
from loopwright.app.remembered import Remembered
from loopwright.card.palette import DARK, LIGHT, Theme, contrast, text_on
from loopwright.units import Units


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.name)
@pytest.mark.parametrize("ink", ["ink", "soft_ink", "faint_ink", "warning", "accent"])
@pytest.mark.parametrize("ground", ["paper", "panel"])
def test_text_reads_on_its_ground(theme: Theme, ink: str, ground: str) -> None:
    assert contrast(getattr(theme, ink), getattr(theme, ground)) >= 4.5


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.name)
def test_text_reads_on_the_accent_and_on_choices(theme: Theme) -> None:
    assert contrast(text_on(theme.accent), theme.accent) >= 4.5
    assert contrast(theme.ink, theme.accent_soft) >= 4.5
    assert contrast(theme.soft_ink, theme.accent_soft) >= 4.5


def test_scale_is_held_to_what_the_window_can_bear() -> None:
    assert make_look("light", scale=9.0).scale == 2.0
    assert make_look("light", scale=0.1).scale == 1.0


def nameless(window: QWidget) -> list[QWidget]:
    """Give everything on the screen the keyboard can reach and a reader could not name."""
    return [
        w
        for w in window.findChildren(QWidget)
        if w.isVisible()
        and w.focusPolicy() & Qt.FocusPolicy.TabFocus
        and w.focusProxy() is None
        and not (w.accessibleName() or (isinstance(w, QAbstractButton) and w.text()))
        and not isinstance(w.parentWidget(), (QAbstractSpinBox, QComboBox))
    ]


def test_a_nameless_thing_is_found(qtbot: QtBot) -> None:
    for kind in (QSlider, QListWidget, QToolButton, QTreeWidget, QDoubleSpinBox):
        outer = QWidget()
        qtbot.addWidget(outer)
        inner = kind(outer)
        inner.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        outer.show()
        assert inner in nameless(outer)
        inner.setAccessibleName("named")
        assert nameless(outer) == []


def test_everything_focusable_has_a_name(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened))
        for place in PLACES:
            opened.window.go(place)
            wait_until(qtbot, lambda: rested(opened))
            assert nameless(opened.window) == []
        for name in ("card", "compare", "why", "trade_off", "rider", "preferences", "background",
                     "find_command", "targets"):  # fmt: skip
            opened.window.do(name)
            wait_until(qtbot, lambda: rested(opened))
            for dialog in opened.window.findChildren(QDialog):
                assert (name, nameless(dialog)) == (name, [])
                dialog.close()


def test_every_text_goes_through_translation(qtbot: QtBot) -> None:
    with longer_words(), window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened))
        opened.window.go("loops")
        told = [
            w.text()
            for w in opened.window.findChildren(QAbstractButton)
            if w.isVisible() and len(w.text()) > 3
        ]
        assert [words for words in told if "~" not in words] == []
        assert "~" in opened.window.words_bar.known.text()


def test_preferences_change_the_look_at_once(qtbot: QtBot, tmp_path: Path) -> None:
    record = Remembered(path=tmp_path / "preferences.json")
    with window_on(ladder_document(), answers=Answers()) as opened:
        wait_until(qtbot, lambda: found(opened))
        dialog = PreferencesDialog(opened.window, record, lambda _look: None)
        dialog.theme.setCurrentIndex(2)
        dialog.units.setCurrentIndex(1)
        dialog.units.activated.emit(1)
        assert opened.window.look.theme is DARK
        assert opened.window.look.units is Units.IMPERIAL
        assert "mi" in opened.window.loops.lap.unit.itemText(0)
        dialog.close()
    again = Remembered(path=record.path, preferences=record.preferences)
    assert again.look().theme is DARK
