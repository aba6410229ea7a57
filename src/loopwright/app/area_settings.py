"""Settings that belong to the area: its name, its height file, its private circle.

Gets a window; changes settings as named steps. Promises: the circle is cut from exports and cards;
taking it away is one step as well.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from loopwright import edits
from loopwright.app.window import Window
from loopwright.app.words import say
from loopwright.geo.polyline import at, length_m
from loopwright.model.document import AreaSettings, PrivateCircle

HEIGHT_FILES = "Heights (*.hgt *.tif *.tiff);;All files (*)"
LEAST_M, USUAL_M, MOST_M = 50.0, 300.0, 5000.0


class AreaSetting:
    """Area actions of one window."""

    def __init__(self, window: Window) -> None:
        self.window, self.desk = window, window.desk

    def doings(self) -> dict[str, Callable[[], object]]:
        """Say what the actions do."""
        return {
            "name_area": self.name,
            "height_file": self.heights,
            "private": self.private,
            "not_private": self.not_private,
        }

    def _set(self, words: str, settings: AreaSettings) -> None:
        self.desk.apply(words, lambda document: edits.set_settings(document, settings))

    def name(self) -> None:
        """Rename the area."""
        name = self.window.dialogs.text(
            say("Name of the area"), say("Name"), self.desk.document.name
        )
        if name:
            self.desk.apply(
                say("Name the area {name}", name=name), lambda d: edits.set_name(d, name)
            )

    def heights(self) -> None:
        """Ask for a local height file."""
        path = self.window.dialogs.open_file(say("Height file"), HEIGHT_FILES)
        if path is not None:
            settings = replace(self.desk.document.settings, height_file=str(path))
            self._set(say("Use a height file"), settings)

    def private(self) -> None:
        """Keep a circle about the chosen stretch out of exports and cards."""
        terrain, chosen = self.desk.terrain, self.desk.selection
        stretch = self.desk.stretch(chosen[-1]) if chosen else None
        if terrain is None or stretch is None:
            return
        words = say("Metres around the middle of the chosen stretch that stay private")
        answer = self.window.dialogs.text(say("Keep private"), words, f"{USUAL_M:.0f}")
        radius = radius_in(answer or "")
        if radius is None:
            if answer:
                self.desk.warn(say("Give a number of metres from 50 to 5000"))
            return
        from loopwright.geo.frame import to_degrees

        middle = at(stretch.xy, np.array([length_m(stretch.xy) / 2]))
        lat, lon = to_degrees(terrain.network.origin, middle)
        circle = PrivateCircle(
            lat=round(float(lat[0]), 6), lon=round(float(lon[0]), 6), radius_m=radius
        )
        self._set(say("Keep a place private"), replace(self.desk.document.settings, private=circle))

    def not_private(self) -> None:
        """Keep nothing private any longer."""
        self._set(say("Nothing private"), replace(self.desk.document.settings, private=None))


def radius_in(words: str) -> float | None:
    """Read a radius in metres; None if it is no number or out of range."""
    try:
        radius = float(words.replace(",", "."))
    except ValueError:
        return None
    return radius if LEAST_M <= radius <= MOST_M else None
