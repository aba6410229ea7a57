"""Lay each line through the middle of its passes.

Gets a web and aligned samples; gives the web with every line moved to the mean of the passes
beside it, tapering to nothing at junctions, and a standard error for every vertex.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.rows import Rows
from loopwright.network.samples import STEP_M
from loopwright.network.stations import STATION_M, Abreast, Stations, abreast_of, stations_of
from loopwright.network.web import Web

REACH_M = 8.0
"""Aligned samples further off than this belong to another line."""
FAR_M = 45.0
"""Strays are not looked for beyond."""
EASE_M, EASE_MOST_M = 30.0, 30.0
"""Where passes err twice as much as usual, offsets are averaged over so many metres either way;
in proportion where they err less, never over more. Passes scatter so far there that neighbouring
stations see others, and the line would curl. Twice and half of it were no better on invented walks.
"""
TAPER_M = 8.0
"""Near a junction passes turn off, so their mean is pulled aside; the line keeps its place."""
TOGETHER = 200_000
"""Samples spread over stations at a time."""
PRIOR_PASSES = 6
"""How much the error of all rides counts against the spread seen here, in passes."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """Per station: mean offset to the left ``mean`` and its weight ``trust``, mean height ``ele``.

    Metres; heights NaN where unknown.
    """

    mean: Floats
    trust: Floats
    ele: Floats


def refit(
    web: Web, aligned: Aligned, ele: Floats, sigma: Floats, *, worse: Floats, rough: Floats
) -> None:
    """Move all lines once.

    ``sigma`` ``(n,)`` is each sample's error in metres, ``worse`` ``(n,)`` how many times more than
    usual it errs there: strays are looked for further off. ``rough`` is the same but for the bends
    guessed between points far apart.
    """
    numbers = sorted(web.lines)
    table = stations_of([web.lines[k].xyz for k in numbers])
    near = beside(table, aligned, ele, worse)
    seen = gather_evidence(table, near, ele, 1.0 / sigma**2)
    mean = _eased(table, seen, _rough_at(table, near, rough))
    move = _smooth(mean * _taper(web, numbers, table), table.first)
    moved = table.xyz.copy()
    moved[:, :2] += table.left * move[:, None]
    moved[:, 2] = np.where(np.isfinite(seen.ele), seen.ele, moved[:, 2])
    for place, number in enumerate(numbers):
        _lay(web, number, moved[table.first[place] : table.first[place + 1]].copy())


def beside(table: Stations, aligned: Aligned, ele: Floats, worse: Floats) -> Abreast:
    """Find the line each sample belongs to: within ``REACH_M``, strays in proportion."""
    near = abreast_of(table, aligned.xy, aligned.head, ele, reach_m=REACH_M)
    rows = np.flatnonzero((near.station < 0) & (worse > 1.0))
    if len(rows) == 0:
        return near
    reach = np.minimum(REACH_M * worse[rows], FAR_M)
    far = abreast_of(table, aligned.xy[rows], aligned.head[rows], ele[rows], reach_m=FAR_M)
    use = (far.station >= 0) & (np.abs(far.across) <= reach)
    station, forth, across = near.station.copy(), near.forth.copy(), near.across.copy()
    station[rows[use]], forth[rows[use]] = far.station[use], far.forth[use]
    across[rows[use]] = far.across[use]
    return Abreast(station=station, forth=forth, across=across)


def _lay(web: Web, number: int, xyz: Floats) -> None:
    """Give a line its new vertices; junctions hold, dead ends and seams follow."""
    line = web.lines[number]
    line.xyz = xyz
    if line.a == line.b and web.degree(line.a) == 2:
        web.move_node(line.a, (xyz[0] + xyz[-1]) / 2)
        return
    for node, end in ((line.a, 0), (line.b, -1)):
        if web.degree(node) == 1:
            web.nodes[node] = xyz[end].copy()
        else:
            xyz[end] = web.nodes[node]


def gather_evidence(table: Stations, near: Abreast, ele: Floats, weight: Floats) -> Evidence:
    """Average samples over stations with a tent as wide as the sample spacing.

    The tents of one pass add up to one at any place, so their sum counts passes.
    """
    size = len(table)
    trust, pull, tall, rise = np.zeros((4, size))
    for low in range(0, len(ele), TOGETHER):
        station, tent, row = tents(table, near, low, low + TOGETHER)
        share = tent * weight[row]
        trust += np.bincount(station, share, size)
        pull += np.bincount(station, share * near.across[row], size)
        known = np.isfinite(ele[row])
        tall += np.bincount(station[known], share[known], size)
        rise += np.bincount(station[known], (share * ele[row])[known], size)
    with np.errstate(invalid="ignore", divide="ignore"):
        height = np.where(tall > 0, rise / tall, np.nan)
        mean = np.where(trust > 0, pull / trust, 0.0)
    return Evidence(mean=mean, trust=trust, ele=height)


def tents(table: Stations, near: Abreast, low: int, high: int) -> tuple[Rows, Floats, Rows]:
    """Spread samples ``low`` to ``high`` over stations: station, share, sample, all ``(k,)``."""
    rows = low + np.flatnonzero(near.station[low:high] >= 0)
    base = near.station[rows]
    place = table.dist[base] + near.forth[rows]
    parts = []
    for step in (-2, -1, 0, 1, 2):
        other = base + step
        fit = (other >= 0) & (other < len(table))
        other = np.where(fit, other, base)
        fit &= table.line[other] == table.line[base]
        tent = 1.0 - np.abs(table.dist[other] - place) / STEP_M
        fit &= tent > 0
        parts.append((other[fit], tent[fit], rows[fit]))
    station, tent, row = (np.concatenate(column) for column in zip(*parts, strict=True))
    return station, tent, row


def _rough_at(table: Stations, near: Abreast, rough: Floats) -> Floats:
    """How many times more than usual the samples at each station ``(n,)`` err."""
    rows = np.flatnonzero(near.station >= 0)
    station = near.station[rows]
    count = np.bincount(station, minlength=len(table))
    total = np.bincount(station, rough[rows], len(table))
    return np.where(count > 0, total / np.maximum(count, 1), 1.0)


def _eased(table: Stations, seen: Evidence, rough: Floats) -> Floats:
    """Average offsets along each line where passes err much: few of them reach any one station."""
    half = (np.minimum((rough - 1.0) * EASE_M, EASE_MOST_M) / STATION_M).astype(np.int64)
    if not half.any():
        return seen.mean
    rows = np.arange(len(table))
    sizes = np.diff(table.first)
    low = np.maximum(rows - half, np.repeat(table.first[:-1], sizes))
    high = np.minimum(rows + half + 1, np.repeat(table.first[1:], sizes))
    pull = np.concatenate(([0.0], np.cumsum(seen.mean * seen.trust)))
    trust = np.concatenate(([0.0], np.cumsum(seen.trust)))
    mean = (pull[high] - pull[low]) / np.maximum(trust[high] - trust[low], 1e-9)
    return np.where(half > 0, mean, seen.mean)


def _taper(web: Web, numbers: Sequence[int], table: Stations) -> Floats:
    sizes = np.diff(table.first)
    last = table.dist[table.first[1:] - 1]
    from_end = np.repeat(last, sizes) - table.dist
    branching = np.array(
        [[web.degree(web.lines[k].a), web.degree(web.lines[k].b)] for k in numbers]
    )
    head = np.repeat(branching[:, 0] > 2, sizes)
    tail = np.repeat(branching[:, 1] > 2, sizes)
    near = np.minimum(np.where(head, table.dist, np.inf), np.where(tail, from_end, np.inf))
    return np.clip(near / TAPER_M, 0.0, 1.0)


def _smooth(values: Floats, first: Rows) -> Floats:
    """Average over three stations, within each line."""
    rows = np.arange(len(values))
    sizes = np.diff(first)
    low = np.maximum(rows - 1, np.repeat(first[:-1], sizes))
    high = np.minimum(rows + 1, np.repeat(first[1:], sizes) - 1)
    return (values[low] + 2 * values + values[high]) / 4
