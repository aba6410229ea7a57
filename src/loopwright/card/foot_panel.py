"""The foot of a card: cautions, what the words rest on, attributions.

Gets what a card is made from; gives lines of small text. Promises: cautions are always there and
always whole.
"""

from __future__ import annotations

from itertools import accumulate, pairwise

from loopwright.card import palette
from loopwright.card.boxes import Box, text
from loopwright.card.head_panel import is_brief
from loopwright.card.measure import line_step, wrap
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
OWED_LINES = 6


def foot_lines(
    sheet: CardInput, width: float, *, size: float, brief: bool = False
) -> tuple[str, ...]:
    """Give the lines of the foot: cautions, whose data it is, then what the card rests on.

    ``brief`` takes the short cautions and at most two lines of sentences. Cautions and
    attributions are always whole.
    """
    cautions = wrap(SHORT_CAUTIONS if brief else CAUTIONS, size, width)
    owed = attribution_lines(sheet, size, width)
    sentences = basis(sheet)
    most = BRIEF_LINES if brief else FULL_LINES
    while len(sentences) > 1 and len(wrap(" ".join(sentences), size, width)) > most:
        sentences = sentences[:-1]
    return (*cautions, *owed, *wrap(" ".join(sentences), size, width, most=most))


def attribution_lines(sheet: CardInput, size: float, width: float) -> tuple[str, ...]:
    """Say whose data the card shows, in as many lines as it takes up to ``OWED_LINES``."""
    words = " ".join(f"{one.rstrip('.')}." for one in sheet.attributions if one)
    return wrap(words, size, width, most=OWED_LINES)


def basis(sheet: CardInput) -> tuple[str, ...]:
    """Say what the card rests on, in sentences, most needed first."""
    plan = sheet.plan
    parts = (
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
    return sum(_steps(lines)) * size + 0.05 * LEADING * size if lines else 0.0


def _steps(lines: tuple[str, ...]) -> list[float]:
    """Give steps in em from the top to the first baseline and from each to the next."""
    further = [max(LEADING, line_step(above, below)) for above, below in pairwise(lines)]
    return [0.95 * LEADING, *further] if lines else []


def foot_panel(lines: tuple[str, ...], box: Box, *, size: float) -> tuple[Mark, ...]:
    """Draw the lines, the last one resting on the lower edge of ``box``."""
    top = box.bottom - foot_height(lines, size)
    bases = (top + down * size for down in accumulate(_steps(lines)))
    return tuple(
        text(box.left, base, line, size, colour=palette.LIGHT.soft_ink)
        for base, line in zip(bases, lines, strict=True)
    )
