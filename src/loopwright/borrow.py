"""Ground words and unridden trails from a local map extract.

Gets a document and an extract, gives the next document. Promises: borrowed words never win over a
person's own; borrowed trails are marked unridden; the attribution stays with the area.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loopwright.edits import add_tags
from loopwright.io.osm import Box, MapExtract, MapLine
from loopwright.model.document import Document
from loopwright.model.ground import Tag
from loopwright.model.network import Correction, CorrectionKind

MARGIN_DEG = 0.002
"""About 200 m: what leads out of the ridden ground still belongs to it."""
SOURCE = "osm"


def box_of(document: Document) -> Box | None:
    """Give the ridden ground and a margin: south, west, north, east in degrees."""
    if not document.rides:
        return None
    lat = np.concatenate([ride.track.lat for ride in document.rides])
    lon = np.concatenate([ride.track.lon for ride in document.rides])
    return (
        float(lat.min()) - MARGIN_DEG,
        float(lon.min()) - MARGIN_DEG,
        float(lat.max()) + MARGIN_DEG,
        float(lon.max()) + MARGIN_DEG,
    )


def with_words(document: Document, extract: MapExtract) -> Document:
    """Take over what the extract says of the ground."""
    tags = [_tag(line) for line in extract.lines if _says(line)]
    return _attributed(add_tags(document, tags), extract) if tags else document


def with_trails(document: Document, extract: MapExtract) -> Document:
    """Take over the extract's ways as ground not ridden yet."""
    drawn = tuple(
        Correction(
            kind=CorrectionKind.DRAWN,
            line=np.column_stack((line.line, np.full(len(line.line), np.nan))),
            value=line.name,
        )
        for line in extract.lines
    )
    known = {_mark(c) for c in document.corrections}
    fresh = tuple(c for c in drawn if _mark(c) not in known)
    if not fresh:
        return document
    return _attributed(replace(document, corrections=(*document.corrections, *fresh)), extract)


def _mark(correction: Correction) -> tuple[str, bytes]:
    return correction.kind.value, correction.line.tobytes()


def _says(line: MapLine) -> bool:
    return any(word is not None for word in (line.surface, line.roughness, line.width))


def _tag(line: MapLine) -> Tag:
    return Tag(
        line=line.line,
        surface=line.surface,
        roughness=line.roughness,
        width=line.width,
        source=SOURCE,
    )


def _attributed(document: Document, extract: MapExtract) -> Document:
    settings = document.settings
    if extract.attribution in settings.attributions:
        return document
    words = (*settings.attributions, extract.attribution)
    return replace(document, settings=replace(settings, attributions=words))
