"""Wishes set on the map, and what is done with loops.

Gets a window with stretches chosen or a loop in view; changes wishes, keeps and forgets loops.
Promises: wishes name places on the ground, not parts of today's network.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from loopwright import edits
from loopwright.app.window import Window
from loopwright.app.words import say
from loopwright.geo.polyline import at, length_m
from loopwright.model.frame import Origin
from loopwright.model.network import Stretch
from loopwright.model.wishes import Place, Wishes


class Wishing:
    """Wish and loop actions of one window."""

    def __init__(self, window: Window) -> None:
        self.window, self.desk = window, window.desk

    def doings(self) -> dict[str, Callable[[], object]]:
        """Say what the actions do."""
        return {
            "must": self.must,
            "avoid": self.avoid,
            "start_here": self.start_here,
            "free_wishes": self.free,
            "search": self.desk.search_again,
            "next_loop": lambda: self.step(1),
            "previous_loop": lambda: self.step(-1),
            "keep": self.keep,
            "forget": self.forget,
        }

    def _chosen(self) -> list[Stretch]:
        found = [self.desk.stretch(name) for name in self.desk.selection]
        return [stretch for stretch in found if stretch is not None]

    def places(self) -> tuple[Place, ...]:
        """Give the chosen stretches as places on the ground."""
        terrain = self.desk.terrain
        if terrain is None:
            return ()
        return tuple(place_of(s, terrain.network.origin) for s in self._chosen())

    def _wish(self, words: str, wishes: Wishes) -> None:
        self.desk.apply(words, lambda document: edits.set_wishes(document, wishes))
        self.desk.select(())

    def must(self) -> None:
        """Ask that the chosen stretches are ridden."""
        wishes = self.desk.wishes
        self._wish(say("Must be ridden"), replace(wishes, must=(*wishes.must, *self.places())))

    def avoid(self) -> None:
        """Ask that the chosen stretches are not ridden."""
        wishes = self.desk.wishes
        self._wish(say("Keep away"), replace(wishes, avoid=(*wishes.avoid, *self.places())))

    def start_here(self) -> None:
        """Start laps in the middle of the chosen stretch."""
        chosen, terrain = self._chosen(), self.desk.terrain
        if not chosen or terrain is None:
            return
        xy = chosen[-1].xy
        from loopwright.geo.frame import to_degrees

        middle = at(xy, np.array([length_m(xy) / 2]))
        lat, lon = to_degrees(terrain.network.origin, middle)
        start = (round(float(lat[0]), 6), round(float(lon[0]), 6))
        self._wish(say("Start here"), replace(self.desk.wishes, start=start))

    def free(self) -> None:
        """Take start, musts and avoids back."""
        self._wish(say("Free the wishes"), replace(self.desk.wishes, start=None, must=(), avoid=()))

    def step(self, by: int) -> None:
        """Show the next loop on offer."""
        loops = [candidate.loop for candidate in self.desk.candidates]
        if not loops:
            return
        shown = self.desk.shown
        now = next((i for i, loop in enumerate(loops) if loop is shown), -1 if by > 0 else 0)
        self.desk.show_loop(loops[(now + by) % len(loops)])

    def keep(self) -> None:
        """Keep the loop in view under a name."""
        loop = self.desk.shown
        if loop is None:
            return
        suggested = say("{mix} loop", mix=loop.wishes.mix.name).capitalize()
        name = self.window.dialogs.text(say("Keep this loop"), say("Name of the loop"), suggested)
        if name:
            self.desk.apply(
                say("Keep {name}", name=name),
                lambda document: edits.keep_loop(document, loop, name),
            )
            self.desk.show_loop(next(k for k in self.desk.document.kept if k.name == name))

    def forget(self) -> None:
        """Forget the kept loop in view."""
        loop = self.desk.shown
        if loop is not None and self.desk.is_kept(loop):
            self.desk.show_loop(None)
            self.desk.apply(
                say("Forget {name}", name=loop.name),
                lambda document: edits.remove_loop(document, loop.name),
            )
            self.desk.search()


def place_of(stretch: Stretch, origin: Origin) -> Place:
    """Give a stretch as a place on the ground."""
    from loopwright.geo.frame import to_degrees

    lat, lon = to_degrees(origin, stretch.xy)
    return Place(line=np.column_stack((lon, lat)))
