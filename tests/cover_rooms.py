"""Line and branch coverage of the rooms that think, held by a ratchet: ``make cover``.

Runs the tests that need no window under coverage, then those that reach the compiled kernels once
more with compiling switched off, for a compiled line leaves no trace (and so that the same tests
judge the kernels twice, as compiled and as written). Prints a row for each room and every line and
branch that no test reaches, and fails where a room fell under its floor in ``coverage_floor.toml``.

    python tests/cover_rooms.py            run, print, compare
    python tests/cover_rooms.py --again    print and compare what the last run left in out/cover
    python tests/cover_rooms.py --raise    also lift the floors to what was reached; never lower
    python tests/cover_rooms.py --rooms clean pacing
                                           run only the tests named after these rooms: a quick look
                                           that may reach less than all tests do; no floor counts
"""

from __future__ import annotations

import argparse
import json
import math
import os
import subprocess
import sys
import tomllib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
KEPT = ROOT / "out" / "cover"
FLOORS = Path(__file__).with_name("coverage_floor.toml")
ROOMS = (
    "model", "geo", "clean", "network", "features", "loops", "pacing", "laps", "season", "io",
)  # fmt: skip
WINDOWED = ("test_app_*", "test_render_*", "test_card_*", "test_cli_desktop*", "test_house*")
"""Tests that only the window, paper or the source text itself needs."""
AS_WRITTEN = (
    "test_loops_properties.py", "test_loops_kernels.py", "test_loops_prices.py",
    "test_laps_kernels.py", "test_laps_pieces.py", "test_pacing_kernels.py",
)  # fmt: skip


def coverage(*words: str, **environment: str) -> int:
    """Run coverage's own command."""
    return subprocess.run(
        [sys.executable, "-m", "coverage", *words],
        cwd=ROOT,
        env=os.environ | {"QT_QPA_PLATFORM": "offscreen"} | environment,
        check=False,
    ).returncode


def of_room(file: str, rooms: Sequence[str]) -> bool:
    """Tell whether a test file is named after one of ``rooms``."""
    return any(file.startswith(f"test_{room}_") for room in rooms)


def run_tests(rooms: Sequence[str], kept: Path) -> int:
    """Leave what the tests of ``rooms`` reached in ``kept``, those of no room too if all are asked.

    Gives the first exit code that is not 0.
    """
    kept.mkdir(parents=True, exist_ok=True)
    for old in kept.glob("data.*"):
        old.unlink()
    source = ",".join(f"src/loopwright/{room}" for room in rooms)
    plain = ["run", f"--source={source}", "-m", "pytest", "-p", "no:cacheprovider"]
    tests = ["tests", *(f"--ignore-glob=*/{name}" for name in WINDOWED)]
    if rooms != ROOMS:
        files = sorted(file.name for file in Path(__file__).parent.glob("test_*.py"))
        tests = [f"tests/{name}" for name in files if of_room(name, rooms)]
    failed = coverage(*plain, *tests, COVERAGE_FILE=str(kept / "data.compiled"))
    kernels = [f"tests/{name}" for name in AS_WRITTEN if of_room(name, rooms)]
    if kernels:
        file = str(kept / "data.written")
        failed |= coverage(*plain, *kernels, COVERAGE_FILE=file, NUMBA_DISABLE_JIT="1")
    return failed


def report(kept: Path) -> dict[str, Any]:
    """Coverage's figures for each file, from all runs together."""
    whole, out = str(kept / "all"), kept / "cover.json"
    runs = sorted(map(str, kept.glob("data.*")))
    coverage("combine", "--quiet", "--keep", f"--data-file={whole}", *runs)
    coverage("json", "--quiet", f"--data-file={whole}", "-o", str(out))
    files: dict[str, Any] = json.loads(out.read_text())["files"]
    return files


def room_of(file: str) -> str:
    return Path(file).relative_to("src/loopwright").parts[0]


def percent(reached: int, there: int) -> float:
    """Rounded down to two places, so that 100 means everything."""
    return math.floor(1e4 * reached / max(there, 1)) / 100


def by_room(files: dict[str, Any]) -> dict[str, tuple[int, int, int, int]]:
    """Lines there, lines missed, branches there, branches missed."""
    rows = dict.fromkeys(ROOMS, (0, 0, 0, 0))
    for file, figures in files.items():
        s = figures["summary"]
        more = (s["num_statements"], s["missing_lines"], s["num_branches"], s["missing_branches"])
        old = rows[room_of(file)]
        rows[room_of(file)] = (
            old[0] + more[0], old[1] + more[1], old[2] + more[2], old[3] + more[3],
        )  # fmt: skip
    return rows


def gaps(file: str, figures: dict[str, Any]) -> str:
    """One line that names what no test reaches in a file; empty when all is reached."""
    lines = figures["missing_lines"]
    jumps = [f"{a}->{b}" for a, b in figures["missing_branches"] if a not in lines]
    return f"{file}: {', '.join([*map(str, lines), *jumps])}" if lines or jumps else ""


def fallen(reached: dict[str, float], floors: dict[str, float]) -> list[str]:
    """One line for each room under its floor."""
    return [
        f"{room}: {reached[room]:.2f} % is under the floor of {floor:.2f} %"
        for room, floor in floors.items()
        if reached.get(room, 0.0) < floor
    ]


def raised(reached: dict[str, float], floors: dict[str, float]) -> dict[str, float]:
    """Floors lifted to what was reached, none lowered."""
    return {room: max(reached.get(room, 0.0), floors.get(room, 0.0)) for room in ROOMS}


def write_floors(floors: dict[str, float]) -> None:
    rows = (f"{room} = {floor:.2f}\n" for room, floor in floors.items())
    FLOORS.write_text(
        "# Percent of lines and branches that tests reach; lift with `make cover RAISE=1`.\n"
        + "".join(rows)
    )


def tell(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


def tell_rooms(files: dict[str, Any], rooms: Sequence[str]) -> dict[str, float]:
    """Print what no test reaches and a row a room; give the percents."""
    tell("\n".join(filter(None, (gaps(*item) for item in files.items()))))
    reached = {}
    for room, (lines, missed, branches, unseen) in by_room(files).items():
        if room in rooms:
            reached[room] = percent(lines + branches - missed - unseen, lines + branches)
            row = f"{lines:5} lines {missed:4} missed {branches:5} branches {unseen:4} missed"
            tell(f"{room:9} {row} {reached[room]:7.2f} %")
    return reached


def main(words: Iterable[str] | None = None) -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--again", action="store_true")
    parser.add_argument("--raise", action="store_true", dest="lift")
    parser.add_argument("--rooms", nargs="+", choices=ROOMS, default=ROOMS)
    asked = parser.parse_args(None if words is None else list(words))
    kept = KEPT if asked.rooms == ROOMS else KEPT / "some"
    failed = 0 if asked.again else run_tests(asked.rooms, kept)
    files = {file: told for file, told in report(kept).items() if room_of(file) in asked.rooms}
    reached = tell_rooms(files, asked.rooms)
    if asked.rooms != ROOMS:
        return failed
    floors = tomllib.loads(FLOORS.read_text())
    low = fallen(reached, floors)
    tell("\n".join(low))
    if asked.lift and not failed:
        write_floors(raised(reached, floors))
    return failed or bool(low)


if __name__ == "__main__":
    raise SystemExit(main())
