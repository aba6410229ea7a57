"""Ridden laps of a loop: found, timed at the gate and split by feature."""

from loopwright.laps.circuit import find_circuit
from loopwright.laps.sheet import sheet_of

__all__ = ["find_circuit", "sheet_of"]
