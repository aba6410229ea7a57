"""Follow the loop: which fixes ride it, which way, and how far they have got.

Gets a trace and a loop line. Gives chains: runs of fixes with rising progress, and the breaks
where the rider left the loop or missed part of it. Promises: every fix is in at most one chain.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.geo.planar import dots
from loopwright.laps.loopline import LoopLine, frame_at, places
from loopwright.laps.trace import Trace, thin
from loopwright.model.arrays import Floats, Ints
from loopwright.model.ids import Way

ERROR_M = 12.0
"""Spread across the trail the matching expects of one sample. Twice a receiver's under trees:
its error lasts for a dozen samples, so they must not count as a dozen witnesses."""
TURN_COST = 1.5
LONG_GAP_S = 20.0
"""A longer silence inside a piece counts as a break of the recording."""
WOBBLE_M = 100.0
WOBBLE_SHARE = 0.25
STRAY_M = 32.0
"""Time off the loop in which the rider got on by what was ridden is a wobble if it lasted up to
100 m, or never led further from the loop than this."""
AWAY_M = 300.0
"""After this far off the loop, or half a lap, a new count begins."""
SKIP_M = 15.0
SKIP_ERRORS = 6.0
HALF_NORMAL = 0.6745
FASTEST_MPS = 16.0
SLACK_M = 60.0
"""Progress out of step with what was ridden by more than 15 m and six standard errors of the
ride is a cut or a detour: 33 m at an error of 3 m."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Break:
    """Something amiss between progress ``from_m`` and ``to_m`` of a chain, in plain words.

    ``silent_s`` is what was not recorded in a gap that can be bridged.
    """

    from_m: float
    to_m: float
    words: str
    spoils: bool = True
    silent_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """Fixes that follow the loop one way: ``fix`` ``(n,)`` places in the trace, rising.

    ``progress_m`` ``(n,)`` counts on over the gate; at the gate it is a whole multiple of the lap
    length, whichever way is ridden.
    """

    way: Way
    fix: Ints
    progress_m: Floats
    breaks: tuple[Break, ...]


def chains_of(trace: Trace, line: LoopLine) -> tuple[Chain, ...]:
    """Find the chains of a trace, in time order."""
    from loopwright.laps.kernels import best_way  # compiles: only when needed

    pick = thin(trace)
    at, gap = places(line, trace.xy[pick])
    ridden, silent = _steps(trace, pick)
    states = best_way(at, _costs(trace, pick, line, at, gap), ridden, silent, line.length_m)
    return _chains(_Matched(trace, pick, at, states, ridden, silent, line))


def _steps(trace: Trace, pick: Ints) -> tuple[Floats, Floats]:
    """Metres ridden since the sample before, and seconds of silence where the recording broke."""
    step = np.hypot(*np.diff(trace.xy[pick], axis=0).T)
    wait = np.diff(trace.time_s[pick])
    apart = np.diff(trace.piece[pick]) != 0
    quiet = np.maximum.reduceat(np.diff(trace.time_s)[: pick[-1]], pick[:-1])
    broken = apart | (quiet > LONG_GAP_S)
    return np.concatenate(([0.0], step)), np.concatenate(([0.0], np.where(broken, wait, 0.0)))


def _costs(trace: Trace, pick: Ints, line: LoopLine, at: Floats, gap: Floats) -> Floats:
    """Cost ``(n, 2, k)`` of being at each place forward and backward: distance and heading."""
    heading = _headings(trace, pick)
    _, tangent = frame_at(line, np.nan_to_num(at).ravel())
    cos = dots(tangent.reshape(*at.shape, 2), heading[:, None, :])
    base = 0.5 * (np.where(np.isfinite(gap), gap, 99.0) / ERROR_M) ** 2
    return np.stack((base + TURN_COST * (1 - cos), base + TURN_COST * (1 + cos)), axis=1)


def _headings(trace: Trace, pick: Ints) -> Floats:
    """Give the unit direction of travel ``(n, 2)`` over the samples beside each.

    Neighbours across a break of the recording are left out.
    """
    xy, piece = trace.xy[pick], trace.piece[pick]
    before = np.maximum(np.arange(len(pick)) - 1, 0)
    after = np.minimum(np.arange(len(pick)) + 1, len(pick) - 1)
    before = np.where(piece[before] == piece, before, np.arange(len(pick)))
    after = np.where(piece[after] == piece, after, np.arange(len(pick)))
    chord = xy[after] - xy[before]
    return chord / np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-9)[:, None]


