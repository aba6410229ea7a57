"""Measure the window: start-up against a bare window, frames while panning and zooming.

Start-up of our frame ends when the window is painted with menus, places and bars that take
clicks; the map counts when the trails of the sample area are painted. Run as a script; prints
figures, judges nothing. 600 stretches and 200 rides of 5,000 points, all invented, drawn without
a screen.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtCore import QPointF
from PySide6.QtWidgets import QApplication

from loopwright.app.look import dress, make_look
from loopwright.app.map_colours import Question
from loopwright.app.opening import open_window
from loopwright.app.screen import ensure_widgets
from loopwright.app.window import Window
from loopwright.model.document import Document
from loopwright.model.frame import Origin
from loopwright.model.ground import Terrain
from loopwright.model.ids import JunctionId, RideId, StretchId, Way
from loopwright.model.network import Network, Stretch
from loopwright.model.track import CleanTrack, TrackPiece

STRETCHES, RIDES, POINTS, FRAMES = 600, 200, 5000, 200
PAIRS, MAPS = 15, 3

BARE = """
import sys
from PySide6.QtWidgets import QApplication, QMainWindow
app = QApplication(sys.argv)
window = QMainWindow()
window.resize(1400, 900)
window.show()
app.processEvents()
import os
os._exit(0)
"""
FRAME = """
import os, sys
from loopwright.app.main import SWITCH_S, Start
from loopwright.app.remembered import Remembered
from loopwright.app.screen import ensure_widgets
from loopwright.io.preferences import Preferences
if __name__ == "__main__":
    sys.setswitchinterval(SWITCH_S)
    app = ensure_widgets()
    start = Start(app, None, Remembered(preferences=Preferences(cautions_seen=True)))
    painted = []
    start.window.blank.painted.connect(lambda: painted.append(True))
    start.window.resize(1400, 900)
    start.show()
    while not painted:
        app.processEvents()
    UNTIL
    os._exit(0)
