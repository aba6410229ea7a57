"""Preferences of the person at the machine: units, theme, language, text size.

Gets and gives one small JSON file. Promises: reading never fails; a value that makes no sense
falls back to its default alone; writing leaves the old file or the new one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from loopwright.errors import WorldError
from loopwright.io.files import worldly
from loopwright.io.json_file import read_json, write_json

UNITS = ("metric", "imperial")
THEMES = ("system", "light", "dark")
TEXT_SCALES = (0.75, 3.0)
"""Least and most text size, as a multiple of the system's."""
RECENT_LIMIT = 10
_LIMIT = 1_000_000
_LANGUAGE_LIMIT = 20
_WORDS_LIMIT = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Preferences:
    """What a person prefers in every area; ``recent`` are paths, the last opened first."""

    units: str = "metric"
    theme: str = "system"
    language: str = "en"
    text_scale: float = 1.0
    cautions_seen: bool = False
    recent: tuple[str, ...] = ()
    tiles_on: bool = False
    """Ask the typed address for map tiles: the one thing that leaves the machine."""
    tile_address: str = ""
    tile_credit: str = ""


def load_preferences(path: Path) -> Preferences:
    """Return the preferences in ``path``, defaults where the file or a value is no good."""
    try:
        found = read_json(path, limit=_LIMIT)
    except WorldError:
        return Preferences()
    if not isinstance(found, dict):
        return Preferences()
    good = {key: found[key] for key, fits in _FITS.items() if key in found and fits(found[key])}
    if "recent" in good:
        good["recent"] = tuple(good["recent"][:RECENT_LIMIT])
    return Preferences(**good)


def save_preferences(preferences: Preferences, path: Path) -> None:
    """Write the preferences; raises WorldError."""
    with worldly(path.parent):
        path.parent.mkdir(parents=True, exist_ok=True)
    write_json(path, {
        "units": preferences.units, "theme": preferences.theme, "language": preferences.language,
        "text_scale": preferences.text_scale, "cautions_seen": preferences.cautions_seen,
        "recent": list(preferences.recent[:RECENT_LIMIT]),
        "tiles_on": preferences.tiles_on, "tile_address": preferences.tile_address,
        "tile_credit": preferences.tile_credit,
    })  # fmt: skip


def _is_scale(value: Any) -> bool:
    low, high = TEXT_SCALES
    return isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high


def _is_language(value: Any) -> bool:
    return isinstance(value, str) and 0 < len(value) <= _LANGUAGE_LIMIT and value.isascii()


def _is_short(value: Any) -> bool:
    return isinstance(value, str) and len(value) <= _WORDS_LIMIT


def _are_paths(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(item, str) for item in value)


_FITS: dict[str, Callable[[Any], bool]] = {
    "units": lambda value: value in UNITS,
    "theme": lambda value: value in THEMES,
    "language": _is_language,
    "text_scale": _is_scale,
    "cautions_seen": lambda value: isinstance(value, bool),
    "recent": _are_paths,
    "tiles_on": lambda value: isinstance(value, bool),
    "tile_address": _is_short,
    "tile_credit": _is_short,
}
