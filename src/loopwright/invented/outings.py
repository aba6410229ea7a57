"""People out on foot as they are: they stray, rest, cut across, and record with odd devices.

Gets a park and a seed; gives recordings, and the part of the network that was walked. Beside the
errors of receivers these hold what surveys do not: glances aside from the trail and back, short
cuts between its bends, rests at which people walk about, drawn lines without times. Promises:
deterministic; same seed, same recordings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.ndimage import gaussian_filter1d
from shapely import LineString

from loopwright.geo.polyline import along
from loopwright.invented.crowds import popular, shown_by
from loopwright.invented.faults import at_bends
from loopwright.invented.park import Park
from loopwright.invented.receiver import Receiver, fading, misjudge, misplace
from loopwright.invented.riders import DAY_S, FIRST_RIDE_S, lay_out, written
from loopwright.model.arrays import Floats
from loopwright.model.ids import Arc
from loopwright.model.network import Network
from loopwright.model.track import RecordedTrack

LENGTH_M = (3000.0, 9000.0)
PACE_M_S = (1.0, 1.5)
ERRORS_M = (2.5, 6.0)
BIAS_M, BIAS_FADE_M = 1.5, 80.0
"""What all receivers err alike at a place, as under one cliff, and over how far it changes."""
GLANCES, CUTS, RESTS = 0.6, 0.3, 1.0
"""An hour's glances aside, short cuts and rests."""
GLANCE_M, CUT_M, REST_S = (20.0, 120.0), (25.0, 300.0), (150.0, 1500.0)
ONE_HZ, SLOW, BY_STEPS, SPARSE = 0.35, 0.55, 0.75, 0.9
"""Devices: a point a second; every 3 to 10 s; every 8 m; slow again; the rest only at bends."""
STEP_M = 8.0
DRAWN, UNTIMED = 0.05, 0.08
"""Shares of lines drawn on a map, and of recordings whose times were lost."""


def go_out(
    park: Park, *, walks: int, seed: int, length_m: tuple[float, float] = LENGTH_M
) -> tuple[tuple[RecordedTrack, ...], Network]:
    """Send so many people out; gives their recordings and the network they show, the truth.

    Each walks at least a length drawn between the two of ``length_m``, and home.
    """
    rng = np.random.default_rng([seed, 17])
    ways = popular(park.network, rng, walks=walks, length_m=length_m)
    sky = _Sky(_bias(rng), seed)
    tracks = tuple(
        _recorded(park.network, arcs, np.random.default_rng([seed, 19, k]), sky, number=k)
        for k, arcs in enumerate(ways)
    )
    return tracks, shown_by(park.network, ways)


@dataclass(frozen=True, slots=True, eq=False)
class _Bias:
    """An error that depends on the place alone."""

    wave: Floats
    phase: Floats

    def at(self, xy: Floats) -> Floats:
        """Give it ``(n, 2)`` in metres."""
        turn = xy @ self.wave.T
        size = BIAS_M * (2.0 / len(self.wave)) ** 0.5
        return np.column_stack([size * np.cos(turn + self.phase[:, k]).sum(axis=1) for k in (0, 1)])


@dataclass(frozen=True, slots=True, eq=False)
class _Sky:
    """What receivers see alike: the common error, and where shade lies."""

    bias: _Bias
    shade_seed: int


def _bias(rng: np.random.Generator) -> _Bias:
    wave = rng.standard_normal((30, 2)) / BIAS_FADE_M
    return _Bias(wave, rng.uniform(0.0, 2 * np.pi, (30, 2)))


@dataclass(slots=True)
class _Trace:
    """A way as it is being walked: places, heights, seconds waited at each."""

    xy: list[Floats] = field(default_factory=list)
    ele: list[Floats] = field(default_factory=list)
    wait_s: list[Floats] = field(default_factory=list)

    def go(self, xy: Floats, ele: Floats | float, wait_s: Floats | None = None) -> None:
        """Go on along ``xy`` ``(n, 2)``."""
        self.xy.append(xy)
        self.ele.append(np.broadcast_to(np.asarray(ele, dtype=np.float64), (len(xy),)))
        self.wait_s.append(np.zeros(len(xy)) if wait_s is None else wait_s)


def _recorded(
    network: Network, arcs: Sequence[Arc], rng: np.random.Generator, sky: _Sky, *, number: int
) -> RecordedTrack:
    line, ele, _ = lay_out(network, arcs)
    cut = rng.uniform(2.0, 5.0)  # people cut corners by as many metres
    line = np.column_stack([gaussian_filter1d(line[:, k], cut, mode="nearest") for k in (0, 1)])
    pace = float(rng.uniform(*PACE_M_S))
    trace = _walked(line, ele, pace, rng)
    xy, heights = np.vstack(trace.xy), np.concatenate(trace.ele)
    if rng.uniform() < DRAWN:
        return _drawn(network, xy, rng, number=number)
    time_s = _times(xy, np.concatenate(trace.wait_s), pace, rng)
    device = float(rng.uniform())
    gap_s = 1.0 if device < ONE_HZ else float(rng.uniform(3.0, 10.0))
    at_s = np.arange(0.0, time_s[-1] + gap_s, gap_s)
    true_xy, true_ele = (
        np.column_stack([np.interp(at_s, time_s, column) for column in columns])
        for columns in ((xy[:, 0], xy[:, 1]), (heights,))
    )
    receiver = Receiver(
        error_m=float(rng.uniform(*ERRORS_M)),
        height_offset_m=25.0,
        shade=1.0,
        shade_seed=sky.shade_seed,
    )
    seen = misplace(rng, true_xy, at_s, receiver) + sky.bias.at(true_xy)
    seen_ele = misjudge(rng, true_ele[:, 0], at_s, receiver)
    kept = _kept(seen, at_s, device)
    times = FIRST_RIDE_S + number * DAY_S + at_s[kept]
    if rng.uniform() < UNTIMED:
        times = np.full(len(kept), np.nan)
    return written(network, seen[kept], seen_ele[kept], times, name=_name(number))


