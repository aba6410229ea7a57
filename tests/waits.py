"""How long the window does not answer, over a scripted use of the whole program.

Prints figures, judges nothing. A timer beats every two milliseconds; the longest
pause between two beats is what a person may feel. Beside the clock stands the processor time the
window's own thread spent in that pause, and the time in which it neither worked nor stood in line
for a processor: there a job held the interpreter. On a busy machine the clock tells of the machine.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from compileall import compile_dir
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QTimer

import loopwright
from loopwright.app.card_dialog import CardDialog
from loopwright.app.main import SWITCH_S, Loaded, Start
from loopwright.app.map_colours import Question
from loopwright.app.opening import Opened
from loopwright.app.remembered import Remembered
from loopwright.app.screen import ensure_widgets
from loopwright.io.preferences import Preferences
from loopwright.resources import folder

LIMIT_S = 0.05
CALM_S = 0.3
SETTLE_S = 0.5
WAIT_S = 300.0


Pause = tuple[float, float, float]
IN_LINE = Path("/proc/thread-self/schedstat")
"""Linux: nanoseconds this thread ran, then those it stood in line for a processor."""


def in_line_s() -> float:
    """Seconds this thread stood in line for a processor; 0 where nobody counts."""
    return int(IN_LINE.read_bytes().split()[1]) / 1e9 if IN_LINE.exists() else 0.0


@dataclass
class Beats:
    """Pauses between beats: seconds by the clock, of the thread's work, held by jobs."""

    pauses: list[Pause] = field(default_factory=list)
    last: Pause | None = None

    def beat(self) -> None:
        now = (time.perf_counter(), time.thread_time(), in_line_s())
        if self.last is not None:
            clock, work, line = (after - one for after, one in zip(now, self.last, strict=True))
            self.pauses.append((clock, work, max(0.0, clock - work - line)))
        self.last = now

    def take(self) -> list[Pause]:
        taken, self.pauses = self.pauses, []
        return taken


def until(done: Callable[[], bool]) -> None:
    """Let events run until something is so."""
    application, begun = ensure_widgets(), time.monotonic()
    while not done():
        application.processEvents()
        time.sleep(0.0005)
        if time.monotonic() - begun > WAIT_S:
            raise TimeoutError


def calm(opened: Opened) -> None:
    """Let events run until no job has been under way for a while."""
    quiet = time.monotonic()

    def rested() -> bool:
        nonlocal quiet
        if not opened.desk.at_rest:
            quiet = time.monotonic()
        return time.monotonic() - quiet > CALM_S

    until(rested)


def steps(opened: Opened, home: Path) -> dict[str, Callable[[], object]]:
    """What a person does in an hour, one after the other."""
    window, desk, tracks = opened.window, opened.desk, folder("sample_tracks")

    def change_mix() -> None:
        slider = window.loops.rows.rows[0].slider
        slider.setValue(slider.value() + 6)
        settled = time.monotonic() + SETTLE_S
        until(lambda: time.monotonic() > settled)

    def read_laps() -> None:
        window.go("laps")
        window.laps.choose(next(r for r in desk.document.rides if "six" in r.track.name))

    def season() -> None:
        window.go("season")
        window.season.form.race_name.setText("Invented Cup")
        window.do("plan_season")

    def paint() -> None:
        window.go("ground")
        ensure_widgets().processEvents()
        assert desk.terrain is not None
        desk.select([s.id for s in desk.terrain.network.stretches[:6]])
        window.ground.press("4")

    def colours() -> None:
        for question in Question:
            window.map_pane.asked.emit(question)
            ensure_widgets().processEvents()

    def close_card() -> None:
        for card in window.findChildren(CardDialog):
            card.close()

    rides = [tracks / f"ride_0{n}.gpx" for n in (1, 2, 3)]
    places = {f"go to {name}": (lambda name=name: window.go(name)) for name in (
        "ground", "laps", "season", "loops")}  # fmt: skip
    return {
        "change the mix": change_mix, **places, "undo the mix": lambda: window.do("undo"),
        "preview the card": lambda: window.do("card"), "close the card": close_card,
        "read laps": read_laps, "keep the circuit": lambda: window.do("keep_circuit"),
        "plan the season": season, "paint ground": paint, "undo": lambda: window.do("undo"),
        "redo": lambda: window.do("redo"), "ask by colour": colours,
        "save": lambda: opened.files._save(home / "bench.loopwright"),
        "new area": lambda: window.desk.open(type(desk.document)(name="New area"), None),
        "import three rides": lambda: opened.files.import_paths(rides),
    }  # fmt: skip


def tell(name: str, pauses: list[Pause]) -> None:
    """Print the longest pause by the clock, of the window's own work, and held by jobs."""
    clock, work, held = (max(p[which] for p in pauses) * 1000 for which in range(3))
    sys.stdout.write(
        f"{name}: longest pause {clock:.0f} ms by the clock, {work:.0f} ms of the window's own "
        f"work, {held:.0f} ms held by jobs\n"
    )


def main() -> None:
    """Go through everything and print, compiled as an installation leaves the program."""
    compile_dir(Path(loopwright.__file__).parent, quiet=1)
    sys.setswitchinterval(SWITCH_S)
    application, beats, timer = ensure_widgets(), Beats(), QTimer()
    timer.setInterval(2)
    timer.timeout.connect(beats.beat)
    start = Start(application, None, Remembered(preferences=Preferences(cautions_seen=True)))
    start.window.resize(1400, 900)
    loaded = Loaded()
    start.went_on.connect(loaded.keep)
    start.show()
    timer.start()
    everything = []
    with TemporaryDirectory() as home:
        until(lambda: start.opened is not None)
        opened = start.opened
        assert opened is not None
        for name, step in {"start": lambda: None, **steps(opened, Path(home))}.items():
            step()
            calm(opened)
            pauses = beats.take()
            everything += pauses
            tell(name, pauses)
    for words, which in (
        ("by the clock", 0), ("of the window's own work", 1), ("held by jobs", 2)):  # fmt: skip
        over = sum(p[which] > LIMIT_S for p in everything)
        sys.stdout.write(f"pauses over 50 ms {words}: {over} of {len(everything)}\n")
    timer.stop()
    start.close()
    sys.stdout.flush()
    os._exit(0)
