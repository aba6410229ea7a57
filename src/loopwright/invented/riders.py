"""Invented rides over an invented network, recorded by invented receivers.

Gets a park (or any network), a way to go and a seed; gives recorded tracks, and for a given walk
the true times at every stretch end. Promises: deterministic; same seed, same track.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from loopwright.geo.frame import to_degrees
from loopwright.geo.polyline import along, length_m, resample
from loopwright.invented.faults import at_bends, frozen, kept_samples, pauses_in, spiked, strayed
from loopwright.invented.park import Park
from loopwright.invented.receiver import CLEAN, Faults, Receiver, fading, misjudge, misplace
from loopwright.invented.speed import Legs, times_along
from loopwright.invented.walks import cover
from loopwright.model.arrays import Floats, floats
from loopwright.model.ids import Arc, Way
from loopwright.model.network import Network
from loopwright.model.track import RecordedTrack

FIRST_RIDE_S = 1_901_264_400.0
"""2030-04-01 09:00 UTC, an invented day."""
DAY_S = 86_400.0
WOBBLE_M = 100.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RiddenWalk:
    """A recording with its truth.

    ``gate_s`` ``(len(arcs) + 1,)`` seconds since 1970 at the start and at the end of every arc;
    ``true_xy`` ``(n, 2)`` local metres, where the rider was at every recorded sample.
    """

    track: RecordedTrack
    arcs: tuple[Arc, ...]
    gate_s: Floats
    true_xy: Floats

    def __post_init__(self) -> None:
        """Lock the arrays."""
        object.__setattr__(self, "gate_s", floats(self.gate_s, rows=len(self.arcs) + 1))
        object.__setattr__(self, "true_xy", floats(self.true_xy, columns=2))


def ride_park(
    park: Park | Network,
    *,
    rides: int,
    error_m: float,
    seed: int,
    interval_s: float = 1.0,
    length_m: tuple[float, float] = (5000.0, 12_000.0),
    errors_m: tuple[float, float] | None = None,
    intervals_s: tuple[float, float] | None = None,
    receiver: Receiver | None = None,
    faults: Faults = CLEAN,
    legs: Legs | None = None,
) -> tuple[RecordedTrack, ...]:
    """Ride all over a park.

    Parameters
    ----------
    rides
        How many rides, each of a length drawn from ``length_m`` (metres). Stretches ridden least
        are sought, so about 10 rides of the default length pass everything in a park.
    error_m
        Standard deviation of one axis of the position error; ``errors_m`` draws one per ride
        from a range instead (mixed receivers).
    interval_s
        Seconds between samples; ``intervals_s`` draws one per ride from a range instead.
    legs
        Who moves; None draws another rider for every ride.
    """
    rng = np.random.default_rng([seed, 7])
    recorder = receiver or Receiver(error_m=error_m)
    out = []
    for number, arcs in enumerate(cover(network_of(park), rng, rides=rides, length_m=length_m)):
        sigma = float(rng.uniform(*errors_m)) if errors_m else error_m
        gap_s = float(rng.uniform(*intervals_s)) if intervals_s else interval_s
        ridden = ride_arcs(
            park,
            arcs,
            error_m=sigma,
            seed=int(rng.integers(2**31)),
            interval_s=gap_s,
            legs=legs or _someone(rng),
            receiver=recorder,
            faults=faults,
            start_s=FIRST_RIDE_S + number * DAY_S + float(rng.uniform(0, 14_400)),
            name=f"Invented ride {number + 1}",
        )
        out.append(ridden.track)
    return tuple(out)


def _someone(rng: np.random.Generator) -> Legs:
    return Legs(
        power_w=float(rng.uniform(160.0, 280.0)),
        mass_kg=float(rng.uniform(68.0, 98.0)),
        grip=float(rng.uniform(0.28, 0.5)),
        top_mps=float(rng.uniform(8.0, 12.0)),
    )


def network_of(park: Park | Network) -> Network:
    """Give the true network of a park, or the network itself."""
    return park.network if isinstance(park, Park) else park


def ride_arcs(
    park: Park | Network,
    arcs: Sequence[Arc],
    *,
    error_m: float = 3.0,
    seed: int = 0,
    interval_s: float = 1.0,
    laps: int = 1,
    legs: Legs | None = None,
    receiver: Receiver | None = None,
    faults: Faults = CLEAN,
    start_s: float = FIRST_RIDE_S,
    name: str = "Invented ride",
    wobble: float = 0.0,
) -> RiddenWalk:
    """Ride given arcs, ``laps`` times over, and keep the truth beside the recording.

    ``wobble`` is the spread, as a ratio, of how much slower or faster than steady the rider
    is from one hundred metres to the next.
    """
    network, rng = network_of(park), np.random.default_rng([seed, 11])
    whole = tuple(arcs) * laps
    line, ele, gates_m = lay_out(network, whole)
    run = along(line)
    moving_s = _wobbled(rng, times_along(line, ele, legs or Legs()), wobble)
    time_s, stops = pauses_in(rng, moving_s, faults)
    at_s = np.arange(0.0, time_s[-1] + interval_s, interval_s)
    true_m = np.interp(at_s, time_s, run)
    true_xy = np.column_stack([np.interp(true_m, run, line[:, k]) for k in (0, 1)])
    true_ele = np.interp(true_m, run, ele)
    recorder = replace(receiver or Receiver(), error_m=error_m)
    seen = misplace(rng, true_xy, at_s, recorder) + _scatter(rng, at_s, stops, faults)
    seen = strayed(rng, seen, at_s, faults)
    seen = frozen(rng, spiked(rng, seen, at_s, faults), at_s, faults)
    heights = misjudge(rng, true_ele, at_s, recorder)
    keep = np.flatnonzero(kept_samples(rng, at_s, faults))
    if faults.bends_only and rng.uniform() < faults.bends_only:
        keep = at_bends(seen, at_s)
    track = written(network, seen[keep], heights[keep], start_s + at_s[keep], name=name)
    return RiddenWalk(
        track=_with_whole_faults(rng, track, faults),
        arcs=whole,
        gate_s=start_s + np.interp(gates_m, run, time_s),
        true_xy=true_xy[keep],
    )


def lay_out(network: Network, arcs: Sequence[Arc]) -> tuple[Floats, Floats, Floats]:
    """Line ``(n, 2)``, heights ``(n,)`` and metres at arc ends ``(len(arcs) + 1,)`` of a walk.

    Raises ValueError when an arc does not begin where the one before ends.
    """
    named = {stretch.id: stretch for stretch in network.stretches}
    lines, heights, gates = [], [], [0.0]
    for name, way in arcs:
        stretch, step = named[name], 1 if way is Way.FORWARD else -1
        xy = resample(stretch.xy, 1.0)
        ele = np.interp(along(xy), along(stretch.xy), stretch.ele_m)
        lines.append(xy[::step])
        heights.append(ele[::step])
        gates.append(gates[-1] + length_m(xy))
    for before, after in pairwise(lines):
        if np.hypot(*(before[-1] - after[0])) > 1e-6:
            message = "an arc does not begin where the one before it ends"
            raise ValueError(message)
    line = np.vstack([lines[0], *[xy[1:] for xy in lines[1:]]])
    ele = np.concatenate([heights[0], *[ele[1:] for ele in heights[1:]]])
    return line, ele, np.array(gates)


def _wobbled(rng: np.random.Generator, time_s: Floats, wobble: float) -> Floats:
    if wobble == 0.0:
        return time_s
    pace = np.exp(wobble * fading(rng, np.ones(len(time_s) - 2), WOBBLE_M, 1)[:, 0])
    return np.concatenate(([0.0], np.cumsum(np.diff(time_s) * pace)))


def _scatter(
    rng: np.random.Generator, at_s: Floats, stops: list[tuple[float, float]], faults: Faults
) -> Floats:
    """Wandering of the position while the rider stands still, ``(n, 2)`` metres."""
    out = np.zeros((len(at_s), 2))
    for from_s, to_s in stops:
        here = np.flatnonzero((at_s >= from_s) & (at_s <= to_s))
        if len(here) > 1:
            noise = fading(rng, np.diff(at_s[here]), 8.0, 2)
            out[here] = faults.pause_scatter_m * noise
    return out


def written(
    network: Network, xy: Floats, ele_m: Floats, time_s: Floats, *, name: str
) -> RecordedTrack:
    """Write places ``(n, 2)``, heights (metres) and times (seconds) ``(n,)`` as a recording."""
    lat, lon = to_degrees(network.origin, xy)
    return RecordedTrack(
        name=name,
        source="invented",
        lat=lat,
        lon=lon,
        ele_m=ele_m,
        time_s=time_s,
        piece=np.zeros(len(lat), dtype=np.int32),
    )


def _with_whole_faults(
    rng: np.random.Generator, track: RecordedTrack, faults: Faults
) -> RecordedTrack:
    """Faults of a whole recording: no heights, zero heights, no times, every sample twice."""
    draw = rng.uniform(size=4)
    nothing = np.full(len(track), np.nan)
    if draw[0] < faults.no_height:
        track = replace(track, ele_m=nothing)
    elif draw[1] < faults.zero_height:
        track = replace(track, ele_m=np.zeros(len(track)))
    if draw[2] < faults.no_time:
        track = replace(track, time_s=nothing)
    return _doubled(track) if draw[3] < faults.repeated else track


def _doubled(track: RecordedTrack) -> RecordedTrack:
    twice = np.repeat(np.arange(len(track)), 2)
    half_s = np.diff(track.time_s, append=track.time_s[-1] + 1.0) / 2
    later = np.where(np.arange(len(twice)) % 2 == 1, half_s[twice], 0.0)
    return replace(
        track,
        lat=track.lat[twice],
        lon=track.lon[twice],
        ele_m=track.ele_m[twice],
        time_s=track.time_s[twice] + later,
        piece=track.piece[twice],
    )