def _walked(line: Floats, ele: Floats, pace: float, rng: np.random.Generator) -> _Trace:
    """Walk a line of a metre's spacing, with glances, short cuts and rests on the way."""
    trace, here, last = _Trace(), 0, len(line)
    hours = last / pace / 3600.0
    events = [
        (int(rng.uniform(0, last)), what)
        for what, rate in enumerate((GLANCES, CUTS, RESTS))
        for _ in range(int(rng.poisson(rate * hours)))
    ]
    for row, what in sorted(events):
        if not here + 5 < row < last - 5:
            continue
        trace.go(line[here:row], ele[here:row])
        here = row
        if what == 0:
            trace.go(_glance(line, row, rng), float(ele[row]))
        elif what == 1:
            here = _cut(trace, line, ele, row, rng)
        else:
            _rest(trace, line[row], float(ele[row]), rng)
    trace.go(line[here:], ele[here:])
    return trace


def _glance(line: Floats, row: int, rng: np.random.Generator) -> Floats:
    """Go off the trail and come back the way one went, or nearly."""
    on = line[row + 3] - line[row - 3]
    angle = np.arctan2(on[1], on[0]) + rng.choice([-1.0, 1.0]) * rng.uniform(0.4, 1.8)
    steps = int(rng.uniform(*GLANCE_M))
    head = angle + np.cumsum(0.05 * rng.standard_normal(steps))
    out = line[row] + np.cumsum(np.column_stack((np.cos(head), np.sin(head))), axis=0)
    back = out[::-1] + 1.5 * fading(rng, np.ones(steps - 1), 20.0, 2)
    return np.vstack((out, back))


def _cut(trace: _Trace, line: Floats, ele: Floats, row: int, rng: np.random.Generator) -> int:
    """Go straight to where the trail comes by again; gives the row there."""
    for ahead in rng.uniform(80.0, CUT_M[1], 6):
        to = row + int(ahead)
        gap = float(np.hypot(*(line[min(to, len(line) - 1)] - line[row])))
        if to < len(line) - 5 and CUT_M[0] < gap < 0.75 * ahead:
            xy = np.linspace(line[row], line[to], int(gap))[1:]
            trace.go(xy, np.linspace(ele[row], ele[to], len(xy)))
            return to
    return row


def _rest(trace: _Trace, place: Floats, ele: float, rng: np.random.Generator) -> None:
    """Walk about a little, stand here and there, and come back."""
    about = place + np.cumsum(0.7 * rng.standard_normal((20, 2)), axis=0)
    stops = np.zeros(20)
    stops[::4] = rng.dirichlet(np.ones(5)) * rng.uniform(*REST_S)
    trace.go(about, ele, stops)
    trace.go(about[::-1], ele)


def _times(xy: Floats, wait_s: Floats, pace: float, rng: np.random.Generator) -> Floats:
    """Seconds ``(n,)`` at each place, at a pace that varies by a sixth."""
    step_m = np.maximum(np.diff(along(xy)), 1e-6)
    speed = pace * np.exp(0.15 * fading(rng, np.ones(len(step_m) - 1), 100.0, 1)[:, 0])
    return np.concatenate(([0.0], np.cumsum(step_m / speed + wait_s[:-1])))


def _kept(xy: Floats, at_s: Floats, device: float) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
    """Sample numbers that a device writes."""
    if SLOW < device < BY_STEPS:
        return _by_steps(xy)
    return at_bends(xy, at_s) if device >= SPARSE else np.arange(len(xy))


def _by_steps(xy: Floats) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
    kept = [0]
    for row in range(1, len(xy)):
        if np.hypot(*(xy[row] - xy[kept[-1]])) >= STEP_M:
            kept.append(row)
    return np.array(kept)


def _drawn(network: Network, xy: Floats, rng: np.random.Generator, *, number: int) -> RecordedTrack:
    """Draw the way on a map by hand: corners only, 4 m off, no times, no heights."""
    corners = np.asarray(LineString(xy).simplify(6.0).coords)
    corners = corners + 4.0 * rng.standard_normal(corners.shape)
    nothing = np.full(len(corners), np.nan)
    return written(network, corners, nothing, nothing, name=_name(number))


def _name(number: int) -> str:
    return f"Invented outing {number + 1}"
