"""A pipeline that keeps built networks in the user's cache folder.

Gets nothing; gives a pipeline. Promises: what an older program built is never used: the key holds
a digest of the code that builds.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from platformdirs import user_cache_path

import loopwright
from loopwright.io.built_cache import BuiltCache
from loopwright.jobs import Runner, run_here
from loopwright.pipeline import Pipeline

BUILDERS = ("clean", "network", "geo", "features", "pacing")
"""Rooms whose code decides what is built."""


def cached_pipeline(*, run: Runner = run_here) -> Pipeline:
    """Make a pipeline whose networks outlive the program; ``run`` as for the pipeline."""
    mark = hashlib.sha256()
    for room in BUILDERS:
        for path in sorted((Path(loopwright.__file__).parent / room).glob("*.py")):
            mark.update(path.read_bytes())
    folder = user_cache_path("loopwright", appauthor=False) / "built"
    return Pipeline(BuiltCache(folder, mark.hexdigest()), run=run)
