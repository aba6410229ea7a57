"""stub"""
from __future__ import annotations
def corrected(web, origin, corrections):
    return list(corrections)
