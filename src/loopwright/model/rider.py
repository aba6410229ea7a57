"""The rider and the lap plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from loopwright.model.arrays import Floats, floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Rider:
    """What the rider entered; None where nothing was. Masses in kg, power in W, W' in J.

    ``all_out_w`` maps seconds to mean watts of an all-out effort (two give CP and W').
    ``wheel_m`` is the rolling circumference; teeth counts from small to large.
    """

    name: str = ""
    mass_kg: float = 75.0
    bike_kg: float = 11.5
    critical_power_w: float | None = None
    w_prime_j: float | None = None
    all_out_w: Mapping[float, float] = field(default_factory=dict)
    wheel_m: float = 2.31
    chainrings: tuple[int, ...] = (32,)
    sprockets: tuple[int, ...] = (10, 12, 14, 16, 18, 21, 24, 28, 33, 39, 45, 51)
    max_heart_rate_bpm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FitValue:
    """A fitted value with its 90 % interval and how many observations stand behind it."""

    value: float
    low: float
    high: float
    observations: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RiderFit:
    """What the rider's own rides say; keys are documented in docs/pacing.md.

    ``error_share`` is the leave-one-ride-out mean absolute lap or ride time error as a ratio, None
    when too few rides. ``spread_keys`` and ``spread_rows`` are the covariance of the logarithms of
    those values (how they move together); empty when nothing was fitted. ``trails`` gives for each
    arc ridden, named by stretch and way, the ratio of time of each of its even parts as ridden.
    """

    values: Mapping[str, FitValue]
    error_share: float | None
    words: str
    spread_keys: tuple[str, ...] = ()
    spread_rows: tuple[tuple[float, ...], ...] = ()
    trails: Mapping[str, tuple[FitValue, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitTarget:
    """A target for lap metres ``from_m`` to ``to_m``; names match the card's features.

    ``number`` is the course feature's number, 0 for the ground between features. None means not
    applicable. ``standing_s`` is the time over a straight sprinted from a standing start,
    ``sprint_mps`` the speed at its end, ``sprint_power_w`` the power of that sprint.
    """

    number: int
    name: str
    from_m: float
    to_m: float
    time_s: float
    low_s: float
    high_s: float
    power_w: float | None = None
    effort_cr10: tuple[int, int] | None = None
    heart_rate_bpm: tuple[int, int] | None = None
    cadence_rpm: float | None = None
    gear: str = ""
    torque_nm: float | None = None
    entry_mps: float | None = None
    lowest_mps: float | None = None
    exit_mps: float | None = None
    look_ahead_m: float | None = None
    standing_s: float | None = None
    sprint_mps: float | None = None
    sprint_power_w: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LapPlan:
    """Predicted flying lap. ``dist_m``, ``speed_mps``, ``time_s`` are ``(n,)`` along the lap.

    ``low_s`` and ``high_s`` bound the lap time (90 %). ``first_lap_s`` is the lap from standing.
    ``basis`` says in words what the estimate rests on.
    """

    lap_time_s: float
    low_s: float
    high_s: float
    first_lap_s: float
    laps: int
    dist_m: Floats
    speed_mps: Floats
    time_s: Floats
    power_w: Floats
    splits: tuple[SplitTarget, ...]
    basis: str
    w_balance_low_j: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        """Check shapes and lock the arrays."""
        rows = len(self.dist_m)
        for key in ("dist_m", "speed_mps", "time_s", "power_w"):
            object.__setattr__(self, key, floats(getattr(self, key), rows=rows))
