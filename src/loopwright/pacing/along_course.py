"""What the trails of a lap take this rider, laid along the lap.

Gets a course and a fit. Gives the ratio of time and its spread at every place. Promises: trails the
fit does not know have the ratio 1 with the spread of an unknown trail.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats, Ints
from loopwright.model.course import Course
from loopwright.model.rider import FitValue, RiderFit
from loopwright.pacing.arc_lane import part_at
from loopwright.pacing.belief import Belief, spread
from loopwright.pacing.trails import key_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Along:
    """Ratio of time ``pace`` ``(n,)`` at each place, and its ``part`` ``(n,)`` of the lap.

    ``sd`` ``(m,)`` is the log-normal spread of each part; all places of a part are off together.
    """

    pace: Floats
    part: Ints
    sd: Floats

    def spread(self, time_s: Floats, edges: Ints) -> Floats:
        """Log-normal spread of the time over grid places ``edges`` ``(k + 1,)``, ``(k,)``.

        Parts are off independently of each other.
        """
        step = np.diff(time_s, append=time_s[-1])
        out = []
        for a, b in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
            last = max(b, a + 1)
            share = np.bincount(self.part[a:last], step[a:last], minlength=len(self.sd))
            out.append(float(np.sqrt(((share * self.sd) ** 2).sum()) / max(share.sum(), 1e-9)))
        return np.array(out)


def along_course(course: Course, dist_m: Floats, belief: Belief, fit: RiderFit | None) -> Along:
    """Lay the fit's trails over lap metres ``dist_m`` ``(n,)``."""
    which = np.minimum(
        np.searchsorted(course.arc_ends_m, dist_m, side="right"), len(course.arcs) - 1
    )
    part = np.zeros(len(dist_m), dtype=np.int32)
    pace = np.ones(len(dist_m))
    sd: list[float] = []
    for k in range(len(course.arcs)):
        here = which == k
        values = _parts(course, k, belief, fit)
        at, length_m = _on_arc(course, k, dist_m[here])
        number = part_at(at, length_m, len(values))
        part[here] = number + len(sd)
        pace[here] = np.array([one.value for one in values])[number]
        sd += [spread(one) for one in values]
    return Along(pace=pace, part=part, sd=np.array(sd))


def _parts(course: Course, k: int, belief: Belief, fit: RiderFit | None) -> tuple[FitValue, ...]:
    known = fit.trails.get(key_of(course.arcs[k])) if fit else None
    return known or (belief["trail"],)


def _on_arc(course: Course, k: int, dist_m: Floats) -> tuple[Floats, float]:
    """Metres along an arc of the lap, and its length; the gate may part the arc in two."""
    ends, arcs = course.arc_ends_m, course.arcs
    starts = np.concatenate(([0.0], ends[:-1]))
    length = float(ends[k] - starts[k])
    parted = len(arcs) > 1 and arcs[0] == arcs[-1]
    if not parted or k not in {0, len(arcs) - 1}:
        return dist_m - starts[k], length
    before = float(ends[-1] - starts[-1])
    whole = before + float(ends[0])
    return (dist_m + before if k == 0 else dist_m - starts[k]), whole
