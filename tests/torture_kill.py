"""Kill the program at random moments while it writes, and look at what lies on disk.

Run: ``python tests/torture_kill.py --runs 60`` (that many of each kind). Each run is a process of
its own that does one real command, or saves and keeps aside without end, and is ended by SIGKILL:
half of the runs at a random moment of the whole, half just after the new content appears beside
the old. Whatever was there before, or the finished new file, must be there byte for byte.
"""

from __future__ import annotations

import argparse
import io
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import redirect_stdout
from dataclasses import dataclass, replace
from pathlib import Path

from io_help import document, gpx_text, point, ride
from loopwright.cli.main import main as run_command
from loopwright.io.area_file import area_bytes, load_area, save_area
from loopwright.io.autosave import autosave_path, find_recoverable, save_autosave
from loopwright.model.document import Document
from loopwright.model.track import RecordedTrack
from worlds import ladder, rides_over

NOW = ["--now", "2027-05-16T08:00:00"]
VERSIONS = 8


@dataclass(frozen=True, kw_only=True)
class Case:
    """What a child does, which file it replaces, and what that file may hold afterwards."""

    name: str
    act: Callable[[Path], object]
    target: Callable[[Path], Path]
    before: bytes | None
    after: tuple[bytes, ...]
    endless: bool = False


