"""What the loop asks against what is wanted, and what the ground is made of.

Gets what a card is made from; gives rows with bars. Promises: what does not fit is summed up in a
last row, never dropped without a word.
"""

from __future__ import annotations

from loopwright.card import palette
from loopwright.card.boxes import Box, panel, rule, stroke, text
from loopwright.card.measure import width_mm
from loopwright.card.sheet import Ask, CardInput
from loopwright.card.words import amount_words, in_metres, in_short, kind_words, plural
from loopwright.model.picture import Mark
from loopwright.units import Units, percent, short

SOFT = palette.LIGHT.soft_ink
HEAD_MM = 2.9


def section_head(words: str, box: Box, *, size: float = HEAD_MM) -> tuple[Mark, ...]:
    """Draw the name of a part with a rule under it; takes 1.75 em of height."""
    return (
        text(box.left, box.top + size, words, size, bold=True, colour=palette.ACCENT),
        rule(box, box.top + 1.45 * size, colour=palette.ACCENT, width=0.25),
    )


def asks_rows(sheet: CardInput, box: Box, *, size: float) -> tuple[Mark, ...]:
    """Draw one row for each wanted amount, as many as fit."""
    row = 2.35 * size
    density = {item.kind: item.per_km for item in sheet.densities}
    most = max(1, int((box.height + 0.2) / row))
    shown = sheet.asks if len(sheet.asks) <= most else sheet.asks[: most - 1]
    marks: list[Mark] = []
    for i, ask in enumerate(shown):
        line = Box(left=box.left, top=box.top + i * row, width=box.width, height=row)
        marks += _ask(ask, line, sheet.units, per_km=density.get(ask.kind), size=size)
    left_out = len(sheet.asks) - len(shown)
    if left_out:
        words = f"and {plural(left_out, 'more amount')}"
        marks.append(text(box.left, box.top + len(shown) * row + size, words, size, colour=SOFT))
    return tuple(marks)


def _ask(
    ask: Ask, box: Box, units: Units, *, per_km: float | None, size: float
) -> tuple[Mark, ...]:
    given = f"{ask.given if not in_metres(ask.kind) else in_short(ask.given, units):.0f}"
    words = f"{given} of {amount_words(ask.kind, ask.wanted, units)}"
    base = box.top + size
    room = box.width - width_mm(words, size, bold=True) - 1.0
    bar = Box(left=box.left, top=base + 0.42 * size, width=box.width, height=0.42 * size)
    share = min(1.0, ask.given / ask.wanted) if ask.wanted > 0 else 1.0
    full = Box(left=bar.left, top=bar.top, width=bar.width * share, height=bar.height)
    name = kind_words(ask.kind)
    if per_km is not None and not in_metres(ask.kind):
        dense = f"{name}, {per_km:.1f} per km"
        name = dense if width_mm(dense, size) <= room else name
    return (
        text(box.left, base, name, size, room_mm=room),
        text(box.right, base, words, size, anchor="right", bold=True),
        panel(full, fill=palette.ACCENT, layer="bars"),
        panel(bar, fill=None, edge=palette.LIGHT.faint_ink, width=0.15, layer="bars"),
    )


def ground_rows(sheet: CardInput, box: Box, *, size: float) -> tuple[Mark, ...]:
    """Draw one bar for each surface, longest first, in its colour and dash."""
    parts = sorted(sheet.ground_m.items(), key=lambda item: (-item[1], item[0]))
    parts = [(surface, metres) for surface, metres in parts if metres > 0]
    whole = sum(metres for _, metres in parts) or 1.0
    row = 2.35 * size
    most = max(1, int((box.height + 0.2) / row))
    shown = parts if len(parts) <= most else parts[: most - 1]
    marks: list[Mark] = []
    for i, (surface, metres) in enumerate(shown):
        line = Box(left=box.left, top=box.top + i * row, width=box.width, height=row)
        words = f"{percent(metres / whole)}, {short(metres, sheet.units)}"
        marks += _ground(surface, line, words, share=metres / whole, size=size)
    rest = parts[len(shown) :]
    if rest:
        share = percent(sum(metres for _, metres in rest) / whole)
        words = f"and {plural(len(rest), 'more surface')}, {share}"
        marks.append(text(box.left, box.top + len(shown) * row + size, words, size, colour=SOFT))
    return tuple(marks)


def _ground(surface: str, box: Box, words: str, *, share: float, size: float) -> tuple[Mark, ...]:
    style = palette.SURFACE.get(surface, palette.SURFACE["unknown"])
    base = box.top + size
    y, width = base + 0.66 * size, 0.5 * size
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
