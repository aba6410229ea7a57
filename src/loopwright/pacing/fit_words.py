"""What a fit rests on, in words.

Gets what was fitted. Gives one line. Promises: says when there is too little to go by.
"""

from __future__ import annotations

from collections.abc import Mapping

from loopwright.model.rider import FitValue


def too_little(metres: float) -> str:
    """Say that the rides do not suffice."""
    return (
        f"Only {metres / 1000:.1f} km of trail was ridden with times, too little to know this "
        "rider: general values stand."
    )


def fitted_words(
    values: Mapping[str, FitValue], *, metres: float, rides: int, error: float | None
) -> str:
    """Say how much was ridden, how far off a left-out ride was, and what stays a guess."""
    parts = [f"Fitted to {metres / 1000:.1f} km of trail in {_rides(rides)}"]
    if error is None:
        parts.append("too few rides to tell how far off a new one would be")
    else:
        parts.append(f"a ride left out was off by {error:.1%} on average")
    guessed = sorted(
        key.partition(":")[2]
        for key, value in values.items()
        if key.startswith("grip:") and 0 < value.observations < 10
    )
    if guessed:
        parts.append(f"little ridden so far: {', '.join(guessed)}")
    return "; ".join(parts) + "."


def _rides(count: int) -> str:
    return "1 ride" if count == 1 else f"{count} rides"
