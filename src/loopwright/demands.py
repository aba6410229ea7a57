"""What a race asks, as a target mix for loops at home.

Gets a recorded race lap, gives its amounts as targets, and the side-by-side table. Promises: the
race is measured by the same rules as any loop; a lap longer than the window is scaled down openly.
"""

from __future__ import annotations

from loopwright.errors import NoAnswerError
from loopwright.model.document import Document
from loopwright.model.ground import AMOUNT_KINDS, GROUND_PREFIX, Amounts
from loopwright.model.track import Ride
from loopwright.model.wishes import Mix
from loopwright.pipeline import Pipeline

LEFT_OUT = frozenset({"steady_m", f"{GROUND_PREFIX}unknown"})
"""Steady ground is what a race lap leaves over, not what it asks for."""
LEAST_GROUND_M = 50.0
"""Less of a surface than this is a passing patch, not a demand (common practice, no source)."""


def race_amounts(pipeline: Pipeline, document: Document, ride: Ride) -> tuple[Amounts, float]:
    """Measure a race lap: its amounts and its length in metres.

    Raises NoAnswerError when the recording is no lap.
    """
    from loopwright.features.measure import amounts_of

    course = pipeline.race_course(document, ride)
    if course is None:
        raise NoAnswerError(
            ride.track.source,
            "this recording neither repeats a circuit nor ends where it began",
            "give one lap, from the start gate back to it",
        )
    return amounts_of(course), course.length_m


def race_mix(pipeline: Pipeline, document: Document, ride: Ride, *, longest_m: float) -> Mix:
    """Make a target mix of what a race lap asks, for laps up to ``longest_m``."""
    amounts, length_m = race_amounts(pipeline, document, ride)
    scale = min(1.0, longest_m / length_m)
    targets = {
        kind: round(amount * scale, 1)
        for kind, amount in amounts.items()
        if _asked(kind, amount) and round(amount * scale, 1) > 0
    }
    if not targets:
        raise NoAnswerError(
            ride.track.source, "this lap asks for nothing that is measured", "choose a built-in mix"
        )
    return Mix(name=f"race: {ride.track.name or ride.track.source}", targets=targets)


def _asked(kind: str, amount: float) -> bool:
    if kind in LEFT_OUT:
        return False
    if kind.startswith(GROUND_PREFIX):
        return amount >= LEAST_GROUND_M
    return kind in AMOUNT_KINDS
