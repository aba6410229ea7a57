"""Progress over time along one chain, with the receiver's slow error taken out.

Gets a trace, a loop line and a chain. Gives progress at every fix, with a standard error, and the
times at which any progress was reached. Promises: progress never falls; times are interpolated,
never rounded to fixes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.geo.planar import dots, left_of
from loopwright.laps.follow import Break, Chain
from loopwright.laps.loopline import LoopLine, frame_at
from loopwright.laps.trace import Trace
from loopwright.model.arrays import Floats
from loopwright.model.ids import Way

DRIFT_TAU_S = 60.0
"""Time constant of a receiver's error (30 to 120 s seen; P)."""
LINE_NOISE_M2 = 0.8
LINE_SECONDS = 3.0
"""Variance across the trail of a rider's line at one fix, and how long that line persists (P)."""
WILD_M = 15.0
PULL_M = 12.0
STOPPED_MPS = 0.5
STOP_WINDOW_S = 4.0
STOP_S = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Timed:
    """A chain in time: ``time_s``, ``progress_m``, ``std_error_m``, ``moving_s`` all ``(n,)``.

    ``moving_s`` counts moving seconds since the first fix; ``stops`` lists (start, end) seconds.
    ``drift_m`` ``(n, 2)`` is the slow error taken out, ``offset_m`` ``(n,)`` what is left of the
    distance to the line, positive to the left of the course.
    """

    way: Way
    time_s: Floats
    progress_m: Floats
    std_error_m: Floats
    drift_m: Floats
    offset_m: Floats
    moving_s: Floats
    stops: tuple[tuple[float, float], ...]
    breaks: tuple[Break, ...]

    def time_at(self, progress_m: Floats) -> Floats:
        """Seconds at which ``progress_m`` ``(k,)`` was reached; held at the ends."""
        rising = self.progress_m + 1e-7 * np.arange(len(self.progress_m))
        return np.interp(progress_m, rising, self.time_s)

    def speed_at(self, time_s: Floats, *, half_s: float = 2.0) -> Floats:
        """Speed in m/s at times ``(k,)``, over ``half_s`` seconds to either side."""
        low = np.maximum(time_s - half_s, self.time_s[0])
        high = np.minimum(time_s + half_s, self.time_s[-1])
        gone = np.interp(high, self.time_s, self.progress_m) - np.interp(
            low, self.time_s, self.progress_m
        )
        return np.asarray(gone / np.maximum(high - low, 1e-6))


def timed(trace: Trace, line: LoopLine, chain: Chain) -> Timed:
    """Work out progress over time for a chain."""
    fix, guess = _fixes(trace, chain)
    xy, time = trace.xy[fix], trace.time_s[fix]
    sign = 1.0 if chain.way is Way.FORWARD else -1.0
    progress, offset, error, sd = _without_drift(line, xy, time, guess, sign)
    moving, stops = _moving(xy, time)
    return Timed(
        way=chain.way,
        time_s=time,
        progress_m=_never_falling(progress),
        std_error_m=sd,
        drift_m=error,
        offset_m=offset,
        moving_s=moving,
        stops=stops,
        breaks=chain.breaks,
    )


def _fixes(trace: Trace, chain: Chain) -> tuple[Floats, Floats]:
    """All fixes of a chain but those between samples that left the loop, with guessed progress."""
    run = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(trace.xy, axis=0).T))))
    every = np.arange(chain.fix[0], chain.fix[-1] + 1)
    guess = np.interp(run[every], run[chain.fix] + 1e-9 * chain.fix, chain.progress_m)
    away = [b for b in chain.breaks if b.spoils]
    keep = np.ones(len(every), dtype=bool)
    for one in away:
        keep &= (guess <= one.from_m) | (guess >= one.to_m)
    keep |= np.isin(every, chain.fix)
    return every[keep], guess[keep]


def _along(
    line: LoopLine, xy: Floats, progress: Floats, sign: float
) -> tuple[Floats, Floats, Floats]:
    """Project fixes near their progress: new progress, offset to the left, unit left normal."""
    for _ in range(2):
        point, tangent = frame_at(line, sign * progress)
        off = xy - point
        pull = sign * dots(off, tangent)
        progress = progress + np.clip(pull, -PULL_M, PULL_M)
    point, tangent = frame_at(line, sign * progress)
    normal = left_of(tangent)
    return progress, dots(xy - point, normal), normal


def _without_drift(
    line: LoopLine, xy: Floats, time: Floats, guess: Floats, sign: float
) -> tuple[Floats, Floats, Floats, Floats]:
    """Give progress, offset, slow error and standard error of every fix.

    What is an error along the trail here was an error across it before the last bend: offsets
    across a winding trail give away both parts of a slow error.
    """
    from loopwright.laps.kernels import drift  # compiles: only when needed

    error = np.zeros_like(xy)
    cov = np.zeros((len(xy), 3))
    progress = guess
    beat = np.maximum(np.gradient(time), 0.2) if len(time) > 1 else np.ones(1)
    for _ in range(2):
        progress, _, normal = _along(line, xy - error, progress, sign)
        point, _ = frame_at(line, sign * progress)
        offset = dots(xy - point, normal)
        noise = LINE_NOISE_M2 * np.maximum(LINE_SECONDS / beat, 1.0)
        noise = np.where(np.abs(offset) > WILD_M, np.inf, noise)
        sigma = max(1.2 * float(np.median(np.abs(offset))) * 1.4826, 0.5)
        error, cov = drift(normal, offset, noise, time, sigma, DRIFT_TAU_S)
    progress, offset, normal = _along(line, xy - error, progress, sign)
    east, north = normal[:, 1], -normal[:, 0]
    along = east**2 * cov[:, 0] + 2 * east * north * cov[:, 1] + north**2 * cov[:, 2]
    return progress, offset, error, np.sqrt(np.maximum(along, 0.0) + 0.25)


def _never_falling(progress: Floats) -> Floats:
    up = np.maximum.accumulate(progress)
    down = np.minimum.accumulate(progress[::-1])[::-1]
    return np.asarray((up + down) / 2)


def _moving(xy: Floats, time: Floats) -> tuple[Floats, tuple[tuple[float, float], ...]]:
    """Count moving seconds up to each fix, and the stops of at least STOP_S."""
    middle = (time[1:] + time[:-1]) / 2
    half = np.maximum(np.diff(time) / 2, STOP_WINDOW_S)
    low, high = np.maximum(middle - half, time[0]), np.minimum(middle + half, time[-1])
    ends = [[np.interp(t, time, xy[:, k]) for k in (0, 1)] for t in (low, high)]
    speed = np.hypot(ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]) / np.maximum(
        high - low, 1e-6
    )
    still = speed < STOPPED_MPS
    edges = np.flatnonzero(np.diff(np.concatenate(([0], still.astype(np.int8), [0]))))
    stops = [(float(time[a]), float(time[b])) for a, b in edges.reshape(-1, 2).tolist()]
    stops = [stop for stop in stops if stop[1] - stop[0] >= STOP_S]
    stopped = np.zeros(len(time))
    for start, end in stops:
        stopped += np.clip(time, start, end) - start
    return time - time[0] - stopped, tuple(stops)
