"""``loopwright laps``: laps of a loop in a ride, with splits."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright.cli.common import named_loop, open_area, pipeline_with_cache, table
from loopwright.errors import NoAnswerError
from loopwright.units import duration

if TYPE_CHECKING:
    from loopwright.model.document import Document
    from loopwright.model.laps import Lap, LapSheet
    from loopwright.model.track import Ride


def run(options: argparse.Namespace) -> int:
    """Find the laps, print the table, write JSON if asked."""
    document = open_area(options.area)
    sheet = sheet_for(document, options)
    if options.json:
        from loopwright.io.json_file import write_json
        from loopwright.io.laps_json import laps_json

        write_json(options.json, laps_json(sheet, attributions=document.settings.attributions))
    if not any(lap.complete for lap in sheet.laps):
        raise NoAnswerError(
            options.ride,
            f"no complete lap of {sheet.loop} in this ride",
            "check that the ride follows the loop from gate to gate",
        )
    if options.json != "-":
        print(described(sheet))
    return 0


def sheet_for(document: Document, options: argparse.Namespace) -> LapSheet:
    """Laps of the loop named, or of the circuit the ride itself repeats."""
    ride, pipeline = find_ride(document, options.ride), pipeline_with_cache()
    if options.loop is None:
        return pipeline.circuit_sheet(document, ride)
    return pipeline.lap_sheet(document, ride, named_loop(document, options.loop))


def find_ride(document: Document, wanted: str) -> Ride:
    """Take a file, or a ride of the area by id, file name or name."""
    for ride in document.rides:
        if wanted in {ride.id, ride.track.source, ride.track.name}:
            return ride
    from loopwright.io.tracks import read_tracks, ride_id
    from loopwright.model.track import Ride

    tracks = read_tracks(Path(wanted))
    longest = max(tracks, key=len)
    return Ride(id=ride_id(longest), track=longest)


def described(sheet: LapSheet) -> str:
    """Lay out the laps in a table with a closing line."""
    rows = [["lap", "time", "moving", "km", ""], *(_row(lap) for lap in sheet.laps)]
    closing = []
    if sheet.best_s is not None:
        closing.append(f"best {duration(sheet.best_s, tenths=True)}")
    if sheet.fade_per_lap_s is not None:
        closing.append(f"{sheet.fade_per_lap_s:+.1f} s a lap")
    if sheet.spread_s is not None:
        closing.append(f"spread {sheet.spread_s:.1f} s")
    return f"{table(rows, left=frozenset({4}))}\n{', '.join(closing)}".rstrip()


def _row(lap: Lap) -> list[str]:
    return [
        str(lap.number),
        duration(lap.elapsed_s, tenths=True),
        duration(lap.moving_s, tenths=True),
        f"{lap.length_m / 1000:.2f}",
        lap.note or ("" if lap.complete else "incomplete"),
    ]
