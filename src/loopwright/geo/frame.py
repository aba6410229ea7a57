"""Between WGS 84 degrees and the local metre frame. The only user of pyproj.

The frame is a transverse Mercator on WGS 84 with scale 1 at the area's origin: within 25 km of
the central meridian lengths agree with geodesics to 1e-5 (Snyder 1987, USGS PP 1395, eq. 8-11:
k = 1 + x^2 / (2 R^2)).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from pyproj import Geod, Transformer

from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin

ORIGIN_STEP_DEG = 0.01


def origin_for(lat: Floats, lon: Floats) -> Origin:
    """Choose an origin for points ``(n,)`` in degrees: their middle, rounded to 0.01 degree.

    Longitudes may lie on both sides of the antimeridian. Raises ValueError when empty.
    """
    if len(lat) == 0:
        message = "no points to place a frame on"
        raise ValueError(message)
    east = turned(lon - lon[0])
    middle_lon = (east.min() + east.max()) / 2 + lon[0]
    middle_lon = (middle_lon + 180.0) % 360.0 - 180.0
    middle_lat = (lat.min() + lat.max()) / 2
    return Origin(lat=_rounded(float(middle_lat)), lon=_rounded(float(middle_lon)))


def turned(lon: Floats) -> Floats:
    """Bring longitudes ``(n,)`` in degrees into -180 <= lon < 180."""
    return np.asarray((lon + 180.0) % 360.0 - 180.0)


def _rounded(degrees: float) -> float:
    return round(round(degrees / ORIGIN_STEP_DEG) * ORIGIN_STEP_DEG, 6)


def to_local(origin: Origin, lat: Floats, lon: Floats) -> Floats:
    """Return ``(n, 2)`` metres east and north of ``origin`` for degrees ``(n,)``.

    NaN in gives inf or NaN out; an empty input gives shape (0, 2).
    """
    x, y = _transformers(origin)[0].transform(lon, lat)
    return np.column_stack((x, y)).astype(np.float64).reshape(-1, 2)


def to_degrees(origin: Origin, xy: Floats) -> tuple[Floats, Floats]:
    """Return latitudes and longitudes ``(n,)`` in degrees for local metres ``(n, 2)``."""
    lon, lat = _transformers(origin)[1].transform(xy[:, 0], xy[:, 1])
    return np.asarray(lat, dtype=np.float64), np.asarray(lon, dtype=np.float64)


@lru_cache(maxsize=16)
def _transformers(origin: Origin) -> tuple[Transformer, Transformer]:
    """Make the ways there and back from their steps: nothing is looked up, so any thread may."""
    local = (
        f"+proj=tmerc +lat_0={origin.lat!r} +lon_0={origin.lon!r} +k=1 +x_0=0 +y_0=0 +ellps=WGS84"
    )
    there = f"+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step {local}"
    back = f"+proj=pipeline +step +inv {local} +step +proj=unitconvert +xy_in=rad +xy_out=deg"
    return Transformer.from_pipeline(there), Transformer.from_pipeline(back)


def geodesic_length_m(lat: Floats, lon: Floats) -> float:
    """Length in metres of the line through degrees ``(n,)`` on WGS 84; 0 for fewer than two."""
    return float(Geod(ellps="WGS84").line_length(lon, lat)) if len(lat) > 1 else 0.0
