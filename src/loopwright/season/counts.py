"""Whether starts, sprints, cornering and skills hours come up often enough.

Gets a plan; gives for each drill how often it is planned against the rider's target.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.model.season import SeasonPlan
from loopwright.season.purposes import DRILLS_PER_WEEKS, USUAL_COUNTS


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillCount:
    """One drill: how often in the whole plan, how often done so far, and the target for the plan.

    ``done`` counts days rated or ridden; ``hours`` are those of all that is planned.
    """

    kind: str
    planned: int
    done: int
    hours: float
    target: float

    @property
    def short(self) -> bool:
        """Tell whether the plan holds fewer than the target, rounded down."""
        return self.planned < int(self.target)


def drill_counts(plan: SeasonPlan) -> tuple[DrillCount, ...]:
    """Count every drill the rider or the usual targets name."""
    wanted = {**USUAL_COUNTS, **plan.wishes.wanted_counts}
    weeks = len(plan.sessions) / 7
    by_kind = {kind: [s for s in plan.sessions if s.kind == kind] for kind in wanted}
    return tuple(
        DrillCount(
            kind=kind,
            planned=len(by_kind[kind]),
            done=sum(s.done for s in by_kind[kind]),
            hours=sum(s.minutes for s in by_kind[kind]) / 60,
            target=count * weeks / DRILLS_PER_WEEKS,
        )
        for kind, count in sorted(wanted.items())
    )
