"""Lay two trails apart that errors laid together.

Gets a web and samples as recorded and aligned; where the passes over a corridor form two groups,
each group gets a line of its own, told from the riding on the common trail before and after, and
its samples are moved onto it. Promises: away from such zones nothing moves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned, headings
from loopwright.network.corridors import Corridor, Reading, corridors_of
from loopwright.network.ends import SWAY_M
from loopwright.network.groups import Zone, zones_of
from loopwright.network.rows import Bools, Rows
from loopwright.network.samples import Samples
from loopwright.network.spans import agreement, profile
from loopwright.network.web import Web

TOLD_FROM_M = 100.0
"""Riding before and after a zone from which a ride's error is told."""
TAPER_M = 60.0
"""Over so much of the common trail before and after, passes come together."""
MOST = 0.5
"""Share of the riding before or after a zone that tells whether the trail there has lanes."""
LEAST_ROWS = 6
"""Places in a zone (30 m) after which a pass that rides only part of it is told too."""


def laid_apart(
    web: Web, samples: Samples, aligned: Aligned, ele: Floats, sigma: Floats, *, lanes: Bools
) -> tuple[Aligned, Bools]:
    """Move the samples of every zone onto their group's line; also marks them ``(n,)``.

    ``sigma`` ``(n,)`` is each sample's error in metres; ``lanes`` ``(n,)`` marks those beside which
    the other way has a line of its own.
    """
    xy, moved = aligned.xy.copy(), np.zeros(len(samples), dtype=bool)
    for corridor in corridors_of(web, samples, aligned, ele, sigma):
        for zone in zones_of(corridor):
            if not _told(corridor, zone, lanes):
                _lay(corridor, zone, xy, moved)
    if not moved.any():
        return aligned, moved
    return Aligned(xy=xy, head=headings(xy, samples.first)), moved


@dataclass(frozen=True, slots=True, kw_only=True)
class _Places:
    """Rows of a corridor in a zone, before and after it, and the ``common`` trail there, metres."""

    zone: Rows
    flank: Rows
    common: Floats


def _lay(corridor: Corridor, zone: Zone, xy: Floats, moved: Bools) -> None:
    places = _places(corridor, zone)
    side = zone.side.copy()
    lines = _lines(corridor, zone, places)
    for number in np.flatnonzero(side == 0).tolist():
        side[number] = _nearer(corridor, corridor.readings[number], places, lines)
    ways = {each: _way(corridor, places, line) for each, line in lines.items()}
    for reading, each in zip(corridor.readings, side.tolist(), strict=True):
        if each:
            rows, move = _moves(corridor, zone, reading, ways[each])
            xy[rows] += move
            inside = (reading.place >= zone.from_m) & (reading.place <= zone.to_m)
            moved[reading.rows[inside]] = True


def _told(corridor: Corridor, zone: Zone, lanes: Bools) -> bool:
    """Tell whether the trail before or after a zone is two lines told by the way they are ridden.

    There is no common trail then to lay the zone by, and its lines are apart already.
    """
    return any(
        _share(corridor, lanes, low, low + TOLD_FROM_M) > MOST
        for low in (zone.from_m - TOLD_FROM_M, zone.to_m)
    )


def _share(corridor: Corridor, marks: Bools, low: float, high: float) -> float:
    """Share of the samples from ``low`` to ``high`` metres along a corridor that are marked."""
    rows = [one.rows[(one.place >= low) & (one.place <= high)] for one in corridor.readings]
    found = marks[np.concatenate(rows)]
    return float(found.mean()) if len(found) else 0.0


def _places(corridor: Corridor, zone: Zone) -> _Places:
    dist = corridor.dist
    inside = (dist >= zone.from_m) & (dist <= zone.to_m)
    around = (dist >= zone.from_m - TOLD_FROM_M) & (dist <= zone.to_m + TOLD_FROM_M)
    flank = np.flatnonzero(around & ~inside)
    return _Places(zone=np.flatnonzero(inside), flank=flank, common=_common(corridor)[flank])


def _common(corridor: Corridor) -> Floats:
    """Metres to the left at which all passes together lie, once aligned."""
    total, weight = np.zeros(len(corridor.dist)), np.zeros(len(corridor.dist))
    for one in corridor.readings:
        total[one.low : one.high] += one.aligned / one.sigma**2
        weight[one.low : one.high] += 1.0 / one.sigma**2
    return np.asarray(total / np.maximum(weight, 1e-9))


