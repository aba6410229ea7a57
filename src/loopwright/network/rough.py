"""Where receivers strayed more than usual.

Gets samples; gives for each how many times worse its ride erred there than rides usually do. Errors
grow under cliffs, tall buildings and wet trees, for all rides or for one. They show as wandering:
the gap between two passes of one trail swells and shrinks again within some tens of metres. Passes
of two trails part for good, or keep their gap, and a trail beside another is told by any second
ride that keeps to it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.geo.planar import dots
from loopwright.model.arrays import Floats
from loopwright.network.core import around, cells
from loopwright.network.pairs import across_m, headed_alike
from loopwright.network.plots import CHUNK, near
from loopwright.network.rows import Bools, Rows
from loopwright.network.samples import STEP_M, Samples

EVERY = 4
"""Only each fourth sample (20 m) is looked at: errors change no faster."""
FAR_M = 45.0
"""Furthest stray looked for; parallel streets and legs of switchbacks are mostly further apart."""
SAME_COS = 0.75
RIDGE = 0.3
"""Weight of no steady offset at all, against one look at it: on a straight it has no along part."""
AGREE = 0.07
"""A sample is as good as its best-agreeing partners: this share of them, one at least."""
LEAST_M = 0.3
"""Less wandering than this is none; it keeps very good recordings from looking rough."""
CALM, OWN_CALM = 1.45, 2.2
"""So many times the usual wandering is no chance any more: for a place, where all its rides speak,
and for one ride by itself. Both are higher where few partners are heard."""
GAIN = 1.4
"""The best-agreeing partner makes rough places look smoother than they are; this undoes it. All of
these were chosen on invented walks with known shade."""
MOST = 8.0
"""Worse than this is told as this."""
SPOT_M = 15.0
"""Shade is told of cells of this size and their neighbours."""
STEPS, SEEN = 8, 6
"""Steps over which a partner's wandering is averaged, and how many samples must be known."""
AHEAD = (2, 4, 6)
"""So many of the steps lie ahead; the calmest look counts. Where two rides part, or one goes round
the other side of a triangle, one look shows mostly what they have in common: looking as far ahead
as back, 8 % of the ground within 40 m of a junction seemed shaded on invented networks without any
shade, and 0.3 % so."""


@dataclass(frozen=True, slots=True)
class _Gaps:
    """Looked-at samples ``i`` and ``j`` abreast, ``onward`` when headed alike, metres ``across``.

    Sorted by ``i``, then ``j``.
    """

    i: Rows
    j: Rows
    onward: Rows
    across: Floats


def rough(samples: Samples) -> tuple[Floats, Floats]:
    """Tell how many times worse than usual each sample ``(n,)`` is, and how many times its place.

    1 where nothing is known. A place is bad for all rides; a ride may err alone.
    """
    rows = _rows(samples)
    nothing = np.ones(len(samples)), np.ones(len(samples))
    if len(rows) == 0:
        return nothing
    gaps = _gaps(samples, rows)
    wander = _wander(gaps, samples.piece[rows], samples.head[rows], len(rows))
    known = np.isfinite(wander)
    agree = _low(gaps.i[known], wander[known], len(rows), share=AGREE)
    seen = agree[np.isfinite(agree)]
    if len(seen) == 0:
        return nothing
    own = agree / max(float(np.median(seen)), LEAST_M)
    shared, count = _shared(gaps, known, own)
    place = np.where(shared > CALM * (1.0 + 1.0 / count), shared**GAIN, 1.0)
    place = _pooled(samples.xy[rows], place)
    worse = np.maximum(place, np.where(own > OWN_CALM * (1.0 + 1.0 / count), own, 1.0))
    both = (_spread(samples, rows, np.minimum(times, MOST)) for times in (worse, place))
    worse, place = both
    return worse, place


def _shared(gaps: _Gaps, known: Bools, own: Floats) -> tuple[Floats, Floats]:
    """Take the middle of what a sample and its partners show: shade is the same for all.

    Also tells how many partners there were, one at least.
    """
    use = known & np.isfinite(own[gaps.j])
    self = np.flatnonzero(np.isfinite(own))
    rows = np.concatenate((gaps.i[use], self))
    middle = _low(rows, np.concatenate((own[gaps.j[use]], own[self])), len(own), share=0.5)
    count = np.bincount(gaps.i[use], minlength=len(own))
    return middle, np.maximum(count, 1).astype(np.float64)


def _pooled(xy: Floats, place: Floats) -> Floats:
    """Average over the ground nearby: headings are lost in the deepest shade, and partners."""
    names, cell = np.unique(cells(xy, SPOT_M), return_inverse=True)
    count, total = np.bincount(cell), np.bincount(cell, place)
    nine = around(names)
    count, total = np.append(count, 0)[nine].sum(axis=1), np.append(total, 0.0)[nine].sum(axis=1)
    return np.asarray((total / count)[cell])


def _rows(samples: Samples) -> Rows:
    ends = zip(samples.first[:-1].tolist(), samples.first[1:].tolist(), strict=True)
    return np.concatenate([np.arange(a, b, EVERY) for a, b in ends] or [np.zeros(0, np.int64)])


