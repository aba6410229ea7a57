"""The season as comma-separated rows, one day a row, for any spreadsheet.

Gets a plan; gives text. Promises: no cell can be taken for a formula.
"""

from __future__ import annotations

import csv
import io

from loopwright.io.cue_sheet import harmless
from loopwright.model.season import RiddenLaps, SeasonPlan

HEAD = (
    "day", "label", "kind", "purpose", "minutes", "effort_minutes", "laps", "rest_minutes", "hard",
    "loop", "rating_cr10", "laps_ridden", "best_s", "median_s", "note",
)  # fmt: skip


def season_csv(plan: SeasonPlan) -> str:
    """Return the rows, headed by the names of the columns."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEAD)
    for s in plan.sessions:
        rating = "" if s.rating_cr10 is None else f"{s.rating_cr10:g}"
        writer.writerow(
            harmless(cell)
            for cell in (
                s.on.isoformat(), s.label.value, s.kind, s.purpose, f"{s.minutes:g}",
                f"{s.effort_minutes:g}", str(s.laps), f"{s.rest_minutes:g}",
                "yes" if s.hard else "no", s.loop, rating, *_ridden(s.ridden), s.note,
            )
        )  # fmt: skip
    return out.getvalue()


def _ridden(ridden: RiddenLaps | None) -> tuple[str, str, str]:
    """Give laps ridden, best and middle time, empty where there are none."""
    if ridden is None:
        return "", "", ""
    times = ("" if s is None else f"{s:.1f}" for s in (ridden.best_s, ridden.median_s))
    best, median = times
    return str(ridden.laps), best, median
