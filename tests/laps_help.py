"""Rides over a loop with the truth kept: invented riders, invented receivers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.ids import RideId
from loopwright.model.track import CleanTrack, TrackPiece

START_S = 1_700_000_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """A ride before any receiver saw it, every 0.2 s: progress along the loop and position.

    ``progress_m`` is NaN off the loop.
    """

    time_s: Floats
    xy: Floats
    progress_m: Floats

    def gate_times(self, length_m: float) -> Floats:
        """Times at which whole multiples of the lap length were passed."""
        on = np.isfinite(self.progress_m)
        done, time = self.progress_m[on], self.time_s[on]
        turns = np.arange(np.ceil(done[0] / length_m), np.floor(done[-1] / length_m) + 1)
        return np.interp(turns * length_m, done, time)


def ride_loop(
    course: Course, *, from_m: float, to_m: float, seed: int, backward: bool = False,
    pauses: Sequence[tuple[float, float]] = (), mean_mps: float = 5.0,
) -> Truth:  # fmt: skip
    """Ride from progress ``from_m`` to ``to_m``; ``pauses`` are (progress, seconds)."""
    rng = np.random.default_rng(seed)
    at = np.arange(from_m, to_m, 1.0)
    wave = sum(
        a * np.sin(2 * np.pi * at * k / course.length_m + p)
        for a, k, p in zip((0.25, 0.2, 0.15), (2, 7, 19), rng.uniform(0, 6.28, 3), strict=True)
    )
    lap = at / course.length_m
    speed = mean_mps * np.exp(wave - 0.01 * lap)
    time = np.concatenate(([0.0], np.cumsum(1.0 / speed[:-1])))
    for where, seconds in pauses:
        time[at > where] += seconds
        time[np.searchsorted(at, where, side="right")] -= 0.5
    tick = np.arange(0.0, time[-1], 0.2)
    progress = np.interp(tick, time, at)
    return Truth(time_s=START_S + tick, xy=_place(course, progress, backward), progress_m=progress)


def _place(course: Course, progress: Floats, backward: bool) -> Floats:  # noqa: FBT001 - private
    lap = (-progress if backward else progress) % course.length_m
    return np.column_stack([np.interp(lap, course.dist_m, course.xy[:, k]) for k in (0, 1)])


def wander(
    rng: np.random.Generator, count: int, *, step_s: float, sigma: float, tau: float
) -> Floats:
    """A slow error ``(count, 2)``: Ornstein-Uhlenbeck, ``sigma`` m on each axis."""
    keep = np.exp(-step_s / tau)
    push = sigma * np.sqrt(1 - keep**2) * rng.standard_normal((count, 2))
    error = np.zeros((count, 2))
    error[0] = sigma * rng.standard_normal(2)
    for i in range(1, count):
        error[i] = keep * error[i - 1] + push[i]
    return error


def record(
    truth: Truth, *, seed: int, error_m: float = 3.0, every_s: float = 1.0, tau: float = 60.0,
    gaps: Sequence[tuple[float, float]] = (), cut_s: float = 6.0,
) -> CleanTrack:  # fmt: skip
    """What a receiver writes: ``error_m`` m rms across both axes; ``gaps`` (start, seconds)."""
    rng = np.random.default_rng(seed)
    time = np.arange(truth.time_s[0], truth.time_s[-1], every_s)
    xy = np.column_stack([np.interp(time, truth.time_s, truth.xy[:, k]) for k in (0, 1)])
    sigma = error_m / np.sqrt(2)
    xy = xy + wander(rng, len(time), step_s=every_s, sigma=sigma, tau=tau)
    xy += 0.3 * rng.standard_normal(xy.shape)
    keep = np.ones(len(time), dtype=bool)
    for start, seconds in gaps:
        keep &= (time < START_S + start) | (time > START_S + start + seconds)
    return track_of(xy[keep], time[keep], np.flatnonzero(keep), cut_s=cut_s)


def track_of(
    xy: Floats, time: Floats, index: np.ndarray[tuple[int], np.dtype[np.int64]], *,
    cut_s: float = 6.0,
) -> CleanTrack:  # fmt: skip
    """A clean track, cut where more than ``cut_s`` and 20 m are missing."""
    step = np.hypot(*np.diff(xy, axis=0).T)
    cuts = np.flatnonzero((np.diff(time) > cut_s) & (step > 20)) + 1
    parts = np.split(np.arange(len(time)), cuts)
    pieces = tuple(
        TrackPiece(
            xy=xy[part], ele_m=np.full(len(part), np.nan), time_s=time[part],
            index=index[part].astype(np.int32),
        )
        for part in parts
        if len(part) > 1
    )  # fmt: skip
    return CleanTrack(ride=RideId("invented00000000"), pieces=pieces)


def leave_loop(truth: Truth, *, at_m: float, out_m: float, skip_m: float) -> Truth:
    """Leave the loop at progress ``at_m``, ride ``out_m`` out and back, rejoin ``skip_m`` on.

    With ``out_m`` 0 the rider cuts straight across.
    """
    done = truth.progress_m
    i, j = np.searchsorted(done, [at_m, at_m + skip_m])
    here, there = truth.xy[i], truth.xy[j]
    ahead = truth.xy[i + 5] - here
    aside = np.array([-ahead[1], ahead[0]]) / max(float(np.hypot(*ahead)), 1e-9)
    stops = [here, here + aside * out_m / 2, there] if out_m else [here, there]
    way = np.array(stops)
    leg = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(way, axis=0).T))))
    run = np.arange(0.0, leg[-1], 1.0)
    middle = np.column_stack([np.interp(run, leg, way[:, k]) for k in (0, 1)])
    begin = float(truth.time_s[i])
    end = begin + 0.2 * len(run)
    times = (
        truth.time_s[:i],
        begin + 0.2 * np.arange(len(run)),
        truth.time_s[j:] - truth.time_s[j] + end,
    )
    return Truth(
        time_s=np.concatenate(times),
        xy=np.vstack((truth.xy[:i], middle, truth.xy[j:])),
        progress_m=np.concatenate((done[:i], np.full(len(run), np.nan), done[j:])),
    )


def push_aside(truth: Truth, *, from_m: float, to_m: float, by_m: float) -> Truth:
    """Ride ``by_m`` to the side between two places, coming and going gently."""
    inside = (truth.progress_m > from_m) & (truth.progress_m < to_m)
    share = np.clip((truth.progress_m - from_m) / (to_m - from_m), 0, 1)
    ahead = np.gradient(truth.xy, axis=0)
    size = np.maximum(np.hypot(ahead[:, 0], ahead[:, 1]), 1e-9)
    aside = np.column_stack((-ahead[:, 1], ahead[:, 0])) / size[:, None]
    push = np.where(inside, by_m * np.sin(np.pi * share) ** 2, 0.0)
    return Truth(
        time_s=truth.time_s, xy=truth.xy + push[:, None] * aside, progress_m=truth.progress_m
    )
