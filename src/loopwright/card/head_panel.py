"""The top of a card: name, session label, key figures, square code.

Gets what a card is made from; gives marks.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.card import palette
from loopwright.card.boxes import Box, panel, text
from loopwright.card.measure import fit, largest, line_step, width_mm, wrap
from loopwright.card.sheet import CardInput, SessionWords
from loopwright.card.square_code import code_marks
from loopwright.card.words import date_words, in_long, interval_words, long_unit, plural
from loopwright.model.picture import Mark, Text
from loopwright.model.season import DayLabel
from loopwright.units import distance, duration, percent, short

INVENTED_WORDS = "INVENTED GROUND: NO REAL PLACE"
INVENTED_SHORT = "INVENTED GROUND"
LONG_NAME_SHARE = 0.6
UNNAMED = "Unnamed loop"
MOST_ABOUT_LINES = 2
SCALE_LETTERS = 14
"""A longer word on the scale of the ascent goes to the foot."""
SOFT = palette.LIGHT.soft_ink


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One key figure: what it is, its value, and what must be said with it."""

    head: str
    value: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadStyle:
    """Em heights of the head and the size of its square code, in millimetres."""

    title: float
    body: float
    code: float


def head_panel(sheet: CardInput, box: Box, style: HeadStyle) -> tuple[float, tuple[Mark, ...]]:
    """Draw name, about line and labels, with the square code at the right.

    Gives the lower edge of what was drawn, and the marks.
    """
    has_code = sheet.start is not None and not sheet.hide_start
    room = box.width - (style.code + 4.0 if has_code else 0.0)
    marks: list[Mark] = []
    y = box.top
    size, lines = title_lines(sheet.name or UNNAMED, room, most_mm=style.title)
    for i, line in enumerate(lines):
        step = line_step(lines[i - 1], line) * size if i else 0.86 * max(size, 0.8 * style.title)
        y += step
        marks.append(text(box.left, y, line, size, bold=True))
    y += 0.35 * size
    for parts in about_lines(sheet, room, size=style.body):
        y += 1.35 * style.body
        marks += _parts(parts, box.left, y, size=style.body)
    bottom, top = y + 0.5 * style.body, y + 0.75 * style.body
    labels = label_row(sheet, box.left, top, room=room, size=style.body)
    if labels:
        marks += labels
        bottom = top + 1.62 * style.body
    if has_code and sheet.start is not None:
        marks += _start_code(sheet.start, box, style)
        bottom = max(bottom, box.top + style.code + 0.6 * style.body)
    return bottom, tuple(marks)


def title_lines(name: str, room: float, *, most_mm: float) -> tuple[float, tuple[str, ...]]:
    """Give the em height and one line for the name, two smaller ones when it is long."""
    least = LONG_NAME_SHARE * most_mm
    if width_mm(name, least, bold=True) <= room:
        size = largest(name, room, most_mm=most_mm, least_mm=least, bold=True)
        return size, (fit(name, size, room, bold=True),)
    return least, wrap(name, least, room, bold=True, most=2)


def _start_code(start: tuple[float, float], box: Box, style: HeadStyle) -> list[Mark]:
    """Square code with its words under it, its dark part flush with the right edge."""
    code = style.code
    shift = 0.12 * code
    square = Box(left=box.right - code + shift, top=box.top - shift, width=code, height=code)
    y = square.bottom + 0.1 * style.body
    small = 0.8 * style.body
    words = text(box.right, y, "way to the start", small, anchor="right", colour=SOFT)
    return [*code_marks(*start, square), words]


def about_lines(sheet: CardInput, room: float, *, size: float) -> tuple[tuple[str, ...], ...]:
    """Sort area, date, mix, match and purpose into at most two lines.

    Names stay apart from each other, so that each may be in a script of its own.
    """
    purpose = "" if sheet.session is None else sheet.session.purpose
    given = (sheet.area, _dated(sheet), sheet.mix_name, match_words(sheet), purpose)
    lines: list[list[str]] = [[]]
    left = 0.0
    for part in (fit(part, size, room) for part in given if part):
        need = width_mm(part, size) + 1.2 * size + width_mm("·", size)
        if lines[-1] and left + need > room:
            if len(lines) == MOST_ABOUT_LINES:
                break
            lines.append([])
            left = 0.0
        lines[-1].append(part)
        left += need
    return tuple(tuple(line) for line in lines if line)


def match_words(sheet: CardInput) -> str:
    """Say how well the loop fits the mix, in the words given or as a share."""
    if sheet.match_words or sheet.match is None:
        return sheet.match_words
    return f"{sheet.match * 100:.0f} % of what is wanted"


def _parts(parts: tuple[str, ...], left: float, y: float, *, size: float) -> list[Mark]:
    marks: list[Mark] = []
    for part in parts:
        if marks:
            marks.append(text(left, y, "·", size, colour=SOFT))
            left += width_mm("·", size) + 0.6 * size
        marks.append(text(left, y, part, size, colour=SOFT))
        left += width_mm(part, size) + 0.6 * size
    return marks


def _dated(sheet: CardInput) -> str:
    return date_words(sheet.on) if sheet.on else ""


