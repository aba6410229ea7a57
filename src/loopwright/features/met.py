"""Ground met: how long the rides of a season were on each surface.

Gets a terrain, the recordings and two moments; gives moving seconds and metres by surface.
Promises: a pass counts by its own recorded times, standing left out; what carries no times is
counted as such, never guessed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.geo.frame import to_local
from loopwright.geo.polyline import along
from loopwright.jobs import Report
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin
from loopwright.model.ground import SURFACES, GroundSpan, Terrain
from loopwright.model.ids import RideId, Way
from loopwright.model.network import Pass
from loopwright.model.season import GroundMet
from loopwright.model.track import Ride

STILL_MPS = 0.5
"""Slower is standing; walking with the bicycle is faster (common practice, no source)."""
UNTAGGED = (GroundSpan(from_m=0.0, to_m=np.inf),)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Run:
    """A recording as metres ridden so far and seconds since 1970, each ``(n,)``."""

    metres: Floats
    time_s: Floats


def ground_met(
    terrain: Terrain, rides: Sequence[Ride], *, begin_s: float, end_s: float, report: Report
) -> GroundMet:
    """Add up all passes that began from ``begin_s`` to before ``end_s``, seconds since 1970."""
    known = {ride.id: ride for ride in rides}
    runs: dict[RideId, _Run] = {}
    totals = np.zeros((2, len(SURFACES)))
    stretches = terrain.network.stretches
    for number, stretch in enumerate(stretches):
        report.step(number / len(stretches), "")
        spans = terrain.spans.get(stretch.id) or UNTAGGED
        length_m = float(along(stretch.xy)[-1])
        for one in stretch.passes:
            if begin_s <= one.time_s < end_s and one.ride in known:
                run = runs.get(one.ride) or _run(known[one.ride], terrain.network.origin)
                runs[one.ride] = run
                totals += _pass(run, one, spans, length_m)
    times, metres = (_by_surface(row) for row in totals)
    untimed = sum(not np.isfinite(ride.track.time_s).any() for ride in rides)
    return GroundMet(time_s=times, length_m=metres, rides=len(runs), untimed=untimed)


def _run(ride: Ride, origin: Origin) -> _Run:
    xy = to_local(origin, ride.track.lat, ride.track.lon)
    return _Run(metres=along(xy), time_s=ride.track.time_s)


def _pass(run: _Run, one: Pass, spans: Sequence[GroundSpan], length_m: float) -> Floats:
    """Seconds and metres ``(2, surfaces)`` of one pass over a stretch of ``length_m``.

    Recorded metres are scaled to the stretch: a pass runs from one end to the other.
    """
    part = slice(one.first, one.last + 1)
    time, metres = run.time_s[part], run.metres[part]
    whole = float(metres[-1] - metres[0]) if len(metres) else 0.0
    if whole <= 0:
        return np.zeros((2, len(SURFACES)))
    place = (metres - metres[0]) * (length_m / whole)
    took, went = np.diff(time), np.diff(place)
    moving = (took > 0) & (went > STILL_MPS * took)
    middle = (place[1:] + place[:-1]) / 2
    middle = length_m - middle if one.way is Way.BACKWARD else middle
    edges = np.array([span.to_m for span in spans[:-1]])
    codes = np.array([SURFACES.index(span.surface) for span in spans])
    code = codes[np.searchsorted(edges, middle, side="right")][moving]
    rows = [np.bincount(code, row[moving], len(SURFACES)) for row in (took, went)]
    return np.array(rows, dtype=np.float64)


def _by_surface(row: Floats) -> Mapping[str, float]:
    return {word: float(v) for word, v in zip(SURFACES, row, strict=True) if v > 0}
