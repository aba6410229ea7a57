"""What the loop card says and where it stands, as a picture in millimetres."""

from __future__ import annotations

from loopwright.card.layouts import card_picture
from loopwright.card.sheet import PAPERS, Ask, CardInput, Density, Paper, SessionWords

__all__ = ["PAPERS", "Ask", "CardInput", "Density", "Paper", "SessionWords", "card_picture"]
