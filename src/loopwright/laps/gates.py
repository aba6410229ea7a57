"""Laps of a chain: when the gate was crossed, and what lies between.

Gets a timed chain and the lap length. Gives spans from gate to gate, and the unfinished ones at
either end. Promises: a span is complete only if the whole loop was followed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

import numpy as np

from loopwright.laps.follow import Break
from loopwright.laps.timing import Timed

AT_GATE_M = 12.0
"""A ride begun or ended this near the gate began or ended at it: four times a 3 m error."""
SHORTEST_M = 50.0
"""Shorter unfinished pieces of a lap are not worth a line."""
GAPS_TOLD = 2
"""Of more gaps in one lap only the sum is told (our choice): nobody reads a list of twenty."""
REST_S = 20.0
LAST_S = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One lap, whole or not: progress ``from_m`` to ``to_m``, lap ``turn`` of the chain."""

    turn: int
    from_m: float
    to_m: float
    start_s: float
    end_s: float
    complete: bool
    note: str


def spans_of(chain: Timed, length_m: float) -> list[Span]:
    """Cut a chain at the gate."""
    begin, end = float(chain.progress_m[0]), float(chain.progress_m[-1])
    first, last = ceil((begin - AT_GATE_M) / length_m), floor((end + AT_GATE_M) / length_m)
    spans: list[Span] = []
    if first * length_m - begin > SHORTEST_M and last >= first:
        spans.append(_open_span(chain, length_m, begin, first * length_m))
    spans += [_whole_span(chain, length_m, turn) for turn in range(first, last)]
    rest = last * length_m if last >= first else begin
    if end - rest > SHORTEST_M:
        spans.append(_open_span(chain, length_m, rest, end))
    return spans


def in_few_words(breaks: Sequence[Break]) -> list[str]:
    """Say what was amiss in a lap; more than two gaps that were bridged come as one sum, last."""
    gaps = [one for one in breaks if one.silent_s > 0]
    if len(gaps) <= GAPS_TOLD:
        return [one.words for one in breaks]
    silent_s = sum(one.silent_s for one in gaps)
    over_m = sum(one.to_m - one.from_m for one in gaps)
    whole = f"{silent_s:.0f} s not recorded over {over_m:.0f} m in {len(gaps)} gaps"
    return [*(one.words for one in breaks if one.silent_s == 0), whole]


def _whole_span(chain: Timed, length_m: float, turn: int) -> Span:
    start_m, end_m = turn * length_m, (turn + 1) * length_m
    notes = [one for one in chain.breaks if one.from_m < end_m and one.to_m > start_m]
    return Span(
        turn=turn,
        from_m=start_m,
        to_m=end_m,
        start_s=leave_s(chain, start_m),
        end_s=arrive_s(chain, end_m),
        complete=not any(one.spoils for one in notes),
        note="; ".join(in_few_words(notes)),
    )


def _open_span(chain: Timed, length_m: float, from_m: float, to_m: float) -> Span:
    notes = [one for one in chain.breaks if one.from_m < to_m and one.to_m > from_m]
    part = f"{to_m - from_m:.0f} of {length_m:.0f} m"
    at_gate = abs(from_m / length_m - round(from_m / length_m)) * length_m < 1e-3
    return Span(
        turn=floor((from_m + 1e-3) / length_m),
        from_m=from_m,
        to_m=to_m,
        start_s=leave_s(chain, from_m) if at_gate else float(chain.time_s[0]),
        end_s=float(chain.time_s[-1]) if at_gate else arrive_s(chain, to_m),
        complete=False,
        note="; ".join([part, *in_few_words(notes)]),
    )


def _rest_at(chain: Timed, at_m: float) -> tuple[float, float] | None:
    """Find the stop of at least REST_S at the gate, if there was one."""
    for start, end in chain.stops:
        where = float(np.interp((start + end) / 2, chain.time_s, chain.progress_m))
        if end - start >= REST_S and abs(where - at_m) < AT_GATE_M:
            return start, end
    return None


def leave_s(chain: Timed, at_m: float) -> float:
    """When the rider left the gate at progress ``at_m``: after a rest there, its end."""
    rest = _rest_at(chain, at_m)
    if rest is not None:
        return rest[1]
    missing = float(chain.progress_m[0]) - at_m
    if missing > 0:
        return _before(chain, missing)
    return float(chain.time_at(np.array([at_m]))[0])


def arrive_s(chain: Timed, at_m: float) -> float:
    """When the rider came to the gate at progress ``at_m``: before a rest there, its start."""
    rest = _rest_at(chain, at_m)
    if rest is not None:
        return rest[0]
    plain = float(chain.time_at(np.array([at_m]))[0])
    if at_m <= chain.progress_m[-2]:
        return plain
    return _at_last(chain, at_m)


def _at_last(chain: Timed, at_m: float) -> float:
    """When the gate was reached if that is at the very end of the ride.

    The last fix is often written standing, after the line: the fix before and the speed until
    then say more.
    """
    time, progress = chain.time_s, chain.progress_m
    before = float(time[-2])
    speed = float(chain.speed_at(np.array([before - LAST_S / 2]), half_s=LAST_S / 2)[0])
    running_on = before + (at_m - float(progress[-2])) / max(speed, 1.0)
    reached = at_m <= progress[-1]
    plain = float(chain.time_at(np.array([at_m]))[0]) if reached else running_on
    return max(min(plain, running_on), before)


def _before(chain: Timed, missing_m: float) -> float:
    """Start of a chain that begins just past the gate: run back at its first speed."""
    first = float(chain.time_s[0])
    if chain.stops and chain.stops[0][0] <= first:
        return chain.stops[0][1]
    speed = float(chain.speed_at(np.array([first]), half_s=6.0)[0])
    return first - (missing_m / speed if speed > 1.0 else 0.0)
