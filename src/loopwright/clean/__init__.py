"""From recordings to clean tracks, with a report for each ride."""

from loopwright.clean.rides import clean_rides

__all__ = ["clean_rides"]
