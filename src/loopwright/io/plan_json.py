"""A lap plan as JSON (``pace --json``) and a rider with the fit (``rider --json``).

Gets a plan, a rider, a fit; gives plain JSON values in the published shape (docs/formats.md).
Promises: what is not known is null.
"""

from __future__ import annotations

from collections.abc import Mapping

from loopwright.io.codec.rider import put_rider
from loopwright.io.json_file import metres
from loopwright.model.rider import LapPlan, Rider, RiderFit, SplitTarget

Value = dict[str, object]


def plan_json(plan: LapPlan, *, loop: str, costs: Mapping[str, float]) -> Value:
    """Return the plan; ``costs`` are kilograms and seconds of the what-if, by name."""
    return {
        "schema": 1,
        "loop": loop,
        "laps": plan.laps,
        "lap_time_s": metres(plan.lap_time_s),
        "low_s": metres(plan.low_s),
        "high_s": metres(plan.high_s),
        "first_lap_s": metres(plan.first_lap_s),
        "w_balance_low_j": plan.w_balance_low_j and [metres(one) for one in plan.w_balance_low_j],
        "what_if": {name: metres(value) for name, value in costs.items()},
        "basis": plan.basis,
        "splits": [_split(one) for one in plan.splits],
    }


def _split(one: SplitTarget) -> Value:
    numbers = (
        "from_m", "to_m", "time_s", "low_s", "high_s", "power_w", "cadence_rpm", "torque_nm",
        "entry_mps", "lowest_mps", "exit_mps", "look_ahead_m", "standing_s", "sprint_mps",
        "sprint_power_w",
    )  # fmt: skip
    value: Value = {"number": one.number, "name": one.name}
    value |= {name: metres(getattr(one, name)) for name in numbers}
    return value | {
        "gear": one.gear,
        "effort_cr10": one.effort_cr10 and list(one.effort_cr10),
        "heart_rate_bpm": one.heart_rate_bpm and list(one.heart_rate_bpm),
    }


def rider_json(rider: Rider, fit: RiderFit) -> Value:
    """Return the rider as entered and what the rides say."""
    return {
        "schema": 1,
        "rider": put_rider(rider),
        "fit": {
            "words": fit.words,
            "error_share": metres(fit.error_share),
            "values": {
                key: {
                    "value": one.value, "low": one.low, "high": one.high,
                    "observations": one.observations,
                }
                for key, one in sorted(fit.values.items())
            },
        },
    }  # fmt: skip
