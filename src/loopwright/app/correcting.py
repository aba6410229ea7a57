"""Corrections of the network, and the doings of the Ground place.

Gets a window with stretches chosen; gives corrections anchored to places. Promises: each is one
named step; a joined or drawn line runs exactly where it was shown.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import reduce

import numpy as np

from loopwright import edits
from loopwright.app.dialogs import RIDE_FILES
from loopwright.app.files import Files
from loopwright.app.map_tools import LineTool, PaintTool
from loopwright.app.place_ground import GroundPlace, ride_picker
from loopwright.app.window import Window
from loopwright.app.words import say
from loopwright.jobs import Report
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin
from loopwright.model.network import Correction, CorrectionKind, Stretch
from loopwright.model.track import Ride


class Correcting:
    """Ground actions of one window."""

    def __init__(self, window: Window, place: GroundPlace, files: Files) -> None:
        self.window, self.desk, self.place, self.files = window, window.desk, place, files
        place.next.show_stretch.connect(window.map_pane.map.look_at_chosen)
        place.painting.toggled.connect(lambda on: self._take_brush() if on else self._put_back())

    def doings(self) -> dict[str, Callable[[], object]]:
        """Say what the actions do."""
        kinds = CorrectionKind
        return {
            "tag_ride": self.tag_ride,
            "read_laps": self.read_laps,
            "keep_circuit": self.window.laps.keep_circuit,
            "next_untagged": self.next_untagged,
            "one_way": lambda: self.correct(kinds.ONE_WAY, say("One-way")),
            "one_way_back": lambda: self.correct(kinds.ONE_WAY, say("One-way"), back=True),
            "closed": lambda: self.correct(kinds.CLOSED, say("Closed to us")),
            "hide": lambda: self.correct(kinds.HIDE, say("Leave off the map")),
            "rename": self.rename,
            "join": self.join,
            "draw": lambda: self.draw(kinds.DRAWN, say("Draw a connector")),
            "draw_named": self.draw_named,
            "cut": lambda: self.draw(kinds.CUT, say("Cut the trail")),
        }

    def _chosen(self) -> list[Stretch]:
        found = [self.desk.stretch(name) for name in self.desk.selection]
        return [stretch for stretch in found if stretch is not None]

    def correct(
        self, kind: CorrectionKind, words: str, *, back: bool = False, value: str = ""
    ) -> None:
        """Correct every chosen stretch."""
        terrain = self.desk.terrain
        if terrain is None:
            return
        made = []
        for stretch in self._chosen():
            xyz = np.column_stack((stretch.xy, stretch.ele_m))
            line = line_of(xyz[::-1] if back else xyz, terrain.network.origin)
            made.append(Correction(kind=kind, line=line, value=value))
        self._add(words, made)

    def _add(self, words: str, made: list[Correction]) -> None:
        if made:
            self.desk.apply(words, lambda document: reduce(edits.add_correction, made, document))

    def rename(self) -> None:
        """Name the chosen stretches."""
        chosen = self._chosen()
        name = self.window.dialogs.text(
            say("Name this stretch"), say("Name"), chosen[0].name if chosen else ""
        )
        if name:
            self.correct(CorrectionKind.RENAME, say("Name {name}", name=name), value=name)

    def join(self) -> None:
        """Join two chosen stretches where their ends are nearest."""
        chosen, terrain = self._chosen(), self.desk.terrain
        if len(chosen) != 2 or terrain is None:
            return
        ends = [[np.append(s.xy[i], s.ele_m[i]) for i in (0, -1)] for s in chosen]
        pairs = [(a, b) for a in ends[0] for b in ends[1]]
        a, b = min(pairs, key=lambda pair: float(np.hypot(*(pair[0] - pair[1])[:2])))
        line = line_of(np.vstack((a, b)), terrain.network.origin)
        self._add(say("Join two stretches"), [Correction(kind=CorrectionKind.JOIN, line=line)])

    def draw(self, kind: CorrectionKind, words: str) -> None:
        """Draw a line on the map, point by point."""
        terrain, view = self.desk.terrain, self.window.map_pane.map
        if terrain is None:
            return

        def drawn(xy: Floats) -> None:
            xyz = np.column_stack((xy, np.full(len(xy), np.nan)))
            line = line_of(xyz, terrain.network.origin)
            if kind is CorrectionKind.DRAWN:
                self.add_connector(words, line)
            else:
                self._add(words, [Correction(kind=kind, line=line)])

        self.desk.tell(say("Click points on the map, Enter ends the line, Escape gives up"))
        view.take_tool(LineTool(view, drawn, lambda: view.take_tool(None)))
        view.setFocus()

    def add_connector(self, words: str, line: Floats) -> None:
        """Add drawn ground ``(n, 3)``, with the heights of the area's height file if it has one."""
        height_file = self.desk.document.settings.height_file

        def work(_report: Report) -> Floats:
            from loopwright.relief import lifted

            return lifted(line[:, :2], height_file)

        self.desk.jobs.start(
            "draw",
            work,
            on_done=lambda made: self._add(
                words, [Correction(kind=CorrectionKind.DRAWN, line=made)]
            ),
            on_failed=self.desk.failed,
        )

    def draw_named(self) -> None:
        """Draw the connector that would open most trail, and show it."""
        rings, terrain = self.place.unridden.rings, self.desk.terrain
        if rings is None or rings.connector is None or terrain is None:
            return
        xy = rings.connector.xy
        line = line_of(np.column_stack((xy, np.full(len(xy), np.nan))), terrain.network.origin)
        self.add_connector(say("Draw the connector that opens most"), line)

    def _take_brush(self) -> None:
        view = self.window.map_pane.map
        end = lambda: self.place.painting.setChecked(False)  # noqa: E731 - one short slot
        view.take_tool(PaintTool(view, lambda parts: self.place.painted(tuple(parts)), end))
        view.setFocus()

    def _put_back(self) -> None:
        self.window.map_pane.map.take_tool(None)

    def tag_ride(self) -> None:
        """Ask for a ride and go through it."""
        self.window.go("ground")
        ride_picker(
            self.place,
            lambda names: self.window.dialogs.pick(
                say("Tag after a ride"), say("Which ride?"), names
            ),
        )

    def read_laps(self) -> None:
        """Import one more recording and read its laps."""
        paths = self.window.dialogs.open_files(say("Read the laps of a ride"), RIDE_FILES)
        if paths:
            self.window.go("laps")
            self.files.import_paths(paths, then=self._read_newest)

    def _read_newest(self, rides: tuple[Ride, ...]) -> None:
        if rides:
            self.window.laps.choose(rides[-1])

    def next_untagged(self) -> None:
        """Choose the next stretch nobody has said anything of, most telling first."""
        terrain = self.desk.terrain
        if terrain is None:
            return
        from loopwright.features.tag_next import candidates

        names = candidates(terrain)
        if not names:
            self.desk.tell(say("Every stretch is tagged"))
            return
        self.window.go("ground")
        now = self.desk.selection[-1] if self.desk.selection else None
        place = names.index(now) + 1 if now in names else 0
        self.desk.select((names[place % len(names)],))
        self.window.map_pane.map.look_at_chosen()


def line_of(xyz: Floats, origin: Origin) -> Floats:
    """Give local metres ``(n, 3)`` as lon, lat (degrees) and height."""
    from loopwright.geo.frame import to_degrees

    lat, lon = to_degrees(origin, xyz[:, :2])
    return np.column_stack((lon, lat, xyz[:, 2]))
