"""Critical power, W' and the even-effort plan.

Gets a rider and laps on the grid. Gives the level of effort. Promises: the plan's W' balance never
falls below the reserve; without critical power there is a level but no power target.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from loopwright.model.rider import Rider
from loopwright.pacing.constants import RESERVE, W_PRIME
from loopwright.pacing.ride import Run

W_KNOWN = 0.15
"""Share by which an entered W' may be off: all-out tests repeat to about that (P)."""
LEAST_W_J = 1000.0
"""Efforts that give a smaller W' were as good as the same power, and tell nothing (P)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Capacity:
    """Critical power in W, W' in J with a range, and where they come from in words."""

    cp_w: float
    w_prime_j: float
    low_j: float
    high_j: float
    words: str


def capacity_of(rider: Rider) -> Capacity | None:
    """Capacity entered, or from two or more all-out efforts, or None.

    Efforts follow P = CP + W'/t (Monod and Scherrer 1965), least squares over all given.
    """
    cp, w_prime = rider.critical_power_w, rider.w_prime_j
    if cp is None and len(rider.all_out_w) >= 2:
        fitted = from_efforts(rider.all_out_w.items())
        if fitted is not None:
            return _capacity(*fitted, "critical power and W' from your all-out efforts")
    if cp is None or cp <= 0:
        return None
    if w_prime is None or w_prime <= 0:
        words = "the critical power you entered and a usual W'"
        return Capacity(
            cp_w=cp, w_prime_j=W_PRIME.value, low_j=W_PRIME.low, high_j=W_PRIME.high, words=words
        )
    return _capacity(cp, w_prime, "the critical power and W' you entered")


def _capacity(cp: float, w_prime: float, words: str) -> Capacity:
    low, high = w_prime * (1 - W_KNOWN), w_prime * (1 + W_KNOWN)
    return Capacity(cp_w=cp, w_prime_j=w_prime, low_j=low, high_j=high, words=words)


def from_efforts(efforts: Iterable[tuple[float, float]]) -> tuple[float, float] | None:
    """CP in W and W' in J from (seconds, mean watts) pairs; None if they make no sense."""
    pairs = [(t, p) for t, p in efforts if t > 0 and p > 0]
    if len({t for t, _ in pairs}) < 2:
        return None
    inverse = np.array([1.0 / t for t, _ in pairs])
    w_prime, cp = np.polyfit(inverse, np.array([p for _, p in pairs]), 1)
    return (float(cp), float(w_prime)) if cp > 0 and w_prime >= LEAST_W_J else None


def why_no_capacity(rider: Rider) -> str:
    """Say why what was entered gives no critical power; empty when it does or nothing was."""
    if rider.critical_power_w is not None:
        return "" if rider.critical_power_w > 0 else "critical power must be above 0 W"
    if not rider.all_out_w or capacity_of(rider) is not None:
        return ""
    if len({t for t, p in rider.all_out_w.items() if t > 0 and p > 0}) < 2:
        return "two all-out efforts of different length are needed, such as 3 and 12 minutes"
    return (
        "these efforts do not fit together: the longer one must be the easier, yet not by so much"
    )


def capacity_words(capacity: Capacity | None) -> str:
    """Say critical power and W', or that neither is known."""
    if capacity is None:
        return "no critical power known: times and perceived effort only"
    low, high = capacity.low_j / 1000, capacity.high_j / 1000
    return (
        f"critical power {capacity.cp_w:.0f} W, W' {capacity.w_prime_j / 1000:.1f} kJ "
        f"(between {low:.0f} and {high:.0f})"
    )


def time_to_exhaustion_s(power_w: float, *, cp_w: float, w_prime_j: float) -> float:
    """Seconds an effort lasts: W'/(P - CP); infinite at or below CP. Holds for 2 to 30 minutes."""
    return w_prime_j / (power_w - cp_w) if power_w > cp_w else float("inf")


def recovery_tau_s(below_cp_w: float) -> float:
    """Time constant of recovery in s, 546 exp(-0.01 D) + 316 (Skiba 2012), D in W below CP."""
    return float(546.0 * np.exp(-0.01 * below_cp_w) + 316.0)


def lowest_balance(first: Run, flying: Run, laps: int, capacity: Capacity) -> float:
    """Lowest W' balance in J over the laps, differential form."""
    from loopwright.pacing.kernels import balance_low

    low, now = balance_low(
        first.power_w, first.time_s, capacity.cp_w, capacity.w_prime_j, capacity.w_prime_j
    )
    for _ in range(laps - 1):
        dip, now = balance_low(
            flying.power_w, flying.time_s, capacity.cp_w, capacity.w_prime_j, now
        )
        low = min(low, dip)
    return float(low)


def lowest_integral(first: Run, flying: Run, laps: int, capacity: Capacity) -> float:
    """Lowest W' balance in J over the laps, integral form (Skiba 2012); may be below zero."""
    from loopwright.pacing.kernels import spent_high

    easy = flying.power_w[flying.power_w < capacity.cp_w]
    tau = recovery_tau_s(capacity.cp_w - float(easy.mean()) if len(easy) else 0.0)
    high, now = spent_high(first.power_w, first.time_s, capacity.cp_w, tau, 0.0)
    for _ in range(laps - 1):
        top, now = spent_high(flying.power_w, flying.time_s, capacity.cp_w, tau, now)
        high = max(high, top)
    return capacity.w_prime_j - float(high)


def best_level(
    rides: Callable[[float], tuple[Run, Run]], capacity: Capacity, laps: int
) -> tuple[float, tuple[float, float]]:
    """Highest even level in W whose balance keeps the reserve, and the range of the low point.

    ``rides`` gives first and flying lap for a level. The range spans both forms of the balance
    and the range of W'.
    """
    low, high = 0.3 * capacity.cp_w, 3.0 * capacity.cp_w
    for _ in range(22):
        level = (low + high) / 2
        spare = lowest_balance(*rides(level), laps, capacity) - RESERVE * capacity.w_prime_j
        low, high = (level, high) if spare >= 0 else (low, level)
    first, flying = rides(low)
    ends = [form(first, flying, laps, capacity) for form in (lowest_balance, lowest_integral)]
    worst = min(ends) - (capacity.w_prime_j - capacity.low_j)
    return low, (worst, max(ends) + capacity.high_j - capacity.w_prime_j)
