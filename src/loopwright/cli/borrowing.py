"""``loopwright extract``: ground words and unridden trails from a local OpenStreetMap extract."""

from __future__ import annotations

import argparse

from loopwright.cli.common import open_area, pipeline_with_cache
from loopwright.errors import UsageError


def run(options: argparse.Namespace) -> int:
    """Take over what was asked for, build once, and say what came of it."""
    if not (options.words or options.trails):
        message = "loopwright extract: ask for --words, --trails or both"
        raise UsageError(message)
    from loopwright.borrow import box_of, on_network, with_trails, with_words
    from loopwright.card.words import plural
    from loopwright.io.area_file import AreaLock, save_area
    from loopwright.io.osm import read_osm

    with AreaLock(options.area):
        document = open_area(options.area)
        extract = read_osm(options.file, within=box_of(document))
        pipeline = pipeline_with_cache()
        if options.trails:
            document = with_trails(document, extract)
        if options.words:
            document = with_words(document, on_network(extract, pipeline.network(document)))
        terrain = pipeline.terrain(document)
        save_area(document, options.area)
    unridden = sum(s.unridden for s in terrain.network.stretches)
    print(
        f"{options.area}: {plural(len(extract.lines), 'way')} read; "
        f"{plural(unridden, 'stretch')} not ridden yet; "
        f"{extract.attribution}"
    )
    return 0
