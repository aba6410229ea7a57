"""``loopwright export``: the network, a loop or the season as files other programs read."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright.cli.common import named_loop, open_area, pipeline_with_cache, the_moment
from loopwright.errors import NoAnswerError, UsageError

if TYPE_CHECKING:
    from loopwright.model.document import Document

Writer = Callable[[argparse.Namespace, "Document"], None]


def run(options: argparse.Namespace) -> int:
    """Choose the format by the ending of OUT and whether a loop is named."""
    writers: dict[tuple[str, bool], Writer] = {
        (".geojson", False): write_network,
        (".geojson", True): write_loop_geojson,
        (".gpx", True): write_loop_gpx,
        (".txt", True): write_cues,
        (".csv", True): write_cues,
        (".ics", False): write_calendar,
        (".csv", False): write_season_rows,
    }
    out: Path = options.out
    writer = writers.get((out.suffix.lower(), options.loop is not None))
    if writer is None:
        message = (
            f"{out}: no export of that kind; use .geojson (network, or a loop with --loop), "
            ".gpx, .txt or .csv with --loop, .ics or .csv for the season"
        )
        raise UsageError(message)
    writer(options, open_area(options.area))
    print(out)
    return 0


def write_network(options: argparse.Namespace, document: Document) -> None:
    """Write the whole network as GeoJSON."""
    from loopwright.io.geojson import network_geojson, write_json

    terrain = pipeline_with_cache().terrain(document)
    settings = document.settings
    value = network_geojson(terrain, private=settings.private, attributions=settings.attributions)
    write_json(options.out, value)


def write_loop_geojson(options: argparse.Namespace, document: Document) -> None:
    """Write one loop as GeoJSON."""
    from loopwright.io.geojson import loop_geojson, write_json

    course = pipeline_with_cache().course(document, named_loop(document, options.loop))
    write_json(options.out, loop_geojson(course, private=document.settings.private))


def write_loop_gpx(options: argparse.Namespace, document: Document) -> None:
    """Write one loop as GPX 1.1: track, way points for its features, and a route."""
    from loopwright.io.gpx_write import write_loop_gpx as write

    course = pipeline_with_cache().course(document, named_loop(document, options.loop))
    write(course, options.out, private=document.settings.private)


def write_cues(options: argparse.Namespace, document: Document) -> None:
    """Write the cue sheet of one loop as plain text or CSV."""
    from loopwright.io.cue_sheet import write_cue_sheet

    pipeline = pipeline_with_cache()
    course = pipeline.course(document, named_loop(document, options.loop))
    write_cue_sheet(course, options.out, plan=pipeline.plan(document, course))


def write_calendar(options: argparse.Namespace, document: Document) -> None:
    """Write the season as an RFC 5545 calendar."""
    from loopwright.io.calendar import write_calendar as write

    if document.season is None:
        raise _no_season(options.area)
    write(document.season, options.out, now=the_moment(options.now), area=document.name)


def write_season_rows(options: argparse.Namespace, document: Document) -> None:
    """Write the season as CSV, one day a row."""
    from loopwright.io.season_rows import write_season_csv

    if document.season is None:
        raise _no_season(options.area)
    write_season_csv(document.season, options.out)


def _no_season(area: Path) -> NoAnswerError:
    return NoAnswerError(
        str(area), "no season is planned in this area", "plan one with: loopwright season AREA"
    )
