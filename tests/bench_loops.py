"""Benchmark of the loop search: prints every figure it is held to, measured in one run.

Run with ``python tests/bench_loops.py [--quick]``. Networks are invented (planar, 335 m a stretch).
Each search is timed on the clock, best of three; the machine's load is printed, because other work
on the same cores makes every figure worse. ``--processor`` counts processor seconds of one worker
instead, which other work hardly touches. ``--quick`` leaves out the constraint solver and the first
search after a fresh install, which take minutes.
"""

from __future__ import annotations

import argparse
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from loops_circuit import circuit_best
from loops_help import question_of, random_terrain
from loopwright.loops import find_loops
from loopwright.loops.warm import warm_up
from loopwright.model.ground import Terrain
from loopwright.model.loops import SearchResult
from loopwright.model.wishes import Question

SEEDS = (0, 1, 2, 3, 4)
REPEATS = 3
SOLVER_S = 60.0


@dataclass(slots=True)
class Clock:
    """A report that notes when each answer came, and may ask to stop."""

    now: Callable[[], float] = time.perf_counter
    stop_after_s: float = float("inf")
    began: float = 0.0
    events: list[tuple[float, SearchResult]] = field(default_factory=list)
    asked: float = 0.0

    def __post_init__(self) -> None:
        """Begin."""
        self.began = self.now()

    def step(self, share: float, words: str) -> None:
        """Say nothing."""

    def best(self, result: object) -> None:
        """Note an answer."""
        assert isinstance(result, SearchResult)
        self.events.append((self.now() - self.began, result))

    def check(self) -> None:
        """Never raise."""

    def cancelled(self) -> bool:
        """Ask to stop after a while."""
        now = self.now() - self.began
        if now < self.stop_after_s:
            return False
        self.asked = self.asked or now
        return True


@dataclass(frozen=True, slots=True)
class Times:
    """Seconds until within 1 % of the best, until proven, and until the last alternative."""

    near: float
    proven: float
    alternatives: float
    best: float


def timed(terrain: Terrain, question: Question, *, processor: bool) -> Times:
    """Time one search: on the clock with all cores, or in processor seconds of one worker."""
    clock = Clock(now=time.process_time if processor else time.perf_counter)
    result = find_loops(terrain, question, report=clock, workers=1 if processor else None)
    best = result.loops[0].score
    near = next(t for t, r in clock.events if r.loops and r.loops[0].score >= best - 1.0)
    proven = next((t for t, r in clock.events if r.proven), float("inf"))
    full = next(t for t, r in clock.events if len(r.loops) == len(result.loops))
    last = max(t for t, r in clock.events if r.loops == result.loops)
    return Times(near, proven, max(full, last), best)


def best_times(terrain: Terrain, question: Question, *, processor: bool) -> Times:
    """Take the best of three for each figure."""
    runs = [timed(terrain, question, processor=processor) for _ in range(REPEATS)]
    return Times(
        min(r.near for r in runs), min(r.proven for r in runs),
        min(r.alternatives for r in runs), runs[0].best,
    )  # fmt: skip


def tell(words: str) -> None:
    """Print a line at once."""
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


def say(what: str, measured: list[float], target: float, unit: str = "s") -> None:
    """Print one line: worst and median of the networks, against the target."""
    worst, middle = max(measured), statistics.median(measured)
    verdict = "met" if worst <= target else ("median met" if middle <= target else "missed")
    tell(
        f"{what:46s} worst {worst:7.3f} median {middle:7.3f} target {target:5.2f} {unit} {verdict}"
    )


def bench_sizes(*, processor: bool) -> None:
    """Time 5 km laps at three sizes."""
    for size, near, proven, others in (
        (100, 0.05, 0.1, 0.5), (300, 0.15, 0.2, 1.0), (1200, 0.6, 1.0, 5.0),
    ):  # fmt: skip
        question = question_of(count=5)
        runs = [best_times(random_terrain(s, size), question, processor=processor) for s in SEEDS]
        say(f"{size} stretches, 5 km: within 1 %", [r.near for r in runs], near)
        say(f"{size} stretches, 5 km: proven to 0.01", [r.proven for r in runs], proven)
        say(f"{size} stretches, 5 km: five loops", [r.alternatives for r in runs], others)


