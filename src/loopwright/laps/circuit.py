"""Find the circuit a ride repeats, when no loop is given.

Gets a clean track. Gives the circuit as a closed line, averaged over its laps, or None. Promises:
the line starts where the rider first joined the circuit and runs the way it was ridden; its last
point repeats the first.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.ndimage import binary_closing, gaussian_filter1d
from scipy.spatial import cKDTree

from loopwright.errors import NoAnswerError
from loopwright.geo.planar import left_of
from loopwright.geo.polyline import along, headings
from loopwright.laps.follow import chains_of
from loopwright.laps.loopline import STEP_M, LoopLine, closed_line
from loopwright.laps.timing import Timed, timed
from loopwright.laps.trace import Trace, dense, thin, trace_of, without
from loopwright.model.arrays import Floats
from loopwright.model.ids import Way
from loopwright.model.track import CleanTrack

REACH_M = 15.0
"""Two passings of one place lie this near: four times the spread of 3 m errors, with room."""
SAME_WAY = 0.7
SHORTEST_M = 250.0
LAP_SPREAD = 0.03
"""Ridden lengths of laps of one circuit differ by up to 3 %, more from noise than from lines."""
HOLE_M = 80.0
REPEATED_SHARE = 0.6
"""So much of a lap must have been ridden again before it counts as a circuit."""
NARROW_M, WIDE_M = 3.0, 8.0
"""Fixes are averaged over about their own scatter along the lap: less and the line wanders with
the receiver, more and it cuts corners."""
DENSE_S = 4.0
NORMAL_MAD = 1.4826
DRIFT_KERNEL_M = 25.0
FEW = 0.05
ROUNDS = 3
FEWEST = 20


def find_circuit(track: CleanTrack) -> Floats | None:
    """Find the circuit ridden most often: ``(n, 2)`` local metres, or None if none is repeated."""
    found = find_circuits(track, most=1)
    return found[0] if found else None


def find_circuits(track: CleanTrack, *, most: int = 5) -> tuple[Floats, ...]:
    """Find the circuits of a ride, each ``(n, 2)`` local metres, the most ridden first.

    Riding that belongs to one circuit is set aside before the next is sought.
    """
    try:
        trace = trace_of(track)
    except NoAnswerError:
        return ()
    found: list[Floats] = []
    while len(found) < most and len(trace) > FEWEST:
        first = _first_lap(dense(trace))
        if first is None:
            break
        line = closed_line(first)
        for _ in range(ROUNDS):
            moved = _refitted(trace, line)
            if moved is None:
                return tuple(found)
            line = moved
        found.append(np.vstack((line.xy, line.xy[:1])))
        trace = without(trace, [chain.fix for chain in chains_of(trace, line)])
    return tuple(found)


def _first_lap(trace: Trace) -> Floats | None:
    """One whole lap as ridden, starting where the rider joined the circuit."""
    pick = thin(trace)
    xy, piece = trace.xy[pick], trace.piece[pick]
    run = along(xy)
    early, late = _returns(xy)
    apart = run[late] - run[early]
    length_m = _lap_length(apart)
    if length_m is None:
        return None
    near = np.abs(apart - length_m) < LAP_SPREAD * length_m + 2 * REACH_M
    early, late = early[near], late[near]
    start, end = _joined(run, early, length_m)
    if run[end] - run[start] < REPEATED_SHARE * length_m:
        return None
    for at in range(start, end + 1):
        back = late[early == at]
        if len(back) and piece[at] == piece[back[0]]:
            stop = back[np.argmin(np.hypot(*(xy[back] - xy[at]).T))]
            return _turned_to(_closed(xy[at : stop + 1]), xy[start])
    return None


def _returns(xy: Floats) -> tuple[Floats, Floats]:
    """Pairs of samples (earlier, later) at one place, heading the same way."""
    pairs = cKDTree(xy).query_pairs(REACH_M, output_type="ndarray")
    early, late = pairs.min(axis=1), pairs.max(axis=1)
    head = headings(xy)
    same = (np.cos(head[early] - head[late]) > SAME_WAY) & (
        along(xy)[late] - along(xy)[early] > SHORTEST_M
    )
    order = np.lexsort((late[same], early[same]))
    return early[same][order], late[same][order]


def _lap_length(apart: Floats) -> float | None:
    """Distance between passings that comes up most often; the shortest of nearly equal ones."""
    if len(apart) == 0:
        return None
    bins = np.bincount((apart / 10.0).astype(np.int64)).astype(np.float64)
    width = np.maximum(LAP_SPREAD * 10.0 * np.arange(len(bins)), 20.0) / 10.0
    total = np.concatenate(([0.0], np.cumsum(bins)))
    low = np.clip(np.arange(len(bins)) - width, 0, len(bins)).astype(np.int64)
    high = np.clip(np.arange(len(bins)) + width + 1, 0, len(bins)).astype(np.int64)
    count = total[high] - total[low]
    best = int(np.flatnonzero(count >= 0.8 * count.max())[0])
    inside = apart[(apart >= 10.0 * low[best]) & (apart < 10.0 * high[best])]
    return float(np.median(inside))


def _joined(run: Floats, early: Floats, length_m: float) -> tuple[int, int]:
    """First and last sample of the longest stretch of riding that was ridden again."""
    again = np.zeros(len(run), dtype=bool)
    again[early] = True
    metres = np.arange(0.0, run[-1], 10.0)
    marked = again[np.clip(np.searchsorted(run, metres), 0, len(run) - 1)]
    holes = np.ones(2 * round(HOLE_M / 20.0) + 1, dtype=bool)
    marked = binary_closing(np.pad(marked, 20), holes)[20:-20] | marked
    edges = np.flatnonzero(np.diff(np.concatenate(([0], marked.astype(np.int8), [0]))))
    begins, ends = edges[::2], edges[1::2]
    if len(begins) == 0:  # what was ridden again is shorter than the grid
        return int(early.min()), int(early.max())
    best = int(np.argmax(ends - begins >= min((ends - begins).max(), length_m / 10.0)))
    start = np.searchsorted(run, metres[begins[best]])
    last = np.searchsorted(run, metres[min(ends[best], len(metres) - 1)])
    return int(start), int(min(last, len(run) - 1))


def _closed(lap: Floats) -> Floats:
    """Spread the gap between the lap's ends over its whole length; the last point goes."""
    share = np.linspace(0.0, 1.0, len(lap))[:, None]
    return np.asarray((lap + share * (lap[0] - lap[-1]))[:-1])


