"""``loopwright check``: integrity, what no longer fits, what is untagged."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright.cli.common import Progress, open_area, pipeline_with_cache
from loopwright.errors import NoAnswerError

if TYPE_CHECKING:
    from loopwright.model.document import Document
    from loopwright.model.ground import Terrain
    from loopwright.pipeline import Pipeline


def run(options: argparse.Namespace) -> int:
    """Open the area (which verifies every checksum), build it, and list what to look at."""
    document = open_area(options.area)
    pipeline, progress = pipeline_with_cache(), Progress()
    terrain = pipeline.terrain(document, progress)
    progress.done()
    print(f"{options.area}: all checksums agree, {len(document.rides)} rides")
    for words in (*unfit(pipeline, document, terrain), untagged(terrain)):
        print(words)
    return 0


def unfit(pipeline: Pipeline, document: Document, terrain: Terrain) -> list[str]:
    """List corrections, tags and loops that no longer find their place."""
    words = [
        f"no longer fits: {c.kind.value} at {c.line[0, 1]:.5f},{c.line[0, 0]:.5f}"
        for c in terrain.network.unfit
    ]
    words += [
        f"no longer fits: tag at {t.line[0, 1]:.5f},{t.line[0, 0]:.5f}" for t in terrain.unfit
    ]
    height_file = document.settings.height_file
    if height_file and not Path(height_file).exists():
        words.append(f"no longer there: height file {height_file}")
    for loop in (*document.kept, *document.found):
        try:
            pipeline.arcs(document, loop)
        except NoAnswerError:
            words.append(f"no longer fits: {loop.name}")
    return words or ["everything finds its place"]


def untagged(terrain: Terrain) -> str:
    """Say how much of the trail has no word about its ground."""
    total = sum(terrain.lengths_m.values())
    bare = sum(
        span.to_m - span.from_m
        for spans in terrain.spans.values()
        for span in spans
        if span.surface == "unknown"
    )
    return f"{bare / 1000:.1f} of {total / 1000:.1f} km have no word about the ground"
