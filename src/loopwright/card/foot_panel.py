"""The foot of a card: cautions, what the words rest on, attributions.

Gets what a card is made from; gives lines of small text. Promises: cautions are always there and
always whole.
"""

from __future__ import annotations

from loopwright.card import palette
from loopwright.card.boxes import Box, text
from loopwright.card.head_panel import is_brief
from loopwright.card.measure import wrap
from loopwright.card.sheet import CardInput
from loopwright.model.picture import Mark

CAUTIONS = (
    "Check that the trail is open and legal for bikes, and walk it first. Ride within your "
    "ability, in protective gear. Give way; no fast laps where others are about. Tell someone "
    "where you ride. Times are estimates, not promises. Land managers' rules, local law, "
    "qualified coaches and doctors decide."
)
SHORT_CAUTIONS = (
    "Open and legal? Walk it first. Ride within your ability, with protective gear. Give way; no "
    "fast laps among others. Tell someone. Estimates, not promises: local rules decide."
)
LEADING = 1.32
BRIEF_LINES, FULL_LINES = 2, 4


def foot_lines(
    sheet: CardInput, width: float, *, size: float, brief: bool = False
) -> tuple[str, ...]:
    """Give the lines of the foot: cautions, then what the card rests on, as whole sentences.

    ``brief`` takes the short cautions and at most two lines of sentences.
    """
    cautions = wrap(SHORT_CAUTIONS if brief else CAUTIONS, size, width)
    sentences = basis(sheet)
    most = BRIEF_LINES if brief else FULL_LINES
    while len(sentences) > 1 and len(wrap(" ".join(sentences), size, width)) > most:
        sentences = sentences[:-1]
    return (*cautions, *wrap(" ".join(sentences), size, width, most=most))


def basis(sheet: CardInput) -> tuple[str, ...]:
    """Say what the card rests on, in sentences, most needed first."""
    plan = sheet.plan
    parts = (
        *(f"{words}." for words in sheet.attributions),
        f"Ground: {sheet.ground_state}." if sheet.ground_state else "",
        f"Ascent: {sheet.ascent_scale}." if not is_brief(sheet.ascent_scale) else "",
        *(_sentences(f"Times: {plan.basis}") if plan is not None and plan.basis else ()),
        "Made with Loopwright.",
    )
    return tuple(part for part in parts if part)


def _sentences(words: str) -> tuple[str, ...]:
    return tuple(f"{part.rstrip('.')}." for part in words.split(". ") if part)


def foot_height(lines: tuple[str, ...], size: float) -> float:
    """Millimetres the foot takes."""
    return len(lines) * LEADING * size


def foot_panel(lines: tuple[str, ...], box: Box, *, size: float) -> tuple[Mark, ...]:
    """Draw the lines, the last one resting on the lower edge of ``box``."""
    top = box.bottom - foot_height(lines, size)
    return tuple(
        text(box.left, top + (i + 0.95) * LEADING * size, line, size, colour=palette.LIGHT.soft_ink)
        for i, line in enumerate(lines)
    )
