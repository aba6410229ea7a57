"""Leave the rider's home out.

Gets a strand and a circle; gives the strand without its ends inside the circle.
"""

from __future__ import annotations

import numpy as np

from loopwright.clean.strand import Strand, points
from loopwright.geo.frame import to_local
from loopwright.model.document import PrivateCircle
from loopwright.model.frame import Origin
from loopwright.model.track import FaultKind


def trimmed(strand: Strand, circle: PrivateCircle | None, origin: Origin) -> Strand:
    """Cut both ends as far as they lie within the circle; the middle of a ride stays."""
    if circle is None or len(strand) == 0:
        return strand
    home = to_local(origin, np.array([circle.lat]), np.array([circle.lon]))[0]
    outside = np.flatnonzero(np.hypot(*(strand.xy - home).T) > circle.radius_m)
    first, last = (int(outside[0]), int(outside[-1])) if len(outside) else (len(strand), -1)
    lost = len(strand) - max(last - first + 1, 0)
    if lost == 0:
        return strand
    rows = np.arange(first, last + 1)
    words = f"{points(lost)} inside the private circle left out"
    return strand.keep(rows).note(FaultKind.PRIVATE, words, lost)
