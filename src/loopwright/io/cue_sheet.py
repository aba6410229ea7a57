"""The cue sheet: the features of a lap in riding order, as plain text and as CSV.

Gets a Course and, if there is one, a LapPlan; gives text. Promises: no
cell can be taken for a formula; nothing inside the private circle is listed.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

import numpy as np

from loopwright.geo.ascent import LEAST_RISE_M
from loopwright.geo.frame import to_degrees
from loopwright.geo.polyline import at
from loopwright.io.plain import plain
from loopwright.io.trim import outside
from loopwright.model.course import Course, CourseFeature
from loopwright.model.document import PrivateCircle
from loopwright.model.ground import FeatureKind
from loopwright.model.rider import LapPlan

CAUTION = (
    "Check that the trail is open and legal, walk it first, ride within your ability. "
    "No fast laps where others are about. Estimates, not promises."
)
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
_COLUMNS = ("number", "kind", "from_m", "at_m", "to_m", "words", "target_s")


def harmless(cell: str) -> str:
    """Return a table cell that no spreadsheet takes for a formula: such cells get an apostrophe."""
    bare = plain(cell)
    return f"'{bare}" if cell.startswith(_FORMULA) or bare.startswith(_FORMULA) else bare


def cue_csv(
    course: Course,
    *,
    plan: LapPlan | None = None,
    private: PrivateCircle | None = None,
    attributions: Sequence[str] = (),
) -> str:
    """Return the cues as CSV (RFC 4180: comma, CRLF, a head line).

    Whoever must be named has a row of kind ``source`` at the end, CSV having no other place.
    """
    sink = io.StringIO()
    table = csv.writer(sink)
    table.writerow(_COLUMNS)
    for feature in shown(course, private):
        target = target_s(feature, plan)
        table.writerow([
            feature.number, harmless(feature.kind.value), f"{feature.from_m:.0f}",
            f"{feature.at_m:.0f}", f"{feature.to_m:.0f}", harmless(words_for(feature)),
            "" if target is None else f"{target:.1f}",
        ])  # fmt: skip
    for whose in attributions:
        table.writerow(["", "source", "", "", "", harmless(whose), ""])
    return sink.getvalue()


def cue_text(
    course: Course,
    *,
    plan: LapPlan | None = None,
    private: PrivateCircle | None = None,
    invented: bool = False,
    attributions: Sequence[str] = (),
) -> str:
    """Return the cues as plain text, one line a feature; whom the data is owed to at the end."""
    size = f"{course.length_m / 1000:.2f} km, {course.ascent_m:.0f} m up"
    lines = [plain(course.name), f"{size} (rises of {LEAST_RISE_M:g} m or more)"]
    if invented:
        lines.append("Invented ground: not a real place.")
    lines.append("")
    for feature in shown(course, private):
        target = target_s(feature, plan)
        timed = "" if target is None else f"  {target:.0f} s"
        lines.append(f"{feature.number:>3}  {feature.at_m:>6.0f} m  {words_for(feature)}{timed}")
    return "\n".join([*lines, "", CAUTION, *(plain(whose) for whose in attributions), ""])


def shown(course: Course, private: PrivateCircle | None) -> list[CourseFeature]:
    """Return the features in riding order whose place may be shown."""
    if not course.features:
        return []
    places = at(course.xy, np.array([each.at_m for each in course.features]))
    lat, lon = to_degrees(course.origin, places)
    keep = outside(lon, lat, private)
    return [each for each, seen in zip(course.features, keep, strict=True) if seen]


def words_for(feature: CourseFeature) -> str:
    """Say a feature in words: what it is, which way, how much."""
    name = feature.kind.value.replace("_", " ")
    if feature.kind is FeatureKind.CORNER:
        hand = "left" if feature.turn_deg > 0 else "right"
        tight = "tight " if feature.tight else ""
        banked = ", banked" if feature.banked else ""
        size = f"{abs(feature.turn_deg):.0f} degrees, radius {feature.radius_m:.0f} m"
        return f"{tight}{name} {hand}, {size}{banked}"
    length = f"{feature.to_m - feature.from_m:.0f} m"
    if feature.gain_m > 0:
        return f"{name}, {length}, {feature.gain_m:.0f} m at {100 * feature.grade_mean:.0f} %"
    return f"{name}, {length}"


def target_s(feature: CourseFeature, plan: LapPlan | None) -> float | None:
    """Return the target time from one end of a feature to the other, None without a plan."""
    if plan is None or not len(plan.dist_m):
        return None
    begin, end = np.interp((feature.from_m, feature.to_m), plan.dist_m, plan.time_s)
    return float(end - begin)
