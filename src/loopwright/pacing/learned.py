"""What is left once the model is fitted: the usual pace, good days, trails that take their time.

Gets observed sections and the model's times for them. Gives ratios of time: of all riding, of each
piece of trail, and how days and single rides of a section spread. Promises: a section that fits no
rider counts for no more than three standard deviations.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.model.rider import FitValue
from loopwright.pacing.belief import ratio
from loopwright.pacing.kinds import KINDS, Rates, rates_of
from loopwright.pacing.observed import Observed
from loopwright.pacing.trails import Mask, Trails, foretold_without, shares_of, trails_of

SECTIONS_OF_RIDE = 10
RIDES_FOR_DAY = 3
OUTLIER = 3.0
PACE_SPREAD = 0.012
LEAST_DAY = 0.01
LEAST_SPLIT = 0.03
NORMAL_MAD = 1.4826


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """Logarithms of ratios of time: ``pace`` of all riding, ``day`` ``(rides,)`` of each ride.

    ``shares`` ``(n, 4)`` and ``rates`` tell of kinds of ground; ``left`` ``(n,)`` is what remains
    of each section, outliers held back.
    """

    seen: Observed
    trust: Floats
    pace: float
    shares: Floats
    rates: Rates
    day: Floats
    left: Floats
    trails: Trails

    def without(self, mask: Mask) -> Floats:
        """Logarithms of ratios for the sections in ``mask``, from all the others."""
        rest = ~mask
        held = self.left + self.shares @ self.rates.value
        rates = rates_of(self.shares[rest], held[rest], self.trust[rest]).value
        held = held - self.shares @ rates
        usual = float(np.average(held[rest], weights=self.seen.time_s[rest]))
        on_trail = held - usual
        usual += self.pace
        return (
            usual
            + self.shares[mask] @ rates
            + foretold_without(self.trails, on_trail, self.trust, mask)
        )


def rides_that_count(seen: Observed) -> list[Mask]:
    """Sections of each ride that is long enough to be judged as a ride."""
    masks = [seen.ride == ride for ride in range(seen.rides)]
    return [mask for mask in masks if mask.sum() >= SECTIONS_OF_RIDE]


def learn(seen: Observed, miss: Floats, trust: Floats, shares: Floats) -> Learned:
    """Part ``miss``, the log of time ridden over time foretold ``(n,)``, into its causes.

    ``shares`` ``(n, 4)`` are the shares of each section's time on each kind of ground.
    """
    middle = float(np.median(miss))
    spread = NORMAL_MAD * float(np.median(np.abs(miss - middle)))
    held = np.clip(miss, middle - OUTLIER * spread, middle + OUTLIER * spread)
    foretold = seen.time_s / np.exp(miss)
    rates = rates_of(shares, held, trust)
    held = held - shares @ rates.value
    foretold = foretold * np.exp(shares @ rates.value)
    pace = float(np.log((foretold * np.exp(held)).sum() / foretold.sum()))
    day = _days(seen, held - pace)
    left = held - pace - day[seen.ride]
    left -= float(np.average(left, weights=seen.time_s))
    parts = shares_of(seen.part, seen.begin, seen.end)
    return Learned(
        seen=seen, trust=trust, pace=pace, shares=shares, rates=rates, day=day, left=left,
        trails=trails_of(parts, left, trust),
    )  # fmt: skip


def _days(seen: Observed, miss: Floats) -> Floats:
    """Mean of each ride that is long enough to have one, by time taken; 0 for the others."""
    day = np.zeros(seen.rides)
    for mask in rides_that_count(seen):
        day[seen.ride[mask][0]] = np.average(miss[mask], weights=seen.time_s[mask])
    return day


def spreads(learned: Learned) -> Mapping[str, FitValue]:
    """Give the ratios ``pace``, ``trail``, ``split`` and, from enough rides, ``day``."""
    seen, trails = learned.seen, learned.trails
    noise = float(np.median((seen.error_s / seen.time_s) ** 2))
    split = float(np.sqrt(max(trails.noise**2 - noise, LEAST_SPLIT**2)))
    table = {
        "split": ratio(0.0, split, len(learned.left)),
        "pace": ratio(learned.pace, PACE_SPREAD, seen.rides),
        "trail": ratio(0.0, trails.spread, len(trails.effect)),
    }
    for k, key in enumerate(KINDS):
        met = int((learned.shares[:, k] > 0).sum())
        table[key] = ratio(float(learned.rates.value[k]), float(learned.rates.sd[k]), met)
    masks = rides_that_count(seen)
    if len(masks) < RIDES_FOR_DAY:
        return table
    day = np.array([learned.day[seen.ride[mask][0]] for mask in masks])
    by_chance = float(np.mean([(trails.noise**2 + trails.spread**2) / m.sum() for m in masks]))
    sd = np.sqrt(max(float(np.mean(day**2)) - by_chance, LEAST_DAY**2) * (1.0 + 2.0 / len(day)))
    return table | {"day": ratio(0.0, float(sd), len(day))}