def _gaps(samples: Samples, rows: Rows) -> _Gaps:
    """Find pairs of different rides abreast within ``FAR_M``, both ways round."""
    xy, head, ride = samples.xy[rows], samples.head[rows], samples.ride[rows]
    half = 0.6 * EVERY * STEP_M

    def fits(i: Rows, j: Rows) -> tuple[Bools, Bools]:
        gap = xy.take(j, axis=0) - xy.take(i, axis=0)
        there, back = head.take(i, axis=0), head.take(j, axis=0)
        use = (ride[i] != ride[j]) & (np.abs(dots(there, back)) > SAME_COS)
        one, two = (np.abs(dots(gap, way)) <= half for way in (there, back))
        return use & one, use & two

    pairs = near(xy, float(np.hypot(FAR_M, half)), fits)
    i, j = np.repeat(np.arange(len(rows), dtype=np.int32), np.diff(pairs.first)), pairs.other
    across, onward = np.zeros(len(j)), np.zeros(len(j), dtype=np.int8)
    for block in pairs.blocks():
        across[block.span] = across_m(xy, head, block)
        onward[block.span] = np.where(headed_alike(head, block), 1, -1)
    return _Gaps(i, j, onward, across)


def _wander(gaps: _Gaps, piece: Rows, head: Floats, size: int) -> Floats:
    """How unsteady each gap is over ``STEPS`` steps where it is calmest, metres; NaN unknown."""
    back, on = (_along(gaps, piece, size, step) for step in (-1, 1))
    looked = [slice(ahead - AHEAD[0], ahead - AHEAD[0] + STEPS + 1) for ahead in AHEAD]
    out = np.empty(len(back))
    for low in range(0, len(out), CHUNK):
        at = _places(back, on, np.arange(low, min(low + CHUNK, len(out))))
        known = at >= 0
        east, north = -head[gaps.i[at], 1] * known, head[gaps.i[at], 0] * known
        across = gaps.across[at] * known
        looks = [_unsteady(known[k], east[k], north[k], across[k]) for k in looked]
        out[low : low + CHUNK] = np.fmin.reduce(looks)
    return out


def _places(back: Rows, on: Rows, at: Rows) -> Rows:
    """Rows ``(steps, k)`` of the same two passes before, at and after pairs; -1 none."""
    before, after = _followed(back, at, STEPS - AHEAD[0]), _followed(on, at, AHEAD[-1])
    return np.stack([*before[::-1], at, *after])


def _followed(way: Rows, here: Rows, steps: int) -> list[Rows]:
    places = []
    for _ in range(steps):
        here = np.where(here >= 0, way[here], -1)
        places.append(here)
    return places


def _unsteady(known: Bools, east: Floats, north: Floats, across: Floats) -> Floats:
    """Tell what one steady offset between two passes leaves of their gaps ``across``, metres.

    All are ``(steps, k)``, 0 where not ``known``; ``east`` and ``north`` point across. Round a bend
    such an offset changes sides by itself.
    """
    count = known.sum(axis=0)
    xx, yy = (east**2).sum(axis=0) + RIDGE, (north**2).sum(axis=0) + RIDGE
    xy, ax, ay = ((one * two).sum(axis=0) for one, two in
                  ((east, north), (across, east), (across, north)))  # fmt: skip
    det = xx * yy - xy**2
    x, y = (yy * ax - xy * ay) / det, (xx * ay - xy * ax) / det
    left = (across - x * east - y * north) ** 2
    return np.where(count >= SEEN, np.sqrt(left.sum(axis=0) / np.maximum(count - 1.5, 1.0)), np.nan)


def _along(gaps: _Gaps, piece: Rows, size: int, step: int) -> Rows:
    """Row of the pair of the same two passes one ``step`` on; -1 when they are not abreast."""
    key = gaps.i.astype(np.int64) * size + gaps.j
    out = np.full(len(key), -1, dtype=np.int32)
    for low in range(0, len(key), CHUNK):
        part = slice(low, low + CHUNK)
        i, j = gaps.i[part], gaps.j[part]
        on = i + step
        fit = (on >= 0) & (on < size) & (piece[np.clip(on, 0, size - 1)] == piece[i])
        for slip in (1, -1, 0):
            to = j + step * gaps.onward[part] + slip
            want = on.astype(np.int64) * size + to
            at = np.minimum(np.searchsorted(key, want), len(key) - 1)
            good = fit & (to >= 0) & (to < size) & (key[at] == want)
            good &= piece[np.clip(to, 0, size - 1)] == piece[j]
            out[part][good] = at[good]
    return out


def _low(i: Rows, value: Floats, size: int, *, share: float) -> Floats:
    """Give the value ``(size,)`` of each group at a ``share`` from below; NaN for none."""
    order = np.lexsort((value, i))
    count = np.bincount(i, minlength=size)
    start = np.concatenate(([0], np.cumsum(count)[:-1]))
    out = np.full(size, np.nan)
    some = count > 0
    out[some] = value[order][(start + (share * count).astype(np.int64))[some]]
    return out


def _spread(samples: Samples, rows: Rows, times: Floats) -> Floats:
    """Give every sample the figure of the looked-at ones beside it, along its piece."""
    key = samples.piece.astype(np.float64) * 1e7 + samples.dist
    return np.asarray(np.interp(key, key[rows], times))
