"""The trail lines of the shaping rides, before passes and corrections.

Gets the samples that shape the network; gives lines and nodes with a standard error per vertex.
This is the costly half of a build, kept for the next.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.jobs import Report
from loopwright.model.arrays import Floats
from loopwright.network.apart import laid_apart
from loopwright.network.attract import Aligned, attract
from loopwright.network.calm import calmed
from loopwright.network.certain import std_error_m
from loopwright.network.chords import drop_chords
from loopwright.network.company import Company, company
from loopwright.network.cover import ACROSS_M, cover
from loopwright.network.crowd import Crowd
from loopwright.network.curls import uncurl
from loopwright.network.finish import oriented, place_of
from loopwright.network.forks import move_forks
from loopwright.network.glances import drop_glances
from loopwright.network.hairpins import unfold
from loopwright.network.heights import levelled, shared
from loopwright.network.knots import drop_knots
from loopwright.network.lanes import grown, lanes
from loopwright.network.meet import meet
from loopwright.network.onward import tie_onward
from loopwright.network.pairs import abreast
from loopwright.network.place import place_junctions
from loopwright.network.plots import Pairs
from loopwright.network.refit import refit
from loopwright.network.repair import attach, mend, untwin
from loopwright.network.reread import mostly_far, reread
from loopwright.network.rough import rough
from loopwright.network.rows import Bools
from loopwright.network.samples import SPARSE_M, Samples
from loopwright.network.shadows import count_passes, drop_shadows
from loopwright.network.spread import spread_m
from loopwright.network.stations import Stations, abreast_of, stations_of
from loopwright.network.strays import drop_strays
from loopwright.network.turns import tie_turns
from loopwright.network.unzip import unzip
from loopwright.network.wander import wander_m
from loopwright.network.weave import weave
from loopwright.network.web import LINK_M, Web
from loopwright.network.zips import zip_up

NEAR_M = 20.0
"""How far apart rides of one trail may lie before they are aligned."""
BESIDE_M = ACROSS_M + 2.0
REACH_M = 8.0
"""A sample so near to a line belongs to it: for its error, and where lines are drawn again. For the
latter 5 m lose more of what is true (junction recall .744, not .775, on sixteen invented networks
that 60 people walked)."""
LINK_ERRORS, LEAST_LINK_M = 3.5, 10.0
"""Junctions are one when nearer than so many usual errors of a ride, or than this: noise parts the
branches of a junction by that much."""
READINGS = 3
"""How often recordings with far points are read, each time along the lines drawn before."""
MOST_ROUNDS = 5
"""Rounds of dropping what errors explain: each looks again at all rides."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fitted:
    """Fitted lines, frozen.

    ``ends`` (node, node) of each line, ``table`` their stations in the same order, ``nodes``
    ``(n, 3)`` metres and ``error`` ``(stations,)`` metres.
    """

    ends: tuple[tuple[int, int], ...]
    nodes: Floats
    table: Stations
    error: Floats

    def web(self) -> Web:
        """Give a fresh web to work on."""
        web = Web()
        for number, place in enumerate(self.nodes):
            web.add_node(number, place)
        for k, (a, b) in enumerate(self.ends):
            rows = slice(self.table.first[k], self.table.first[k + 1])
            number = web.add_line(a, b, self.table.xyz[rows])
            web.lines[number].error = self.error[rows]
        return web


def fit(samples: Samples, *, rides: int, crowd: Crowd, starts: Floats, report: Report) -> Fitted:
    """Align, cover, repair and fit; ``rides`` is how many ride numbers ``samples`` may hold.

    ``crowd`` tells how many passes of all rides went by a place, ``starts`` ``(k, 2)`` are the
    places in metres where rides begin.
    """
    if len(samples) == 0:
        return _nothing()
    readings = READINGS if mostly_far(samples) else 1
    for reading in range(readings):
        low, high = (0.15 + 0.65 * (reading + k) / readings for k in (0, 1))
        told = _Share(report, low, high)
        drawn = _drawn(samples, rides, crowd, told, last=reading == readings - 1)
        if not drawn.web.lines:
            return _nothing()
        if reading < readings - 1:
            samples = reread(samples, drawn.aligned, drawn.web)
    oriented(drawn.web, starts)
    return _measured(drawn, samples)


@dataclass(frozen=True, slots=True)
class _Share:
    """Tells of a part of the work, from ``low`` to ``high`` of the whole."""

    report: Report
    low: float
    high: float

    def step(self, share: float, words: str) -> None:
        self.report.check()
        self.report.step(self.low + share * (self.high - self.low), words)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Drawn:
    """Lines, the samples they were drawn from, as aligned, their heights and errors in metres."""

    web: Web
    aligned: Aligned
    ele: Floats
    sigma: Floats


