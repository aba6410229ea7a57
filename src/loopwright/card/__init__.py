"""What the loop card says and where it stands, as a picture in millimetres.

Laying out needs heavy libraries; they are loaded with the first card, and what a card is made of
with the first use of its name, so that whoever wants only colours starts at once.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from loopwright.card.sheet import PAPERS, Ask, CardInput, Density, Paper, SessionWords
    from loopwright.model.picture import Picture

__all__ = ["PAPERS", "Ask", "CardInput", "Density", "Paper", "SessionWords", "card_pages"]


def card_pages(sheet: CardInput, *, paper: Paper = "A4") -> tuple[Picture, ...]:
    """Lay out the card of one loop on a paper; see ``layouts.card_pages``."""
    from loopwright.card.layouts import card_pages as lay_out

    return lay_out(sheet, paper=paper)


def __getattr__(name: str) -> Any:
    if name in __all__:
        return getattr(import_module("loopwright.card.sheet"), name)
    message = f"module {__name__!r} has no attribute {name!r}"
    raise AttributeError(message)
