"""Every command that writes, on a disk that is full, a limited file size and a read-only folder.

Run: ``python tests/torture_disk.py``. Each command runs in a process of its own. It must end with
exit code 1 and one line, leave the old files byte for byte and no half-written file beside them.
A real full disk (a small tmpfs) and a read-only folder need root; without it both are left out and
the row says so.
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path

from loopwright.cli.main import main as run_command
from loopwright.io.area_file import load_area
from torture_kill import NOW, done, write_rides

SIZE_LIMIT = 300
"""Bytes a file may have in the limited runs: less than any file the program writes."""


def main() -> int:
    """Try every command on every bad disk and print a row for each disk."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        os.environ |= {
            f"XDG_{kind}_HOME": str(home / kind) for kind in ("CACHE", "STATE", "CONFIG")
        }
        rides = write_rides(home)
        whole = home / "whole"
        whole.mkdir()
        _prepare(whole, rides)
        bad = 0
        _say("| disk | commands | refused in one line, old files kept | not so |")
        _say("|---|--:|--:|--:|")
        for name, disk in _disks():
            limit = SIZE_LIMIT if disk is _limited else resource.RLIM_INFINITY
            with disk(home, whole) as place:
                bad += _try_all(name, place, rides, limit)
    return 1 if bad else 0


def _say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


def _prepare(place: Path, rides: list[Path]) -> None:
    area = str(place / "a.loopwright")
    for words in (
        ["import", area, *map(str, rides[:4])],
        ["find", area, "--length", "0.4-1.2", "--seconds", "60", *NOW],
        ["season", area, "--race", "2027-06-16", "--weeks", "4", *NOW],
    ):
        done(words)
    line = '{"type": "LineString", "coordinates": [[%s], [%s]]}'
    track = load_area(Path(area)).rides[0].track
    ends = [f"{track.lon[k]}, {track.lat[k]}" for k in (0, 40)]
    (place / "line.geojson").write_text(line % tuple(ends), "utf-8")
    for name in OUTS:
        (place / name).write_bytes(b"an older file " * 100)


OUTS = ("card.pdf", "card.png", "net.geojson", "loop.gpx", "season.ics", "laps.json", "found.json")


def _commands(place: Path, rides: list[Path]) -> list[list[str]]:
    area = str(place / "a.loopwright")
    out = {name: str(place / name) for name in OUTS}
    return [
        ["import", area, str(rides[4])],
        ["tag", area, "--line", str(place / "line.geojson"), "--surface", "rock"],
        ["find", area, "--length", "0.4-1.1", "--seconds", "60", *NOW],
        ["find", area, "--length", "0.4-1.1", "--seconds", "60", "--json", out["found.json"], *NOW],
        ["season", area, "--race", "2027-07-16", "--weeks", "4", *NOW],
        ["card", area, "--loop", "1", "--out", out["card.pdf"], *NOW],
        ["card", area, "--loop", "1", "--out", out["card.png"], *NOW],
        ["export", area, out["net.geojson"]],
        ["export", area, out["loop.gpx"], "--loop", "1"],
        ["export", area, out["season.ics"]],
        ["laps", area, str(rides[0]), "--loop", "1", "--json", out["laps.json"]],
    ]


Disk = Callable[[Path, Path], AbstractContextManager[Path]]


def _disks() -> Iterator[tuple[str, Disk]]:
    yield "file size limit", _limited
    if os.geteuid() == 0:
        yield "full disk", _full
        yield "read-only folder", _read_only
    else:
        _say("| full disk and read-only folder | left out: they need root | | |")


@contextmanager
def _limited(home: Path, whole: Path) -> Iterator[Path]:
    place = home / "limited"
    shutil.copytree(whole, place)
    yield place


@contextmanager
def _full(home: Path, whole: Path) -> Iterator[Path]:
    place = home / "full"
    with _mounted(place, kilobytes=1024):
        shutil.copytree(whole, place, dirs_exist_ok=True)
        with (place / "filler").open("wb", buffering=0) as filler, suppress(OSError):
            while True:
                filler.write(bytes(1024))
        yield place


@contextmanager
def _read_only(home: Path, whole: Path) -> Iterator[Path]:
    place = home / "read only"
    with _mounted(place, kilobytes=8192):
        shutil.copytree(whole, place, dirs_exist_ok=True)
        subprocess.run(["mount", "-o", "remount,ro", place], check=True)
        yield place


@contextmanager
def _mounted(place: Path, *, kilobytes: int) -> Iterator[None]:
    place.mkdir()
    size = f"size={kilobytes}k"
    subprocess.run(["mount", "-t", "tmpfs", "-o", size, "tmpfs", place], check=True)
    try:
        yield
    finally:
        subprocess.run(["umount", place], check=True)


def _try_all(name: str, place: Path, rides: list[Path], limit: int) -> int:
    bad, before = 0, _content(place)
    commands = _commands(place, rides)
    for words in commands:
        code, lines = _run(words, limit)
        fine = code == 1 and len(lines) == 1 and lines[0].startswith(str(place))
        if not fine or _content(place) != before:
            bad += 1
            changed = [k for k, v in _content(place).items() if before.get(k) != v]
            _say(f"{name}: {' '.join(words)}: exit {code}, {lines}, changed {changed}")
    _say(f"| {name} | {len(commands)} | {len(commands) - bad} | {bad} |")
    return bad


def _content(place: Path) -> dict[str, bytes]:
    files = [f for f in place.iterdir() if not f.name.endswith(".lock") and f.name != "filler"]
    return {file.name: file.read_bytes() for file in files}


def _run(words: list[str], limit: int) -> tuple[int, list[str]]:
    """Run a command in a child whose files may have ``limit`` bytes; gives code and stderr."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        code = 99
        try:
            os.close(read)
            os.dup2(write, 2)
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
            code = run_command(words)
        finally:
            sys.stderr.flush()
            os._exit(code)
    os.close(write)
    with os.fdopen(read, "rb") as source:
        lines = source.read().decode().splitlines()
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), lines


if __name__ == "__main__":
    sys.exit(main())