def _way(corridor: Corridor, places: _Places, line: Floats) -> Floats:
    """Metres to the left of one trail: its line in the zone, the common trail beside it."""
    way = np.zeros(len(corridor.dist))
    way[places.flank], way[places.zone] = places.common, line
    return way


def _moves(corridor: Corridor, zone: Zone, reading: Reading, way: Floats) -> tuple[Rows, Floats]:
    """Give a pass's samples in and near a zone, and metres that move them onto its trail."""
    dist, place = corridor.dist, reading.place
    beyond = np.maximum(zone.from_m - place, place - zone.to_m)
    mine = beyond < TAPER_M
    place, share = place[mine], 1.0 - np.maximum(beyond[mine], 0.0) / TAPER_M
    was = np.interp(place, dist[reading.low : reading.high], reading.aligned)
    left = np.column_stack([np.interp(place, dist, corridor.left[:, k]) for k in (0, 1)])
    return reading.rows[mine], (share * (np.interp(place, dist, way) - was))[:, None] * left


def _lines(corridor: Corridor, zone: Zone, places: _Places) -> dict[int, Floats]:
    """Metres to the left, in the zone, of the line to the right (-1) and to the left (1)."""
    total, weight = _seen(corridor, zone, places)
    both = np.maximum(weight[-1] + weight[1], 1e-9)
    middle = (total[-1] + total[1]) / both
    shape = profile(corridor.dist[places.zone], np.array(zone.from_m), np.array(zone.to_m))
    gap = zone.gap_m * shape
    known = (weight[1] > 0) & (weight[-1] > 0)
    right, left = (np.where(known, weight[side], 1.0) for side in (-1, 1))
    seen = total[1] / left - total[-1] / right
    trust = np.where(known, SWAY_M**2 / (SWAY_M**2 + 1.0 / left + 1.0 / right), 0.0)
    gap = gap + shape * trust * (seen - gap)
    return {-1: middle - gap * weight[1] / both, 1: middle + gap * weight[-1] / both}


def _seen(
    corridor: Corridor, zone: Zone, places: _Places
) -> tuple[dict[int, Floats], dict[int, Floats]]:
    """Weighted sums of where each group's passes were, own errors taken out, and the weights."""
    total = {side: np.zeros(len(places.zone)) for side in (-1, 1)}
    weight = {side: np.zeros(len(places.zone)) for side in (-1, 1)}
    for reading, side in zip(corridor.readings, zone.side.tolist(), strict=True):
        if side:
            mine, place, variance = _own_place(corridor, reading, places)
            total[side][mine] += place / variance
            weight[side][mine] += 1.0 / variance
    return total, weight


def _nearer(corridor: Corridor, reading: Reading, places: _Places, lines: dict[int, Floats]) -> int:
    """Tell which line a pass over part of a zone rode; 0 when it is too short to tell."""
    mine, place, _ = _own_place(corridor, reading, places)
    if mine.sum() < LEAST_ROWS:
        return 0
    return min(lines, key=lambda side: float(((place - lines[side][mine]) ** 2).sum()))


def _own_place(
    corridor: Corridor, reading: Reading, places: _Places
) -> tuple[Bools, Floats, Floats]:
    """Tell where a ride was in a zone once the error it had before and after is taken out.

    Gives which of the zone's places it rode, metres to the left there and their variance.
    """
    mine = (places.zone >= reading.low) & (places.zone < reading.high)
    ridden = (places.flank >= reading.low) & (places.flank < reading.high)
    rows, flank = places.zone[mine], places.flank[ridden]
    alike = agreement(corridor, np.concatenate((rows, flank)))
    size = len(rows)
    place, variance = reading.recorded[rows - reading.low], np.diag(alike)[:size]
    if len(flank) and size:
        pull = np.linalg.solve(alike[size:, size:], alike[size:, :size]).T
        stray = reading.recorded[flank - reading.low] - places.common[ridden]
        place = place - pull @ stray
        variance = variance - (pull * alike[:size, size:]).sum(axis=1)
    return mine, place, np.maximum(variance, 0.01) * reading.sigma[rows - reading.low] ** 2
