"""Ridden laps of a loop: found, timed at the gate, split by feature and compared."""

from loopwright.laps.circuit import find_circuit, find_circuits
from loopwright.laps.climbs import climb_laps
from loopwright.laps.compare import compare
from loopwright.laps.sections import corner_laps, ground_ledger, section_times
from loopwright.laps.sheet import sheet_of

__all__ = [
    "climb_laps", "compare", "corner_laps", "find_circuit", "find_circuits", "ground_ledger",
    "section_times", "sheet_of",
]  # fmt: skip
