"""Ground words and unridden trails from a local map extract.

Gets a document and an extract, gives the next document. Promises: borrowed words never win over a
person's own; borrowed trails are marked unridden; the attribution stays with the area as long as
anything borrowed does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from loopwright.edits import add_tags
from loopwright.geo.follow import Follower
from loopwright.geo.frame import to_local, turned
from loopwright.io.osm import Box, MapExtract, MapLine
from loopwright.jobs import Report, Silent
from loopwright.model.document import Document
from loopwright.model.ground import Tag
from loopwright.model.network import Correction, CorrectionKind, Network
from loopwright.model.track import RideRole
from loopwright.relief import lifted

MARGIN_DEG = 0.002
"""About 200 m: what leads out of the ridden ground still belongs to it."""
WITHIN_M = 15.0
"""As far as a tag may lie off its trail."""
SOURCE = "osm"


def box_of(document: Document) -> Box | None:
    """Give the ridden ground and a margin: south, west, north, east in degrees.

    Across the antimeridian west is the greater of the two, as in RFC 7946, 5.2. Race laps, which
    may lie anywhere, do not count.
    """
    tracks = [ride.track for ride in document.rides if ride.role is RideRole.RIDE]
    if not tracks:
        return None
    lat = np.concatenate([track.lat for track in tracks])
    lon = np.concatenate([track.lon for track in tracks])
    east = turned(lon - lon[0])
    west_east = (-180.0, 180.0)
    if np.ptp(east) + 2 * MARGIN_DEG < 360.0:
        ends = np.array([east.min() - MARGIN_DEG, east.max() + MARGIN_DEG]) + lon[0]
        west_east = tuple(turned(ends).tolist())
    return float(lat.min()) - MARGIN_DEG, west_east[0], float(lat.max()) + MARGIN_DEG, west_east[1]


def on_network(extract: MapExtract, network: Network, report: Report | None = None) -> MapExtract:
    """Keep the lines that run along the network: words of others would find no place."""
    told = report or Silent()
    follower = Follower([s.xy for s in network.stretches], within_m=WITHIN_M)
    kept = []
    for done, line in enumerate(extract.lines):
        told.step(done / len(extract.lines), "matching the map to your trails")
        xy = to_local(network.origin, line.line[:, 1], line.line[:, 0])
        if follower.follow(xy, check=told.check):
            kept.append(line)
    return replace(extract, lines=tuple(kept))


def with_words(document: Document, extract: MapExtract) -> Document:
    """Take over what the extract says of the ground, each word once."""
    known = {_tag_mark(tag) for tag in document.tags if tag.source == SOURCE}
    tags = [_tag(line) for line in extract.lines if _says(line)]
    fresh = [tag for tag in tags if _tag_mark(tag) not in known]
    return _attributed(add_tags(document, fresh), extract) if fresh else document


def with_trails(document: Document, extract: MapExtract) -> Document:
    """Take over the extract's paths and tracks as ground not ridden yet, each once.

    One direction stays one direction. Heights come from the area's height file. Raises WorldError
    if that is damaged.
    """
    heights = document.settings.height_file
    drawn = [one for line in extract.lines if line.trail for one in _trail(line, heights)]
    known = {_mark(c) for c in document.corrections}
    fresh = tuple(c for c in drawn if _mark(c) not in known)
    if not fresh:
        return document
    return _attributed(replace(document, corrections=(*document.corrections, *fresh)), extract)


def _trail(line: MapLine, height_file: str) -> Iterator[Correction]:
    """Give a trail as drawn ground, and its direction if it has but one."""
    xyz = lifted(line.line, height_file)
    yield Correction(kind=CorrectionKind.DRAWN, line=xyz, value=line.name, source=SOURCE)
    if line.one_way:
        yield Correction(kind=CorrectionKind.ONE_WAY, line=xyz, source=SOURCE)


def trails_of(corrections: Sequence[Correction]) -> int:
    """Count the trails among borrowed corrections."""
    return sum(one.kind is CorrectionKind.DRAWN and bool(one.source) for one in corrections)


def borrowed(document: Document) -> tuple[Sequence[Tag], Sequence[Correction]]:
    """Give what was taken from map extracts."""
    return (
        [tag for tag in document.tags if tag.source == SOURCE],
        [one for one in document.corrections if one.source == SOURCE],
    )


def given_back(document: Document, attribution: str) -> Document:
    """Take out all that came from map extracts, and the attribution it asked for."""
    tags, corrections = borrowed(document)
    if not tags and not corrections:
        return document
    settings = document.settings
    left = tuple(words for words in settings.attributions if words != attribution)
    return replace(
        document,
        tags=tuple(tag for tag in document.tags if tag.source != SOURCE),
        corrections=tuple(one for one in document.corrections if one.source != SOURCE),
        settings=replace(settings, attributions=left),
    )


def _mark(correction: Correction) -> tuple[str, bytes]:
    return correction.kind.value, correction.line.tobytes()


def _tag_mark(tag: Tag) -> tuple[object, ...]:
    words = (tag.surface, tag.roughness, tag.width, tag.obstacles)
    return *words, tag.line.tobytes()


def _says(line: MapLine) -> bool:
    words = (line.surface, line.roughness, line.width, line.obstacles)
    return any(word is not None for word in words)


def _tag(line: MapLine) -> Tag:
    return Tag(
        line=line.line,
        surface=line.surface,
        roughness=line.roughness,
        width=line.width,
        obstacles=line.obstacles,
        source=SOURCE,
    )


def _attributed(document: Document, extract: MapExtract) -> Document:
    settings = document.settings
    if extract.attribution in settings.attributions:
        return document
    words = (*settings.attributions, extract.attribution)
    return replace(document, settings=replace(settings, attributions=words))
