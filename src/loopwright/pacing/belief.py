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
FAMILIES = ("grip", "rolling", "comfort", "cda_m2", "efficiency", "power_w", "pace")
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
    pace: float


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


def middle(belief: Belief) -> Setting:
    """Give the setting with every parameter at its value."""
    return drawn(belief, dict.fromkeys(FAMILIES, 0.0))


def drawn(belief: Belief, z: Mapping[str, float]) -> Setting:
    """Give the setting with each family ``z`` standard deviations from its value."""

    def at(key: str) -> float:
        value = belief[key]
        return value.value * float(np.exp(spread(value) * z[key.split(":", maxsplit=1)[0]]))

    return Setting(
        grip=np.array([at(f"grip:{word}") for word in SURFACES]),
        rolling=np.array([at(f"rolling:{word}") for word in SURFACES]),
        comfort=np.array([at(f"comfort:{word}") for word in ROUGHNESSES]),
        cda_m2=at("cda_m2"),
        efficiency=at("efficiency"),
        power_w=at("power_w"),
        pace=at("pace"),
    )


def draws(
    belief: Belief, *, count: int = DRAWS, power_spread: float | None = None
) -> list[Setting]:
    """Spread settings over the belief, from a fixed seed, families independent.

    ``power_spread`` replaces the log-normal spread of the effort: where critical power was
    entered, the level is known better than the prior says.
    """
    normal = np.random.default_rng(20).standard_normal((count // 2, len(FAMILIES)))
    table = np.vstack((normal, -normal))
    if power_spread is not None:
        table[:, FAMILIES.index("power_w")] *= power_spread / spread(belief["power_w"])
    return [drawn(belief, dict(zip(FAMILIES, row, strict=True))) for row in table.tolist()]