def _drawn(samples: Samples, rides: int, crowd: Crowd, told: _Share, *, last: bool) -> _Drawn:
    """Draw the lines that samples show; those to be drawn once more are not thinned out."""
    told.step(0.0, "comparing rides")
    strayed, shade = rough(samples)
    aligned, errors, beside = _laid(samples, shade, rides, told)
    worse = np.hypot(strayed, samples.loose / errors[samples.ride])
    sigma = errors[samples.ride] * worse
    pairs = [abreast(samples, aligned.xy, aligned.head, reach_m=BESIDE_M)]
    ele = levelled(samples, aligned.xy, aligned.head, pairs[0], rides=rides)
    told.step(0.7, "finding trails")
    by = crowd.near(samples.xy)
    view = _View(samples=samples, ele=ele, errors=errors, shade=shade, by=by, lanes=beside)
    web, aligned = _web(view, aligned, pairs, last=last)
    told.step(0.85, "fitting trails")
    if web.lines:
        if drop_chords(web, samples, aligned, ele):
            mend(web)
        aligned = unfold(web, samples, aligned, ele)
        if move_forks(web, samples, aligned, ele):
            mend(web)
        if last and meet(web):
            mend(web)
        placed(web)
        if not mostly_far(samples):  # such rides cut bends, each in other places
            uncurl(web, aligned, ele, worse)
        refit(web, aligned, ele, sigma, worse=worse, rough=strayed)
        told.report.check()
        if zip_up(web, samples, aligned, ele):
            mend(web)
        placed(web)
        refit(web, aligned, ele, sigma, worse=worse, rough=strayed)
    return _Drawn(web=web, aligned=aligned, ele=ele, sigma=sigma)


def _laid(
    samples: Samples, shade: Floats, rides: int, told: _Share
) -> tuple[Aligned, Floats, Bools]:
    """Lay all rides together; also gives the error of each in metres, and what has lanes."""
    kept = [_companions(samples)]
    errors = spread_m(samples, kept[0], rides=rides)
    told.step(0.15, "laying rides together")
    beside = lanes(samples, kept[0], errors)
    wide = grown(beside, samples.first) if beside.any() else None
    calm = calmed(samples, errors[samples.ride] * shade)
    if calm is not samples or wide is not None:
        kept.clear()
        kept.append(_companions(calm, wide))
    aligned = attract(calm, errors, kept.pop(), report=told.report, lanes=wide)
    return aligned, errors, beside


def _companions(samples: Samples, beside: Bools | None = None) -> Company:
    """Find what lies abreast before anything is aligned."""
    pairs = abreast(samples, samples.xy, samples.head, reach_m=NEAR_M, lanes=beside)
    return company(samples, samples.head, pairs)


def _nothing() -> Fitted:
    none = np.zeros(0)
    return Fitted(ends=(), nodes=none.reshape(0, 3), table=stations_of([]), error=none)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _View:
    """Samples, their levelled heights, errors of rides, shade, passes that went by, lanes."""

    samples: Samples
    ele: Floats
    errors: Floats
    shade: Floats
    by: Floats
    lanes: Bools

    @property
    def sigma(self) -> Floats:
        """Give the error of each sample ``(n,)`` in metres, shade counted."""
        return self.errors[self.samples.ride] * self.shade


def _web(view: _View, aligned: Aligned, pairs: list[Pairs], *, last: bool) -> tuple[Web, Aligned]:
    """Make a graph of the trails; also gives the samples with fused trails laid apart.

    ``pairs`` holds what lies abreast, and nothing afterwards: it is the largest table by now.

    It is drawn twice. What strays drew at first is dropped, but it has cut and bent the lines it
    met; the second time lines are made only of samples near one of the first, and first of the
    riding nearest to their middle.
    """
    samples, ele = view.samples, view.ele
    parted = np.zeros(len(samples), dtype=bool)
    beside = pairs.pop()
    web = _lines(view, aligned, beside, parted, _supported(samples, beside))
    if not web.lines:
        return web, aligned
    aligned, parted = laid_apart(web, samples, aligned, ele, view.sigma, lanes=view.lanes)
    if parted.any():
        del beside  # before the next is made
        beside = abreast(samples, aligned.xy, aligned.head, reach_m=BESIDE_M)
        web = _lines(view, aligned, beside, parted, _supported(samples, beside))
    _tied(view, web, aligned, parted, last=last)
    # Neither heading nor height is asked: at a tight corner no sample may be missing.
    near = stations_of([line.xyz for line in web.lines.values()]).gap_m(aligned.xy) < REACH_M
    if web.lines and not near.all():
        far = mostly_far(samples)  # such rides cut bends alike: their middle is no better
        rank = _supported(samples, beside) if far else _centred(view, web, aligned)
        web = _lines(view, aligned, beside, parted, rank, only=near)
        _tied(view, web, aligned, parted, last=last)
    return web, aligned


