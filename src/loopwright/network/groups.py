"""Tell where the passes over a corridor form two groups.

Gets a corridor; gives zones in which some passes leave the others sideways, keep their distance and
come back: two trails side by side, nearer than errors let single passes tell. A ride's own error
fades slowly, so that riding on the common trail before and after tells it; what is left shows which
of two trails a ride took. Promises: a single trail is hardly ever parted, however rides scatter.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from loopwright.model.arrays import Floats
from loopwright.network.corridors import GRID_M, Corridor
from loopwright.network.ends import best_span
from loopwright.network.rows import Bools, Rows
from loopwright.network.spans import FLANK_M, LEAD_M, LENGTHS_M, agreement, profile

COVERED = 0.8
"""Share of a zone a pass must ride to be heard."""
LEAST = 2
"""Passes in the smaller group."""
LEAST_GAP_M = 4.5
"""Groups nearer are lines taken on one trail."""
LEAST_SCORE = 34.0
"""Two groups must explain so much more of the scatter than one, in squared standard errors and
beyond what cutting one group there explains by itself."""
MANY = (16, 32)
"""From so many passes what errors larger than told make of such a cut is counted, then in full."""
EVERY = 2
"""Zones are looked for at every second place, then moved at every place."""
BLOCK_M, MARGIN_M = 300.0, 100.0
"""Corridor looked at together, and what is seen of it beyond the zones."""
TURNS = 3
"""How often groups and ends are told in turn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """Two trails from ``from_m`` to ``to_m`` along a corridor, ``gap_m`` apart.

    ``side`` ``(readings,)`` is -1 for passes to the right, 1 to the left, 0 where not told.
    """

    from_m: float
    to_m: float
    gap_m: float
    side: Rows
    score: float


@dataclass(frozen=True, slots=True)
class _Split:
    """The best two groups for every span: ``score``, ``gap_m`` and ``cut`` between them."""

    score: Floats
    gap_m: Floats
    cut: Floats


def zones_of(corridor: Corridor) -> list[Zone]:
    """Find all zones of a corridor, the clearest first; no two overlap."""
    found: list[Zone] = []
    if len(corridor.readings) < 2 * LEAST:
        return found
    tried = [_tried(corridor, rows, spans) for rows, spans in _blocks(corridor)]
    if not tried:
        return found
    spans = np.concatenate([span for span, _ in tried])
    score = np.concatenate([each for _, each in tried])
    while len(score) and score.max() >= LEAST_SCORE / 2:
        best = int(score.argmax())
        zone = _fitted(corridor, spans[best])
        low_m, high_m = spans[best].tolist()
        if zone is not None and not any(_meet(zone, other) for other in found):
            found.append(zone)
            low_m, high_m = zone.from_m, zone.to_m
        apart = (spans[:, 1] < low_m - FLANK_M) | (spans[:, 0] > high_m + FLANK_M)
        apart[best] = False  # its ends may have moved far from where it was looked for
        spans, score = spans[apart], score[apart]
    return found


def _meet(zone: Zone, other: Zone) -> bool:
    """Tell whether two zones share ground, or the common trail that tells their errors."""
    return zone.from_m < other.to_m + FLANK_M and other.from_m < zone.to_m + FLANK_M


def _blocks(corridor: Corridor) -> Iterator[tuple[Rows, Floats]]:
    """Yield parts of a corridor, as rows, and the spans that begin there."""
    dist = corridor.dist
    for begin in np.arange(FLANK_M, dist[-1], BLOCK_M):
        starts = np.arange(begin, min(begin + BLOCK_M, dist[-1]), EVERY * GRID_M)
        spans = np.array([(a, a + size) for a in starts.tolist() for size in LENGTHS_M])
        spans = spans[spans[:, 1] <= dist[-1] - FLANK_M]
        if len(spans):
            yield _rows(dist, begin, float(spans.max()), EVERY), spans


def _rows(dist: Floats, from_m: float, to_m: float, every: int) -> Rows:
    inside = (dist >= from_m - MARGIN_M) & (dist <= to_m + MARGIN_M)
    return np.flatnonzero(inside)[::every]


def _tried(corridor: Corridor, rows: Rows, spans: Floats) -> tuple[Floats, Floats]:
    split = _split(*amplitudes(corridor, rows, spans))
    return spans, np.where(split.gap_m >= LEAST_GAP_M, split.score, -np.inf)


def _fitted(corridor: Corridor, span: Floats) -> Zone | None:
    """Move a zone's ends to where its groups part; None when it does not hold."""
    for _ in range(TURNS):
        split, side = _parted(corridor, span)
        before, span = span, best_span(corridor, side, span)
        if (before == span).all():
            break
    split, side = _parted(corridor, span)
    if split.score[0] < LEAST_SCORE or split.gap_m[0] < LEAST_GAP_M:
        return None
    return Zone(
        from_m=float(span[0]), to_m=float(span[1]), gap_m=float(split.gap_m[0]), side=side,
        score=float(split.score[0]),
    )  # fmt: skip


def _parted(corridor: Corridor, span: Floats) -> tuple[_Split, Rows]:
    rows = _rows(corridor.dist, span[0], span[1], 1)
    offset, error = amplitudes(corridor, rows, span[None])
    split = _split(offset, error)
    return split, _sides(offset, split.cut)[0]


