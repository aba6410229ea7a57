"""From recordings to clean tracks, with a report for each ride."""

from loopwright.clean.rides import clean_ride, clean_rides

__all__ = ["clean_ride", "clean_rides"]
