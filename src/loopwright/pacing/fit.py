"""Fit the model to a rider from the rider's own rides.

Gets clean tracks, the terrain built from them and the rider. Gives fitted values with intervals, a
leave-one-ride-out error and honest words. Promises: too little data gives no values and says so;
the same tracks give the same fit.

The fit runs the same model that plans laps over every pass and asks for the parameters, near their
priors, whose section times agree best with those ridden; rides that disagree count less.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loopwright.jobs import Report, Silent
from loopwright.model.arrays import Floats
from loopwright.model.ground import ROUGHNESSES, SURFACES, Terrain
from loopwright.model.rider import FitValue, Rider, RiderFit
from loopwright.model.track import CleanTrack
from loopwright.pacing.belief import WORDY, Z90, Belief, belief_of, setting_of, spread
from loopwright.pacing.fit_words import fitted_words, too_little
from loopwright.pacing.kinds import shares_of_time
from loopwright.pacing.learned import Learned, learn, rides_that_count, spreads
from loopwright.pacing.limits import Limiter
from loopwright.pacing.observed import Observed, observe, pieces_of
from loopwright.pacing.ride import effort_shape
from loopwright.pacing.robust import Solved, clustered, solve, without
from loopwright.pacing.trails import trail_table

LEAST_M = 2000.0
"""With less ridden trail than this the priors stand."""
WORD_M = 400.0
"""Ground ridden for less than this keeps its family's values."""
WORD_SPREAD = 0.15
"""How far one ground may differ from its family (log-normal s.d., P)."""
MODEL_SPREAD = 0.08
"""Section times differ by about this from any model (log-normal s.d., P); refined once fitted."""
RIDER_KEYS = ("power_w", "uphill_gain", "thrust", "walk_mps", "steep_slows", "brake_share")
LITTLE_FORCE = -1.6
STARTS = ((0.0, 0.0), (LITTLE_FORCE, 0.0), (LITTLE_FORCE, -1.5))
"""Driving force and effort uphill: the force matters only where it binds, and either can pass for
the other, so the search starts from several sides."""
FURTHEST = 3.0
"""No value leaves its prior by more than three of the prior's standard deviations: a fit to rides
of several people must not end in ground that rolls by itself."""
FINE_ROUNDS = 4
COARSE_M = 15_000.0
RIDES_FOR_ERROR = 3
MOST_LEFT_OUT = 30
LEARNED_M = 400_000.0
"""What each trail takes is learned from this much riding at most, thinned evenly."""


def bounded(theta: Floats) -> Floats:
    """Keep parameters within FURTHEST standard deviations of their priors, smoothly."""
    return np.asarray(FURTHEST * np.tanh(theta / FURTHEST))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Task:
    """What is fitted: ``keys`` are families or single words, moved by ``scale`` per unit."""

    seen: Observed
    limiter: Limiter
    belief: Belief
    keys: tuple[str, ...]
    scale: Floats

    def start(self, thrust: float, uphill: float) -> Floats:
        """Parameters at their priors but for the driving force and the effort uphill."""
        table = {"thrust": thrust, "uphill_gain": uphill}
        return np.array([table.get(key, 0.0) for key in self.keys])

    def starts(self, known: Floats) -> list[Floats]:
        """Parameters found for the families, once as they are and once with a small force."""
        one, two = np.zeros(len(self.keys)), np.zeros(len(self.keys))
        one[: len(known)] = two[: len(known)] = known
        two[self.keys.index("thrust")] = LITTLE_FORCE
        return [one, two]

    def moves(self, theta: Floats) -> dict[str, float]:
        """Shifts of logarithms by key; a word's shift includes its family's."""
        one = dict(zip(self.keys, (bounded(theta) * self.scale).tolist(), strict=True))
        return {k: v + (one[k.split(":")[0]] if ":" in k else 0.0) for k, v in one.items()}

    def times(self, theta: Floats) -> Floats:
        """Predicted seconds of every section."""
        clock = self.clock(theta)
        return np.maximum(clock[self.seen.end] - clock[self.seen.begin], 1e-3)

    def shares(self, theta: Floats) -> Floats:
        """Share ``(n, 4)`` of every section's time on each kind of ground."""
        seen = self.seen
        return shares_of_time(seen.lane, self.clock(theta), seen.begin, seen.end)

    def clock(self, theta: Floats) -> Floats:
        """Seconds at every place from the start of its piece."""
        from loopwright.pacing.kernels import ride_pieces

        setting = setting_of(self.belief, self.moves(theta))
        lane = self.seen.lane
        limits = self.limiter.of(setting)
        shape = effort_shape(lane.grade, setting.uphill_gain)
        return setting.pace * ride_pieces(
            self.seen.firsts, self.seen.entry_mps, limits.cap, limits.corner, limits.hold,
            setting.power_w * setting.efficiency * shape, limits.pull, limits.most, limits.drag,
            limits.per, lane.step_m, limits.walk_mps,
        )  # fmt: skip


