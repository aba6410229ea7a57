"""Whether starts, sprints, cornering and skills hours come up often enough.

Gets a plan; gives for each drill how often it is planned against the rider's target.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from loopwright.model.season import SeasonPlan
from loopwright.season.purposes import DRILLS_PER_WEEKS, USUAL_COUNTS


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillCount:
    """One drill: how often in the whole plan, how often so far, and the target for the plan."""

    kind: str
    planned: int
    so_far: int
    target: float

    @property
    def short(self) -> bool:
        """Tell whether the plan holds fewer than the target, rounded down."""
        return self.planned < int(self.target)


def drill_counts(plan: SeasonPlan, today: date) -> tuple[DrillCount, ...]:
    """Count every drill the rider or the usual targets name."""
    wanted = {**USUAL_COUNTS, **plan.wishes.wanted_counts}
    weeks = len(plan.sessions) / 7
    return tuple(
        DrillCount(
            kind=kind,
            planned=sum(s.kind == kind for s in plan.sessions),
            so_far=sum(s.kind == kind and s.on <= today for s in plan.sessions),
            target=count * weeks / DRILLS_PER_WEEKS,
        )
        for kind, count in sorted(wanted.items())
    )
