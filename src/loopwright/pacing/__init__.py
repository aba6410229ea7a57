"""Lap time, splits, effort and gears for a course and a rider."""