def amplitudes(corridor: Corridor, rows: Rows, spans: Floats) -> tuple[Floats, Floats]:
    """Tell how far each pass leaves the common trail over each span, by least squares.

    Gives metres to the left and their standard error, both ``(spans, readings)``; NaN where a pass
    does not ride enough of the span.
    """
    dist = corridor.dist[rows]
    shape = profile(dist[None], spans[:, :1], spans[:, 1:])
    near = (dist[None] >= spans[:, :1] - LEAD_M) & (dist[None] <= spans[:, 1:] + LEAD_M)
    offset = np.full((len(spans), len(corridor.readings)), np.nan)
    error = offset.copy()
    for (low, high), mine in _alike(corridor, rows).items():
        begin, end = dist[low], dist[high - 1]
        ridden = np.minimum(spans[:, 1], end) - np.maximum(spans[:, 0], begin)
        use = np.flatnonzero(ridden >= COVERED * (spans[:, 1] - spans[:, 0]))
        if len(use) == 0:
            continue
        known = np.linalg.inv(agreement(corridor, rows[low:high]))
        weight = shape[use, low:high] @ known
        size = (weight * shape[use, low:high]).sum(axis=1)
        readings = [corridor.readings[k] for k in mine.tolist()]
        seen, sigma = (
            np.column_stack([getattr(one, name)[rows[low:high] - one.low] for one in readings])
            for name in ("recorded", "sigma")
        )
        offset[np.ix_(use, mine)] = weight @ seen / size[:, None]
        error[np.ix_(use, mine)] = _error(shape[use, low:high], near[use, low:high], sigma, size)
    return offset, error


def _error(shape: Floats, near: Bools, sigma: Floats, size: Floats) -> Floats:
    """Give the standard error of how far passes leave the common trail.

    Where a ride errs more at one end of what is ``near`` a span than at the other, its error swells
    or shrinks there by itself.
    """
    inside = shape @ sigma / shape.sum(axis=1)[:, None]
    least = np.where(near[:, :, None], sigma[None], np.inf).min(axis=1)
    most = np.where(near[:, :, None], sigma[None], 0.0).max(axis=1)
    return np.asarray(np.hypot(inside / np.sqrt(size)[:, None], 0.5 * (most - least)))


def _alike(corridor: Corridor, rows: Rows) -> dict[tuple[int, int], Rows]:
    """Group readings that show where a ride went by the rows they pass.

    Between points far apart the way round a bend is guessed: such a pass would leave the trail at
    every bend.
    """
    groups: dict[tuple[int, int], list[int]] = {}
    for number, one in enumerate(corridor.readings):
        low, high = np.searchsorted(rows, (one.low, one.high)).tolist()
        if one.close and high - low >= 2:
            groups.setdefault((low, high), []).append(number)
    return {rows: np.array(numbers) for rows, numbers in groups.items()}


def _split(offset: Floats, error: Floats) -> _Split:
    """Part the passes of every span into the two groups that explain most."""
    order = np.argsort(offset, axis=1)  # NaN last
    value = np.take_along_axis(offset, order, axis=1)
    weight = np.nan_to_num(np.take_along_axis(error, order, axis=1) ** -2.0)
    value, heard = np.nan_to_num(value), np.isfinite(value).sum(axis=1)
    right, pulled = np.cumsum(weight, axis=1), np.cumsum(weight * value, axis=1)
    left = right[:, -1:] - right
    place = np.arange(1, value.shape[1] + 1)[None]
    fits = (place >= LEAST) & (place <= heard[:, None] - LEAST)
    alone = by_itself(place / np.maximum(heard, 1)[:, None], heard[:, None])
    with np.errstate(divide="ignore", invalid="ignore"):
        gap = (pulled[:, -1:] - pulled) / left - pulled / right
        gain = np.where(fits, right * left / right[:, -1:] * gap**2, 0.0)
        mean = np.nan_to_num(pulled[:, -1:] / right[:, -1:])
    best, each = (gain - alone).argmax(axis=1), np.arange(len(gain))
    rest = (weight * (value - mean) ** 2).sum(axis=1) - gain[each, best]
    rest = np.maximum(rest / np.maximum(heard - 2, 1), 1.0)
    after = np.minimum(best + 1, value.shape[1] - 1)
    found = fits[each, best]
    return _Split(
        score=np.where(found, gain[each, best] / rest - alone[each, best], -np.inf),
        gap_m=np.where(found, gap[each, best], 0.0),
        cut=np.where(found, (value[each, best] + value[each, after]) / 2, np.nan),
    )


def by_itself(share: Floats, passes: Rows) -> Floats:
    """Tell what cutting one normal group of so many ``passes`` explains, parting a ``share`` off.

    In squared standard errors of what is left. Few passes count as a cut in the middle would have
    one for each. Where errors are larger than told it is up to 2/pi : (1 - 2/pi) for each, so that
    of 46 and more any such group would be two.
    """
    few = one_group(share)
    explained = few * 2.0 / np.pi
    many = np.maximum(few, explained / (1.0 - explained))
    return passes * (few + np.interp(passes, MANY, (0.0, 1.0)) * (many - few))


def one_group(share: Floats) -> Floats:
    """Tell how much of one normal group's scatter a cut explains that parts this ``share`` off.

    For each member, and as a multiple of what a cut in the middle explains, 2/pi; from the means of
    a normal distribution cut in two (Johnson, Kotz and Balakrishnan 1994, 13.10.1; from memory).
    """
    inside = np.clip(share, 1e-6, 1.0 - 1e-6)
    return np.asarray(np.exp(-(ndtri(inside) ** 2)) / (4.0 * inside * (1.0 - inside)))


def _sides(offset: Floats, cut: Floats) -> Rows:
    return np.where(np.isfinite(offset), np.where(offset > cut[:, None], 1, -1), 0)
