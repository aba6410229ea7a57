"""Contrast, text sizes, words and names: what everybody must be able to read and reach.

The contrast formula and the limit of 4.5 to 1 are those of WCAG 2.1, success criterion 1.4.3.
"""

# ruff: noqa: ARG002 - the translator takes what Qt gives

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, Qt, QTranslator
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLabel, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from app_help import Answers, found, ladder_document, rested, wait_until, window_on
from loopwright.app.look import dress, make_look
from loopwright.app.place_bar import Elided
from loopwright.app.preferences_dialog import PreferencesDialog
from loopwright.app.remembered import Remembered
from loopwright.app.window import PLACES
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


def focusable(window: QWidget) -> list[QWidget]:
    kinds = (QAbstractButton, QComboBox, QLineEdit)
    every = [w for w in window.findChildren(QWidget) if w.focusPolicy() & Qt.FocusPolicy.TabFocus]
    return [w for w in every if isinstance(w, kinds) or w.accessibleName()]


def test_everything_focusable_has_a_name(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened))
        for place in PLACES:
            opened.window.go(place)
            nameless = [
                w
                for w in focusable(opened.window)
                if w.isVisible() and not (w.accessibleName() or getattr(w, "text", str)())
            ]
            assert nameless == []


class Longer(QTranslator):
    """A language whose every sentence is longer and accented, to find what does not fit."""

    def translate(
        self,
        context: str,
        sourceText: str,  # noqa: N803 - Qt's own names
        disambiguation: str | None = None,
        n: int = -1,
    ) -> str:
        if context != "loopwright":
            return ""
        return f"[äöü {sourceText} ~~~]" if sourceText else ""


def test_every_text_goes_through_translation(qtbot: QtBot) -> None:
    translator = Longer()
    QCoreApplication.installTranslator(translator)
    try:
        with window_on(ladder_document()) as opened:
            wait_until(qtbot, lambda: found(opened))
            opened.window.go("loops")
            told = [
                w.text()
                for w in opened.window.findChildren(QAbstractButton)
                if w.isVisible() and len(w.text()) > 3
            ]
            assert [words for words in told if "~~~" not in words] == []
            assert "~~~" in opened.window.words_bar.known.text()
    finally:
        QCoreApplication.removeTranslator(translator)


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
def test_labels_are_never_clipped(qtbot: QtBot, scale: float) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened))
        look = make_look("light", scale=scale)
        dress(qtbot_application(), look)
        opened.window.dress(look)
        opened.window.resize(round(1280 * max(1.0, scale * 0.8)), 900)
        for place in PLACES:
            opened.window.go(place)
            wait_until(qtbot, lambda: rested(opened))
            qtbot_application().processEvents()
            qtbot_application().processEvents()
            assert [clipped.text() for clipped in labels(opened.window) if narrow(clipped)] == []
    dress(qtbot_application(), make_look("light"))


def qtbot_application() -> QApplication:
    application = QCoreApplication.instance()
    assert isinstance(application, QApplication)
    return application


def labels(window: QWidget) -> list[QLabel]:
    return [w for w in window.findChildren(QLabel) if w.isVisible() and w.text() and w.width() > 0]


def narrow(words: QLabel) -> bool:
    """A wrapped label is clipped when too low, another when too narrow and not shortened."""
    if isinstance(words, Elided):
        return False
    if words.wordWrap():
        return words.height() + 1 < words.heightForWidth(words.width())
    return words.width() + 1 < words.fontMetrics().horizontalAdvance(words.text())


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
