"""Read how passes lie along corridors.

Gets a web and samples as recorded and as aligned; gives corridors: lines between junctions, with
whatever runs close beside them left out, and for every pass over one how far to the left of it the
ride lay, metre for metre. Two trails side by side lie in one corridor.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from loopwright.geo.planar import dots, left_of, unit
from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.passes import runs_on
from loopwright.network.repair import dissolve
from loopwright.network.rows import Rows
from loopwright.network.samples import SPARSE_M, Samples
from loopwright.network.shadows import Boxes, beside
from loopwright.network.stations import Abreast, Stations, abreast_of, stations_of
from loopwright.network.web import Web

GRID_M = 5.0
"""Spacing of the places at which passes are read: that of the samples."""
WIDE_M = 15.0
"""Lines that keep this near to a better ridden one lie in its corridor; where lines run side by
side farther apart, errors do not fuse them."""
REACH_M = 20.0
"""A pass of the line beside lies no farther from the corridor's middle than this."""
LEAST_ROWS = 8
"""Shorter riding tells nothing."""
SIDE_ROWS = 2
"""The direction of a corridor is the mean over so many places before and after."""
PACE_S = 60.0
"""Riding over which a receiver's error fades, in seconds: one minute, more or less."""
FADE_M = (60.0, 400.0)
UNKNOWN_FADE_M = 120.0
"""The same where no recording tells the pace. Invented rides on wheels without times are parted as
well with this as with 400 m, people on foot far better (junction F .876 and .920)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One pass over a corridor.

    ``low`` to ``high`` (exclusive) are the places it passes, ``recorded`` and ``aligned``
    ``(high - low,)`` metres to the left there and ``sigma`` ``(high - low,)`` its error in metres;
    ``rows`` its samples and ``place`` where along it each lies, in metres. ``close`` tells that
    its points were recorded so closely that it shows where its ride went.
    """

    low: int
    high: int
    recorded: Floats
    aligned: Floats
    sigma: Floats
    rows: Rows
    place: Floats
    close: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Corridor:
    """Places ``dist`` ``(n,)`` metres along, ``xy`` ``(n, 2)`` metres, unit vectors ``left``.

    ``fade_m`` is the riding over which an error fades here.
    """

    dist: Floats
    xy: Floats
    left: Floats
    fade_m: float
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Look:
    """Samples, how they are aligned, their errors ``sigma`` and where they lie on ``table``."""

    samples: Samples
    aligned: Aligned
    sigma: Floats
    table: Stations
    near: Abreast

    @property
    def places(self) -> tuple[Floats, Floats]:
        """The samples as recorded and as aligned."""
        return self.samples.xy, self.aligned.xy


def corridors_of(
    web: Web, samples: Samples, aligned: Aligned, ele: Floats, sigma: Floats
) -> Iterator[Corridor]:
    """Yield all corridors of a web; ``sigma`` ``(n,)`` is each sample's error in metres."""
    lines = _middles(web)
    if not lines:
        return
    table = stations_of(lines, step_m=GRID_M)
    near = abreast_of(table, aligned.xy, aligned.head, ele, reach_m=REACH_M)
    look = _Look(samples=samples, aligned=aligned, sigma=sigma, table=table, near=near)
    first, last = runs_on(table, near, samples, aligned.head)
    line = table.line[near.station[first]]
    order = np.argsort(line, kind="stable")
    bounds = np.searchsorted(line[order], np.arange(len(lines) + 1))
    for number in range(len(lines)):
        runs = order[bounds[number] : bounds[number + 1]]
        yield _corridor(look, number, first[runs], last[runs])


def _middles(web: Web) -> list[Floats]:
    """Lines of a copy of the web in which what keeps beside a better ridden line is dropped."""
    copy = Web()
    for node, place in web.nodes.items():
        copy.add_node(node, place)
    for _, line in sorted(web.lines.items()):
        copy.add_line(line.a, line.b, line.xyz, line.passes)
    order = copy.weakest_first()
    rank = {number: place for place, number in enumerate(order)}
    boxes = Boxes(copy)
    for number in order:
        near = [k for k in boxes.near(number, WIDE_M) if rank[k] > rank[number]]
        stronger = [copy.lines[k].xyz for k in near]
        if stronger and beside(copy.lines[number].xyz, stronger, WIDE_M):
            copy.drop_line(number)
    dissolve(copy)
    return [line.xyz for _, line in sorted(copy.lines.items())]


def _corridor(look: _Look, number: int, first: Rows, last: Rows) -> Corridor:
    rows = slice(look.table.first[number], look.table.first[number + 1])
    xy = look.table.xyz[rows, :2]
    fade_m = _fade_m(look.samples, first, last)
    bare = Corridor(dist=look.table.dist[rows], xy=xy, left=_left(xy), fade_m=fade_m, readings=())
    long = last - first + 1 >= LEAST_ROWS
    ends = zip(first[long].tolist(), last[long].tolist(), strict=True)
    readings = [_reading(look, bare, np.arange(a, b + 1)) for a, b in ends]
    kept = tuple(one for one in readings if one.high - one.low >= LEAST_ROWS)
    return replace(bare, readings=kept)


def _fade_m(samples: Samples, first: Rows, last: Rows) -> float:
    """Riding over which errors fade, from the usual pace."""
    ridden = np.abs(samples.dist[last] - samples.dist[first])
    with np.errstate(divide="ignore", invalid="ignore"):
        pace = ridden / np.abs(samples.time[last] - samples.time[first])
    known = pace[np.isfinite(pace)]
    return float(np.clip(PACE_S * np.median(known), *FADE_M)) if len(known) else UNKNOWN_FADE_M


def _reading(look: _Look, bare: Corridor, rows: Rows) -> Reading:
    place = _along(look, rows)
    if place[-1] < place[0]:
        rows, place = rows[::-1], place[::-1]
    place = np.maximum.accumulate(place)
    at = np.clip(np.searchsorted(bare.dist, place), 0, len(bare.dist) - 1)
    middle = np.column_stack([np.interp(place, bare.dist, bare.xy[:, k]) for k in (0, 1)])
    low = int(np.searchsorted(bare.dist, place[0] - 1.0))
    high = int(np.searchsorted(bare.dist, place[-1] + 1.0))
    off = [dots(xy[rows] - middle, bare.left[at]) for xy in look.places]
    recorded, laid, sigma = (
        np.interp(bare.dist[low:high], place, values) for values in (*off, look.sigma[rows])
    )
    close = look.samples.spacing[look.samples.piece[rows[0]]] <= SPARSE_M
    return Reading(
        low=low, high=high, recorded=recorded, aligned=laid, sigma=sigma, rows=rows, place=place,
        close=bool(close),
    )  # fmt: skip


def _along(look: _Look, rows: Rows) -> Floats:
    """Places of the samples of one run along its line; those beside it get one in between."""
    station = look.near.station[rows]
    line = np.where(station >= 0, look.table.line[station], -1)
    known = line == line[0]
    place = look.table.dist[station] + look.near.forth[rows]
    return np.asarray(np.interp(rows, rows[known], place[known]))


def _left(xy: Floats) -> Floats:
    """Give unit vectors to the left of a line, its direction a mean over some places."""
    step = np.gradient(xy, axis=0)
    size = 2 * SIDE_ROWS + 1
    padded = np.pad(step, ((SIDE_ROWS, SIDE_ROWS), (0, 0)), mode="edge")
    mean = np.column_stack([np.convolve(padded[:, k], np.ones(size), "valid") for k in (0, 1)])
    mean = unit(mean)
    return left_of(mean)
