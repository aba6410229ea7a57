"""Unfold hairpins whose two legs errors laid on each other.

Gets a web and aligned samples. Legs 7 to 10 m apart may be drawn as one line to a dead end, up
which everybody rides and comes back at once. Nobody passes such a line by, and whichever way rides
go, one leg lies to the same side of the other: that tells it from a way to a viewpoint. Promises:
where rides go straight on, and where the way out and the way back are one, everything stays.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby

import numpy as np

from loopwright.geo.planar import left_of, unit
from loopwright.geo.polyline import along, at, length_m, project
from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned, headings
from loopwright.network.forks import branches_at
from loopwright.network.rows import Rows
from loopwright.network.runs import Run, runs_of
from loopwright.network.samples import Samples
from loopwright.network.web import End, Web

LONGEST_M = 250.0
LEAST = 3
"""Rides that must have gone out and back."""
STRAIGHT_ON = 8
"""Rides out and back for each that goes straight on, at least."""
GAP_M, SURE = 4.0, 3.0
"""Legs so far apart, and by so many standard errors, are two."""
AGAIN_ROWS = 20
"""Samples that may lie on no line while a ride turns at the tip."""
CLEAR_M = 8.0
"""So near to either end of a leg its side is not told."""
APPROACH_M = 6.0
"""So much of the lines before and after gives way to the legs."""


@dataclass(slots=True)
class _Spur:
    """A line to a dead end, and the ``one`` and ``two`` that meet it."""

    end: End
    one: End
    two: End
    visits: list[_Visit] = field(default_factory=list)
    straight_on: int = 0


@dataclass(frozen=True, slots=True)
class _Visit:
    """Samples of a ride out and back, and whether it came by the spur's ``one``."""

    rows: Rows
    by_one: bool


def unfold(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> Aligned:
    """Unfold hairpins in place; gives the samples with those of hairpins laid on their legs.

    ``ele`` ``(n,)`` are the samples' heights in metres.
    """
    spurs = [spur for node in sorted(web.nodes) for spur in _spurs(web, node)]
    if spurs:
        _ride(spurs, runs_of(web, samples, aligned, ele))
    xy, again = aligned.xy, False
    for spur in spurs:
        if len(spur.visits) < max(LEAST, STRAIGHT_ON * spur.straight_on):
            continue
        if not all(end[0] in web.lines for end in (spur.end, spur.one, spur.two)):
            again = True  # the hairpin before took the line between them
            continue
        gap_m = _gap_m(web, spur, samples)
        if gap_m:
            xy = _laid(web, spur, gap_m, xy)
            _unfold(web, spur, gap_m)
    if xy is aligned.xy:
        return aligned
    laid = Aligned(xy=xy, head=headings(xy, samples.first))
    return unfold(web, samples, laid, ele) if again else laid


def _spurs(web: Web, node: int) -> Iterator[_Spur]:
    """Yield the lines to a dead end at a node where three lines meet."""
    ends = branches_at(web, node)
    if len(ends) != 3:
        return
    for end in ends:
        if web.loose(end[0]) and web.lines[end[0]].length_m <= LONGEST_M:
            one, two = (other for other in ends if other != end)
            yield _Spur(end, one, two)


def _ride(spurs: Sequence[_Spur], runs: Iterable[Run]) -> None:
    """Count what rides do at every spur."""
    at_end: dict[End, list[_Spur]] = {}
    for spur in spurs:
        at_end.setdefault(spur.one, []).append(spur)
        at_end.setdefault(spur.two, []).append(spur)
    for _, group in groupby(runs, key=lambda run: run.piece):
        ridden = list(group)
        for k, run in enumerate(ridden[:-1]):
            for spur in at_end.get(run.left, ()):
                _count(spur, ridden, k)


def _count(spur: _Spur, ridden: Sequence[Run], k: int) -> None:
    """Tell what a ride does that comes to a spur by its run ``k``."""
    came, by_one = ridden[k], ridden[k].left == spur.one
    other = spur.two if by_one else spur.one
    if ridden[k + 1].came == other and came.goes_on(ridden[k + 1]):
        spur.straight_on += 1
    last = k
    while last + 1 < len(ridden) and ridden[last].goes_on(ridden[last + 1], within=AGAIN_ROWS):
        last += 1
        if ridden[last].number != spur.end[0]:
            if last > k + 1 and ridden[last].came == other:
                rows = np.arange(came.last + 1, ridden[last].first)
                spur.visits.append(_Visit(rows, by_one))
            return


def _gap_m(web: Web, spur: _Spur, samples: Samples) -> float:
    """Tell how many metres the leg from ``one`` lies to the left of the other; 0 where unsure."""
    spine = web.from_end(spur.end)[:, :2]
    gaps: list[float] = []
    for visit in spur.visits:
        place, off = project(spine, samples.xy[visit.rows])
        tip = int(place.argmax())
        told = (place > CLEAR_M) & (place < place[tip] - CLEAR_M)
        out, back = off[:tip][told[:tip]], off[tip:][told[tip:]]
        if len(out) > 1 and len(back) > 1:
            gaps.append(float(out.mean() - back.mean()) * (1.0 if visit.by_one else -1.0))
    if len(gaps) < LEAST:
        return 0.0
    mean, error = float(np.mean(gaps)), float(np.std(gaps, ddof=1)) / len(gaps) ** 0.5
    return mean if abs(mean) >= max(GAP_M, SURE * error) else 0.0


def _leg(spine: Floats, run_m: Floats, left_m: Floats | float) -> Floats:
    """Give places ``(n, 2)`` along a leg so far to the left of a spine; legs meet at its tip."""
    total, radius = length_m(spine), np.abs(left_m)
    ahead = unit(at(spine, run_m + radius) - at(spine, run_m - radius))
    near_tip = np.clip((run_m - total) / radius + 1.0, 0.0, 1.0)
    away = left_m * np.sqrt(1.0 - near_tip**2)
    return at(spine, run_m) + away[:, None] * left_of(ahead)


def _laid(web: Web, spur: _Spur, gap_m: float, xy: Floats) -> Floats:
    """Give all places with the samples of visits laid on their legs."""
    spine, xy = web.from_end(spur.end)[:, :2], xy.copy()
    for visit in spur.visits:
        place, _ = project(spine, xy[visit.rows])
        out = np.arange(len(place)) <= place.argmax()
        left_m = np.where(out == visit.by_one, gap_m, -gap_m) / 2
        xy[visit.rows] = _leg(spine, place, left_m)
    return xy


def _unfold(web: Web, spur: _Spur, gap_m: float) -> None:
    """Put one line over both legs in the place of the three that met."""
    spine = web.from_end(spur.end)
    run_m = along(spine[:, :2])
    first, second = (
        np.column_stack((_leg(spine[:, :2], run_m, left_m), spine[:, 2]))
        for left_m in (gap_m / 2, -gap_m / 2)
    )
    xyz = np.vstack((_rest(web, spur.one)[::-1], first, second[-2::-1], _rest(web, spur.two)))
    a, b = web.beyond(spur.one), web.beyond(spur.two)
    passes = min(web.lines[number].passes for number, _ in (spur.one, spur.two))
    web.add_line(a, b, xyz, passes)
    for number, _ in (spur.end, spur.one, spur.two):
        web.drop_line(number)


def _rest(web: Web, end: End) -> Floats:
    """Give a line from its end on, but for what gives way to the legs."""
    xyz = web.from_end(end)
    run_m = along(xyz[:, :2])
    return np.asarray(xyz[run_m > min(APPROACH_M, run_m[-1] / 3)])