def fit_rider(
    tracks: Sequence[CleanTrack], terrain: Terrain, rider: Rider, *, report: Report | None = None
) -> RiderFit:
    """Fit ``rider`` to the passes of ``tracks`` over ``terrain``."""
    report = report or Silent()
    pieces = list(pieces_of(tracks, terrain))
    seen = observe(pieces, terrain)
    if seen is None or seen.metres < LEAST_M:
        metres = 0.0 if seen is None else seen.metres
        return RiderFit(values={}, error_share=None, words=too_little(metres))
    report.step(0.3, "comparing rides with the model")
    few = observe(pieces, terrain, most_m=COARSE_M) or seen
    task, solved = _solved(seen, few, rider, report)
    report.step(0.7, "what each trail takes")
    most = observe(pieces, terrain, most_m=LEARNED_M) or seen
    learned = _learned(task, solved, most, rider)
    report.step(0.8, "leaving one ride out at a time")
    error = _left_out(task, solved)
    values, keys, rows = _values(task, solved)
    values |= spreads(learned)
    return RiderFit(
        values=values, error_share=error,
        words=fitted_words(values, metres=seen.metres, rides=seen.rides, error=error),
        spread_keys=keys, spread_rows=rows, trails=trail_table(learned.trails, terrain),
    )  # fmt: skip


def _learned(task: _Task, solved: Solved, seen: Observed, rider: Rider) -> Learned:
    """Learn what the fitted model leaves unexplained, over more riding than the fit itself took."""
    wide = replace(task, seen=seen, limiter=Limiter(seen.lane, rider))
    miss = np.log(seen.time_s / wide.times(solved.theta))
    return learn(seen, miss, _trust(seen), wide.shares(solved.theta))


def _solved(seen: Observed, few: Observed, rider: Rider, report: Report) -> tuple[_Task, Solved]:
    """Fit whole families to a part, from several starts, then every ground to all."""

    def residuals_of(task: _Task) -> Callable[[Floats], Floats]:
        def residuals(theta: Floats) -> Floats:
            report.check()
            return np.log(task.times(theta) / task.seen.time_s) / _trust(task.seen)

        return residuals

    coarse = _task(few, rider, words=False)
    tries = [solve(residuals_of(coarse), coarse.start(*one)) for one in STARTS]
    best = min(tries, key=lambda one: one.cost)
    fine = _task(seen, rider, words=True)
    ends = [solve(residuals_of(fine), one, rounds=FINE_ROUNDS) for one in fine.starts(best.theta)]
    return fine, min(ends, key=lambda one: one.cost)


def _trust(seen: Observed) -> Floats:
    """Log-normal spread expected of each section's time."""
    return np.asarray(np.hypot(MODEL_SPREAD, seen.error_s / seen.time_s))


