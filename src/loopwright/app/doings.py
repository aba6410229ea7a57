"""What the actions of the table do, beyond files.

Gets a window; teaches it its actions. Promises: every id in the table has a doing (checked in the
tests); each change of the document is one named step.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer

from loopwright.app.area_settings import AreaSetting
from loopwright.app.background_dialog import doings as background_doings
from loopwright.app.by_hand import ByHand
from loopwright.app.card_dialog import doings as card_doings
from loopwright.app.compare import compare
from loopwright.app.correcting import Correcting
from loopwright.app.exporting import Exporting
from loopwright.app.extracting import Extracting
from loopwright.app.files import Files
from loopwright.app.help import doings as help_doings
from loopwright.app.laps_doings import doings as laps_doings
from loopwright.app.look import Look
from loopwright.app.preferences_dialog import PreferencesDialog
from loopwright.app.racing import Racing
from loopwright.app.remembered import Remembered
from loopwright.app.rider_dialog import RiderDialog
from loopwright.app.season_doings import SeasonDoings
from loopwright.app.targets import show_targets
from loopwright.app.trade_off import weigh
from loopwright.app.why import Explaining
from loopwright.app.window import Window
from loopwright.app.wishing import Wishing


def all_doings(
    window: Window,
    files: Files,
    remembered: Remembered,
    *,
    change_look: Callable[[Look], None] | None = None,
) -> None:
    """Teach the window everything."""
    window.teach(files.doings())
    window.teach(_edit(window))
    window.teach(_map(window))
    window.teach(Wishing(window).doings())
    window.teach(Correcting(window, window.ground, files).doings())
    window.teach(Extracting(window, files.rooms).doings())
    window.teach(AreaSetting(window).doings())
    window.teach(ByHand(window).doings())
    window.teach(Explaining(window).doings())
    window.teach(card_doings(window, files))
    window.teach(Exporting(window).doings())
    window.teach(Racing(window, files).doings())
    window.teach(SeasonDoings(window, files).doings())
    window.teach(laps_doings(window))
    window.teach(help_doings(window))
    window.teach(background_doings(window, remembered))
    change = change_look or (lambda _look: None)
    window.teach({"preferences": lambda: PreferencesDialog(window, remembered, change).show()})
    if not remembered.preferences.cautions_seen:
        remembered.change(cautions_seen=True)
        QTimer.singleShot(0, window, lambda: window.do("cautions"))


def _edit(window: Window) -> dict[str, Callable[[], object]]:
    desk = window.desk
    return {
        "quit": window.close,
        "undo": desk.workspace.undo,
        "redo": desk.workspace.redo,
        "stop": desk.jobs.cancel,
        "choose_none": lambda: let_go(window),
        "choose_all": lambda: desk.select(
            [s.id for s in desk.terrain.network.stretches] if desk.terrain else []
        ),
        "compare": lambda: compare(window),
        "trade_off": lambda: weigh(window),
        "rider": lambda: RiderDialog(window).show(),
        "targets": lambda: show_targets(window),
        "fold": window.fold,
        "plan_season": window.season.plan,
        "session_loop": window.season.open_mix,
    }


def let_go(window: Window) -> None:
    """Let go of the innermost thing: a tool, the ride going by, the chosen stretches."""
    view, ground = window.map_pane.map, window.ground
    if view.tool is not None:
        view.tool.key(Qt.Key.Key_Escape)
    elif window.place == "ground" and ground.currentWidget() is ground.tag_ride:
        ground.tag_ride.leave()
    else:
        window.desk.select(())


def _map(window: Window) -> dict[str, Callable[[], object]]:
    view = window.map_pane.map

    def turn(name: str) -> None:
        setattr(view, name, not getattr(view, name))
        window.actions_by_id[name].setChecked(getattr(view, name))
        view.viewport().update()

    for name in ("show_features", "show_key"):
        window.actions_by_id[name].setChecked(True)
    window.actions_by_id["fold"].setChecked(True)

    def turn_rides() -> None:
        view.rides.show(shown=not view.rides.shown)
        window.actions_by_id["show_rides"].setChecked(view.rides.shown)

    return {
        "show_rides": turn_rides,
        "fit": view.fit,
        "fit_loop": view.fit_loop,
        "closer": lambda: view.zoom(1.4),
        "further": lambda: view.zoom(1 / 1.4),
        "next_stretch": lambda: view.step(1),
        "previous_stretch": lambda: view.step(-1),
        "show_features": lambda: turn("show_features"),
        "show_key": lambda: turn("show_key"),
    }
