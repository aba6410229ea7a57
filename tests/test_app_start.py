"""The window's frame is up before what does the work, and forgets nothing asked meanwhile."""

from __future__ import annotations

import gc
import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

import loopwright
from app_help import Answers, assert_nothing_left, found, ladder_document, rested, wait_until
from loopwright.app.look import make_look
from loopwright.app.main import Loaded, Start
from loopwright.app.opening import Furniture, Opened
from loopwright.app.remembered import Remembered
from loopwright.app.window import Window
from loopwright.io.preferences import Preferences
from loopwright.model.document import Document

FRAME = """
import sys
from loopwright.app.main import Start
from loopwright.app.remembered import Remembered
from loopwright.app.screen import ensure_widgets
from loopwright.io.preferences import Preferences

application = ensure_widgets()
start = Start(application, None, Remembered(preferences=Preferences(cautions_seen=True)))
loaded = []
start.window.blank.painted.disconnect()
start.window.blank.painted.connect(lambda: loaded.extend(sys.modules))
start.window.show()
while not loaded:
    application.processEvents()
heavy = {"numpy", "scipy", "shapely", "pyproj", "numba", "networkx", "lxml"}
late = {"html", "platformdirs", "loopwright.app.dialogs", "loopwright.app.sheet"}
print(*sorted((heavy | late) & set(loaded)))
"""


def test_the_frame_is_painted_before_what_it_can_do_without_is_loaded() -> None:
    ran = subprocess.run([sys.executable, "-c", FRAME], check=True, capture_output=True, text=True)
    assert ran.stdout.strip() == ""


TAKES = """
import sys
import loopwright.elsewhere, loopwright.laps, loopwright.look_next, loopwright.loops.rings
print(*sorted({"numba", "networkx", "scipy.optimize", "scipy.signal"} & set(sys.modules)))
"""


def test_a_window_that_only_takes_answers_loads_no_compiler() -> None:
    """What runs in a worker comes back as values whose modules the window loads."""
    ran = subprocess.run([sys.executable, "-c", TAKES], check=True, capture_output=True, text=True)
    assert ran.stdout.strip() == ""


def furnish(window: Window, document: Document) -> Opened:
    *_, opened = Furniture(document=document).put_into(window)
    assert opened is not None
    return opened


def test_what_is_asked_before_the_furniture_stands_is_done_after(
    qtbot: QtBot, tmp_path: Path
) -> None:
    answers = Answers()
    window = Window(make_look("light"), dialogs=answers)
    window.show()
    window.do("season")
    window.do("about")
    drop = QMimeData()
    drop.setUrls([QUrl.fromLocalFile(str(tmp_path / "absent.gpx"))])
    window.dropEvent(
        QDropEvent(QPointF(9, 9), Qt.DropAction.CopyAction, drop, Qt.MouseButton.LeftButton,
                   Qt.KeyboardModifier.NoModifier)
    )  # fmt: skip
    assert not window.can("save")
    assert answers.shown == []
    opened = furnish(window, Document(name="New area"))
    assert window.place == opened.desk.place == "season"
    assert len(answers.shown) == 1
    wait_until(qtbot, lambda: "absent.gpx" in opened.desk.trouble and rested(opened))
    opened.close()
    window.hide()
    window.deleteLater()


def test_no_place_shows_before_all_are_whole_and_each_is_built_where_it_stands(
    qtbot: QtBot,
) -> None:
    window = Window(make_look("light"), dialogs=Answers())
    window.show()
    column, steps = window.column, Furniture(document=Document(name="New area")).put_into(window)
    grown = []
    for opened in steps:
        if opened is None:
            assert column.currentIndex() == 0  # the empty one
            grown.append(len(column.findChildren(QWidget)))
    assert max(after - before for before, after in pairwise(grown)) < grown[-1] / 6
    assert opened is not None
    assert column.currentWidget() is window.loops
    opened.close()
    window.hide()
    window.deleteLater()


def test_a_disabled_action_stays_so_until_there_is_something_to_do_it_to(qtbot: QtBot) -> None:
    window = Window(make_look("light"), dialogs=Answers())
    assert window.actions_by_id["import"].isEnabled()
    assert not window.actions_by_id["card"].isEnabled()
    opened = furnish(window, ladder_document())
    wait_until(qtbot, lambda: found(opened))
    window.refresh()
    assert window.actions_by_id["card"].isEnabled()
    opened.close()
    window.deleteLater()


def test_closing_on_the_way_up_leaves_nothing(qtbot: QtBot) -> None:
    application = QApplication.instance()
    assert isinstance(application, QApplication)
    start = Start(application, None, Remembered(preferences=Preferences(cautions_seen=True)))
    start.window.show()
    qtbot.waitUntil(lambda: start._begun, timeout=5000)
    assert start.close()
    start.window.close()
    start.window.deleteLater()
    application.processEvents()
    assert_nothing_left(application)


def test_no_room_brings_libraries_that_take_long_to_load() -> None:
    # scipy.signal brings scipy.stats: half a second in which the window hardly answers.
    rooms = Path(loopwright.__file__).parent
    parts = [p for p in rooms.rglob("*.py") if "invented" not in p.parts]
    assert len(parts) > 200
    assert [p.name for p in parts if re.search(r"scipy\.(signal|stats)", p.read_text())] == []


def test_what_was_loaded_is_spared_once() -> None:
    loaded = Loaded()
    try:
        loaded.keep()
        before = gc.get_freeze_count()
        later: list[list[int]] = [[] for _ in range(100)]
        loaded.keep()
        assert 0 < gc.get_freeze_count() <= before
        assert gc.is_tracked(later[0])
    finally:
        gc.unfreeze()
