"""Build a lifetime of rides: ``python tests/lifetime_run.py [--rides 5000]``.

Gets how many rides; prints processor time and the peak of memory for an eighth, a quarter, a half
and the whole of them, each in a fresh process. 5,000 invented rides of 5,000 points on sixteen
invented parks side by side; the recordings are held beside the clean tracks, as the program does.
Takes many minutes: ``make bench`` leaves it out.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace

from bench_network import memory_mb, timed, told
from loopwright.clean import clean_rides
from loopwright.geo.polyline import length_m
from loopwright.invented.park import OPEN_OCEAN, make_park
from loopwright.invented.riders import DAY_S, ride_park
from loopwright.model.track import RecordedTrack, Ride
from loopwright.network import build_network
from network_help import as_rides

SIDE = 4
"""Parks along one side of the region."""
NORTH_DEG, EAST_DEG = 0.03, 0.044
"""From one park to the next: some 3.3 km, so that none touches another."""
POINTS, STEP_M = 5000, 5.55
"""Seconds of riding in each ride, and metres a second of it."""


def region(rides: int) -> Iterator[Ride]:
    """Ride all parks in turn, one ride a day."""
    each = [_park_rides(number, rides) for number in range(SIDE**2)]
    for number in range(rides):
        yield from as_rides([next(each[number % SIDE**2])])


def _park_rides(number: int, rides: int) -> Iterator[RecordedTrack]:
    """Rides of one park, moved to its place; made some at a time."""
    park, least_m = make_park(number), POINTS * STEP_M
    mine = len(range(number, rides, SIDE**2))
    for first in range(0, mine, 20):
        tracks = ride_park(
            park, rides=min(20, mine - first), error_m=3.0, seed=1000 * number + first,
            length_m=(least_m, 1.02 * least_m),
        )  # fmt: skip
        for place, track in enumerate(tracks, start=first):
            day = place * SIDE**2 + number
            yield replace(
                track,
                lat=track.lat + NORTH_DEG * (number // SIDE),
                lon=track.lon + EAST_DEG * (number % SIDE),
                time_s=track.time_s + DAY_S * (day - (place - first)),
            )


def one(count: int) -> None:
    """Clean and build ``count`` rides and tell what it took."""
    rides = tuple(region(count))
    points, before = sum(len(ride.track) for ride in rides), memory_mb()
    clean_s, clean = timed(lambda: clean_rides(rides, OPEN_OCEAN))
    held = memory_mb()
    build_s, network = timed(lambda: build_network(clean, OPEN_OCEAN))
    ground = sum(length_m(stretch.xy) for stretch in network.stretches)
    told(
        f"{count} rides, {points:,} points, {ground / 1000:.0f} km of trail: "
        f"clean {clean_s:.0f} s, build {build_s:.0f} s; at most {before:.0f} MB with the "
        f"recordings alone, {held:.0f} MB after cleaning, {memory_mb():.0f} MB in all"
    )


def main() -> None:
    """Run in fresh processes, so that each peak of memory is its own."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rides", type=int, default=5000)
    parser.add_argument("--here", action="store_true", help="only these rides, in this process")
    given = parser.parse_args()
    if given.here:
        one(given.rides)
        return
    os.nice(10)
    for part in (8, 4, 2, 1):
        command = [sys.executable, __file__, "--here", "--rides", str(given.rides // part)]
        subprocess.run(command, check=True)


if __name__ == "__main__":
    main()
