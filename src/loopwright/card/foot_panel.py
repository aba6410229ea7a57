"""The foot of a card: cautions, what the words rest on, attributions.

Gets what a card is made from; gives lines of small text. Promises: cautions are always there and
always whole.
"""

from __future__ import annotations

from loopwright.card import palette
from loopwright.card.boxes import Box, text
from loopwright.card.head_panel import SCALE_LETTERS
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


def foot_lines(sheet: CardInput, width: float, *, size: float) -> tuple[str, ...]:
    """Give the lines of the foot: cautions, then what the card rests on."""
    return (*wrap(CAUTIONS, size, width), *wrap(_basis(sheet), size, width))


def _basis(sheet: CardInput) -> str:
    plan = sheet.plan
    parts = [
        f"Ground: {sheet.ground_state}." if sheet.ground_state else "",
        f"Ascent: {sheet.ascent_scale}." if len(sheet.ascent_scale) > SCALE_LETTERS else "",
        f"Times: {plan.basis.rstrip('.')}." if plan is not None and plan.basis else "",
        f"{'; '.join(sheet.attributions)}." if sheet.attributions else "",
        "Made with Loopwright.",
    ]
    return " ".join(part for part in parts if part)


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
