"""Somebody at the window for a day: what they do, by name, on two small invented areas."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

from PySide6.QtCore import QEvent
from PySide6.QtWidgets import QApplication, QDialog

from app_help import WISHES, Answers, ladder_document
from io_help import gpx_text, point
from loopwright.app.brush import Brush
from loopwright.app.dialogs import Leave
from loopwright.app.look import dress, make_look
from loopwright.app.opening import Furniture, Opened
from loopwright.app.remembered import Remembered
from loopwright.app.screen import ensure_widgets
from loopwright.app.tagging import paint, whole_parts
from loopwright.app.window import Window
from loopwright.io.area_file import save_area
from loopwright.io.preferences import Preferences
from loopwright.io.tracks import ride_id
from loopwright.model.document import Document
from loopwright.model.track import RecordedTrack, Ride
from loopwright.reading import take_in
from worlds import figure_eight, rides_over

RACE_DAY = date(2031, 5, 24)
TODAY = date(2031, 3, 3)
WITHOUT_HARM = (
    "fit", "fit_loop", "closer", "further", "next_stretch", "previous_stretch", "show_rides",
    "show_features", "show_key", "fold", "choose_all", "choose_none", "next_loop",
    "previous_loop", "next_untagged",
)  # fmt: skip
CORRECTIONS = ("one_way", "one_way_back", "closed", "hide", "rename", "must", "avoid",
               "start_here", "free_wishes", "lead_through", "lead_around", "finish", "join",
               "private", "not_private", "draw_named")  # fmt: skip
SHOWN = ("why", "compare", "trade_off", "rider", "shortcuts", "cautions", "about", "card",
         "session_card", "preferences", "background", "why_not")  # fmt: skip


class Person:
    """One person, one window with its real worker processes."""

    def __init__(self, home: Path, dice: random.Random) -> None:
        self.dice = dice
        self.application = ensure_widgets()
        self.home = home
        self.areas = [home / "ladder.loopwright", home / "eight.loopwright"]
        self.copy = home / "copy.loopwright"
        self.documents = (ladder_document(), _eight())
        self._lay_out_files()
        self.answers = Answers(leaving=Leave.DROP, word="Invented name")
        look = make_look("light")
        dress(self.application, look)
        record = Remembered(state=home / "state", preferences=Preferences(cautions_seen=True))
        furniture = Furniture(
            document=self.documents[0], elsewhere=True, remembered=record,
            change_look=lambda look: dress(self.application, look),
        )  # fmt: skip
        *_, opened = furniture.put_into(Window(look, dialogs=self.answers))
        assert opened is not None
        self.opened: Opened = opened
        self.window, self.desk = opened.window, opened.desk
        self.window.resize(1400, 900)
        self.window.show()
        self.window.season.today = lambda: TODAY
        self.window.season.form._today = self.window.season.today
        self.doings: dict[str, tuple[int, Callable[[], object]]] = {
            "look around": (14, self.look_around), "go to a place": (10, self.go),
            "choose and correct": (10, self.correct), "choose and tag": (9, self.tag),
            "ask for another mix": (9, self.wish), "undo": (9, self.undo), "redo": (4, self.redo),
            "search again": (4, lambda: self.do("search")), "stop": (5, lambda: self.do("stop")),
            "open": (4, self.open), "import": (3, self.import_), "save": (3, self.save),
            "look at a window": (6, self.show), "theme or units": (2, self.dress),
            "plan a season": (3, self.season), "rate or label a day": (3, self.rate),
            "read laps": (4, self.laps), "keep a loop": (3, lambda: self.do("keep")),
            "forget a loop": (2, lambda: self.do("forget")), "export": (2, self.export),
            "save a card": (2, self.card), "keep aside": (2, opened.files.safe.keep),
            "new": (1, lambda: self.do("new")), "resize": (1, self.resize),
        }  # fmt: skip

    def _lay_out_files(self) -> None:
        for path, document in zip(
            (*self.areas, self.copy), (*self.documents, self.documents[0]), strict=True
        ):
            save_area(document, path)
        self.rides = []
        for number, track in enumerate(rides_over(figure_eight(), rides=3, seed=9)):
            self.rides.append(self.home / f"{number}.gpx")
            self.rides[-1].write_text(gpx(track))

    # -- acting ----------------------------------------------------------------------------------

    def act(self, pause_s: float) -> str:
        """Do something, wait a while at most for it to end, and say what it was."""
        names = list(self.doings)
        (name,) = self.dice.choices(names, [self.doings[n][0] for n in names])
        self.doings[name][1]()
        self.wait(pause_s)
        return name

    def wait(self, most_s: float) -> None:
        """Let events run until nothing is under way, or so long."""
        until = time.monotonic() + most_s
        self.application.processEvents()
        while self.desk.jobs.busy() and time.monotonic() < until:
            time.sleep(0.005)
            self.application.processEvents()

    def come_to_rest(self, most_s: float) -> None:
        """Put the first area on the desk as it was in the morning, dialogs closed, all ended."""
        self.wait(most_s)
        self._lay_out_files()
        self.close_dialogs()
        self.window.go("loops")
        self.answers.file = self.areas[0]
        self.do("open")
        self.wait(most_s)
        for _ in range(20):
            self.wait(most_s)
            time.sleep(0.02)
        self.application.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
        self.application.processEvents()

    def leave(self) -> None:
        """Close the window and end the workers."""
        self.close_dialogs()
        self.opened.close()
        self.window.hide()
        self.window.deleteLater()

    def do(self, name: str) -> None:
        """Do an action if it can be done now, as its menu would."""
        if self.window.actions_by_id[name].isEnabled():
            self.window.do(name)

    def close_dialogs(self) -> None:
        """Close every dialog."""
        for widget in QApplication.topLevelWidgets():
            if isinstance(widget, QDialog):
                widget.close()
        self.application.processEvents()

    # -- doings ----------------------------------------------------------------------------------

    def look_around(self) -> None:
        self.do(self.dice.choice(WITHOUT_HARM))

    def go(self) -> None:
        self.window.go(self.dice.choice(("ground", "loops", "laps", "season")))

    def choose(self, count: int = 1) -> None:
        terrain = self.desk.terrain
        if terrain is not None:
            stretches = [s.id for s in terrain.network.stretches]
            self.desk.select(self.dice.sample(stretches, min(count, len(stretches))))

    def correct(self) -> None:
        name = self.dice.choice(CORRECTIONS)
        self.choose(2 if name == "join" else 1)
        self.do(name)

    def tag(self) -> None:
        self.choose(self.dice.randint(1, 3))
        terrain = self.desk.terrain
        if terrain is not None and self.desk.selection:
            brush = Brush(surface=self.dice.choice(("rock", "mud", "gravel", "ground")))
            paint(self.desk, whole_parts(terrain, self.desk.selection), brush, on=None)

    def wish(self) -> None:
        rows = self.window.loops.rows.rows
        if rows:
            self.dice.choice(rows).slider.setValue(self.dice.randint(1, 12))

    def undo(self) -> None:
        for _ in range(self.dice.randint(1, 5)):
            self.do("undo")

    def redo(self) -> None:
        for _ in range(self.dice.randint(1, 3)):
            self.do("redo")

    def open(self) -> None:
        self.answers.file = self.dice.choice((*self.areas, self.copy))
        self.do("open")

    def import_(self) -> None:
        self.answers.files = [self.dice.choice(self.rides)]
        self.do("import")

    def save(self) -> None:
        self.answers.target = self.copy
        self.do("save_as")

    def show(self) -> None:
        self.choose()
        self.do(self.dice.choice(SHOWN))
        self.wait(self.dice.choice((0.05, 5.0)))
        self.close_dialogs()

    def dress(self) -> None:
        look = make_look(self.dice.choice(("light", "dark")), scale=self.dice.choice((1.0, 1.25)))
        dress(self.application, look)
        self.window.dress(look)

    def season(self) -> None:
        self.window.go("season")
        self.window.season.form.race_day.setDate(RACE_DAY)  # type: ignore[arg-type]  # Qt takes dates
        self.do("plan_season")

    def rate(self) -> None:
        if self.desk.document.season is not None:
            self.window.go("season")
            self.window.season.rating.setValue(self.dice.randint(1, 10))
            self.dice.choice((self.window.season.rated, self.window.season.recovery)).click()

    def laps(self) -> None:
        self.window.go("laps")
        self.do(self.dice.choice(("keep_circuit", "next_loop")))

    def export(self) -> None:
        self.answers.target = self.home / self.dice.choice(("loop.gpx", "loop.geojson"))
        self.do("export_loop")

    def card(self) -> None:
        self.answers.target = self.home / "card.pdf"
        self.do("card")
        self.wait(10.0)
        for widget in QApplication.topLevelWidgets():
            if isinstance(widget, QDialog) and hasattr(widget, "ask_save"):
                widget.ask_save()
        self.wait(5.0)
        self.close_dialogs()

    def resize(self) -> None:
        self.window.resize(self.dice.choice((1100, 1400, 1700)), self.dice.choice((700, 900)))


def _eight() -> Document:
    tracks = rides_over(figure_eight(), rides=5, error_m=1.5, seed=4)
    rides = [Ride(id=ride_id(track), track=track) for track in tracks]
    wishes = replace(WISHES, min_length_m=200.0)
    return take_in(Document(name="Invented eight", wishes=wishes), rides)[0]


def gpx(track: RecordedTrack) -> str:
    """Make a GPX file of a recording."""
    rows = zip(track.lat, track.lon, track.ele_m, strict=True)
    return gpx_text([point(lat, lon, f"<ele>{ele}</ele>") for lat, lon, ele in rows])
