"""Reading speed beside gpxpy's, both measured in one run on the same files.

Run: ``python tests/bench_reading.py [FILE.gpx ...]``; without files it makes two of 100,000 points.
Prints seconds of processor time, the best of three, and how many times faster ours is.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import gpxpy
import numpy as np

from io_gpxpy import assert_same
from io_help import gpx_text, point
from loopwright.io.tracks import read_tracks

POINTS = 100_000
ROUNDS = 3
START = np.datetime64("2024-05-01T08:00:00")


def make(folder: Path, *, extensions: bool) -> Path:
    rng = np.random.default_rng(1)
    lat = 46.5 + np.cumsum(rng.normal(0, 1e-5, POINTS))
    lon = 13.2 + np.cumsum(rng.normal(0, 1e-5, POINTS))
    more = "<extensions><power>{}</power><x><hr>{}</hr><cad>80</cad></x></extensions>"
    rows = []
    for i in range(POINTS):
        inner = f"<ele>{500 + rng.random():.1f}</ele><time>{START + i}Z</time>"
        inner += more.format(rng.integers(0, 400), rng.integers(90, 180)) if extensions else ""
        rows.append(point(f"{lat[i]:.7f}", f"{lon[i]:.7f}", inner) + "\n")
    path = folder / ("with_extensions.gpx" if extensions else "plain.gpx")
    path.write_text(gpx_text(rows))
    return path


def seconds(work: Callable[[], object]) -> float:
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def compare(path: Path) -> None:
    tracks = read_tracks(path)
    assert_same(path, tracks)
    data = path.read_bytes()
    ours = seconds(lambda: read_tracks(path))
    theirs = seconds(lambda: gpxpy.parse(data))
    count = sum(map(len, tracks))
    sys.stdout.write(
        f"{path.name}: {count} points, ours {ours:.3f} s ({count / ours:,.0f}/s), "
        f"gpxpy {theirs:.3f} s, {theirs / ours:.1f} times, values identical\n"
    )


def main() -> None:
    paths = [Path(name) for name in sys.argv[1:]]
    with tempfile.TemporaryDirectory() as folder:
        for path in paths or [make(Path(folder), extensions=each) for each in (False, True)]:
            compare(path)


if __name__ == "__main__":
    main()
