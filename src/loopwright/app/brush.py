"""The words a person paints the ground with, and the key for each.

Gets keys, gives words of the model. Promises: one key, one word; number keys are surfaces, the row
of letters below them roughness, the row below that width and the like.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from types import MappingProxyType
from typing import Any

from loopwright.app.kinds import roughness_words, surface_words
from loopwright.app.words import say
from loopwright.model.arrays import Floats
from loopwright.model.ground import GroundSpan, Tag

SURFACE_KEYS: Mapping[str, str] = MappingProxyType(
    {
        "1": "ground", "2": "dirt", "3": "gravel", "4": "fine_gravel", "5": "compacted",
        "6": "asphalt", "7": "grass", "8": "rock", "9": "sand", "0": "mud",
    }
)  # fmt: skip
ROUGH_KEYS: Mapping[str, str] = MappingProxyType(
    {"Q": "good", "W": "intermediate", "E": "bad", "R": "very_bad", "T": "horrible"}
)
WIDTH_KEYS: Mapping[str, str] = MappingProxyType({"A": "narrow", "S": "wide"})
FLAG_KEYS: Mapping[str, str] = MappingProxyType({"D": "roots", "F": "banked", "G": "obstacles"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Brush:
    """Words to paint; None leaves what is known."""

    surface: str | None = None
    roughness: str | None = None
    width: str | None = None
    roots: bool | None = None
    banked: bool | None = None
    obstacles: bool | None = None

    def pressed(self, key: str) -> Brush | None:
        """Give the brush after a key; None if the key is not one of ours."""
        if key in SURFACE_KEYS:
            return replace(self, surface=SURFACE_KEYS[key])
        if key in ROUGH_KEYS:
            return replace(self, roughness=ROUGH_KEYS[key])
        if key in WIDTH_KEYS:
            return replace(self, width=WIDTH_KEYS[key])
        if key in FLAG_KEYS:
            flag: dict[str, Any] = {FLAG_KEYS[key]: not getattr(self, FLAG_KEYS[key])}
            return replace(self, **flag)
        return None

    @property
    def empty(self) -> bool:
        """Tell whether it would paint nothing."""
        return self == Brush()

    def tag(self, line: Floats, *, on: date | None = None) -> Tag:
        """Say it of a line, ``(n, 2)`` lon, lat degrees."""
        return Tag(
            line=line, surface=self.surface, roughness=self.roughness, width=self.width,
            roots=self.roots, banked=self.banked, obstacles=self.obstacles, on=on,
        )  # fmt: skip

    def words(self) -> str:
        """Say what it paints."""
        parts = [
            surface_words(self.surface) if self.surface else "",
            roughness_words(self.roughness) if self.roughness else "",
            say(self.width) if self.width else "",
            *(say(name) for name in FLAG_KEYS.values() if getattr(self, name)),
        ]
        return ", ".join(part for part in parts if part) or say("nothing yet")


def brush_of(span: GroundSpan) -> Brush:
    """Say again what is known of a span."""
    return Brush(
        surface=None if span.surface == "unknown" else span.surface,
        roughness=None if span.roughness == "unknown" else span.roughness,
        width=None if span.width == "unknown" else span.width,
        roots=span.roots or None,
        banked=span.banked or None,
        obstacles=span.obstacles or None,
    )


def difference(before: Brush, after: Brush) -> Brush:
    """Give only the words that changed, to apply at once to what is chosen."""
    changed = {
        name: getattr(after, name)
        for name in ("surface", "roughness", "width", "roots", "banked", "obstacles")
        if getattr(after, name) != getattr(before, name)
    }
    return Brush(**changed)
