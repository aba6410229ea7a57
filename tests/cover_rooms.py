"""Line and branch coverage of the rooms that think, held by a ratchet: ``make cover``.

Runs the tests that need no window under coverage, then those that reach the compiled kernels once
more with compiling switched off, for a compiled line leaves no trace (and so that the same tests
judge the kernels twice, as compiled and as written). Prints a row for each room and every line and
branch that no test reaches, and fails where a room fell under its floor in ``coverage_floor.toml``.

    python tests/cover_rooms.py            run, print, compare
    python tests/cover_rooms.py --again    print and compare what the last run left in out/cover
    python tests/cover_rooms.py --raise    also lift the floors to what was reached; never lower
"""

from __future__ import annotations

import argparse
import json
import math
import os
import subprocess
import sys
import tomllib
from collections.abc import Iterable
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


def run_tests() -> int:
    """Leave what the tests reached in ``KEPT``; give the first exit code that is not 0."""
    KEPT.mkdir(parents=True, exist_ok=True)
    for old in KEPT.glob("data.*"):
        old.unlink()
    plain = ["run", "-m", "pytest", "-p", "no:cacheprovider"]
    skipped = [f"--ignore-glob=*/{name}" for name in WINDOWED]
    compiled = coverage(*plain, "tests", *skipped, COVERAGE_FILE=str(KEPT / "data.compiled"))
    written = coverage(
        *plain, *(f"tests/{name}" for name in AS_WRITTEN),
        COVERAGE_FILE=str(KEPT / "data.written"), NUMBA_DISABLE_JIT="1",
    )  # fmt: skip
    return compiled or written


def report() -> dict[str, Any]:
    """Coverage's figures for each file, from all runs together."""
    whole, out = str(KEPT / "all"), KEPT / "cover.json"
    coverage("combine", "--quiet", "--keep", f"--data-file={whole}", *map(str, parts()))
    coverage("json", "--quiet", f"--data-file={whole}", "-o", str(out))
    files: dict[str, Any] = json.loads(out.read_text())["files"]
    return files


def parts() -> list[Path]:
    return sorted(KEPT.glob("data.*"))


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


def main(words: Iterable[str] | None = None) -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--again", action="store_true")
    parser.add_argument("--raise", action="store_true", dest="lift")
    asked = parser.parse_args(None if words is None else list(words))
    failed = 0 if asked.again else run_tests()
    files = report()
    tell("\n".join(filter(None, (gaps(*item) for item in files.items()))))
    reached = {}
    for room, (lines, missed, branches, unseen) in by_room(files).items():
        reached[room] = percent(lines + branches - missed - unseen, lines + branches)
        tell(f"{room:9} {lines:5} lines {missed:4} missed {branches:5} branches {unseen:4} missed"
              f" {reached[room]:7.2f} %")  # fmt: skip
    floors = tomllib.loads(FLOORS.read_text()) if FLOORS.exists() else {}
    low = fallen(reached, floors)
    tell("\n".join(low))
    if asked.lift and not failed:
        write_floors(raised(reached, floors))
    return failed or bool(low)


if __name__ == "__main__":
    raise SystemExit(main())
