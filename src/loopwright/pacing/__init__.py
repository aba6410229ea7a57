"""Lap time, splits, effort and gears for a course and a rider."""

from loopwright.pacing.plan import plan_lap

__all__ = ["plan_lap"]
