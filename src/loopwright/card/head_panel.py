"""The top of a card: name, session label, key figures, square code.

Gets what a card is made from; gives marks.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.card import palette
from loopwright.card.boxes import Box, panel, text
from loopwright.card.measure import fit, largest, width_mm
from loopwright.card.sheet import CardInput, SessionWords
from loopwright.card.square_code import code_marks
from loopwright.card.words import date_words, interval_words, plural
from loopwright.model.picture import Mark
from loopwright.model.season import DayLabel
from loopwright.units import distance, duration, short

INVENTED_WORDS = "INVENTED GROUND: NO REAL PLACE"
SOFT = palette.LIGHT.soft_ink


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One key figure: what it is, its value, and what must be said with it."""

    head: str
    value: str
    note: str = ""


def head_panel(sheet: CardInput, box: Box, *, title_mm: float, body_mm: float) -> tuple[Mark, ...]:
    """Draw name, area line and labels, with the square code at the right."""
    code = box.height if sheet.start is not None and not sheet.hide_start else 0.0
    room = box.width - (code + 4.0 if code else 0.0)
    name = sheet.name or "Unnamed loop"
    size = largest(name, room, most_mm=title_mm, least_mm=0.55 * title_mm, bold=True)
    base = box.top + 0.86 * title_mm
    marks: list[Mark] = [text(box.left, base, name, size, bold=True, room_mm=room)]
    second = base + 0.35 * title_mm + body_mm
    marks += _about(sheet, box.left, second, room=room, size=body_mm)
    marks += label_row(sheet, box.left, second + 0.75 * body_mm, room=room, size=body_mm)
    if code and sheet.start is not None:
        square = Box(left=box.right - code, top=box.top, width=code, height=code)
        marks += code_marks(*sheet.start, square)
    return tuple(marks)


def _about(sheet: CardInput, x: float, y: float, *, room: float, size: float) -> list[Mark]:
    """One run of words for each name, so that names in any script keep to themselves."""
    parts = [sheet.area, sheet.mix_name, sheet.match_words, _dated(sheet)]
    marks: list[Mark] = []
    left = x
    for part in (part for part in parts if part):
        if marks:
            marks.append(text(left, y, "·", size, colour=SOFT))
            left += width_mm("·", size) + 0.6 * size
        shown = fit(part, size, x + room - left)
        if not shown:
            break
        marks.append(text(left, y, shown, size, colour=SOFT))
        left += width_mm(shown, size) + 0.6 * size
    return marks


def _dated(sheet: CardInput) -> str:
    return date_words(sheet.on) if sheet.on else ""


def label_row(
    sheet: CardInput, x: float, top: float, *, room: float, size: float
) -> tuple[Mark, ...]:
    """Draw the labels: training or recovery, laps and rest, invented ground."""
    chips: list[tuple[str, bool]] = []
    if sheet.session is not None and sheet.session.label is not DayLabel.OPEN:
        chips.append((sheet.session.label.value.upper(), sheet.session.label is DayLabel.TRAINING))
    if sheet.invented:
        chips.append((INVENTED_WORDS, False))
    marks: list[Mark] = []
    left = x
    for words, solid in chips:
        width = width_mm(words, size, bold=True) + 1.2 * size
        if left + width > x + room:
            break
        marks += _chip(left, top, words, solid=solid, size=size)
        left += width + 0.8 * size
    if sheet.session is not None:
        words = fit(session_line(sheet.session), size, x + room - left)
        marks.append(text(left, top + 1.17 * size, words, size))
    return tuple(marks)


def _chip(left: float, top: float, words: str, *, solid: bool, size: float) -> list[Mark]:
    box = Box(
        left=left, top=top, width=width_mm(words, size, bold=True) + 1.2 * size, height=1.62 * size
    )
    fill = palette.ACCENT if solid else "#ffffff"
    ink = "#ffffff" if solid else palette.INK
    edge = palette.ACCENT if solid else palette.INK
    back = panel(box, fill=fill, edge=edge, width=0.3, layer="label")
    middle = left + box.width / 2
    front = text(middle, top + 1.17 * size, words, size, anchor="middle", bold=True, colour=ink)
    return [back, front]


def session_line(session: SessionWords) -> str:
    """Say laps, rest and effort of a session in one line."""
    rest = f", {session.rest_minutes:g} min easy between" if session.rest_minutes > 0 else ""
    parts = [f"{plural(session.laps, 'lap')}{rest if session.laps > 1 else ''}"]
    if session.effort_cr10 is not None:
        low, high = session.effort_cr10
        parts.append(f"effort {low}–{high} of 10")  # noqa: RUF001 - an en dash between numbers
    if session.purpose:
        parts.append(session.purpose)
    return "; ".join(parts)


def figures(sheet: CardInput) -> tuple[Figure, ...]:
    """Choose the key figures there are."""
    course, plan, units = sheet.course, sheet.plan, sheet.units
    found = [Figure(head="One lap", value=distance(course.length_m, units))]
    if course.has_heights:
        note = sheet.ascent_scale
        found.append(Figure(head="Ascent", value=short(course.ascent_m, units), note=note))
    if plan is not None:
        note = f"{interval_words(plan.low_s, plan.high_s)}, 9 in 10"
        found.append(Figure(head="Lap time, flying", value=duration(plan.lap_time_s), note=note))
        found.append(Figure(head="From standing", value=duration(plan.first_lap_s)))
    if sheet.session is not None:
        rest = f"{sheet.session.rest_minutes:g} min rest" if sheet.session.rest_minutes else ""
        found.append(Figure(head="Laps", value=str(sheet.session.laps), note=rest))
    if sheet.inside_share is not None:
        share = f"{sheet.inside_share * 100:.0f} %"
        found.append(Figure(head="In wanted features", value=share, note="of the lap"))
    return tuple(found)


def figure_row(shown: tuple[Figure, ...], box: Box, *, value_mm: float) -> tuple[Mark, ...]:
    """Draw key figures side by side, each in room by its needs."""
    small = 0.45 * value_mm
    needs = [_need(figure, value_mm, small) for figure in shown]
    gap = (box.width - sum(needs)) / max(1, len(shown) - 1)
    tight = min(1.0, box.width / (sum(needs) + 3.0 * max(0, len(shown) - 1)))
    gap = max(gap, 3.0 * tight)
    marks: list[Mark] = []
    left = box.left
    for figure, need in zip(shown, needs, strict=True):
        marks += _figure(figure, left, box.top, value_mm=value_mm * tight, small=small * tight)
        left += need * tight + min(gap, 14.0)
    return tuple(marks)


def _need(figure: Figure, value_mm: float, small: float) -> float:
    return max(
        width_mm(figure.head, small),
        width_mm(figure.value, value_mm, bold=True),
        width_mm(figure.note, small),
    )


def _figure(figure: Figure, x: float, top: float, *, value_mm: float, small: float) -> list[Mark]:
    base = top + small
    marks: list[Mark] = [
        text(x, base, figure.head, small, colour=SOFT),
        text(x, base + 0.95 * value_mm, figure.value, value_mm, bold=True),
    ]
    if figure.note:
        marks.append(text(x, base + 1.3 * value_mm + small * 0.9, figure.note, small, colour=SOFT))
    return marks
