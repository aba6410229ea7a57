"""Names from anywhere are shown as they are: markup is not obeyed, direction marks stay out."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QTableWidget, QTreeWidget, QWidget
from pytestqt.qtbot import QtBot

from app_help import Answers, found, ladder_document, rested, wait_until, window_on
from io_help import document
from loopwright.app.plain_text import tip
from loopwright.io.area_file import area_bytes, load_area
from loopwright.model.document import Document

MARKUP = '<b>bold</b><img src="x"> & <a href="y">z</a>'
MARKS = "a\u202eb\u2066c\u200fd\x1b[31me\nf\x00g"


def marked() -> Document:
    plain = ladder_document()
    rides = tuple(
        replace(r, track=replace(r.track, name=f"{MARKUP} {k}", source=f"{MARKUP}{k}.gpx"))
        for k, r in enumerate(plain.rides)
    )
    return replace(plain, name=MARKUP, rides=rides, rider=replace(plain.rider, name=MARKUP))


def tips(widget: QWidget) -> list[str]:
    """Tool tips of a widget and of its cells."""
    found = [widget.toolTip()]
    if isinstance(widget, QTableWidget):
        cells = [
            widget.item(row, column)
            for row in range(widget.rowCount())
            for column in range(widget.columnCount())
        ]
        found += [cell.toolTip() for cell in cells if cell is not None]
    if isinstance(widget, QTreeWidget):
        tops = [widget.topLevelItem(k) for k in range(widget.topLevelItemCount())]
        found += [top.toolTip(0) for top in tops if top is not None]
    return found


def test_no_label_and_no_tip_obeys_markup(qtbot: QtBot) -> None:
    with window_on(marked(), answers=Answers(word=MARKUP)) as opened:
        wait_until(qtbot, lambda: found(opened))
        opened.window.do("keep")
        tipped = 0
        naming: list[QLabel] = []
        for place in ("ground", "loops", "laps", "season"):
            opened.window.do(place)
            wait_until(qtbot, lambda: rested(opened))
            labels = opened.window.findChildren(QLabel)
            assert labels
            naming += [label for label in labels if "<b>" in label.text()]
            shown = [t for w in opened.window.findChildren(QWidget) for t in tips(w) if "<" in t]
            assert [t for t in shown if not t.startswith("<qt>")] == []
            tipped += len(shown)
            assert [t for t in shown if "<b>" in t or "<img" in t or "<a " in t] == []
        assert naming
        assert tipped
        assert {label.textFormat() for label in naming} == {Qt.TextFormat.PlainText}


def test_tips_keep_lines_and_escape() -> None:
    assert tip("two\nlines & more") == "two\nlines & more"
    assert tip("<b>x</b>\n&") == "<qt>&lt;b&gt;x&lt;/b&gt;<br>&amp;</qt>"


def test_marks_in_a_saved_area_become_spaces(tmp_path: Path) -> None:
    """A crafted area cannot turn words round on the screen or forge a second line."""
    path = tmp_path / "a.loopwright"
    whole = document()
    path.write_bytes(area_bytes(replace(whole, name=MARKS, rider=replace(whole.rider, name=MARKS))))
    back = load_area(path)
    assert back.name == back.rider.name == "a b c d [31me f g"


@pytest.mark.parametrize("name", ["Tal-Weg é", "طريق الجبل", "שביל", "山道", "<b>Loop</b>"])
def test_names_in_any_script_come_back_as_they_were(tmp_path: Path, name: str) -> None:
    path = tmp_path / "a.loopwright"
    path.write_bytes(area_bytes(replace(document(), name=name)))
    assert load_area(path).name == name
