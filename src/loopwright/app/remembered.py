"""What the program remembers of a person between starts: looks, units, recent areas.

Gets the preferences file; gives one record that can change. Promises: a bad value falls back by
itself; a full or read-only disk loses only preferences.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

from PySide6.QtCore import QStandardPaths, Qt
from PySide6.QtGui import QGuiApplication

from loopwright.app.look import Look, make_look
from loopwright.errors import WorldError
from loopwright.io.preferences import Preferences, load_preferences, save_preferences
from loopwright.units import Units

RECENT = 8
SCALES = (1.0, 1.25, 1.5, 1.75, 2.0)


def _own(place: QStandardPaths.StandardLocation) -> Path:
    """Give the program's folder at a place the system has for such files."""
    return Path(QStandardPaths.writableLocation(place)) / "loopwright"


@dataclass(kw_only=True)
class Remembered:
    """Preferences; ``path`` None keeps nothing on disk, ``state`` None keeps no autosave."""

    path: Path | None = None
    state: Path | None = None
    preferences: Preferences = field(default_factory=Preferences)

    @classmethod
    def read(cls) -> Remembered:
        """Read the user's own record."""
        places = QStandardPaths.StandardLocation
        path = _own(places.GenericConfigLocation) / "preferences.json"
        state = _own(places.GenericStateLocation)
        return cls(path=path, state=state, preferences=load_preferences(path))

    def look(self) -> Look:
        """Give the look these preferences ask for."""
        return make_look(self.theme, scale=self.preferences.text_scale, units=self.units)

    @property
    def theme(self) -> str:
        """Light or dark; ``system`` asks the system."""
        if self.preferences.theme != "system":
            return self.preferences.theme
        dark = QGuiApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark
        return "dark" if dark else "light"

    @property
    def units(self) -> Units:
        """Metric or imperial."""
        return Units(self.preferences.units)

    def last_area(self) -> Path | None:
        """Give the area opened last, if it is still there."""
        return next((path for path in self.recent() if path.is_file()), None)

    def recent(self) -> list[Path]:
        """Areas opened lately, the last first."""
        return [Path(words) for words in self.preferences.recent]

    def opened(self, path: Path) -> None:
        """Remember an area as opened now."""
        whole = path.resolve()
        rest = [str(p) for p in self.recent() if p != whole]
        self.change(recent=tuple([str(whole), *rest][:RECENT]))

    def change(self, **fields: object) -> None:
        """Change preferences and write them."""
        self.preferences = replace(self.preferences, **fields)  # type: ignore[arg-type]  # fields of the record
        self.write()

    def write(self) -> None:
        """Write the record, if it is kept at all."""
        if self.path is None:
            return
        try:
            save_preferences(self.preferences, self.path)
        except WorldError:
            return
