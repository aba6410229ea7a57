"""Files for other programs, for the window and the command: networks, loops, the season.

Gets a document and what to write; writes one file by its ending. Promises: the private circle, the
mark of invented ground and attributions go into every file that can hold them.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from loopwright.model.course import Course
from loopwright.model.document import Document
from loopwright.model.ground import Terrain
from loopwright.model.rider import LapPlan
from loopwright.model.season import SeasonPlan


def write_network(document: Document, terrain: Terrain, path: Path) -> None:
    """Write the whole network as GeoJSON."""
    from loopwright.io.geojson import network_geojson
    from loopwright.io.json_file import write_json

    settings = document.settings
    value = network_geojson(
        terrain,
        private=settings.private,
        invented=settings.invented,
        attributions=settings.attributions,
    )
    write_json(path, value)


def write_loop(document: Document, course: Course, plan: LapPlan | None, path: Path) -> None:
    """Write a loop as GeoJSON, as a cue sheet (csv, txt), or as GPX for any other ending.

    A cue sheet names the targets of ``plan``, if there is one. Features are named and numbered as
    on the card.
    """
    from loopwright.io.cue_sheet import cue_csv, cue_text
    from loopwright.io.files import write_out
    from loopwright.io.geojson import loop_geojson
    from loopwright.io.gpx_write import loop_gpx
    from loopwright.io.json_file import write_json

    settings, kind = document.settings, path.suffix.lower()
    private, invented, whose = settings.private, settings.invented, settings.attributions
    if kind == ".geojson":
        value = loop_geojson(course, private=private, invented=invented, attributions=whose)
        write_json(path, value)
    elif kind == ".csv":
        rows = cue_csv(course, plan=plan, private=private, attributions=whose)
        write_out(path, rows.encode())
    elif kind == ".txt":
        words = cue_text(course, plan=plan, private=private, invented=invented, attributions=whose)
        write_out(path, words.encode())
    else:
        data = loop_gpx(course, private=private, invented=invented, attributions=whose)
        write_out(path, data)


def write_season(plan: SeasonPlan, path: Path, *, name: str, now: datetime) -> None:
    """Write the season of the area ``name`` as rows (csv), or as a calendar."""
    from loopwright.io.calendar import season_calendar
    from loopwright.io.files import write_out
    from loopwright.io.season_rows import season_csv

    if path.suffix.lower() == ".csv":
        write_out(path, season_csv(plan).encode())
    else:
        write_out(path, season_calendar(plan, name=name, now=now))
