"""A day at the window: eight hours of somebody's use, one action after another, in one window.

Run: ``python tests/torture_long.py --actions 1400 --seed 1``. A person does something about every
20 s, so 1,400 actions are a day of eight hours; here they follow each other without the pauses,
some before the one before has ended. The worker processes are the real ones. Every so often all
comes to rest and is counted: memory of the window and of its workers, widgets, timers, threads,
processes. Anything that grows after the first quarter, or memory by more than a tenth, ends the
run with an error.
"""

from __future__ import annotations

import argparse
import ctypes
import gc
import os
import random
import sys
import tempfile
import threading
from collections import Counter
from collections.abc import Callable
from dataclasses import astuple, dataclass, fields
from pathlib import Path

MOST_GROWTH = 1.10
WARM_UP = 0.25
REST_S = 300.0
PAUSES_S = (0.0, 0.05, 0.3, 1.5, 20.0)
"""How long the person waits at most for an action to end before the next."""


@dataclass(frozen=True, kw_only=True)
class Count:
    """What there is at one moment, at rest."""

    actions: int
    window_mb: float
    workers_mb: float
    widgets: int
    timers: int
    threads: int
    processes: int
    defunct: int


def main() -> int:
    """Spend the day and say what grew."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--actions", type=int, default=1400)
    parser.add_argument("--every", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        for kind in ("CONFIG", "STATE", "CACHE", "DATA"):
            os.environ[f"XDG_{kind}_HOME"] = str(home / kind.lower())
        counts, done = _day(home, options.actions, options.every, random.Random(options.seed))
    _say(", ".join(f"{name} {times}" for name, times in done.most_common()))
    grown = grew(counts)
    _say("; ".join(grown) or "nothing grew")
    return 1 if grown else 0


def _say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


def grew(counts: list[Count]) -> list[str]:
    """Name what grew: memory over a tenth, anything countable at all."""
    warm = [c for c in counts if c.actions >= WARM_UP * counts[-1].actions]
    first, last = warm[0], warm[-1]
    words = []
    for name in ("window_mb", "workers_mb"):
        before, after = getattr(first, name), getattr(last, name)
        if after > before * MOST_GROWTH:
            words.append(f"{name} grew from {before:.0f} to {after:.0f}")
    for name in ("widgets", "timers", "threads", "processes"):
        before, after = getattr(first, name), getattr(last, name)
        if after > before:
            words.append(f"{name} grew from {before} to {after}")
    if last.defunct:
        words.append(f"{last.defunct} processes ended and were never collected")
    return words


def _day(
    home: Path, actions: int, every: int, dice: random.Random
) -> tuple[list[Count], Counter[str]]:
    from torture_person import Person

    person = Person(home, dice)
    done: Counter[str] = Counter()
    _say("| " + " | ".join(f.name.replace("_", " ") for f in fields(Count)) + " |")
    _say("|" + "--:|" * len(fields(Count)))
    counts = [_counted(person.come_to_rest, 0)]
    for number in range(1, actions + 1):
        done[person.act(dice.choice(PAUSES_S))] += 1
        if number % every == 0 or number == actions:
            counts.append(_counted(person.come_to_rest, number))
    person.leave()
    return counts, done


def _counted(come_to_rest: Callable[[float], None], actions: int) -> Count:
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QApplication

    come_to_rest(REST_S)
    gc.collect()
    ctypes.CDLL(None).malloc_trim(0)
    children = _children()
    timers = sum(issubclass(type(one), QTimer) for one in gc.get_objects())
    count = Count(
        actions=actions, window_mb=_resident_mb(os.getpid()),
        workers_mb=sum(_resident_mb(pid) for pid, state in children if state != "Z"),
        widgets=len(QApplication.allWidgets()), timers=timers,
        threads=threading.active_count(), processes=len(children),
        defunct=sum(state == "Z" for _pid, state in children),
    )  # fmt: skip
    row = (f"{v:.0f}" if isinstance(v, float) else str(v) for v in astuple(count))
    _say("| " + " | ".join(row) + " |")
    return count


def _resident_mb(pid: int) -> float:
    try:
        pages = int(Path(f"/proc/{pid}/statm").read_text("ascii").split()[1])
    except OSError:
        return 0.0
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def _children() -> list[tuple[int, str]]:
    """Process ids and states of this process's children."""
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            words = path.read_text("utf-8", "replace").rpartition(")")[2].split()
        except OSError:
            continue
        if int(words[1]) == os.getpid():
            found.append((int(path.parent.name), words[0]))
    return found


if __name__ == "__main__":
    sys.exit(main())
