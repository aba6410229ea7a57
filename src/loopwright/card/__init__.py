"""What the loop card says and where it stands, as a picture in millimetres.

Laying out needs heavy libraries; they are loaded with the first card, so that whoever wants only
colours and shapes starts at once.
"""

from __future__ import annotations

from loopwright.card.sheet import PAPERS, Ask, CardInput, Density, Paper, SessionWords
from loopwright.model.picture import Picture

__all__ = ["PAPERS", "Ask", "CardInput", "Density", "Paper", "SessionWords", "card_picture"]


def card_picture(sheet: CardInput, *, paper: Paper = "A4") -> Picture:
    """Lay out the card of one loop on a paper; see ``layouts.card_picture``."""
    from loopwright.card.layouts import card_picture as lay_out

    return lay_out(sheet, paper=paper)
