"""Numbers in words, metric or imperial. SI everywhere inside; this is the only way out.

Conversions are exact by definition (international foot 0.3048 m, international mile 1609.344 m;
National Bureau of Standards, Federal Register 1959-07-01).
"""

from __future__ import annotations

from enum import StrEnum

FOOT_M = 0.3048
INCH_M = 0.0254
MILE_M = 1609.344
UNKNOWN = "–"  # noqa: RUF001 - an en dash stands for an unknown number


class Units(StrEnum):
    """What people read."""

    METRIC = "metric"
    IMPERIAL = "imperial"


def distance(metres: float, units: Units = Units.METRIC, *, decimals: int = 2) -> str:
    """Long distance: ``4.31 km`` or ``2.68 mi``."""
    if metres != metres:  # noqa: PLR0124 - NaN is not equal to itself
        return UNKNOWN
    if units is Units.IMPERIAL:
        return f"{metres / MILE_M:.{decimals}f} mi"
    return f"{metres / 1000:.{decimals}f} km"


def short(metres: float, units: Units = Units.METRIC) -> str:
    """Short distance or height: ``35 m`` or ``115 ft``."""
    if metres != metres:  # noqa: PLR0124
        return UNKNOWN
    return f"{metres / FOOT_M:.0f} ft" if units is Units.IMPERIAL else f"{metres:.0f} m"


def small(metres: float, units: Units = Units.METRIC) -> str:
    """Write a length well under ten metres: ``0.5 m`` or ``20 in``."""
    return f"{metres / INCH_M:.0f} in" if units is Units.IMPERIAL else f"{metres:g} m"


def speed(mps: float, units: Units = Units.METRIC) -> str:
    """Speed: ``18 km/h`` or ``11 mph``."""
    if mps != mps:  # noqa: PLR0124
        return UNKNOWN
    return f"{mps * 3600 / MILE_M:.0f} mph" if units is Units.IMPERIAL else f"{mps * 3.6:.0f} km/h"


def duration(seconds: float, *, tenths: bool = False) -> str:
    """Time: ``14:05``, ``1:02:30`` or with tenths ``0:48.3``."""
    if seconds != seconds:  # noqa: PLR0124
        return UNKNOWN
    scale = 10 if tenths else 1
    ticks = round(abs(seconds) * scale)
    whole, part = divmod(ticks, scale)
    minutes, secs = divmod(whole, 60)
    hours, minutes = divmod(minutes, 60)
    head = f"{hours}:{minutes:02d}" if hours else f"{minutes}"
    tail = f".{part}" if tenths else ""
    return f"{'-' if seconds < 0 and ticks else ''}{head}:{secs:02d}{tail}"


def percent(ratio: float, *, decimals: int = 0) -> str:
    """Write a ratio as a percentage: ``12 %``."""
    return UNKNOWN if ratio != ratio else f"{ratio * 100:.{decimals}f} %"  # noqa: PLR0124