def main() -> int:
    """Run all kinds and print a row for each."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--runs", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    dice = random.Random(options.seed)
    bad = 0
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        os.environ |= {
            f"XDG_{kind}_HOME": str(home / kind) for kind in ("CACHE", "STATE", "CONFIG")
        }
        _say("| while | runs | killed | old state | new state | neither |")
        _say("|---|--:|--:|--:|--:|--:|")
        for case in cases(home):
            found = torture(case, home, options.runs, dice)
            bad += found["neither"]
            _say(
                f"| {case.name} | {options.runs} | {found['killed']} | {found['old']} "
                f"| {found['new']} | {found['neither']} |"
            )
    return 1 if bad else 0


def _say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


def torture(case: Case, home: Path, runs: int, dice: random.Random) -> Counter[str]:
    """Kill ``runs`` children of one kind and count what they leave."""
    whole_s = 0.2 if case.endless else _whole_run(case, home)
    found: Counter[str] = Counter()
    for number in range(runs):
        place = home / f"{case.name}-{number}".replace(" ", "-")
        place.mkdir()
        target = _begin(case, place)
        found["killed"] += _kill(case, place, target, whole_s, dice, at_write=number % 2 == 1)
        found[_state(case, target)] += 1
        _go_on(case, place, target)
    return found


def _begin(case: Case, place: Path) -> Path:
    target = case.target(place)
    if case.before is not None:
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(case.before)
    return target


def _child(case: Case, place: Path) -> int:
    """Start a process that does the work; it never comes back into this code."""
    child = os.fork()
    if child:
        return child
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    code = 1
    try:
        case.act(place)
        code = 0
    finally:
        os._exit(code)


def _whole_run(case: Case, home: Path) -> float:
    """Seconds of one run left alone, which must end well with the new state."""
    place = home / f"{case.name}-whole".replace(" ", "-")
    place.mkdir()
    target = _begin(case, place)
    start = time.monotonic()
    _, status = os.waitpid(_child(case, place), 0)
    if status or _state(case, target) != "new":
        message = f"{case.name}: the run that was left alone failed (status {status})"
        raise RuntimeError(message)
    return time.monotonic() - start


def _kill(
    case: Case, place: Path, target: Path, whole_s: float, dice: random.Random, *, at_write: bool
) -> bool:
    child = _child(case, place)
    end = time.monotonic() + 5 * whole_s
    if at_write:
        while not list(target.parent.glob(".*.part")) and time.monotonic() < end:
            if os.waitid(os.P_PID, child, os.WEXITED | os.WNOHANG | os.WNOWAIT):
                break
        time.sleep(dice.uniform(0, 0.004))
    else:
        time.sleep(dice.uniform(0, whole_s))
    os.kill(child, signal.SIGKILL)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL


def _state(case: Case, target: Path) -> str:
    data = target.read_bytes() if target.exists() else None
    if data is None:
        return "old" if case.before is None else "neither"
    return "new" if data in case.after else "old" if data == case.before else "neither"


def _go_on(case: Case, place: Path, target: Path) -> None:
    """After the kill the area opens, nothing is locked, and the next run ends well."""
    if case.endless:
        if target.exists() and target.suffix == ".loopwright":
            load_area(target)
        found = find_recoverable(place / "a.loopwright", place)
        assert found is None or found == autosave_path(place / "a.loopwright", place)
        return
    _, status = os.waitpid(_child(case, place), 0)
    if status or _state(case, target) != "new":
        message = f"{case.name}: could not go on after a kill"
        raise RuntimeError(message)


def cases(home: Path) -> list[Case]:
    """Make the four kinds, each from files this run writes itself."""
    return [_saving(), _keeping_aside(), *_commands(home)]


def _versions() -> list[Document]:
    big = tuple(ride(6000 + k, name=f"ride {k}") for k in range(3))
    return [replace(document(), name=f"version {k}", rides=big) for k in range(VERSIONS)]


def _saving() -> Case:
    versions = _versions()

    def act(place: Path) -> None:
        while True:
            for version in versions:
                save_area(version, place / "a.loopwright")

    return Case(
        name="saving", act=act, target=lambda place: place / "a.loopwright", endless=True,
        before=area_bytes(Document(name="old")), after=tuple(map(area_bytes, versions)),
    )  # fmt: skip


def _keeping_aside() -> Case:
    versions = _versions()

    def act(place: Path) -> None:
        while True:
            for version in versions:
                save_autosave(version, place / "a.loopwright", place)

    return Case(
        name="keeping unsaved work aside", act=act, endless=True,
        target=lambda place: autosave_path(place / "a.loopwright", place),
        before=None, after=tuple(map(area_bytes, versions)),
    )  # fmt: skip


def _gpx(track: RecordedTrack) -> str:
    rows = zip(track.lat, track.lon, track.ele_m, track.time_s, strict=True)
    points = [
        point(lat, lon, f"<ele>{ele}</ele><time>{time.strftime(STAMP, time.gmtime(at))}</time>")
        for lat, lon, ele, at in rows
    ]
    return gpx_text(points)


STAMP = "%Y-%m-%dT%H:%M:%SZ"


def write_rides(home: Path) -> list[Path]:
    """Write five invented rides as GPX files."""
    files = []
    for number, track in enumerate(rides_over(ladder(), rides=5, error_m=1.5, seed=3)):
        files.append(home / f"ride_{number}.gpx")
        files[-1].write_text(_gpx(track), "utf-8")
    return files


def _commands(home: Path) -> list[Case]:
    files = write_rides(home)
    area, card = home / "a.loopwright", home / "card.pdf"
    done(["import", str(area), *map(str, files[:4])])
    before = area.read_bytes()
    done(["import", str(area), str(files[4])])
    after = area.read_bytes()
    done(["find", str(area), "--length", "0.4-1.2", "--seconds", "60", *NOW])
    found = area.read_bytes()
    done(["card", str(area), "--loop", "1", "--out", str(card), *NOW])
    return [
        Case(
            name="importing", before=before, after=(after,),
            target=lambda place: place / "a.loopwright",
            act=lambda place: done(["import", str(place / "a.loopwright"), str(files[4])]),
        ),
        _card(found, card.read_bytes(), b"%PDF-1.4 an older card"),
        _card(found, card.read_bytes(), None),
    ]  # fmt: skip


def _card(area: bytes, card: bytes, before: bytes | None) -> Case:
    def act(place: Path) -> None:
        (place / "a.loopwright").write_bytes(area)
        done(["card", str(place / "a.loopwright"), "--loop", "1",
               "--out", str(place / "card.pdf"), *NOW])  # fmt: skip

    return Case(
        name="writing a card over another" if before else "writing a first card", act=act,
        target=lambda place: place / "card.pdf", before=before, after=(card,),
    )  # fmt: skip


def done(words: list[str]) -> None:
    """Run one command quietly; it must end well."""
    with redirect_stdout(io.StringIO()):
        code = run_command(words)
    if code:
        message = f"{' '.join(words)}: exit {code}"
        raise RuntimeError(message)


if __name__ == "__main__":
    sys.exit(main())
