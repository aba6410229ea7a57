"""Exports: the loop, the network, the season.

Gets a window; writes files in a job. Promises: what lies in the private circle stays out; invented
ground says that it is invented.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from loopwright import exports
from loopwright.app.window import Window
from loopwright.app.words import say
from loopwright.jobs import Report
from loopwright.model.course import Course
from loopwright.model.document import Document
from loopwright.model.ground import Terrain
from loopwright.model.rider import LapPlan

LOOP_KINDS = "GPX (*.gpx);;GeoJSON (*.geojson);;Cue sheet (*.txt *.csv)"
NETWORK_KINDS = "GeoJSON (*.geojson)"
SEASON_KINDS = "Calendar (*.ics);;Table (*.csv)"


class Exporting:
    """Export actions of one window."""

    def __init__(self, window: Window) -> None:
        self.window, self.desk = window, window.desk

    def doings(self) -> dict[str, Callable[[], object]]:
        """Say what the actions do."""
        return {
            "export_loop": self.loop,
            "export_network": self.network,
            "export_season": self.season,
        }

    def _write(self, path: Path, work: Callable[[Report], object]) -> None:
        self.desk.jobs.start(
            "export",
            work,
            on_done=lambda _answer: self.desk.tell(say("Exported {name}", name=path.name)),
            on_failed=self.desk.failed,
        )

    def loop(self) -> None:
        """Export the loop in view."""
        desk = self.desk
        course = desk.course
        name = f"{desk.shown.name if desk.shown else 'loop'}.gpx"
        path = self.window.dialogs.save_file(say("Export the loop"), name, LOOP_KINDS)
        if path is not None and course is not None:
            self._write(path, partial(write_loop, desk.document, course, desk.plan, path))

    def network(self) -> None:
        """Export the trail network."""
        desk = self.desk
        terrain = desk.terrain
        name = f"{desk.document.name}.geojson"
        path = self.window.dialogs.save_file(say("Export the network"), name, NETWORK_KINDS)
        if path is not None and terrain is not None:
            self._write(path, partial(write_network, desk.document, terrain, path))

    def season(self) -> None:
        """Export the season."""
        document = self.desk.document
        path = self.window.dialogs.save_file(
            say("Export the season"), f"{document.name}.ics", SEASON_KINDS
        )
        if path is not None and document.season is not None:
            self._write(path, partial(write_season, document, path))


def write_loop(
    document: Document, course: Course, plan: LapPlan | None, path: Path, _report: Report
) -> None:
    """Write a loop by the ending of the file's name; GPX if there is none."""
    exports.write_loop(document, course, plan, path if path.suffix else path.with_suffix(".gpx"))


def write_network(document: Document, terrain: Terrain, path: Path, _report: Report) -> None:
    """Write the network as GeoJSON."""
    exports.write_network(document, terrain, path)


def write_season(document: Document, path: Path, _report: Report) -> None:
    """Write the season as a calendar, or as rows when the name ends in csv."""
    if document.season is not None:
        exports.write_season(document.season, path, name=document.name, now=datetime.now(UTC))
