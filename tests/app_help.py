"""Windows for tests: on small invented ground, with dialogs that answer by themselves."""
# ruff: noqa: ARG002 - the answering dialogs take what the protocol gives

from __future__ import annotations

import gc
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from unittest.mock import patch

import gpxpy.gpx
import numpy as np
from PySide6.QtCore import QEvent, QTimer
from PySide6.QtWidgets import QApplication

from loopwright.app import jobs
from loopwright.app.dialogs import Leave
from loopwright.app.look import dress, make_look
from loopwright.app.opening import Opened, open_window
from loopwright.app.remembered import Remembered
from loopwright.io.preferences import Preferences
from loopwright.io.tracks import ride_id
from loopwright.loops.warm import warm_up
from loopwright.model.document import Document
from loopwright.model.track import RecordedTrack, Ride
from loopwright.model.wishes import Mix, Wishes
from loopwright.pipeline import Pipeline
from loopwright.reading import take_in
from worlds import ladder, lap_rides, rides_over, square

PIPELINE = Pipeline()
MIX = Mix(name="test mix", targets={"corners": 8.0, "straights": 2.0})
WISHES = Wishes(mix=MIX, min_length_m=400.0, max_length_m=1200.0, count=3, seconds=60.0)


@dataclass
class Answers:
    """Dialogs that answer what the test wants; nothing opens."""

    file: Path | None = None
    files: list[Path] = field(default_factory=list)
    folder: Path | None = None
    target: Path | None = None
    word: str | None = None
    choice: int | None = None
    leaving: Leave = Leave.DROP
    shown: list[str] = field(default_factory=list)

    def open_file(self, title: str, kinds: str) -> Path | None:
        return self.file

    def open_files(self, title: str, kinds: str) -> list[Path]:
        return self.files

    def open_folder(self, title: str) -> Path | None:
        return self.folder

    def save_file(self, title: str, suggested: str, kinds: str) -> Path | None:
        return self.target

    def text(self, title: str, words: str, value: str = "") -> str | None:
        return self.word

    def pick(self, title: str, words: str, among: Sequence[str]) -> int | None:
        return self.choice

    def leave(self, name: str) -> Leave:
        return self.leaving

    def show(self, title: str, words: str) -> None:
        self.shown.append(words)


def gpx_files(folder: Path, tracks: Iterable[RecordedTrack]) -> list[Path]:
    """Write invented rides as GPX 1.1, as a receiver would."""
    paths = []
    for number, track in enumerate(tracks):
        segment = gpxpy.gpx.GPXTrackSegment()
        stamps = track.time_s.astype("datetime64[s]").tolist()
        for lat, lon, ele, time in zip(track.lat, track.lon, track.ele_m, stamps, strict=True):
            height = None if np.isnan(ele) else float(ele)
            segment.points.append(gpxpy.gpx.GPXTrackPoint(lat, lon, elevation=height, time=time))
        whole = gpxpy.gpx.GPX()
        whole.tracks.append(gpxpy.gpx.GPXTrack(name=f"Invented ride {number}"))
        whole.tracks[0].segments.append(segment)
        paths.append(folder / f"ride{number}.gpx")
        paths[-1].write_text(whole.to_xml())
    return paths


@lru_cache(maxsize=1)
def ladder_document() -> Document:
    """A ladder of trails ridden six times, with wishes that fit it. Built once a test run."""
    warm_up()
    rides = [
        Ride(id=ride_id(track), track=track)
        for track in rides_over(ladder(), rides=6, error_m=1.5, seed=3)
    ]
    empty = Document(name="Invented ladder", wishes=WISHES)
    return take_in(empty, rides)[0]


SLOWER = 1.2
"""The third ride takes this many times as long: far beyond what a receiver invents."""


def slowed(track: RecordedTrack) -> RecordedTrack:
    time = track.time_s
    return replace(track, time_s=time[0] + (time - time[0]) * SLOWER)


@lru_cache(maxsize=1)
def square_document() -> Document:
    """Three rides of four laps round a square, the last one slower. Built once a test run."""
    first, second, third = lap_rides(square(), rides=3, laps=4)
    rides = [Ride(id=ride_id(t), track=t) for t in (first, second, slowed(third))]
    return take_in(Document(name="Invented square"), rides)[0]


@contextmanager
def window_on(
    document: Document,
    *,
    answers: Answers | None = None,
    size: tuple[int, int] = (1400, 900),
    scale: float = 1.0,
    leisure_s: float = 0.0,
) -> Iterator[Opened]:
    """Open a window, and leave nothing behind: no thread, no timer, no widget.

    What can wait does so for ``leisure_s`` after all else.
    """
    application = QApplication.instance()
    assert isinstance(application, QApplication)
    look = make_look("light", scale=scale)
    dress(application, look)
    opened = open_window(
        document,
        look,
        dialogs=answers or Answers(),
        pipeline=PIPELINE,
        remembered=Remembered(preferences=Preferences(cautions_seen=True)),
    )
    opened.window.resize(*size)
    opened.window.show()
    calm = False
    try:
        with patch.object(jobs, "LEISURE_S", leisure_s):
            yield opened
        calm = True
    finally:
        rested_in_time = opened.close()
        opened.window.hide()
        opened.window.deleteLater()
        del opened
        if calm:
            assert rested_in_time
            assert_nothing_left(application)


def assert_nothing_left(application: QApplication) -> None:
    """No thread of ours, no window or dialog even hidden, no timer that runs."""
    application.processEvents()
    application.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    application.processEvents()
    gc.collect()
    alive = [t.name for t in threading.enumerate() if t.name.startswith("loopwright")]
    assert alive == []
    assert application.topLevelWidgets() == []
    # By type and not by isinstance, which looks through weak references whose object is gone.
    timers = [t for t in gc.get_objects() if issubclass(type(t), QTimer)]
    assert [t for t in timers if _active(t)] == []
    # What lives on now is no window's: the next look need not go over it, which took half the time.
    gc.freeze()


def _active(timer: QTimer) -> bool:
    try:
        return timer.isActive()
    except RuntimeError:
        return False


def wait_until(qtbot: object, done: Callable[[], bool]) -> None:
    """Let events run until something is so, or fail."""
    qtbot.waitUntil(done, timeout=180_000)  # type: ignore[attr-defined] # the plugin is untyped


def rested(opened: Opened) -> bool:
    return opened.desk.at_rest


def found(opened: Opened) -> bool:
    desk = opened.desk
    return bool(desk.candidates) and rested(opened) and desk.plan is not None
