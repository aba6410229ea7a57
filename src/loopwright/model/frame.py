"""Where the local metre frame of an area lies."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Origin of the local transverse Mercator frame, WGS 84 degrees.

    Chosen at the first import, rounded to 0.01 degree, then kept for good.
    """

    lat: float
    lon: float
