"""Ridden laps of a loop: found, timed at the gate and split by feature."""
