"""``loopwright export``: the network, a loop or the season as files other programs read."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright import exports
from loopwright.cli.common import named_loop, open_area, pipeline_with_cache, the_moment
from loopwright.errors import NoAnswerError, UsageError

if TYPE_CHECKING:
    from loopwright.model.document import Document

Writer = Callable[[argparse.Namespace, "Document"], None]


def run(options: argparse.Namespace) -> int:
    """Choose the format by the ending of OUT and whether a loop is named."""
    writers: dict[tuple[str, bool], Writer] = {
        (".geojson", False): write_network,
        (".geojson", True): write_loop,
        (".gpx", True): write_loop,
        (".txt", True): write_loop,
        (".csv", True): write_loop,
        (".ics", False): write_season,
        (".csv", False): write_season,
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
    """Write the whole network."""
    exports.write_network(document, pipeline_with_cache().terrain(document), options.out)


def write_loop(options: argparse.Namespace, document: Document) -> None:
    """Write one loop; only a cue sheet needs a plan."""
    pipeline = pipeline_with_cache()
    course = pipeline.course(document, named_loop(document, options.loop))
    sheet = options.out.suffix.lower() in {".txt", ".csv"}
    plan = pipeline.plan(document, course) if sheet else None
    exports.write_loop(document, course, plan, options.out)


def write_season(options: argparse.Namespace, document: Document) -> None:
    """Write the season as a calendar or as rows."""
    if document.season is None:
        raise _no_season(options.area)
    now = the_moment(options.now)
    exports.write_season(document.season, options.out, name=document.name, now=now)


def write_season_pages(options: argparse.Namespace, document: Document) -> None:
    """Write the season to print: A4 pages, all in one file."""
    from loopwright.render.pdf import write_pdf
    from loopwright.season import season_pages

    if document.season is None:
        raise _no_season(options.area)
    settings = document.settings
    pages = season_pages(document.season, name=document.name, invented=settings.invented)
    write_pdf(pages, options.out, now=the_moment(options.now))


def _no_season(area: Path) -> NoAnswerError:
    return NoAnswerError(
        str(area), "no season is planned in this area", "plan one with: loopwright season AREA"
    )
