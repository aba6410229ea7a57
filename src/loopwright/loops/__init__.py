"""Room: from a terrain and wishes to loops with a bound.

``find_loops`` searches, ``score_loop`` judges, ``built_in_mixes`` gives targets to start from.
Importing this room does not import numba; the first search does.
"""

from loopwright.loops.find import find_loops
from loopwright.loops.mixes import built_in_mixes, for_lap, scaled_to, shortfalls
from loopwright.loops.score import score_loop

__all__ = ["built_in_mixes", "find_loops", "for_lap", "scaled_to", "score_loop", "shortfalls"]
