"""Compile what is compiled, ahead of time: ``loopwright warm``, or in the background at import.

Gets nothing; leaves compiled code in numba's cache. Promises: the second time costs a second or
two; a process of its own, so that nobody waits and closing the first one does not stop it.
"""

from __future__ import annotations

import hashlib
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import loopwright

ROOMS = ("loops", "pacing")


def warm() -> None:
    """Compile the search and the pacing, then leave a stamp that says so."""
    from loopwright.loops.warm import warm_up

    warm_up()
    _plan_a_ring()
    with suppress(OSError):
        stamp().parent.mkdir(parents=True, exist_ok=True)
        stamp().touch()


def warm_beside() -> None:
    """Start ``warm`` in a process of its own, unless the stamp says it was done."""
    if stamp().exists():
        return
    frozen = bool(getattr(sys, "frozen", False))
    words = [sys.executable, "warm"] if frozen else [sys.executable, "-m", "loopwright", "warm"]
    quiet = subprocess.DEVNULL
    with suppress(OSError):
        child = subprocess.Popen(  # noqa: S603 - our own program, no words from outside
            words, stdin=quiet, stdout=quiet, stderr=quiet, start_new_session=True
        )
        # It is meant to outlive us: nobody waits for it, and Python need not warn of that.
        child.returncode = 0


def stamp() -> Path:
    """Where the stamp lies; another version of the compiled rooms has another."""
    from platformdirs import user_cache_path

    here = Path(loopwright.__file__).parent
    mark = hashlib.sha256(f"{sys.executable} {here}".encode())
    for room in ROOMS:
        for path in sorted((here / room).glob("*.py")):
            mark.update(path.read_bytes())
    return user_cache_path("loopwright", appauthor=False) / f"warm-{mark.hexdigest()[:16]}"


def _plan_a_ring() -> None:
    """Pace a made-up ring, which compiles the kernels of pacing."""
    import numpy as np

    from loopwright.features import assess, unroll
    from loopwright.model.frame import Origin
    from loopwright.model.ids import Way
    from loopwright.model.rider import Rider
    from loopwright.pacing import arc_seconds, plan_lap
    from loopwright.race import ring_network

    turn = np.linspace(0.0, 2 * np.pi, 80)
    line = np.column_stack((90 * np.cos(turn), 60 * np.sin(turn), 5 * np.sin(turn)))
    network = ring_network(line, Origin(lat=0.0, lon=0.0))
    if network is not None:
        terrain = assess(network)
        course = unroll(terrain, [(network.stretches[0].id, Way.FORWARD)], name="ring")
        plan_lap(course, Rider())
        arc_seconds(terrain, Rider())
