"""``loopwright import``: rides into an area."""

from __future__ import annotations

import argparse
from dataclasses import replace
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright.cli.common import Progress, complain, open_area, pipeline_with_cache
from loopwright.edits import set_settings
from loopwright.errors import NoAnswerError, WorldError
from loopwright.gather import REACH_KM, apart
from loopwright.reading import read_rides, take_in

if TYPE_CHECKING:
    from loopwright.model.document import Document
    from loopwright.model.track import Ride


def run(options: argparse.Namespace) -> int:
    """Read every track, add the readable ones, build the network and say what came of it."""
    from loopwright.io.area_file import AreaLock, save_area
    from loopwright.model.document import Document
    from loopwright.model.track import RideRole
    from loopwright.warming import warm_beside

    role = RideRole.RACE if options.race else RideRole.RIDE
    reading = read_rides(options.sources, role, Progress())
    for words in reading.complaints:
        complain(words)
    path: Path = options.area
    if not reading.rides:
        raise NoAnswerError(
            str(path), "no usable track among what was given", "give GPX or FIT files, or a folder"
        )
    warm_beside()
    with AreaLock(path):
        before = open_area(path) if path.exists() else Document(name=path.stem)
        after, far = take_in(before, reading.rides)
        for ride in () if options.split else far:
            complain(too_far(ride))
        if options.heights:
            after = with_heights(after, options.heights)
        words = described(after, path)
        if after is not before:
            save_area(after, path)
    print(words)
    for area in apart(after, far) if options.split else ():
        print(saved_apart(area, path))
    return 0


def saved_apart(document: Document, beside: Path) -> str:
    """Save an area split off beside the one it came with, under a name not taken yet."""
    from loopwright.io.area_file import AreaLock, save_area

    names = (beside.with_stem(f"{beside.stem}-{number}") for number in count(2))
    path = next(name for name in names if not name.exists())
    with AreaLock(path):
        save_area(document, path)
    return described(document, path)


def with_heights(document: Document, path: Path) -> Document:
    """Remember a height file for ground that no ride brings heights for."""
    from loopwright.io.heights import open_heights

    open_heights(path)
    settings = replace(document.settings, height_file=str(path.resolve()))
    return set_settings(document, settings)


def too_far(ride: Ride) -> WorldError:
    """Say that a ride lies elsewhere."""
    return WorldError(
        ride.track.source,
        f"lies over {REACH_KM:.0f} km from the rides of this area, left out",
        "import it into an area of its own, or again with --split",
    )


def described(document: Document, path: Path) -> str:
    """Build the network once and say in a few lines what the area holds.

    Raises NoAnswerError when the rides give no network, so that nothing useless is saved.
    """
    from loopwright.card.words import plural
    from loopwright.geo.polyline import length_m
    from loopwright.model.track import RideRole

    progress, pipeline = Progress(), pipeline_with_cache()
    builders = [r for r in document.rides if r.role is RideRole.RIDE]
    if not builders:
        return f"{path}: no rides yet to build from, race laps: {len(document.rides)}"
    tracks = pipeline.reports(document, progress)
    network = pipeline.network(document, progress)
    progress.done()
    by_id = {ride.id: ride for ride in document.rides}
    lines = [
        f"{by_id[track.ride].track.source}: {fault.words}"
        for track in tracks
        for fault in track.faults
    ]
    km = sum(length_m(s.xy) for s in network.stretches) / 1000
    meetings = sum(j.degree > 2 for j in network.junctions)
    used = sum(track.used for track in tracks)
    lines.append(
        f"{path}: {used} of {plural(len(builders), 'ride')} used: "
        f"{plural(len(network.stretches), 'stretch')}, {km:.1f} km of trail, "
        f"{plural(meetings, 'junction')}"
    )
    return "\n".join(lines)