def _tied(view: _View, web: Web, aligned: Aligned, parted: Bools, *, last: bool) -> None:
    """Tie and open lines where rides tell it, and drop what errors explain once more."""
    for changes in ((tie_turns, unzip, tie_onward), (tie_onward,)):
        changed = 0
        for change in changes:
            if change(web, view.samples, aligned, view.ele):
                mend(web)
                changed += 1
        if not changed or not last:
            break
        _settled(view, web, aligned, parted)


def _lines(
    view: _View,
    aligned: Aligned,
    pairs: Pairs,
    parted: Bools,
    support: Floats,
    *,
    only: Bools | None = None,
) -> Web:
    """Make lines of what rides cover; ``parted`` marks samples laid apart from a line beside.

    ``support`` ranks the pieces, the best highest. With ``only`` ``(n,)`` lines are made of the
    samples it marks.
    """
    samples, ele = view.samples, view.ele
    runs = cover(samples, aligned.xy, aligned.head, pairs, support, only=only)
    web = weave(runs, np.column_stack((aligned.xy, shared(ele, aligned, pairs))))
    web.link_m = _link_m(view)
    mend(web)
    if web.lines:
        _settled(view, web, aligned, parted)
    return web


def _link_m(view: _View) -> float:
    """Tell how near two junctions are one, metres."""
    if mostly_far(view.samples):  # such rides cut bends: errors do not tell how far
        return LINK_M
    return float(np.clip(LINK_ERRORS * np.median(view.sigma), LEAST_LINK_M, LINK_M))


def _settled(view: _View, web: Web, aligned: Aligned, parted: Bools) -> None:
    """Drop what errors explain, until nothing more goes."""
    samples, ele = view.samples, view.ele
    usual = float(np.median(view.errors))
    grain_m = float(np.median(samples.spacing[samples.piece]))
    for _ in range(MOST_ROUNDS):
        count_passes(
            web, samples, aligned, ele,
            sigma=view.sigma, worse=view.shade, by=view.by, parted=parted,
        )  # fmt: skip
        wander = wander_m(web, samples, aligned, ele, unknown_m=0.0)
        gone = drop_strays(web, usual, wander) + drop_shadows(web, usual)
        gone += untwin(web, usual, grain_m, wander) + drop_knots(web, wander)
        # Glances last: by way of them strays are known to be joined another way.
        if not gone and not drop_glances(web, wander):
            break
        mend(web)


def placed(web: Web) -> None:
    """Put junctions where their branches point, once more where that joins or shortens lines."""
    place_junctions(web)
    joined, lines = attach(web), len(web.lines)
    mend(web)
    if joined or len(web.lines) != lines:
        place_junctions(web)


def _supported(samples: Samples, pairs: Pairs) -> Floats:
    """Rank pieces by the mean number of neighbours."""
    return _ranked(samples, np.diff(pairs.first).astype(np.float64))


def _centred(view: _View, web: Web, aligned: Aligned) -> Floats:
    """Rank pieces by how near they keep to the middle of lines drawn before, which are moved."""
    even = np.ones(len(view.samples))
    refit(web, aligned, view.ele, view.sigma, worse=view.shade, rough=even)
    middle = stations_of([line.xyz for line in web.lines.values()])
    return _ranked(view.samples, -np.minimum(middle.gap_m(aligned.xy), REACH_M))


def _ranked(samples: Samples, value: Floats) -> Floats:
    """Rank pieces by the mean ``value`` ``(n,)``, sparse recordings after all others."""
    pieces = len(samples.first) - 1
    size = np.bincount(samples.piece, minlength=pieces)
    mean = np.bincount(samples.piece, value, pieces) / np.maximum(size, 1)
    return np.asarray(mean - np.where(samples.spacing > SPARSE_M, 1000.0, 0.0))


def _measured(drawn: _Drawn, samples: Samples) -> Fitted:
    web, aligned = drawn.web, drawn.aligned
    lines = sorted(web.lines.values(), key=place_of)
    table = stations_of([line.xyz for line in lines])
    near = abreast_of(table, aligned.xy, aligned.head, drawn.ele, reach_m=REACH_M)
    names = {node: k for k, node in enumerate(sorted(web.nodes))}
    return Fitted(
        ends=tuple((names[line.a], names[line.b]) for line in lines),
        nodes=np.array([web.nodes[node] for node in sorted(web.nodes)]).reshape(-1, 3),
        table=table,
        error=std_error_m(table, near, samples, drawn.sigma),
    )
