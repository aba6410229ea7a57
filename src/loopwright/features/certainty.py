"""How surely the corners of a stretch can be told.

Gets a stretch of a network; gives how far its line has to be smoothed before corners are told, and
how much turn makes one. Both follow from how far apart its rides lie and its points were recorded;
the numbers were found by trial on invented parks: as many corners are missed as found too much.
"""

from __future__ import annotations

import numpy as np

from loopwright.features.bends import CORNER_TURN
from loopwright.geo import polyline
from loopwright.model.network import Stretch

BLUR_PER_ERROR = 4.0
BLUR_MOST_M = 4.5
TURN_PER_DOUBT_M = np.radians(0.4)
"""What cannot be smoothed away without losing corners has to be outdone by turn, a metre of it."""
LOST_TURN_PER_M2 = np.radians(0.02)
"""What recorded points ``d`` metres apart take from the turn of a corner near the limit, per ``d``
squared. The chords between them average a wave of length w as a triangle of half width d does,
which takes 45 degrees times (2 pi d / w)^2 / 12: 0.067 degrees for w = 47 m. Riders slow down for
corners, so points lie closer there."""
CHORD_MOST_M = 20.0
"""Where points lie farther apart, nobody knows any more what a bend was."""


def blur_of(stretch: Stretch) -> float:
    """Scale in metres by which to smooth a line further before its corners are told.

    The error of a mean line varies slowly along it, so it does not show as noise from station to
    station; the spread of the rides tells it.
    """
    return min(BLUR_PER_ERROR * _spread_m(stretch), BLUR_MOST_M)


def least_turn_of(stretch: Stretch) -> float:
    """Turn in radians from which a bend of the smoothed line is a corner."""
    doubt_m = BLUR_PER_ERROR * _spread_m(stretch) - blur_of(stretch)
    lost = LOST_TURN_PER_M2 * _apart_m2(stretch)
    return float(CORNER_TURN + TURN_PER_DOUBT_M * doubt_m - lost)


def _spread_m(stretch: Stretch) -> float:
    error = stretch.std_error_m
    known = error[np.isfinite(error)]
    return float(np.median(known)) if len(known) else 0.0


def _apart_m2(stretch: Stretch) -> float:
    """Mean square of the metres between recorded points, 0 where nobody rode."""
    length = polyline.length_m(stretch.xy)
    apart = [length / max(1, one.last - one.first) for one in stretch.passes]
    return min(CHORD_MOST_M**2, float(np.mean(np.square(apart)))) if apart else 0.0
