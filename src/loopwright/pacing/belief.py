"""What is believed of a rider: a value and a 90 % interval for every parameter of the model.

Gets a rider and, when there is one, the fit to the rider's own rides. Gives one mapping with every
key of docs/pacing.md, and settings (plain numbers) drawn from it. Promises: the same inputs give
the same draws.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.model.ground import ROUGHNESSES, SURFACES
from loopwright.model.rider import FitValue, Rider, RiderFit
from loopwright.pacing.constants import COMFORT, GRIP, ROLLING, SINGLE, Prior

Z90 = 1.6448536
"""Standard normal quantile of 95 %: a 90 % interval is the middle times exp(+-Z90 s)."""
WORDY = ("grip", "rolling", "comfort")
FAMILIES = (
    "power_w", *WORDY, "cda_m2", "efficiency", "uphill_gain", "thrust", "walk_mps", "steep_slows",
    "brake_share", "pace", "bends", "uphill", "downhill", "meetings",
)  # fmt: skip
"""Parameters of one family move together in a draw: a bold rider is bold on every ground."""
DRAWS = 48


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """Plain numbers for one run of the model; arrays run over SURFACES or ROUGHNESSES."""

    grip: Floats
    rolling: Floats
    comfort: Floats
    cda_m2: float
    efficiency: float
    power_w: float
    uphill_gain: float
    thrust: float
    walk_mps: float
    steep_slows: float
    brake_share: float
    pace: float
    bends: float
    uphill: float
    downhill: float
    meetings: float


Belief = Mapping[str, FitValue]


def belief_of(rider: Rider, fit: RiderFit | None = None) -> Belief:
    """Priors for every key, replaced by the fit's value where it has one."""
    table: dict[str, FitValue] = {}
    for family, priors in (("grip", GRIP), ("rolling", ROLLING), ("comfort", COMFORT)):
        table |= {f"{family}:{word}": _value(prior) for word, prior in priors.items()}
    table |= {key: _value(prior) for key, prior in SINGLE.items() if key != "power_per_kg"}
    table["power_w"] = _value(SINGLE["power_per_kg"], times=rider.mass_kg)
    return table | dict(fit.values if fit else {})


def _value(prior: Prior, *, times: float = 1.0) -> FitValue:
    return FitValue(
        value=prior.value * times, low=prior.low * times, high=prior.high * times, observations=0
    )


def spread(value: FitValue) -> float:
    """Log-normal standard deviation of a value: ln(high / low) / (2 Z90)."""
    return float(np.log(value.high / value.low) / (2 * Z90))


def ratio(middle: float, sd: float, count: int) -> FitValue:
    """Give a ratio from the mean and standard deviation of its logarithm."""
    at, factor = float(np.exp(middle)), float(np.exp(Z90 * sd))
    return FitValue(value=at, low=at / factor, high=at * factor, observations=count)


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """How fitted values move together: a factor ``(k, m)`` of their log covariance."""

    keys: tuple[str, ...] = ()
    factor: Floats


def joint_of(fit: RiderFit | None) -> Joint:
    """Factor of the fit's covariance, without the directions that carry nothing."""
    if fit is None or not fit.spread_keys:
        return Joint(factor=np.zeros((0, 0)))
    size, turn = np.linalg.eigh(np.array(fit.spread_rows))
    keep = size > 1e-10 * max(float(size.max()), 1e-300)
    return Joint(keys=fit.spread_keys, factor=turn[:, keep] * np.sqrt(size[keep]))


def setting_of(belief: Belief, moved: Mapping[str, float]) -> Setting:
    """Give the setting with logarithms ``moved`` by key; a family name moves all its words."""

    def at(key: str) -> float:
        family = key.split(":", maxsplit=1)[0]
        return belief[key].value * float(np.exp(moved.get(key, moved.get(family, 0.0))))

    return Setting(
        grip=np.array([at(f"grip:{word}") for word in SURFACES]),
        rolling=np.array([at(f"rolling:{word}") for word in SURFACES]),
        comfort=np.array([at(f"comfort:{word}") for word in ROUGHNESSES]),
        cda_m2=at("cda_m2"),
        efficiency=at("efficiency"),
        power_w=at("power_w"),
        uphill_gain=at("uphill_gain"),
        thrust=at("thrust"),
        walk_mps=at("walk_mps"),
        steep_slows=at("steep_slows"),
        brake_share=at("brake_share"),
        pace=at("pace"),
        bends=at("bends"),
        uphill=at("uphill"),
        downhill=at("downhill"),
        meetings=at("meetings"),
    )


def middle(belief: Belief) -> Setting:
    """Give the setting with every parameter at its value."""
    return setting_of(belief, {})


def draws(
    belief: Belief, joint: Joint, *, count: int = DRAWS, power_spread: float | None = None
) -> list[Setting]:
    """Spread settings over the belief, from a fixed seed.

    Fitted values move together as the fit says; the rest by families, independent of each other.
    ``power_spread`` replaces the spread of the effort: where critical power was entered, the
    level is known better than the prior says.
    """
    families = [key for key in FAMILIES if key not in {k.split(":")[0] for k in joint.keys}]
    rank = joint.factor.shape[1]
    half = np.random.default_rng(20).standard_normal((count // 2, len(families) + rank))
    out = []
    for row in np.vstack((half, -half)):
        shifts = row[: len(families)] * [spread(belief[_typical(key)]) for key in families]
        moved = dict(zip(families, shifts.tolist(), strict=True))
        moved |= dict(zip(joint.keys, (joint.factor @ row[len(families) :]).tolist(), strict=True))
        if power_spread is not None:
            moved["power_w"] = power_spread * float(row[0])
        out.append(setting_of(belief, moved))
    return out


def _typical(family: str) -> str:
    """Key whose spread stands for a family."""
    return f"{family}:unknown" if family in WORDY else family
