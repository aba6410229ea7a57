"""The season on paper: weeks as rows, days as columns.

Gets a plan; gives pages as pictures in millimetres, A4 on its side, up to 13 weeks each. Promises:
readable without colour (hard days have a heavy frame, rest days no frame), nothing leaves the page,
long words are cut by the painter inside their cell, invented plans say so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from loopwright.model.picture import Mark, Picture, Shape, Text
from loopwright.model.season import DayLabel, SeasonPlan, Session
from loopwright.season.hard_days import DAY, monday_of
from loopwright.season.nudges import CAUTION
from loopwright.units import duration

WIDE_MM, HIGH_MM = 297.0, 210.0
EDGE_MM = 8.0
HEAD_MM = 20.0
FOOT_MM = 10.0
SIDE_MM = 17.0
GAP_MM = 0.8
WEEKS_A_PAGE = 13
TITLE_MM, WORDS_MM, SMALL_MM = 6.0, 3.1, 2.83
"""Nothing is smaller than 8 points (2.82 mm)."""
LINE_MM = 3.6
INK, SOFT, FAINT = "#1c1b1f", "#55535a", "#8a8890"
HARD_FILL, EASY_FILL, RACE_FILL = "#e3e1e6", "#f6f5f7", "#1c1b1f"
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
INVENTED = "Invented data: this ground does not exist."


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """Where one day stands on the page, millimetres from the top left."""

    left: float
    top: float
    wide: float
    high: float


def season_pages(plan: SeasonPlan, *, name: str, invented: bool = False) -> tuple[Picture, ...]:
    """Lay out the plan of the area ``name``; an empty plan gives no page."""
    mondays = sorted({monday_of(session.on) for session in plan.sessions})
    parts = [mondays[k : k + WEEKS_A_PAGE] for k in range(0, len(mondays), WEEKS_A_PAGE)]
    title = f"Season, {name}"
    return tuple(
        Picture(
            width_mm=WIDE_MM,
            height_mm=HIGH_MM,
            marks=tuple(_page(plan, part, title, f"{k + 1} of {len(parts)}", invented=invented)),
            title=title,
        )
        for k, part in enumerate(parts)
    )


def _page(
    plan: SeasonPlan, mondays: Sequence[date], title: str, number: str, *, invented: bool
) -> Iterator[Mark]:
    yield _text(EDGE_MM, EDGE_MM + TITLE_MM, title, TITLE_MM, bold=True, wide=180.0)
    yield _text(WIDE_MM - EDGE_MM, EDGE_MM + 4.0, _races(plan), WORDS_MM, right=True, wide=90.0)
    yield _text(EDGE_MM, EDGE_MM + 11.0, _given(plan), WORDS_MM, colour=SOFT, wide=260.0)
    for column, day in enumerate(DAYS):
        cell = _cell(0, column)
        yield _text(cell.left, HEAD_MM + EDGE_MM - 2.0, day, WORDS_MM, bold=True)
    sessions = {session.on: session for session in plan.sessions}
    for row, monday in enumerate(mondays):
        yield from _week(plan, monday, row, sessions)
    words = f"{INVENTED} {CAUTION}" if invented else CAUTION
    yield _text(EDGE_MM, HIGH_MM - 6.0, words, SMALL_MM, colour=SOFT, wide=255.0)
    yield _text(WIDE_MM - EDGE_MM, HIGH_MM - 6.0, number, SMALL_MM, colour=SOFT, right=True)


def _races(plan: SeasonPlan) -> str:
    return ", ".join(f"{race.name} {_day(race.on)}" for race in plan.wishes.races)


def _given(plan: SeasonPlan) -> str:
    wishes = plan.wishes
    return (
        f"{wishes.hours_a_week:g} h a week, {wishes.weeks_style} weeks, hard days in a row:"
        f" {wishes.hard_days_in_a_row} at most. Heavy frame: hard. Black: race. No frame: rest."
    )


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


def _week(
    plan: SeasonPlan, monday: date, row: int, sessions: dict[date, Session]
) -> Iterator[Mark]:
    here = [sessions[d] for k in range(7) if (d := monday + k * DAY) in sessions]
    first = _cell(row, 0)
    to_go = (monday_of(plan.sessions[-1].on) - monday).days // 7
    hours = sum(session.minutes for session in here) / 60
    left, wide = EDGE_MM, SIDE_MM - 3.0
    yield _text(left, first.top + 3.5, f"{monday.day} {monday:%b}", WORDS_MM, bold=True, wide=wide)
    yield _text(left, first.top + 7.2, f"{to_go} to go", SMALL_MM, colour=SOFT, wide=wide)
    yield _text(left, first.top + 10.7, f"{hours:.1f} h", SMALL_MM, colour=SOFT, wide=wide)
    for session in here:
        yield from _session(session, _cell(row, session.on.weekday()))


def _cell(row: int, column: int) -> Cell:
    wide = (WIDE_MM - 2 * EDGE_MM - SIDE_MM) / 7
    high = (HIGH_MM - 2 * EDGE_MM - HEAD_MM - FOOT_MM + 6.0) / WEEKS_A_PAGE
    return Cell(
        left=EDGE_MM + SIDE_MM + column * wide,
        top=EDGE_MM + HEAD_MM + row * high,
        wide=wide - GAP_MM,
        high=high - GAP_MM,
    )


def _session(session: Session, cell: Cell) -> Iterator[Mark]:
    race = session.purpose.startswith("race")
    if session.minutes > 0 or race or session.label is DayLabel.OPEN:
        yield _frame(session, cell, race=race)
    colour = "#ffffff" if race else INK if session.minutes > 0 else FAINT
    lines = [line for line in _lines(session, race=race) if line]
    for k, words in enumerate(lines[:3]):
        yield _text(
            cell.left + 1.0,
            cell.top + 3.4 + LINE_MM * k,
            words,
            SMALL_MM,
            colour=colour,
            bold=k == 0 and session.minutes > 0,
            wide=cell.wide - 1.6,
        )


def _lines(session: Session, *, race: bool) -> tuple[str, str, str]:
    if session.label is DayLabel.OPEN:
        return f"{session.on.day}", "training or recovery?", ""
    if race:
        return f"{session.on.day} {session.purpose}", "", ""
    if session.minutes == 0:
        return f"{session.on.day} {session.purpose}", "", ""
    what = f"{session.minutes:.0f} min"
    if session.rating_cr10 is not None:
        what += f", felt {session.rating_cr10:g} of 10"
        return f"{session.on.day} {session.kind}", what, _ridden(session)
    if session.laps:
        what += f", {session.laps} x {session.effort_minutes:g}, rest {session.rest_minutes:g}"
    return f"{session.on.day} {session.kind}", what, _ridden(session)


def _ridden(session: Session) -> str:
    """Say what was ridden where it is known, else what was meant."""
    ridden = session.ridden
    if ridden is None or not ridden.laps:
        return session.loop or session.purpose
    best = "" if ridden.best_s is None else f", best {duration(ridden.best_s)}"
    return f"{ridden.laps} {'lap' if ridden.laps == 1 else 'laps'}{best}"


def _frame(session: Session, cell: Cell, *, race: bool) -> Shape:
    fill = RACE_FILL if race else HARD_FILL if session.hard else EASY_FILL
    right, low = cell.left + cell.wide, cell.top + cell.high
    corners = ((cell.left, cell.top), (right, cell.top), (right, low), (cell.left, low))
    return Shape(
        points=np.array(corners),
        fill=fill,
        edge=INK if session.hard else FAINT,
        width_mm=0.6 if session.hard else 0.15,
        layer="days",
    )


def _text(
    x: float,
    y: float,
    words: str,
    size_mm: float,
    *,
    colour: str = INK,
    bold: bool = False,
    right: bool = False,
    wide: float = 0.0,
) -> Text:
    return Text(
        x=x,
        y=y,
        words=words,
        size_mm=size_mm,
        colour=colour,
        anchor="right" if right else "left",
        bold=bold,
        max_width_mm=wide,
        layer="words",
    )
