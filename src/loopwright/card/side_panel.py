"""What the loop asks against what is wanted, and what the ground is made of.

Gets what a card is made from; gives rows with bars. Promises: what does not fit is summed up in a
last row, never dropped without a word.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.card import palette
from loopwright.card.boxes import Box, panel, rule, stroke, text
from loopwright.card.measure import width_mm
from loopwright.card.page_style import POINT_MM
from loopwright.card.sheet import Ask, CardInput
from loopwright.card.words import (
    amount_words,
    in_long,
    in_metres,
    in_short,
    kind_words,
    long_unit,
    per_km_of,
    plural,
)
from loopwright.model.picture import Mark
from loopwright.units import Units, percent, short

SOFT = palette.LIGHT.soft_ink
HEAD_MM = 2.9
SECTION_EM = 1.75
ROW_EM, LEAST_ROW_EM = 2.35, 1.68
RACE_MIX = "race: "
"""Mixes copied from a race lap are named so."""
STEPS = 5
LEAST_MM = 8 * POINT_MM
"""Side text may shrink to 8 points."""


def section_head(words: str, box: Box, *, size: float = HEAD_MM) -> tuple[Mark, ...]:
    """Draw the name of a part with a rule under it; takes 1.75 em of height."""
    return (
        text(box.left, box.top + size, words, size, bold=True, colour=palette.ACCENT),
        rule(box, box.top + 1.45 * size, colour=palette.ACCENT, width=0.25),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SidePlan:
    """Text size, row height and how many rows of each part are shown."""

    size: float
    row: float
    asks: int
    grounds: int


def sizes(most_mm: float) -> tuple[float, ...]:
    """Em heights to try, largest first."""
    return tuple(np.linspace(most_mm, min(most_mm, LEAST_MM), STEPS).tolist())


def plan_side(asks: int, grounds: int, *, height: float, most_mm: float) -> SidePlan:
    """Make text smaller until all rows fit; at the least size sum up what still does not."""
    heads = (asks > 0) + (grounds > 0)
    for size in sizes(most_mm):
        free = height - heads * (SECTION_EM * size + 1.0) - (1.5 if heads > 1 else 0.0)
        row = min(ROW_EM * size, free / max(1, asks + grounds))
        if row >= LEAST_ROW_EM * size:
            return SidePlan(size=size, row=row, asks=asks, grounds=grounds)
    row = LEAST_ROW_EM * size
    lines = max(2, int(free / row))
    for_ground = min(grounds, max(lines // 3, lines - asks))
    return SidePlan(size=size, row=row, asks=min(asks, lines - for_ground), grounds=for_ground)


def side_panel(sheet: CardInput, box: Box, *, size: float) -> tuple[Mark, ...]:
    """Draw what is asked against what is given, and under it the ground."""
    grounds = ground_parts(sheet)
    size = next((em for em in sizes(size) if widest(sheet, em) <= box.width), sizes(size)[-1])
    plan = plan_side(len(sheet.asks), len(grounds), height=box.height, most_mm=size)
    marks: list[Mark] = []
    top = box.top
    if plan.asks:
        marks += section_head(asked_by(sheet), _at(box, top), size=plan.size)
        top += SECTION_EM * plan.size + 1.0
        marks += asks_rows(sheet, _at(box, top), plan)
        top += plan.asks * plan.row + 1.5
    if plan.grounds:
        marks += section_head("Ground", _at(box, top), size=plan.size)
        top += SECTION_EM * plan.size + 1.0
        marks += ground_rows(sheet, grounds, _at(box, top), plan)
    return tuple(marks)


def asked_by(sheet: CardInput) -> str:
    """Head the amounts: what a mix wants, or what a race asks."""
    race = sheet.mix_name.startswith(RACE_MIX)
    return "Given, of what the race asks" if race else "Given, of what is wanted"


def _at(box: Box, top: float) -> Box:
    return Box(left=box.left, top=top, width=box.width, height=box.bottom - top)


def asks_rows(sheet: CardInput, box: Box, plan: SidePlan) -> tuple[Mark, ...]:
    """Draw one row for each wanted amount; the last one sums up what is left out."""
    density = {item.kind: item.per_km for item in sheet.densities}
    whole = plan.asks == len(sheet.asks)
    shown = sheet.asks if whole else sheet.asks[: plan.asks - 1]
    marks: list[Mark] = []
    for i, ask in enumerate(shown):
        line = Box(left=box.left, top=box.top + i * plan.row, width=box.width, height=plan.row)
        per_km = per_km_of(ask.kind, density)
        marks += _ask(ask, line, sheet.units, per_km=per_km, size=plan.size)
    if not whole:
        words = f"and {plural(len(sheet.asks) - len(shown), 'more amount')}"
        base = box.top + len(shown) * plan.row + plan.size
        marks.append(text(box.left, base, words, plan.size, colour=SOFT))
    return tuple(marks)


def widest(sheet: CardInput, size: float) -> float:
    """Millimetres that the widest row of an amount takes, without its density."""
    return max(
        (
            width_mm(kind_words(ask.kind), size)
            + width_mm(_given_words(ask, sheet.units), size, bold=True)
            + 1.0
            for ask in sheet.asks
        ),
        default=0.0,
    )


def _given_words(ask: Ask, units: Units) -> str:
    given = f"{ask.given if not in_metres(ask.kind) else in_short(ask.given, units):.0f}"
    return f"{given} of {amount_words(ask.kind, ask.wanted, units)}"


def _ask(
    ask: Ask, box: Box, units: Units, *, per_km: float | None, size: float
) -> tuple[Mark, ...]:
    words = _given_words(ask, units)
    base = box.top + size
    room = box.width - width_mm(words, size, bold=True) - 1.0
    bar = Box(left=box.left, top=base + 0.3 * size, width=box.width, height=0.34 * size)
    share = min(1.0, ask.given / ask.wanted) if ask.wanted > 0 else 1.0
    full = Box(left=bar.left, top=bar.top, width=bar.width * share, height=bar.height)
    name = kind_words(ask.kind)
    if per_km is not None:
        dense = f"{name}, {per_km / in_long(1000.0, units):.1f} per {long_unit(units)}"
        name = dense if width_mm(dense, size) <= room else name
    return (
        text(box.left, base, name, size, room_mm=room),
        text(box.right, base, words, size, anchor="right", bold=True),
        panel(full, fill=palette.ACCENT, layer="bars"),
        panel(bar, fill=None, edge=palette.LIGHT.faint_ink, width=0.15, layer="bars"),
    )


def ground_parts(sheet: CardInput) -> tuple[tuple[str, float], ...]:
    """List surfaces and their metres, longest first."""
    parts = sorted(sheet.ground_m.items(), key=lambda item: (-item[1], item[0]))
    return tuple((surface, metres) for surface, metres in parts if metres > 0)


def ground_rows(
    sheet: CardInput, parts: tuple[tuple[str, float], ...], box: Box, plan: SidePlan
) -> tuple[Mark, ...]:
    """Draw one bar for each surface in its colour and dash; the last one sums up the rest."""
    whole = sum(metres for _, metres in parts)
    shown = parts if plan.grounds == len(parts) else parts[: plan.grounds - 1]
    marks: list[Mark] = []
    for i, (surface, metres) in enumerate(shown):
        line = Box(left=box.left, top=box.top + i * plan.row, width=box.width, height=plan.row)
        words = f"{percent(metres / whole)}, {short(metres, sheet.units)}"
        marks += _ground(surface, line, words, share=metres / whole, size=plan.size)
    rest = parts[len(shown) :]
    if rest:
        share = percent(sum(metres for _, metres in rest) / whole)
        words = f"and {plural(len(rest), 'more surface')}, {share}"
        base = box.top + len(shown) * plan.row + plan.size
        marks.append(text(box.left, base, words, plan.size, colour=SOFT))
    return tuple(marks)


def _ground(surface: str, box: Box, words: str, *, share: float, size: float) -> tuple[Mark, ...]:
    style = palette.SURFACE.get(surface, palette.SURFACE["unknown"])
    base = box.top + size
    y, width = base + 0.49 * size, 0.38 * size
    room = box.width - width_mm(words, size, bold=True) - 1.0
    dash = tuple(part * 0.5 * width for part in style.dash)
    length = max(1.0, share * box.width)
    bar = ((box.left, y), (box.left + length, y))
    edge = Box(left=box.left, top=y - width / 2, width=length, height=width)
    return (
        text(box.left, base, style.words, size, room_mm=room),
        text(box.right, base, words, size, anchor="right", bold=True),
        panel(edge, fill="#ffffff" if dash else style.colour, layer="bars"),
        *([stroke(bar, colour=style.colour, width=width, dash=dash, layer="bars")] if dash else []),
        panel(edge, fill=None, edge=palette.LIGHT.soft_ink, width=0.15, layer="bars"),
    )
