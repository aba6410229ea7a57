"""What a lap plan rests on, in words that stand near the numbers.

Gets what the plan was made from. Gives one line. Promises: limits are always named.
"""

from __future__ import annotations

from loopwright.model.course import Course
from loopwright.model.rider import RiderFit
from loopwright.pacing.effort import Capacity

LONG_S = 1800.0
LIMITS = (
    "An estimate, not a promise: no wind, no drafting, no tiredness beyond W', dry ground as tagged"
)


def basis_words(
    course: Course, fit: RiderFit | None, capacity: Capacity | None, total_s: float, why: str = ""
) -> str:
    """Say what speeds and effort rest on, what is missing, and the limits.

    ``why`` says why efforts that were entered give no critical power.
    """
    parts = [_rider_words(fit), _effort_words(capacity, total_s, why)]
    if not course.has_heights:
        parts.append("No heights are known, so the ground is taken as level")
    untagged = float((course.surface == 0).mean())
    if untagged > 0.2:
        parts.append(f"{untagged:.0%} of the lap has no ground tag and is taken as average ground")
    parts.append(LIMITS)
    return ". ".join(parts) + "."


def _rider_words(fit: RiderFit | None) -> str:
    if fit is None or not fit.values:
        return "Speeds from general values, not yet fitted to your rides"
    words = "Speeds fitted to your own rides"
    if fit.error_share is not None:
        words += f" (off by {fit.error_share:.1%} on rides left out of the fit)"
    return words


def _effort_words(capacity: Capacity | None, total_s: float, why: str) -> str:
    if capacity is None:
        words = "No critical power known: times and perceived effort only"
        return f"{words} ({why})" if why else words
    words = f"Effort from {capacity.words}; the W' balance is an indication with a wide range"
    if total_s > LONG_S:
        words += "; beyond 30 minutes the critical-power model promises too much"
    return words
