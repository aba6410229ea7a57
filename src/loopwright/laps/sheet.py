"""The lap sheet: the public face of the room.

Gets a clean ride and a course, perhaps with a plan. Gives all laps with their splits. Promises: a
lap counts as complete only if the rider followed the whole loop from gate to gate.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from loopwright.geo.sections import sections
from loopwright.laps.follow import chains_of
from loopwright.laps.gates import Span, spans_of
from loopwright.laps.loopline import line_of
from loopwright.laps.splits import moving_between, splits_of
from loopwright.laps.timing import Timed, timed
from loopwright.laps.trace import trace_of
from loopwright.model.course import Course
from loopwright.model.ground import SURFACES
from loopwright.model.ids import Way
from loopwright.model.laps import Lap, LapSheet, Split
from loopwright.model.rider import LapPlan
from loopwright.model.track import CleanTrack


def sheet_of(track: CleanTrack, course: Course, *, plan: LapPlan | None = None) -> LapSheet:
    """Find and time the laps of ``course`` in ``track``.

    A ride that never follows the loop gives a sheet without laps. Raises NoAnswerError when the
    ride carries no times.
    """
    trace, line = trace_of(track), line_of(course)
    chains = [timed(trace, line, chain) for chain in chains_of(trace, line)]
    parts = sections(course)
    targets = {(one.from_m, one.to_m): one.time_s for one in plan.splits} if plan else {}
    laps: list[Lap] = []
    for chain in chains:
        for span in spans_of(chain, course.length_m):
            rows = splits_of(chain, span, parts, length_m=course.length_m, targets=targets)
            laps.append(_lap(chain, span, len(laps) + 1, rows))
    return _sheet(track, course, laps, chains)


def _lap(chain: Timed, span: Span, number: int, rows: tuple[Split, ...]) -> Lap:
    return Lap(
        number=number,
        way=chain.way,
        start_s=span.start_s,
        elapsed_s=span.end_s - span.start_s,
        moving_s=moving_between(chain, span.start_s, span.end_s),
        length_m=span.to_m - span.from_m,
        complete=span.complete,
        splits=rows,
        note=span.note,
    )


def _sheet(
    track: CleanTrack, course: Course, laps: Sequence[Lap], chains: Sequence[Timed]
) -> LapSheet:
    numbers, times = _counted(laps)
    known = len(times) > 0
    many = len(times) > 1
    return LapSheet(
        ride=track.ride,
        loop=course.name,
        laps=tuple(laps),
        best_s=float(np.min(times)) if known else None,
        median_s=float(np.median(times)) if known else None,
        fade_per_lap_s=float(np.polyfit(numbers, times, 1)[0]) if many else None,
        spread_s=float(np.std(times, ddof=1)) if many else None,
        ground_m=_ground(course, chains),
    )


def _counted(laps: Sequence[Lap]) -> tuple[list[int], list[float]]:
    """Numbers and times of complete laps, of the way ridden more often."""
    whole = [lap for lap in laps if lap.complete]
    back = [lap for lap in whole if lap.way is Way.BACKWARD]
    ahead = [lap for lap in whole if lap.way is Way.FORWARD]
    same = back if len(back) > len(ahead) else ahead
    return [lap.number for lap in same], [lap.elapsed_s for lap in same]


def _ground(course: Course, chains: Sequence[Timed]) -> Mapping[str, float]:
    """Metres ridden along the loop by surface; metres missed are not counted."""
    total = np.zeros(len(SURFACES))
    for chain in chains:
        sign = 1.0 if chain.way is Way.FORWARD else -1.0
        begin, end = float(chain.progress_m[0]), float(chain.progress_m[-1])
        at = np.arange(begin, end, 1.0)
        for one in chain.breaks:
            if one.spoils:
                at = at[(at < one.from_m) | (at > one.to_m)]
        lap = (sign * at) % course.length_m
        near = np.clip(np.searchsorted(course.dist_m, lap), 0, len(course.dist_m) - 1)
        total += np.bincount(course.surface[near], minlength=len(SURFACES))
    return {word: float(m) for word, m in zip(SURFACES, total, strict=True) if m > 0}
