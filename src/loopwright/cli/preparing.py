"""``loopwright warm``: compile the search ahead of time."""

from __future__ import annotations

import argparse


def run(options: argparse.Namespace) -> int:
    """Compile; the second time there is nothing to do."""
    del options
    from loopwright.warming import warm

    warm()
    return 0
