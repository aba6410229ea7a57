"""What the actions of the Laps place do beyond the place itself.

Gets a window; gives its doings. Promises: the ride gone through is the one the laps are of.
"""

from __future__ import annotations

from collections.abc import Callable

from loopwright.app.window import Window
from loopwright.app.words import say


def doings(window: Window) -> dict[str, Callable[[], object]]:
    """Say what the actions do."""
    return {"tag_this_ride": lambda: tag_this_ride(window)}


def tag_this_ride(window: Window) -> None:
    """Go through the ride chosen in the Laps place, stretch by stretch."""
    ride = window.laps.ride()
    if ride is None:
        window.desk.warn(say("Choose a ride in Laps first"))
        return
    window.go("ground")
    window.ground.begin_ride(ride)