"""
UNTIL_MAP = """while start.opened is None or start.opened.desk.terrain is None:
        app.processEvents()
        time.sleep(0.002)
    start.window.map_pane.map.viewport().repaint()
    for worker in start.opened.workers:
        worker.close()"""


def tell(words: str) -> None:
    """Print one line."""
    sys.stdout.write(f"{words}\n")


def started(script: Path) -> tuple[float, float]:
    """Wall and processor seconds of a fresh interpreter that runs ``script``.

    Byte code is kept beside it from one time to the next, as in any installed program.
    """
    home = script.parent
    surroundings = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    surroundings |= {"PYTHONPYCACHEPREFIX": str(home / "bytes"), "XDG_CACHE_HOME": str(home)}
    begun, before = time.perf_counter(), os.times()
    subprocess.run([sys.executable, script], check=True, capture_output=True, env=surroundings)
    after = os.times()
    return time.perf_counter() - begun, sum(after[2:4]) - sum(before[2:4])


def measure_start() -> None:
    """Print how long the frame and the map take, against bare windows opened in turn with them.

    Machines change their speed within seconds: told is the middle of the pairs' ratios.
    """
    codes = {"bare": BARE, "frame": FRAME.replace("UNTIL", ""),
             "map": "import time\n" + FRAME.replace("UNTIL", UNTIL_MAP)}  # fmt: skip
    with TemporaryDirectory() as folder:
        scripts = {name: Path(folder) / f"{name}.py" for name in codes}
        for name, script in scripts.items():
            script.write_text(codes[name])
            started(script)
        for name, rounds in (("frame", PAIRS), ("map", MAPS)):
            pairs = [(started(scripts["bare"]), started(scripts[name])) for _ in range(rounds)]
            ratios = [
                statistics.median(ours[k] / bare[k] for bare, ours in pairs) for k in range(2)
            ]
            bare_s, ours_s = (statistics.median(pair[k][0] for pair in pairs) for k in range(2))
            tell(
                f"start-up, our {name}: {ours_s:.2f} s, a bare window {bare_s:.2f} s; "
                f"{ratios[0]:.2f} times by the clock, {ratios[1]:.2f} times by processor time, "
                f"of {rounds} pairs"
            )


def big_terrain() -> Terrain:
    """A wide grid of wavy stretches, 5 m apart points, no heights."""
    rng = np.random.default_rng(1)
    stretches = []
    for number in range(STRETCHES):
        start = rng.uniform(-4000, 4000, 2)
        turn = np.cumsum(rng.normal(0, 0.25, 70)) + rng.uniform(0, 6.3)
        xy = start + np.cumsum(np.column_stack((np.cos(turn), np.sin(turn))) * 5.0, axis=0)
        stretches.append(
            Stretch(
                id=StretchId(f"s{number}"), start=JunctionId(f"a{number}"),
                end=JunctionId(f"b{number}"), xy=xy, ele_m=np.full(len(xy), 100.0),
                std_error_m=np.ones(len(xy)),
            )
        )  # fmt: skip
    network = Network(
        origin=Origin(lat=-47.0, lon=-122.0), stretches=tuple(stretches), junctions=()
    )
    lengths = {s.id: 345.0 for s in stretches}
    ascents = {(s.id, way): 0.0 for s in stretches for way in Way}
    return Terrain(network=network, spans={}, features=(), passages=(), lengths_m=lengths,
                   ascents_m=ascents, amounts={})  # fmt: skip


def many_rides() -> tuple[CleanTrack, ...]:
    """Random walks over the same ground."""
    rng = np.random.default_rng(2)
    tracks = []
    for number in range(RIDES):
        turn = np.cumsum(rng.normal(0, 0.1, POINTS))
        xy = rng.uniform(-3000, 3000, 2) + np.cumsum(
            np.column_stack((np.cos(turn), np.sin(turn))) * 4.0, axis=0
        )
        piece = TrackPiece(
            xy=xy,
            ele_m=np.full(POINTS, 100.0),
            time_s=np.arange(POINTS, dtype=np.float64),
            index=np.arange(POINTS, dtype=np.int32),
        )
        tracks.append(CleanTrack(ride=RideId(str(number)), pieces=(piece,)))
    return tuple(tracks)


def frames(application: QApplication, window: Window) -> list[float]:
    """Milliseconds of each frame while panning and zooming about a moving pointer."""
    view, times = window.map_pane.map, []
    for number in range(FRAMES):
        begun = time.perf_counter()
        if number % 4 == 3:
            view.zoom(1.1 if number % 8 == 3 else 1 / 1.1, QPointF(300 + number, 250))
        else:
            view.move_by(QPointF(9, 5 if number % 16 < 8 else -5))
        view.viewport().repaint()
        times.append((time.perf_counter() - begun) * 1000)
        application.processEvents()
    return times


def measure_frames() -> None:
    """Print frame times for each question."""
    application = ensure_widgets()
    look = make_look("light")
    dress(application, look)
    opened = open_window(Document(name="bench"), look)
    opened.window.resize(1400, 900)
    opened.window.show()
    desk, view = opened.desk, opened.window.map_pane.map
    desk._set_terrain(big_terrain())
    view.rides.show_tracks(many_rides())
    view.rides.show(shown=True)
    application.processEvents()
    view.fit()
    for question in (Question.PLAIN, Question.GRADE, Question.PASSES):
        view.ask(question)
        while desk.jobs.busy("rides layer"):
            application.processEvents()
        times = sorted(frames(application, opened.window))
        middle, high = statistics.median(times), times[int(0.95 * len(times))]
        tell(f"frame, {question.value}: median {middle:.1f} ms, 95 % {high:.1f} ms")
    opened.close()


def main() -> None:
    """Measure and print."""
    measure_start()
    measure_frames()


if __name__ == "__main__":
    main()
