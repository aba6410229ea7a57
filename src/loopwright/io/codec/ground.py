"""Tags and corrections as JSON: what a person said of places on the ground."""

from __future__ import annotations

from loopwright.io.codec import fields
from loopwright.io.codec.fields import Json
from loopwright.model.ground import Tag
from loopwright.model.network import Correction, CorrectionKind


def put_tag(tag: Tag) -> Json:
    """Write a tag."""
    return {
        "line": fields.put_line(tag.line), "surface": tag.surface, "roughness": tag.roughness,
        "width": tag.width, "banked": tag.banked, "roots": tag.roots,
        "obstacles": tag.obstacles, "on": fields.put_day(tag.on), "source": tag.source,
    }  # fmt: skip


def get_tag(source: Json) -> Tag:
    """Read a tag; raises ValueError for what is none."""
    return Tag(
        line=fields.line(source, "line", columns=2),
        surface=fields.maybe(fields.text, source, "surface"),
        roughness=fields.maybe(fields.text, source, "roughness"),
        width=fields.maybe(fields.text, source, "width"),
        banked=fields.maybe(fields.flag, source, "banked"),
        roots=fields.maybe(fields.flag, source, "roots"),
        obstacles=fields.maybe(fields.flag, source, "obstacles"),
        on=fields.maybe(fields.day, source, "on"),
        source=fields.text(source, "source"),
    )


def put_correction(correction: Correction) -> Json:
    """Write a correction."""
    return {
        "kind": correction.kind.value, "line": fields.put_line(correction.line),
        "value": correction.value, "source": correction.source,
    }  # fmt: skip


def get_correction(source: Json) -> Correction:
    """Read a correction; raises ValueError for what is none."""
    return Correction(
        kind=CorrectionKind(fields.text(source, "kind")),
        line=fields.line(source, "line", columns=3),
        value=fields.text(source, "value"),
        source=fields.text(source, "source"),
    )
