"""Target mixes to start from, one for each kind of session the trade knows.

Gives mixes for a lap of 5 km, and scales any mix to another lap length or to what the ground can
offer. Promises: every number below says where it comes from.

What a race asks, from power and position studies of cross-country races: a surge every 32 s and
one above maximal aerobic power every 106 s, 76 rpm uphill and 55 down (Macdermid and Stannard
2012); a quarter of the time nearly coasting (Granier 2018); 40 % of the time above critical power
in bouts of about 8 s (Naess 2021, doi 10.3389/fphys.2021.702415). At 5 m/s, our assumption, a lap
of 5 km lasts 1000 s: 31 surges, 9 of them supra-maximal, 1250 m nearly coasting. Every other
number is common practice, no source: a first wish to change, not a finding.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.errors import NoAnswerError
from loopwright.model.wishes import Mix

MADE_FOR_M = 5000.0
LAP_S = 1000.0
SURGES = float(int(LAP_S / 32))
HARD_SURGES = float(int(LAP_S / 106))
COASTING_M = MADE_FOR_M / 4
SCALE_KEEPS = 0.9
"""Share of the most on offer that a scaled target asks for: all of one kind costs the others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortfall:
    """A target that no loop in the window can meet, and the most that one can offer."""

    kind: str
    target: float
    most: float


def built_in_mixes() -> tuple[Mix, ...]:
    """Give the mixes that come with the program, targets for a 5 km lap."""
    return (
        Mix(
            name="race simulation",
            targets={
                "climb_gain_m": 150.0, "steep_gain_m": 40.0, "corners": SURGES,
                "tight_corners": HARD_SURGES, "descent_m": COASTING_M, "rough_descent_m": 400.0,
                "straights": 2.0,
            },
            weights={"climb_gain_m": 3.0, "rough_descent_m": 2.0},
        ),
        Mix(
            name="cornering",
            targets={"corners": 40.0, "tight_corners": 12.0, "descent_m": COASTING_M},
            weights={"corners": 2.0, "tight_corners": 2.0},
        ),
        Mix(
            name="climbing torque",
            targets={"steep_gain_m": 80.0, "climb_gain_m": 170.0},
            weights={"steep_gain_m": 2.0},
        ),
        Mix(
            name="standing starts",
            targets={"straights": 4.0, "funnels": 2.0, "climb_gain_m": 50.0},
            weights={"straights": 3.0, "funnels": 2.0},
        ),
        Mix(
            name="sprints from corners",
            targets={"tight_corners": HARD_SURGES, "straights": 5.0, "corners": 20.0},
            weights={"tight_corners": 2.0, "straights": 2.0},
        ),
        Mix(
            name="steady efforts",
            targets={"steady_m": 3000.0, "smooth_m": 3500.0},
            weights={"steady_m": 3.0},
        ),
        Mix(name="easy spin", targets={"easy_m": 3500.0, "smooth_m": 3500.0}),
        Mix(
            name="every surface",
            targets={
                "ground_m:dirt": 300.0, "ground_m:ground": 300.0, "ground_m:gravel": 300.0,
                "ground_m:grass": 300.0, "ground_m:rock": 150.0, "ground_m:sand": 100.0,
                "ground_m:wood": 20.0, "rough_m": 500.0,
            },
        ),
        Mix(
            name="skills hour",
            targets={
                "tight_corners": HARD_SURGES, "rough_descent_m": 400.0, "narrow_m": 1500.0,
                "steep_gain_m": 20.0, "corners": 20.0,
            },
            weights={"tight_corners": 2.0, "rough_descent_m": 2.0},
        ),
        Mix(
            name="look-ahead drill",
            targets={"corners": 25.0, "descent_m": COASTING_M, "smooth_m": 1500.0},
            weights={"corners": 2.0},
        ),
    )  # fmt: skip


def for_lap(mix: Mix, length_m: float) -> Mix:
    """Scale a built-in mix from 5 km to a lap of ``length_m`` metres, the same density of each."""
    share = length_m / MADE_FOR_M
    targets = {kind: target * share for kind, target in mix.targets.items()}
    return Mix(name=mix.name, targets=targets, weights=mix.weights)


def shortfalls(mix: Mix, most: Mapping[str, float]) -> tuple[Shortfall, ...]:
    """List the targets that no loop can meet; ``most`` as in ``SearchResult.most``."""
    return tuple(
        Shortfall(kind=kind, target=target, most=most[kind])
        for kind, target in mix.targets.items()
        if kind in most and most[kind] < target
    )


def scaled_to(mix: Mix, most: Mapping[str, float]) -> Mix:
    """Lower each target to 90 % of the most on offer; kinds the ground lacks are left out.

    Kinds absent from ``most`` are kept as they are.

    Raises
    ------
    NoAnswerError
        If the ground offers none of the wanted kinds.
    """
    offered = {kind: SCALE_KEEPS * most.get(kind, float("inf")) for kind in mix.targets}
    targets = {
        kind: min(target, offered[kind])
        for kind, target in mix.targets.items()
        if offered[kind] > 0
    }
    if not targets:
        raise NoAnswerError(
            mix.name, "no loop in this window offers any of its kinds",
            "tag the ground, widen the lap window or choose another mix",
        )  # fmt: skip
    weights = {kind: weight for kind, weight in mix.weights.items() if kind in targets}
    return Mix(name=mix.name, targets=targets, weights=weights)
