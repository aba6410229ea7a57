"""Room: season. From a race date to dated sessions, and what was ridden of them."""

from loopwright.season.changes import (
    heavier_bike,
    hold_loop,
    note_laps,
    rate,
    relabel,
    write_note,
)
from loopwright.season.counts import DrillCount, drill_counts
from loopwright.season.ledger import Ledger, LedgerLine, added_up, ground_ledger
from loopwright.season.load import COARSE, WeekLoad, monotony, session_load, weekly_loads
from loopwright.season.nudges import CAUTION, EVIDENCE, Nudge, nudges
from loopwright.season.page import season_pages
from loopwright.season.plan import plan_season

__all__ = [
    "CAUTION", "COARSE", "EVIDENCE", "DrillCount", "Ledger", "LedgerLine", "Nudge", "WeekLoad",
    "added_up", "drill_counts", "ground_ledger", "heavier_bike", "hold_loop", "monotony",
    "note_laps", "nudges", "plan_season", "rate", "relabel", "season_pages", "session_load",
    "weekly_loads", "write_note",
]  # fmt: skip
