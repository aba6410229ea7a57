"""Area settings as JSON."""

from __future__ import annotations

from loopwright.io.codec import fields
from loopwright.io.codec.fields import Json
from loopwright.model.document import AreaSettings, PrivateCircle
from loopwright.model.frame import Origin


def put_settings(settings: AreaSettings) -> Json:
    """Write area settings."""
    return {
        "invented": settings.invented,
        "private": None if settings.private is None else _put_circle(settings.private),
        "plan_for": fields.put_day(settings.plan_for),
        "attributions": list(settings.attributions),
        "height_file": settings.height_file,
        "background_file": settings.background_file,
    }


def get_settings(source: Json) -> AreaSettings:
    """Read area settings; raises ValueError for what is none."""
    return AreaSettings(
        invented=fields.flag(source, "invented"),
        private=fields.maybe(_get_circle, source, "private"),
        plan_for=fields.maybe(fields.day, source, "plan_for"),
        attributions=fields.texts(source, "attributions"),
        height_file=fields.text(source, "height_file"),
        background_file=fields.maybe(fields.text, source, "background_file") or "",
    )


def _put_circle(circle: PrivateCircle) -> Json:
    return {"lat": circle.lat, "lon": circle.lon, "radius_m": circle.radius_m}


def _get_circle(source: Json, key: str) -> PrivateCircle:
    inner = fields.table(source[key])
    return PrivateCircle(
        lat=fields.number(inner, "lat"),
        lon=fields.number(inner, "lon"),
        radius_m=fields.number(inner, "radius_m"),
    )


def put_origin(origin: Origin) -> Json:
    """Write where the local frame lies."""
    return {"lat": origin.lat, "lon": origin.lon}


def get_origin(source: Json, key: str) -> Origin:
    """Read where the local frame lies."""
    inner = fields.table(source[key])
    return Origin(lat=fields.number(inner, "lat"), lon=fields.number(inner, "lon"))