def _task(seen: Observed, rider: Rider, *, words: bool) -> _Task:
    belief = belief_of(rider)
    keys = [*WORDY, *RIDER_KEYS]
    scale = [spread(belief[f"{key}:unknown" if key in WORDY else key]) for key in keys]
    for family, names, column in (
        ("grip", SURFACES, seen.lane.surface),
        ("rolling", SURFACES, seen.lane.surface),
        ("comfort", ROUGHNESSES, seen.lane.roughness),
    ):
        ridden = np.bincount(column, minlength=len(names)) if words else np.zeros(len(names))
        found = [f"{family}:{names[k]}" for k in np.flatnonzero(ridden >= WORD_M)]
        keys += found if len(found) > 1 else []
        scale += [WORD_SPREAD] * (len(found) if len(found) > 1 else 0)
    return _Task(
        seen=seen, limiter=Limiter(seen.lane, rider), belief=belief, keys=tuple(keys),
        scale=np.array(scale),
    )  # fmt: skip


def _left_out(task: _Task, solved: Solved) -> float | None:
    """Mean absolute error of a ride's time, as a ratio, each predicted without that ride."""
    trust = _trust(task.seen)
    learned = learn(task.seen, -solved.residual * trust, trust, task.shares(solved.theta))
    masks = rides_that_count(task.seen)
    if len(masks) < RIDES_FOR_ERROR:
        return None
    every = max(1, len(masks) // MOST_LEFT_OUT)
    misses = []
    for mask in masks[::every]:
        miss = np.log(task.times(without(solved, mask)) / task.seen.time_s)[mask]
        weight = (task.seen.time_s * solved.weight**2)[mask]
        misses.append(
            abs(float(np.expm1(np.average(miss + learned.without(mask), weights=weight))))
        )
    return float(np.mean(misses)) if len(misses) >= RIDES_FOR_ERROR else None


def _values(
    task: _Task, solved: Solved
) -> tuple[dict[str, FitValue], tuple[str, ...], tuple[tuple[float, ...], ...]]:
    """Fitted values by key, and the covariance of their logarithms."""
    wider = clustered(solved, task.seen.ride)
    mix, keys = _mix(task)
    middle = mix @ bounded(solved.theta)
    felt = mix * (1 - (bounded(solved.theta) / FURTHEST) ** 2)
    cov = felt @ (solved.inverse * wider) @ felt.T
    seen = _counts(task, keys)
    values = {}
    for k, key in enumerate(keys):
        at = task.belief[key].value * float(np.exp(middle[k]))
        factor = float(np.exp(Z90 * np.sqrt(cov[k, k])))
        values[key] = FitValue(value=at, low=at / factor, high=at * factor, observations=seen[k])
    return values, keys, tuple(tuple(row) for row in cov.tolist())


def _mix(task: _Task) -> tuple[Floats, tuple[str, ...]]:
    """Matrix from parameters to shifts of the logarithm of every value, and the values' keys."""
    place = {key: k for k, key in enumerate(task.keys)}
    keys = [key for key in task.belief if key.split(":")[0] in place]
    mix = np.zeros((len(keys), len(task.keys)))
    for row, key in enumerate(keys):
        for part in {key, key.split(":")[0]}:
            if part in place:
                mix[row, place[part]] = task.scale[place[part]]
    return mix, tuple(keys)


def _counts(task: _Task, keys: Sequence[str]) -> list[int]:
    """Sections that touch each value's ground; all sections for values of the rider."""
    seen = task.seen
    middle = (seen.begin + seen.end) // 2
    surface, roughness = seen.lane.surface[middle], seen.lane.roughness[middle]
    out = []
    for key in keys:
        family, _, word = key.partition(":")
        column, words = (roughness, ROUGHNESSES) if family == "comfort" else (surface, SURFACES)
        out.append(int((column == words.index(word)).sum()) if word else len(seen.time_s))
    return out
