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
        (".pdf", False): write_season_pages,
    }
    out: Path = options.out
    writer = writers.get((out.suffix.lower(), options.loop is not None))
    if writer is None:
        message = (
            f"{out}: no export of that kind; use .geojson (network, or a loop with --loop), "
            ".gpx, .txt or .csv with --loop, .ics, .csv or .pdf for the season"
        )
        raise UsageError(message)
    writer(options, open_area(options.area))
    print(out)
    return 0


def write_network(options: argparse.Namespace, document: Document) -> None:
    """Write the whole network as GeoJSON."""
    from loopwright.io.geojson import network_geojson
    from loopwright.io.json_file import write_json

    terrain = pipeline_with_cache().terrain(document)
    settings = document.settings
    value = network_geojson(
        terrain,
        private=settings.private,
        invented=settings.invented,
        attributions=settings.attributions,
    )
    write_json(options.out, value)


def write_loop_geojson(options: argparse.Namespace, document: Document) -> None:
    """Write one loop as GeoJSON."""
    from loopwright.io.geojson import loop_geojson
    from loopwright.io.json_file import write_json

    course = pipeline_with_cache().course(document, named_loop(document, options.loop))
    settings = document.settings
    value = loop_geojson(
        course,
        private=settings.private,
        invented=settings.invented,
        attributions=settings.attributions,
    )
    write_json(options.out, value)


def write_loop_gpx(options: argparse.Namespace, document: Document) -> None:
    """Write one loop as GPX 1.1: track, way points for its features, and a route."""
    from loopwright.io.files import write_out
    from loopwright.io.gpx_write import loop_gpx

    course = pipeline_with_cache().course(document, named_loop(document, options.loop))
    settings = document.settings
    data = loop_gpx(course, private=settings.private, invented=settings.invented)
    write_out(options.out, data)


def write_cues(options: argparse.Namespace, document: Document) -> None:
    """Write the cue sheet of one loop as plain text or CSV."""
    from loopwright.io.cue_sheet import cue_csv, cue_text
    from loopwright.io.files import write_out

    pipeline = pipeline_with_cache()
    course = pipeline.course(document, named_loop(document, options.loop))
    plan, settings = pipeline.plan(document, course), document.settings
    if options.out.suffix.lower() == ".csv":
        words = cue_csv(course, plan=plan, private=settings.private)
    else:
        words = cue_text(course, plan=plan, private=settings.private, invented=settings.invented)
    write_out(options.out, words.encode())


def write_calendar(options: argparse.Namespace, document: Document) -> None:
    """Write the season as an RFC 5545 calendar."""
    from loopwright.io.calendar import season_calendar
    from loopwright.io.files import write_out

    if document.season is None:
        raise _no_season(options.area)
    now = the_moment(options.now)
    write_out(options.out, season_calendar(document.season, name=document.name, now=now))


def write_season_rows(options: argparse.Namespace, document: Document) -> None:
    """Write the season as CSV, one day a row."""
    from loopwright.io.files import write_out
    from loopwright.io.season_rows import season_csv

    if document.season is None:
        raise _no_season(options.area)
    write_out(options.out, season_csv(document.season).encode())


def write_season_pages(options: argparse.Namespace, document: Document) -> None:
    """Write the season to print: A4 pages, a file each (``NAME.pdf``, ``NAME-2.pdf`` ...)."""
    from loopwright.render.pdf import write_pdf
    from loopwright.season import season_pages

    if document.season is None:
        raise _no_season(options.area)
    out: Path = options.out
    settings = document.settings
    pages = season_pages(document.season, name=document.name, invented=settings.invented)
    for number, page in enumerate(pages, start=1):
        name = out if number == 1 else out.with_name(f"{out.stem}-{number}{out.suffix}")
        write_pdf(page, name, now=the_moment(options.now))


def _no_season(area: Path) -> NoAnswerError:
    return NoAnswerError(
        str(area), "no season is planned in this area", "plan one with: loopwright season AREA"
    )