def label_row(
    sheet: CardInput, x: float, top: float, *, room: float, size: float
) -> tuple[Mark, ...]:
    """Draw the labels: training or recovery, laps and rest, invented ground."""
    session = sheet.session
    marks: list[Mark] = []
    left, end = x, x + room
    if session is not None and session.label is not DayLabel.OPEN:
        words = session.label.value.upper()
        marks += _chip(left, top, words, solid=session.label is DayLabel.TRAINING, size=size)
        left += _chip_width(words, size) + 0.8 * size
    mark = _invented_words(sheet, end - left, size)
    if session is not None:
        free = end - left - (_chip_width(mark, size) + 0.8 * size if mark else 0.0)
        words = next(w for w in session_lines(session) if width_mm(w, size) <= free or not w)
        marks.append(text(left, top + 1.17 * size, words, size))
        left += width_mm(words, size) + 1.2 * size
    if mark:
        marks += _chip(left, top, mark, solid=False, size=size)
    return tuple(mark for mark in marks if not isinstance(mark, Text) or mark.words)


def _invented_words(sheet: CardInput, room: float, size: float) -> str:
    """Give the long mark where it leaves room for a session, else the short one."""
    if not sheet.invented:
        return ""
    spare = 0.0 if sheet.session is None else 14.0 * size
    long = _chip_width(INVENTED_WORDS, size) + spare <= room
    return INVENTED_WORDS if long else INVENTED_SHORT


def _chip_width(words: str, size: float) -> float:
    return width_mm(words, size, bold=True) + 1.2 * size


def _chip(left: float, top: float, words: str, *, solid: bool, size: float) -> list[Mark]:
    box = Box(left=left, top=top, width=_chip_width(words, size), height=1.62 * size)
    fill = palette.ACCENT if solid else "#ffffff"
    ink = "#ffffff" if solid else palette.INK
    edge = palette.ACCENT if solid else palette.INK
    back = panel(box, fill=fill, edge=edge, width=0.3, layer="label")
    middle = left + box.width / 2
    front = text(middle, top + 1.17 * size, words, size, anchor="middle", bold=True, colour=ink)
    return [back, front]


def session_lines(session: SessionWords) -> tuple[str, ...]:
    """Say laps, rest and effort of a session, from the fullest line to none at all."""
    laps = plural(session.laps, "lap")
    rest = session.rest_minutes if session.laps > 1 else 0.0
    long = f"{laps}, {rest:g} min easy between" if rest else laps
    brief = f"{laps}, {rest:g} min rest" if rest else laps
    effort = ""
    if session.effort_cr10 is not None:
        low, high = session.effort_cr10
        effort = f", effort {low}–{high} of 10"  # noqa: RUF001 - an en dash between numbers
    return (long + effort, brief + effort, brief, laps, "")


def figures(sheet: CardInput) -> tuple[Figure, ...]:
    """Choose the key figures there are."""
    course, plan, units = sheet.course, sheet.plan, sheet.units
    found = [Figure(head="One lap", value=distance(course.length_m, units))]
    if course.has_heights:
        note = sheet.ascent_scale if is_brief(sheet.ascent_scale) else ""
        found.append(Figure(head="Ascent", value=short(course.ascent_m, units), note=note))
    if plan is not None:
        note = f"{interval_words(plan.low_s, plan.high_s)} (90 %)"
        found.append(Figure(head="Lap time, flying", value=duration(plan.lap_time_s), note=note))
        found.append(Figure(head="From standing", value=duration(plan.first_lap_s)))
    if sheet.session is not None:
        rest = f"{sheet.session.rest_minutes:g} min rest" if sheet.session.rest_minutes else ""
        found.append(Figure(head="Laps", value=str(sheet.session.laps), note=rest))
    return (*found, *_density(sheet))


def _density(sheet: CardInput) -> tuple[Figure, ...]:
    """Give wanted features per km or mile, and the share of the lap inside them."""
    share = "" if sheet.inside_share is None else f"{percent(sheet.inside_share)} of the lap"
    if sheet.densities:
        unit = in_long(1000.0, sheet.units)
        per_unit = sum(density.per_km for density in sheet.densities) / unit
        value = f"{per_unit:.1f}/{long_unit(sheet.units)}"
        return (Figure(head="Wanted features", value=value, note=share),)
    return (
        (Figure(head="In wanted features", value=share.split(" of ", maxsplit=1)[0]),)
        if share
        else ()
    )


def is_brief(words: str) -> bool:
    """Tell whether words on the scale of the ascent are short and plain enough for a figure."""
    return len(words) <= SCALE_LETTERS and words.isascii()


def figure_row(shown: tuple[Figure, ...], box: Box, *, value_mm: float) -> tuple[Mark, ...]:
    """Draw key figures side by side, each in room by its needs."""
    small = 0.5 * value_mm
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
        text(x, base + 1.05 * value_mm, figure.value, value_mm, bold=True),
    ]
    if figure.note:
        marks.append(text(x, base + 1.75 * value_mm, figure.note, small, colour=SOFT))
    return marks
