"""Measure network building: ``python tests/bench_network.py``.

Gets nothing; prints ratios measured in one run on one machine: the whole build of 100 rides
against gpxpy's parse of the same rides, twice the rides, one ride added, the peak of memory.
A lifetime of rides is built by ``lifetime_run.py``.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Callable, Sequence
from typing import TypeVar

import gpxpy
import numpy as np

from loopwright.clean import clean_rides
from loopwright.invented.park import make_park
from loopwright.invented.riders import ride_park
from loopwright.jobs import Silent
from loopwright.model.track import RecordedTrack, Ride
from loopwright.network import build_network, remember
from network_help import as_rides

Made = TypeVar("Made")
POINTS = 10_000
"""Points in each of 100 rides: a million in all."""


def timed(make: Callable[[], Made]) -> tuple[float, Made]:
    """Seconds of processor time, and what was made."""
    before = time.process_time()
    made = make()
    return time.process_time() - before, made


def invented(rides: int, points: int, seed: int = 1) -> tuple[RecordedTrack, ...]:
    """Rides of one park, about ``points`` seconds long each."""
    park = make_park(seed)
    length = points * 3.9
    return ride_park(park, rides=rides, error_m=3.0, seed=seed, length_m=(length, 1.02 * length))


def as_gpx(track: RecordedTrack) -> str:
    """Write a track as plain GPX."""
    rows = zip(track.lat, track.lon, track.ele_m, track.time_s, strict=True)
    stamp = np.datetime64(0, "s")
    points = "".join(
        f'<trkpt lat="{lat:.7f}" lon="{lon:.7f}"><ele>{ele:.1f}</ele>'
        f"<time>{stamp + np.timedelta64(int(at), 's')}Z</time></trkpt>"
        for lat, lon, ele, at in rows
    )
    return (
        '<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="invented">'
        f"<trk><trkseg>{points}</trkseg></trk></gpx>"
    )


def parse_s(tracks: Sequence[RecordedTrack], every: int = 10) -> float:
    """Seconds gpxpy needs for all tracks, from parsing one in ``every``."""
    texts = [as_gpx(track) for track in tracks[::every]]
    spent, _ = timed(lambda: [gpxpy.parse(text) for text in texts])
    return spent * len(tracks) / len(texts)


def memory_mb() -> float:
    """Most memory this process ever held."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def hundred() -> None:
    """Print the ratios over 100 and 200 rides."""
    origin = make_park(1).network.origin
    tracks = invented(200, POINTS)
    rides = as_rides(tracks)
    count = sum(len(track) for track in tracks[:100])
    print(f"100 rides, {count:,} points; {memory_mb():.0f} MB before building")  # noqa: T201 - a report
    parse = parse_s(tracks[:100])
    clean_100, clean = timed(lambda: clean_rides(rides[:100], origin, report=Silent()))
    build_100, _ = timed(lambda: build_network(clean, origin))
    whole = clean_100 + build_100
    told(f"gpxpy parses them in {parse:.1f} s")
    told(f"clean {clean_100:.1f} s + build {build_100:.1f} s = {whole / parse:.2f} x parse")
    clean_200, clean2 = timed(lambda: clean_rides(rides, origin))
    build_200, _ = timed(lambda: build_network(clean2, origin))
    told(f"200 rides: {(clean_200 + build_200) / whole:.2f} x 100 rides")
    before = remember(clean)
    add, _ = timed(lambda: added(rides[100], before, clean))
    told(f"one ride added: {add:.2f} s = {100 * add / whole:.1f} % of the whole")
    told(f"{memory_mb():.0f} MB at most")


def added(ride: Ride, before: object, clean: Sequence[object]) -> object:
    """Clean one more ride and build with it."""
    origin = make_park(1).network.origin
    more = clean_rides([ride], origin)
    return remember((*clean, *more), previous=before)  # type: ignore[arg-type] # checked above


def told(words: str) -> None:
    """Print a line."""
    print(words, flush=True)  # noqa: T201 - a report


if __name__ == "__main__":
    hundred()
