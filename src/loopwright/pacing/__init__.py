"""Lap time, splits, effort and gears for a course and a rider."""

from loopwright.pacing.arcs import arc_seconds
from loopwright.pacing.fit import fit_rider
from loopwright.pacing.plan import plan_lap
from loopwright.pacing.whatif import what_if

__all__ = ["arc_seconds", "fit_rider", "plan_lap", "what_if"]