def _turned_to(lap: Floats, gate: Floats) -> Floats:
    """Begin the lap at its point nearest to ``gate``."""
    start = int(np.argmin(np.hypot(*(lap - gate).T)))
    return np.vstack((lap[start:], lap[:start]))


def _refitted(trace: Trace, line: LoopLine) -> LoopLine | None:
    """Move the line to where the fixes of all laps lie; None when nobody follows it.

    Across the line only: what is left of each fix's offset once its slow error is out, as a
    running mean, plus the mean slow error of the laps. Fixes lie on the trail even where chords
    between them cut its corners.
    """
    laps = [timed(trace, line, chain) for chain in chains_of(trace, line)]
    laps = [lap for lap in laps if lap.way is Way.FORWARD]
    if not laps:
        return None
    at = np.concatenate([lap.progress_m for lap in laps]) % line.length_m
    drift = np.vstack([lap.drift_m for lap in laps])
    wide = _kernel_m(laps, drift)
    shift = _running_mean(line, at, np.concatenate([lap.offset_m for lap in laps]), wide)
    common = [_running_mean(line, at, drift[:, k], DRIFT_KERNEL_M) for k in (0, 1)]
    normal = left_of(line.tangent)
    moved = line.xy + shift[:, None] * normal + np.column_stack(common)
    smooth_m = (wide - 1.0) / 2
    return closed_line(gaussian_filter1d(moved, smooth_m / STEP_M, axis=0, mode="wrap"))


def _kernel_m(laps: Sequence[Timed], drift: Floats) -> float:
    """Width of the running mean: the scatter of one axis, more where fixes come seldom."""
    scatter = NORMAL_MAD * float(np.median(np.abs(drift - np.median(drift, axis=0))))
    beat = float(np.median(np.concatenate([np.diff(lap.time_s) for lap in laps])))
    return float(np.clip(scatter * np.sqrt(max(beat / DENSE_S, 1.0)), NARROW_M, WIDE_M))


def _running_mean(line: LoopLine, at: Floats, value: Floats, width_m: float) -> Floats:
    """Gaussian mean of ``value`` at each place of the line, pulled to 0 where fixes are few."""
    bins = np.round(at / line.length_m * len(line.at_m)).astype(np.int64) % len(line.at_m)
    wide = width_m / STEP_M
    total = np.bincount(bins, value, minlength=len(line.at_m))
    count = np.bincount(bins, minlength=len(line.at_m)).astype(np.float64)
    upper, lower = (gaussian_filter1d(one, wide, mode="wrap") for one in (total, count))
    return np.asarray(upper / (lower + FEW))
