"""The whole document as JSON and arrays."""

from __future__ import annotations

from collections.abc import Callable

from loopwright.io.codec import fields
from loopwright.io.codec.fields import Json
from loopwright.io.codec.ground import get_correction, get_tag, put_correction, put_tag
from loopwright.io.codec.rider import get_rider, put_rider
from loopwright.io.codec.rides import get_ride
from loopwright.io.codec.season import get_season, put_season
from loopwright.io.codec.settings import get_origin, get_settings, put_origin, put_settings
from loopwright.io.codec.wishes import (
    get_loop,
    get_mix,
    get_wishes,
    put_loop,
    put_mix,
    put_wishes,
)
from loopwright.model.document import Document


def put_document(document: Document, rides: list[Json]) -> Json:
    """Write the document as one JSON object; ``rides`` are its rides already written."""
    return {
        "name": document.name,
        "origin": None if document.origin is None else put_origin(document.origin),
        "rides": rides,
        "tags": fields.put_each(put_tag, document.tags),
        "corrections": fields.put_each(put_correction, document.corrections),
        "rider": put_rider(document.rider),
        "mixes": fields.put_each(put_mix, document.mixes),
        "wishes": None if document.wishes is None else put_wishes(document.wishes),
        "found": fields.put_each(put_loop, document.found),
        "kept": fields.put_each(put_loop, document.kept),
        "season": None if document.season is None else put_season(document.season),
        "settings": put_settings(document.settings),
    }


def get_document(source: Json, fetch: Callable[[str], bytes]) -> Document:
    """Read a document; ``fetch`` gives array bytes by name. Raises ValueError naming the field."""
    return Document(
        name=fields.text(source, "name"),
        origin=fields.maybe(get_origin, source, "origin"),
        rides=fields.each(lambda ride: get_ride(ride, fetch), source, "rides"),
        tags=fields.each(get_tag, source, "tags"),
        corrections=fields.each(get_correction, source, "corrections"),
        rider=get_rider(fields.table(source.get("rider"))),
        mixes=fields.each(get_mix, source, "mixes"),
        wishes=fields.maybe(
            lambda inner, key: get_wishes(fields.table(inner[key])), source, "wishes"
        ),
        found=fields.each(get_loop, source, "found"),
        kept=fields.each(get_loop, source, "kept"),
        season=fields.maybe(
            lambda inner, key: get_season(fields.table(inner[key])), source, "season"
        ),
        settings=get_settings(fields.table(source.get("settings"))),
    )
