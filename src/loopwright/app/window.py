"""The window: four places round one map and one profile.

Gets a look; shows its frame at once, with menus and bars, and is furnished afterwards with a desk,
columns, map and profile, all doing through one table of actions. Promises: nothing here loads an
array library before the frame is up; what is asked before the furniture stands is done once it
does; each place changes only the left column; every action is in a menu; no job is waited for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, cast

from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtGui import (
    QAction,
    QActionGroup,
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
    QKeySequence,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QMainWindow,
    QMenu,
    QMenuBar,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from loopwright.app.actions import BY_ID, COMMANDS, MENUS, Command, holding, usable
from loopwright.app.blank import Blank
from loopwright.app.icons import icon
from loopwright.app.look import Look
from loopwright.app.place_tabs import PLACES, PlaceTabs
from loopwright.app.shares import fold, share_out
from loopwright.app.top_bar import TopBar
from loopwright.app.words import say
from loopwright.app.words_bar import WordsBar

if TYPE_CHECKING:
    from loopwright.app.desk import Desk
    from loopwright.app.dialogs import Dialogs
    from loopwright.app.map_colours import Question
    from loopwright.app.map_pane import MapPane
    from loopwright.app.place_ground import GroundPlace
    from loopwright.app.place_laps import LapsPlace
    from loopwright.app.place_loops import LoopsPlace
    from loopwright.app.place_season import SeasonPlace
    from loopwright.app.profile import Profile
    from loopwright.model.wishes import Mix

CHOSEN_MENU = (
    ("must", "avoid", "start_here", "lead_through", "lead_around", "finish", "why_not"),
    ("one_way", "one_way_back", "closed", "hide", "rename", "join"),
)


class Place(Protocol):
    """A left column; also a widget."""

    def build(self) -> Iterator[None]:
        """Put in what stands there, piece by piece."""

    def refresh(self) -> None:
        """Show what the desk holds."""

    def dress(self, look: Look) -> None:
        """Take another look."""


class Window(QMainWindow):
    """The one window."""

    desk: Desk
    map_pane: MapPane
    profile: Profile
    ground: GroundPlace
    loops: LoopsPlace
    laps: LapsPlace
    season: SeasonPlace

    def __init__(self, look: Look, *, dialogs: Dialogs | None = None) -> None:
        super().__init__()
        self.look = look
        if dialogs is not None:
            self.dialogs = dialogs
        self.place = "loops"
        self.ready = self.parted = False
        self.questions: dict[str, Question] = {}
        self.actions_by_id: dict[str, QAction] = {}
        self._doings: dict[str, Callable[[], object]] = {}
        self._waiting: list[Callable[[], object]] = []
        self.before_close: Callable[[], bool] = lambda: True
        self._columns: dict[str, Place] = {}
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self.refresh)
        self._build_frame()
        self.go("loops")

    @cached_property
    def dialogs(self) -> Dialogs:
        """What asks people; loaded with the first question."""
        from loopwright.app.dialogs import RealDialogs

        return RealDialogs(self)

    # -- building ----------------------------------------------------------------------------

    def _build_frame(self) -> None:
        self.setAcceptDrops(True)
        self.setWindowIcon(icon("loopwright", self.look))
        self.setWindowTitle("Loopwright")
        self.setMinimumSize(900, 560)
        self._make_actions()
        self.bar = TopBar(self.look, self.menus, self.actions_by_id, self.do)
        self.tabs = PlaceTabs(self.actions_by_id, self.do)
        self.words_bar = WordsBar(self.look, self.do)
        self.column = QStackedWidget()
        self.column.addWidget(QWidget())  # nothing, until all places are whole
        self.blank = Blank()
        self._lay_out()

    def furnish(self, desk: Desk, mixes: Sequence[Mix]) -> Iterator[None]:
        """Put in what stands on a desk, piece by piece: the window answers between pieces."""
        from loopwright.app.map_colours import Question

        self.desk = desk
        self.questions = dict.fromkeys(PLACES, Question.PLAIN) | {"ground": Question.GROUND}
        yield from self._put_map()
        yield
        self._put_profile()
        puts = (self._put_ground, self._put_loops, self._put_laps, self._put_season)
        for name, put in zip(PLACES, puts, strict=True):
            yield
            place = put(mixes)
            self.column.addWidget(cast("QWidget", place))  # what comes in is dressed once
            for _ in place.build():
                yield
            self._columns[name] = place
        yield
        self.words_bar.listen(desk)
        self._order_focus()
        self._listen()

    def open_up(self) -> None:
        """Begin to do what is asked, and do what was asked meanwhile."""
        self.ready = True
        self.go(self.place)
        waiting, self._waiting = self._waiting, []
        for doing in waiting:
            doing()

    def _make_actions(self) -> None:
        group = QActionGroup(self)
        self.menus = QMenuBar()
        menus = {name: self.menus.addMenu(say(name)) for name in MENUS}
        for command in COMMANDS:
            action = self._action(command)
            if command.id in PLACES:
                group.addAction(action)
            menu = menus[command.menu]
            if command.rule:
                menu.addSeparator()
            menu.addAction(action)
        self.recent_menu = QMenu(say("Open recent"), self)
        menus["Area"].insertMenu(self.actions_by_id["sample"], self.recent_menu)

    def _action(self, command: Command) -> QAction:
        action = QAction(say(command.words), self)
        action.setShortcut(QKeySequence(command.keys))
        action.setCheckable(command.check)
        action.setStatusTip(say(command.hint) if command.hint else "")
        action.triggered.connect(lambda _on=False, name=command.id: self.do(name))
        self.actions_by_id[command.id] = action
        self.addAction(action)
        return action

    def _put_map(self) -> Iterator[None]:
        from loopwright.app.map_pane import MapPane

        self.map_pane = MapPane(self.desk, self.look, self.do)
        for _ in self.map_pane.build():
            yield
        self.map_pane.map.type_word = lambda word: (
            bool(word) and self.place == "ground" and self.ground.press(word)
        )
        self.right.replaceWidget(0, self.map_pane)
        self.right.setCollapsible(0, False)  # noqa: FBT003 - Qt's own setter
        self.right.setStretchFactor(0, 1)
        self.map_pane.show()
        self.blank.deleteLater()

    def _put_profile(self) -> None:
        from loopwright.app.profile import Profile

        self.profile = Profile(self.desk, self.look)
        self.right.addWidget(self.profile)
        share_out(self)

    def _put_ground(self, _mixes: Sequence[Mix]) -> Place:
        from loopwright.app.place_ground import GroundPlace

        self.ground = GroundPlace(self.desk, self.look, self.do)
        self.ground.cleaned.connect(self.map_pane.map.rides.show_tracks)
        return self.ground

    def _put_loops(self, mixes: Sequence[Mix]) -> Place:
        from loopwright.app.place_loops import LoopsPlace

        self.loops = LoopsPlace(self.desk, self.look, mixes=mixes, do=self.do)
        return self.loops

    def _put_laps(self, _mixes: Sequence[Mix]) -> Place:
        from loopwright.app.place_laps import LapsPlace

        self.laps = LapsPlace(self.desk, self.look, self.do)
        return self.laps

    def _put_season(self, mixes: Sequence[Mix]) -> Place:
        from loopwright.app.place_season import SeasonPlace

        self.season = SeasonPlace(self.desk, self.look, mixes=mixes, do=self.do)
        return self.season

    def _lay_out(self) -> None:
        self.left = left = QFrame()
        left.setProperty("role", "column")
        self.column_lines = inner = QVBoxLayout(left)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setSpacing(0)
        inner.addWidget(self.tabs)
        inner.addWidget(self.column, 1)
        self.right = right = QSplitter(Qt.Orientation.Vertical)
        right.addWidget(self.blank)
        right.setHandleWidth(1)
        right.splitterMoved.connect(self._part)
        middle = QHBoxLayout()
        middle.setContentsMargins(0, 0, 0, 0)
        middle.setSpacing(0)
        middle.addWidget(left)
        middle.addWidget(right, 1)
        whole = QWidget()
        self.lines = lines = QVBoxLayout(whole)
        lines.setContentsMargins(0, 0, 0, 0)
        lines.setSpacing(0)
        lines.addWidget(self.bar)
        lines.addLayout(middle, 1)
        lines.addWidget(self.words_bar)
        self.setCentralWidget(whole)

    def _order_focus(self) -> None:
        self.map_pane.keep_focusable()
        QWidget.setTabOrder(self.map_pane.map, self.profile)
        self.map_pane.map.setFocus()

    def _listen(self) -> None:
        desk = self.desk
        for signal in (desk.terrain_changed, desk.candidates_changed, desk.shown_changed,
                       desk.selection_changed, desk.told, desk.jobs.progressed):  # fmt: skip
            signal.connect(self._soon.start)
        desk.document_changed.connect(lambda _names: self._soon.start())
        self.map_pane.asked.connect(self._asked)
        self.map_pane.map.asked.connect(self.offer_menu)

    # -- doing -------------------------------------------------------------------------------

    def teach(self, doings: Mapping[str, Callable[[], object]]) -> None:
        """Say what actions do."""
        self._doings.update(doings)

    def can(self, name: str) -> bool:
        """Tell whether an action is known and can be used now."""
        return name in self._doings and usable(BY_ID[name], self.desk)

    def do(self, name: str) -> None:
        """Do an action by id, if it can be done now."""
        if name in PLACES:
            self.go(name)
        elif not self.ready:
            self._waiting.append(partial(self.do, name))
        elif self.can(name):
            self._doings[name]()
        self._soon.start()

    def go(self, place: str) -> None:
        """Go to a place: another left column, the same map and profile."""
        self.place = place
        self.actions_by_id[place].setChecked(True)
        if not self.ready:
            self.refresh()
            return
        self.desk.place = place
        self.desk.calm()
        self.desk.told.emit()
        self.column.setCurrentWidget(cast("QWidget", self._columns[place]))
        self.desk.turns.hurry(self._columns[place].refresh)
        self.map_pane.show_question(self.questions[place])
        if place == "laps" and self.desk.ridden.sheet is None:
            self.laps.arrive()
        self.refresh()

    def _asked(self, question: object) -> None:
        self.questions[self.place] = cast("Question", question)
        self.map_pane.show_question(self.questions[self.place])

    def offer_menu(self, at: QPoint) -> None:
        """Offer what can be done with the chosen stretches."""
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for names in CHOSEN_MENU:
            for name in names:
                menu.addAction(self.actions_by_id[name])
            menu.addSeparator()
        menu.popup(at)

    # -- showing -----------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show which actions can be used, the area's name, what undo would do."""
        now = holding(self.desk) if self.ready else {"always"}
        for command in COMMANDS:
            self.actions_by_id[command.id].setEnabled(command.when in now)
        self.bar.refresh()
        self.tabs.refresh()
        if self.ready:
            self._name_area()

    def _name_area(self) -> None:
        from loopwright.app.said import area_words

        workspace = self.desk.workspace
        self._name_step("undo", workspace.undo_label)
        self._name_step("redo", workspace.redo_label)
        words = area_words(self.desk)
        self.bar.show_area(words)
        self.setWindowTitle(say("{area} – Loopwright", area=words))  # noqa: RUF001 - a dash

    def _name_step(self, name: str, label: str | None) -> None:
        plain = say("Undo") if name == "undo" else say("Redo")
        self.actions_by_id[name].setText(f"{plain}: {label}" if label else plain)

    def dress(self, look: Look) -> None:
        """Take another look without starting again."""
        self.look = look
        for part in (self.map_pane, self.profile, self.words_bar, self.bar):
            part.dress(look)
        for column in self._columns.values():
            column.dress(look)
        share_out(self)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the width out again."""
        super().resizeEvent(event)
        share_out(self)

    def _part(self) -> None:
        self.parted = True

    def fold(self) -> None:
        """Fold the left column away, or bring it back; the places stay in reach."""
        fold(self)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files and folders."""
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open a dropped area, import anything else."""
        paths = [Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()]
        if paths:
            self._given(paths)
            event.acceptProposedAction()

    def _given(self, paths: Sequence[Path]) -> None:
        if self.ready:
            self.take(paths)
        else:
            self._waiting.append(lambda: self.take(paths))

    def take(self, paths: Sequence[Path]) -> None:
        """Deal with files given to the window; replaced by whoever knows files."""
        self.desk.warn(say("Nothing here reads {name}", name=paths[0].name))

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved work, then end all jobs."""
        if not self.before_close():
            event.ignore()
            return
        self._soon.stop()
        event.accept()