def bench_long(*, processor: bool) -> None:
    """Time 8 km laps."""
    for size, target in ((300, 3.0), (1200, 8.0)):
        question = question_of(low_m=5000.0, high_m=8000.0)
        runs = [best_times(random_terrain(s, size), question, processor=processor) for s in SEEDS]
        say(f"{size} stretches, 8 km: proven to 0.01", [r.proven for r in runs], target)


def bench_cancel(*, processor: bool) -> None:
    """Time from being asked to stop to the answer."""
    waits = []
    terrain = random_terrain(0, 1200)
    for after in (0.02, 0.05, 0.1, 0.2, 0.3, 0.5):
        now = time.process_time if processor else time.perf_counter
        clock = Clock(now=now, stop_after_s=after)
        question = question_of(low_m=5000.0, high_m=8000.0)
        find_loops(terrain, question, report=clock, workers=1 if processor else None)
        waits.append(now() - clock.began - after)
    say("cancel, 1200 stretches, 8 km", waits, 0.05)


def bench_solver() -> None:
    """Compare with the constraint solver on the same network, one worker each.

    Both in processor seconds, so that other work on the machine favours neither.
    """
    ratios = []
    for seed in SEEDS[:3]:
        terrain, question = random_terrain(seed, 300), question_of()
        began = time.process_time()
        loop, proven = circuit_best(terrain, question, seconds=SOLVER_S, workers=1)
        solver_s = time.process_time() - began
        clock = Clock(now=time.process_time)
        find_loops(terrain, question, report=clock, workers=1)
        ours = next(t for t, r in clock.events if r.proven)
        ratios.append(solver_s / ours)
        score = f"{loop.score:.3f}" if loop else "none"
        verdict = "proven in" if proven else "not proven after"
        tell(
            f"  network {seed}: solver {score}, {verdict} {solver_s:.1f} s; "
            f"ours {clock.events[-1][1].loops[0].score:.3f}, proven in {ours:.3f} s"
        )
    tell(f"{'300 stretches: times faster than solver':46s} at least {min(ratios):.0f} target 50")


FIRST = """
import sys, time
from loops_help import question_of, random_terrain
from loopwright.loops import find_loops
terrain = random_terrain(2, 300)
began = time.perf_counter()
class Once:
    def best(self, result):
        print(time.perf_counter() - began, result.loops[0].score)
        sys.stdout.flush()
        import os
        os._exit(0)
    def cancelled(self): return False
find_loops(terrain, question_of(), report=Once())
"""


def bench_first() -> None:
    """Time the first answer of a fresh install: no kernel compiled, nothing cached."""
    waits = []
    for _ in range(REPEATS):
        with tempfile.TemporaryDirectory() as empty:
            run = subprocess.run(
                [sys.executable, "-c", FIRST], check=True, capture_output=True, text=True,
                cwd=Path(__file__).parent, env={**os.environ, "NUMBA_CACHE_DIR": empty},
            )  # fmt: skip
        waits.append(float(run.stdout.split()[0]))
    say("first answer after a fresh install, 300", [min(waits)], 1.0)


def main() -> None:
    """Run all."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="leave out what takes minutes")
    parser.add_argument("--processor", action="store_true", help="count processor seconds")
    asked = parser.parse_args()
    quick, processor = asked.quick, asked.processor
    tell(f"load at start {os.getloadavg()[0]:.2f}, cores {os.cpu_count()}")
    warm_up()
    bench_sizes(processor=processor)
    bench_long(processor=processor)
    bench_cancel(processor=processor)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    say("peak memory", [peak], 1.0, "GB")
    if not quick:
        bench_first()
        bench_solver()
    tell(f"load at end {os.getloadavg()[0]:.2f}")


if __name__ == "__main__":
    main()
