"""``loopwright rider``: who rides, and what the area's own rides say of them."""

from __future__ import annotations

import argparse
import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from loopwright.cli.common import Progress, open_area, pipeline_with_cache, table
from loopwright.edits import set_rider
from loopwright.errors import UsageError

if TYPE_CHECKING:
    from loopwright.model.rider import Rider, RiderFit

BOUNDS = {
    "mass": ("mass_kg", 20.0, 250.0, 1.0),
    "bike": ("bike_kg", 3.0, 60.0, 1.0),
    "power": ("critical_power_w", 30.0, 700.0, 1.0),
    "reserve": ("w_prime_j", 1.0, 100.0, 1000.0),
    "heart": ("max_heart_rate_bpm", 80.0, 250.0, 1.0),
    "wheel": ("wheel_m", 0.8, 3.0, 1.0),
}
"""Option, field, least and most of what a person may enter, and the size of its unit."""
_UNITS = {"power_w": "power on the flat, W", "walk_mps": "walking speed, m/s"}
TEETH = {"chainrings": "chainrings", "sprockets": "sprockets"}


def run(options: argparse.Namespace) -> int:
    """Change the rider if anything was said, then print what is known."""
    from loopwright.io.area_file import AreaLock, save_area

    changes = changes_of(options)
    document, pipeline = open_area(options.area), pipeline_with_cache()
    if changes:
        with AreaLock(options.area):
            document = open_area(options.area)
            rider = replace(document.rider, **changes)
            refuse_efforts(rider)
            document = set_rider(document, rider)
            save_area(document, options.area)
    progress = Progress()
    fit = pipeline.fit(document, progress)
    progress.done()
    if options.json:
        from loopwright.io.json_file import write_json
        from loopwright.io.plan_json import rider_json

        write_json(options.json, rider_json(document.rider, fit))
    if options.json != "-":
        print(described(document.rider, fit))
    return 0


def changes_of(options: argparse.Namespace) -> dict[str, Any]:
    """Fields to change, checked; raises UsageError in one sentence."""
    changes: dict[str, Any] = {}
    for option, (field, least, most, unit) in BOUNDS.items():
        value = getattr(options, option)
        if value is None:
            continue
        if not least <= value <= most:
            message = f"--{option}: {value:g} is not between {least:g} and {most:g}"
            raise UsageError(message)
        changes[field] = value * unit
    if options.all_out:
        changes["all_out_w"] = dict(effort(one) for one in options.all_out)
        changes.setdefault("critical_power_w", None)
    for option, field in TEETH.items():
        if getattr(options, option) is not None:
            changes[field] = teeth(option, getattr(options, option))
    if options.forget_power:
        changes |= {"critical_power_w": None, "w_prime_j": None, "all_out_w": {}}
    return changes


def effort(text: str) -> tuple[float, float]:
    """Read an all-out effort such as ``180:330``, seconds and mean watts."""
    try:
        seconds, watts = (float(part) for part in text.split(":"))
    except ValueError:
        seconds, watts = math.nan, math.nan
    if not (30 <= seconds <= 7200 and 30 <= watts <= 2000):
        message = f"--all-out: {text!r} is no effort; write seconds and mean watts as 180:330"
        raise UsageError(message)
    return seconds, watts


def teeth(option: str, text: str) -> tuple[int, ...]:
    """Read teeth counts such as ``10,12,14``."""
    parts = text.replace(",", " ").split()
    if not parts or not all(one.isdecimal() and 8 <= int(one) <= 70 for one in parts):
        message = f"--{option}: {text!r} are no teeth; write them as 10,12,14"
        raise UsageError(message)
    return tuple(sorted({int(one) for one in parts}))


def refuse_efforts(rider: Rider) -> None:
    """Refuse all-out efforts that do not fit together."""
    from loopwright.pacing.effort import why_no_capacity

    why = why_no_capacity(rider)
    if why:
        message = f"--all-out: {why}"
        raise UsageError(message)


def described(rider: Rider, fit: RiderFit) -> str:
    """Say what was entered, what follows for the effort, and what the rides say."""
    from loopwright.pacing.effort import capacity_of, capacity_words

    heart = rider.max_heart_rate_bpm
    rows = [
        ["rider", f"{rider.mass_kg:g} kg"],
        ["bike", f"{rider.bike_kg:g} kg"],
        ["wheel", f"{rider.wheel_m:g} m round"],
        ["gears", f"{_joined(rider.chainrings)} by {_joined(rider.sprockets)} teeth"],
        ["effort", capacity_words(capacity_of(rider))],
        ["most beats", "not known" if heart is None else f"{heart:g} a minute"],
    ]
    parts = [table(rows, left=frozenset({0, 1})), fit.words]
    if fit.values:
        rows = [["fitted", "value", "90 % between", "", "seen"], *fit_rows(fit)]
        parts.append(table(rows, left=frozenset({0})))
    return "\n".join(parts)


def fit_rows(fit: RiderFit) -> list[list[str]]:
    """Values seen often enough to say something, each with its interval."""
    return [
        [_plain(key), *(f"{v:.3g}" for v in (one.value, one.low, one.high)), str(one.observations)]
        for key, one in sorted(fit.values.items())
        if one.observations
    ]


def _plain(key: str) -> str:
    """Name a fitted value for a reader; docs/pacing.md says what each is."""
    return _UNITS.get(key, key.replace("comfort:", "speed kept (m/s):")).replace("_", " ")


def _joined(counts: tuple[int, ...]) -> str:
    return " ".join(str(one) for one in counts)
