"""What the program remembers of a person between starts: looks, units, recent areas.

Gets a JSON file in the user's settings folder; gives one mutable record. Promises: a bad value
falls back to its default by itself, a bad file to all defaults; writing replaces the file whole.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from platformdirs import user_config_path, user_state_path

from loopwright.app.look import Look, make_look
from loopwright.errors import WorldError
from loopwright.units import Units

RECENT = 8
THEMES = ("light", "dark")
SCALES = (1.0, 1.25, 1.5, 1.75, 2.0)
READ_LIMIT = 1_000_000


@dataclass(kw_only=True)
class Remembered:
    """Preferences; ``path`` None keeps nothing on disk (tests, pictures)."""

    path: Path | None = None
    state: Path | None = None
    """Folder for autosaves; None keeps none."""
    theme: str = "light"
    scale: float = 1.0
    units: Units = Units.METRIC
    recent: list[Path] = field(default_factory=list)
    cautions_seen: bool = False

    @classmethod
    def read(cls) -> Remembered:
        """Read the user's own record."""
        path = user_config_path("loopwright", appauthor=False) / "preferences.json"
        record = read_record(path)
        record.state = user_state_path("loopwright", appauthor=False)
        return record

    def look(self) -> Look:
        """Give the look these preferences ask for."""
        return make_look(self.theme, scale=self.scale, units=self.units)

    def last_area(self) -> Path | None:
        """Give the area opened last, if it is still there."""
        return next((path for path in self.recent if path.is_file()), None)

    def opened(self, path: Path) -> None:
        """Remember an area as opened now."""
        whole = path.resolve()
        self.recent = [whole, *(p for p in self.recent if p != whole)][:RECENT]

    def write(self) -> None:
        """Write the record; a full or read-only disk loses only preferences."""
        if self.path is None:
            return
        from loopwright.io.files import write_bytes

        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            write_bytes(self.path, json.dumps(self._table(), indent=1).encode())
        except (OSError, WorldError):
            return

    def _table(self) -> dict[str, object]:
        return {
            "theme": self.theme,
            "text": self.scale,
            "units": self.units.value,
            "recent": [str(path) for path in self.recent],
            "cautions_seen": self.cautions_seen,
        }


def read_record(path: Path) -> Remembered:
    """Read a record from ``path``, value by value."""
    record = Remembered(path=path)
    table = _table_in(path)
    theme, text, units = table.get("theme"), table.get("text"), table.get("units")
    if theme in THEMES:
        record.theme = str(theme)
    if isinstance(text, int | float) and 1.0 <= text <= 2.0:
        record.scale = float(text)
    if units in set(Units):
        record.units = Units(str(units))
    recent = table.get("recent")
    if isinstance(recent, list):
        record.recent = [Path(item) for item in recent if isinstance(item, str)][:RECENT]
    record.cautions_seen = table.get("cautions_seen") is True
    return record


def _table_in(path: Path) -> Mapping[str, object]:
    try:
        if path.stat().st_size > READ_LIMIT:
            return {}
        table = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    return table if isinstance(table, dict) else {}
