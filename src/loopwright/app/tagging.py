"""Tags put on the ground: by chosen stretches, by painted parts, by a ride replayed.

Gets a desk, a brush and parts of stretches; changes the document by one named step. Promises: tags
name lines on the ground, so they outlive today's network; they carry the day they were said.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from loopwright import edits
from loopwright.app.brush import Brush, brush_of
from loopwright.app.desk import Desk
from loopwright.app.map_tools import Part
from loopwright.app.words import say
from loopwright.model.arrays import Floats
from loopwright.model.ground import Tag, Terrain
from loopwright.model.ids import StretchId, Way

if TYPE_CHECKING:
    from loopwright.features.replay import RiddenPart


def whole_parts(terrain: Terrain, names: Sequence[StretchId]) -> tuple[Part, ...]:
    """Give whole stretches as parts."""
    return tuple(Part(stretch=n, from_m=0.0, to_m=terrain.lengths_m[n]) for n in names)


def tags_of(
    terrain: Terrain, parts: Sequence[Part], brush: Brush, *, on: date | None
) -> tuple[Tag, ...]:
    """Say the brush of each part."""
    if brush.empty:
        return ()
    from loopwright.features.replay import lines_of

    ridden = [((part.stretch, Way.FORWARD), part.from_m, part.to_m) for part in parts]
    return tuple(brush.tag(line, on=on) for line in lines_of(terrain, ridden))


def paint(desk: Desk, parts: Sequence[Part], brush: Brush, *, on: date | None) -> None:
    """Paint parts of stretches, as one step."""
    if desk.terrain is None:
        return
    tags = tags_of(desk.terrain, parts, brush, on=on)
    if tags:
        desk.apply(
            say("Paint {words}", words=brush.words()),
            lambda document: edits.add_tags(document, tags),
        )


def part_xy(terrain: Terrain, part: RiddenPart) -> Floats:
    """Give a ridden part as a line ``(n, 2)`` in local metres, the way it was ridden."""
    from loopwright.features.replay import xy_of

    return xy_of(terrain, part.arc, from_m=part.from_m, to_m=part.to_m)


def ridden_tag(terrain: Terrain, part: RiddenPart, brush: Brush, *, on: date | None) -> Tag:
    """Say the brush of a ridden part."""
    from loopwright.features.replay import line_of

    line = line_of(terrain, part.arc, from_m=part.from_m, to_m=part.to_m)
    return brush.tag(line, on=on)


def said_again(terrain: Terrain, part: RiddenPart, *, on: date | None) -> tuple[Tag, ...]:
    """Say again what is known of each span of a ridden part: the same as last time."""
    from loopwright.features.replay import line_of

    tags = []
    for span in part.spans:
        brush = brush_of(span)
        if not brush.empty and span.to_m > span.from_m:
            line = line_of(terrain, part.arc, from_m=span.from_m, to_m=span.to_m)
            tags.append(brush.tag(line, on=on))
    return tuple(tags)