class _Matched:
    """The matched samples, and where chains begin, go on and break."""

    def __init__(  # noqa: PLR0917 - private, one caller
        self, trace: Trace, pick: Ints, at: Floats, states: Ints, ridden: Floats,
        silent: Floats, line: LoopLine,
    ) -> None:  # fmt: skip
        self.trace = trace
        self.pick = pick
        self.on = states < 2 * at.shape[1]
        self.back = states >= at.shape[1]
        place = at[np.arange(len(at)), states % at.shape[1]]
        self.metres = np.where(self.back, -place, place) % line.length_m
        self.run = np.cumsum(ridden)
        self.silent = np.cumsum(silent)
        self.length_m = line.length_m
        self.line = line
        gap = np.hypot(*(trace.xy[pick] - frame_at(line, np.nan_to_num(place))[0]).T)
        usual = float(np.median(gap[self.on])) if self.on.any() else 0.0
        self.skip_m = SKIP_M + SKIP_ERRORS * usual / HALF_NORMAL

    def forward(self, a: int, b: int) -> float:
        """Progress from sample a to b: the likeliest reading, a quarter lap back to three on."""
        rest = 0.25 * self.length_m
        step = float((self.metres[b] - self.metres[a] + rest) % self.length_m - rest)
        ridden = float(self.run[b] - self.run[a])
        return step + self.length_m if step < 0 and ridden > 0.6 * self.length_m else step

    def strayed_m(self, a: int, b: int, step: float) -> float:
        """How far samples between a and b were from where the loop was to be followed."""
        rows = np.arange(a, b + 1)
        share = (self.run[rows] - self.run[a]) / max(float(self.run[b] - self.run[a]), 1e-9)
        at = self.metres[a] + step * share
        point, _ = frame_at(self.line, np.where(self.back[a], -at, at))
        return float(np.hypot(*(self.trace.xy[self.pick[rows]] - point).T).max())


def _chains(matched: _Matched) -> tuple[Chain, ...]:
    chains: list[Chain] = []
    samples: list[int] = []
    progress: list[float] = []
    breaks: list[Break] = []
    for i in np.flatnonzero(matched.on).tolist():
        if samples and _same_chain(matched, samples[-1], i):
            step, broken = _joined(matched, samples[-1], i, progress[-1])
            breaks += [broken] if broken else []
            progress.append(progress[-1] + step)
        else:
            chains += _closed(matched, samples, progress, breaks)
            samples, progress, breaks = [], [float(matched.metres[i])], []
        samples.append(i)
    return tuple(chains + _closed(matched, samples, progress, breaks))


def _same_chain(matched: _Matched, a: int, b: int) -> bool:
    away = float(matched.run[b] - matched.run[a]) if b > a + 1 else 0.0
    return bool(matched.back[a] == matched.back[b]) and away < max(AWAY_M, matched.length_m / 2)


def _joined(matched: _Matched, a: int, b: int, done_m: float) -> tuple[float, Break | None]:
    """Progress between two samples on the loop, and what is amiss with it, if anything."""
    step = matched.forward(a, b)
    ridden = float(matched.run[b] - matched.run[a])
    silent = float(matched.silent[b] - matched.silent[a])
    end = done_m + step
    if silent > 0 and b == a + 1:
        return _over_gap(step, ridden, silent, done_m)
    left = b > a + 1
    if left and not _wobbled(matched, (a, b), step, ridden):
        words = f"left the loop for {ridden:.0f} m"
        words += f" and missed {step:.0f} m of it" if step > matched.skip_m else ""
        return step, Break(from_m=min(done_m, end), to_m=max(done_m, end), words=words)
    if not left and step - ridden > matched.skip_m + WOBBLE_SHARE * ridden:
        return step, Break(from_m=done_m, to_m=end, words=f"cut {step - ridden:.0f} m short")
    if step < -matched.skip_m:
        return step, Break(from_m=end, to_m=done_m, words=f"went back {-step:.0f} m")
    return step, None


def _wobbled(matched: _Matched, ends: tuple[int, int], step: float, ridden: float) -> bool:
    """Tell whether a time off the loop was a receiver's wandering and not a rider's."""
    keeps_step = abs(step - ridden) <= matched.skip_m + WOBBLE_SHARE * ridden
    return keeps_step and (ridden <= WOBBLE_M or matched.strayed_m(*ends, step) <= STRAY_M)


def _over_gap(
    step: float, ridden: float, silent: float, done_m: float
) -> tuple[float, Break | None]:
    if step > 2.0:
        words = f"{silent:.0f} s not recorded over {step:.0f} m"
        fits = step <= FASTEST_MPS * silent + SLACK_M and ridden - SLACK_M <= step
        return step, Break(
            from_m=done_m, to_m=done_m + step, words=words, spoils=not fits,
            silent_s=silent if fits else 0.0,
        )  # fmt: skip
    return step, None


def _closed(
    matched: _Matched, samples: list[int], progress: list[float], breaks: list[Break]
) -> list[Chain]:
    if len(samples) < 2:
        return []
    way = Way.BACKWARD if matched.back[samples[0]] else Way.FORWARD
    fix = matched.pick[np.array(samples)]
    return [Chain(way=way, fix=fix, progress_m=np.array(progress), breaks=tuple(breaks))]
