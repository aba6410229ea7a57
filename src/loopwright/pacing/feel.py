"""Effort in words a rider without a power meter can use: CR-10 and heart rate.

Gets an effort as a ratio to critical power. Gives bands. The bands are common practice, without a
source; the CR-10 scale itself is Borg's (Foster 2001 uses it for whole sessions).
"""

from __future__ import annotations

from bisect import bisect_right

EDGES = (0.40, 0.65, 0.85, 0.97, 1.05, 1.15, 1.30)
CR10 = ((1, 2), (2, 3), (3, 4), (4, 5), (6, 7), (7, 8), (8, 9), (9, 10))
HEART_SHARE = (
    (0.50, 0.60), (0.60, 0.70), (0.70, 0.80), (0.80, 0.87),
    (0.87, 0.92), (0.90, 0.95), (0.92, 0.97), (0.93, 0.98),
)  # fmt: skip
HEART_FROM_S = 60.0
"""Heart rate lags an effort by half a minute and more, so shorter sections get no band (P)."""


def cr10_band(ratio: float) -> tuple[int, int]:
    """CR-10 band of an effort given as a ratio to critical power."""
    return CR10[bisect_right(EDGES, ratio)]


def heart_band(ratio: float, *, most_bpm: float | None, seconds: float) -> tuple[int, int] | None:
    """Heart-rate band in beats a minute; None without a known maximum or on a short section."""
    if not most_bpm or seconds < HEART_FROM_S:
        return None
    low, high = HEART_SHARE[bisect_right(EDGES, ratio)]
    return round(low * most_bpm), round(high * most_bpm)


def assumed_ratio(total_s: float) -> float:
    """Level over critical power an even all-out effort of ``total_s`` allows, when none is known.

    1 + 70 s / t from t = W'/(P - CP) with W'/CP = 70 s (M: 18 kJ over 257 W), and 0.95 from an
    hour on (P).
    """
    return 0.95 if total_s >= 3600 else 1.0 + 70.0 / max(total_s, 60.0)
