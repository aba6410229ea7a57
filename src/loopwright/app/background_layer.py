"""A person's own background under the trails: a local file, or tiles from a typed address.

Gets a terrain, the area's background file and the address in use; gives a picture a third larger
than the view, made off the window's thread. Promises: with neither there is no cost and nothing
leaves the machine; trouble is told once in one sentence and the map goes on without.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QTimer
from PySide6.QtGui import QPainter

from loopwright.app.jobs import Work
from loopwright.app.rides_layer import Layer, with_room
from loopwright.app.words import say
from loopwright.errors import WorldError
from loopwright.geo.tiles import MOST_ZOOM, TileName
from loopwright.jobs import Report
from loopwright.model.background import Pixels, TileSource

if TYPE_CHECKING:
    from loopwright.app.background_paint import Sheet
    from loopwright.app.map_view import MapView
    from loopwright.app.tile_web import TileWeb
    from loopwright.io.tile_address import TileAddress

LIGHT_SHARE, DARK_SHARE = 0.6, 0.25
"""How strongly the background shows: the trails stay the picture."""
SCALE_SLACK = 0.2
"""A picture of about the view's scale is stretched rather than made anew."""
GATHER_MS = 150
"""Tiles that come close together are painted together."""
JOB = "background"
WEB_ZOOM = 19
"""Servers seldom have finer tiles (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Answer:
    """A picture, and the file it came from, opened."""

    layer: Layer
    source: TileSource | None = None


class BackgroundLayer:
    """Keeps the background of one map."""

    def __init__(self, view: MapView) -> None:
        self._view = view
        self._layer: Layer | None = None
        self._file = ""
        self._source: TileSource | None = None
        self._broken = False
        self._web: TileWeb | None = None
        self._web_credit = ""
        self._soon = QTimer(view)
        self._soon.setSingleShot(True)
        self._soon.setInterval(GATHER_MS)
        self._soon.timeout.connect(self._repaint)
        view.looked.connect(self.ask)
        view.desk.terrain_changed.connect(self.ask)
        view.desk.document_changed.connect(lambda _names: self._look_for_file())

    # -- what is in use ----------------------------------------------------------------------

    @property
    def credit(self) -> str:
        """Whom the picture in view must name."""
        if self._layer is None:
            return ""
        return self._web_credit if self._web else self._source.credit if self._source else ""

    def use_address(self, address: TileAddress | None, folder: Path, credit: str) -> None:
        """Take tiles from an address, or from none any longer."""
        if self._web is not None:
            self._web.close()
            self._web.deleteLater()
        self._web, self._web_credit, self._layer = None, credit, None
        if address is not None:
            from loopwright.app.tile_web import TileWeb

            self._web = TileWeb(address, folder, self._view)
            self._web.came.connect(self._soon.start)
            self._web.failed.connect(self._no_answer)
        self._view.viewport().update()
        self.ask()

    def _no_answer(self, words: str) -> None:
        if self._web is not None:
            host = self._web.address.host
            what = say("gives no map tiles ({words})", words=words)
            todo = say("check the address and the connection; the map works without")
            self._view.desk.warn(f"{host}: {what}; {todo}")

    def _look_for_file(self) -> None:
        name = self._view.desk.document.settings.background_file
        if name != self._file:
            self._file, self._source, self._layer, self._broken = name, None, None, False
            self._view.desk.jobs.drop(JOB)
            self._view.viewport().update()
            self.ask()

    # -- making the picture ------------------------------------------------------------------

    def ask(self) -> None:
        """Make another picture if what is in view is not covered at this zoom."""
        seen = self._seen()
        if seen is None:
            return
        if self._layer is None or not self._layer.covers(
            seen, self._view.metres_a_pixel, within=SCALE_SLACK
        ):
            self._start(seen)

    def _repaint(self) -> None:
        seen = self._seen()
        if seen is not None:
            self._start(seen)

    def _seen(self) -> QRectF | None:
        """Scene metres in view; None where nothing is to be shown."""
        view = self._view
        wanted = self._web is not None or (self._file and not self._broken)
        if not wanted or view.desk.terrain is None:
            return None
        return view.mapToScene(view.viewport().rect()).boundingRect()

    def _start(self, seen: QRectF) -> None:
        from loopwright.app.background_paint import Sheet

        view, terrain = self._view, self._view.desk.terrain
        if terrain is None:
            return
        sheet = Sheet(
            origin=terrain.network.origin, box=with_room(seen),
            scale=1.0 / view.metres_a_pixel, most_zoom=MOST_ZOOM if self._web is None else WEB_ZOOM,
        )  # fmt: skip
        if self._web is not None:
            self._start_web(sheet, self._web)
        else:
            self._start_file(sheet, Path(self._file))

    def _start_web(self, sheet: Sheet, web: TileWeb) -> None:
        from loopwright.app.background_paint import painted

        web.want(tuple(dict.fromkeys(tile.around() for tile in sheet.tiles())))
        held = web.held()
        self._run(lambda report: Answer(layer=painted(sheet, held.get, report)))

    def _start_file(self, sheet: Sheet, path: Path) -> None:
        source = self._source
        self._run(lambda report: from_file(sheet, source, path, report))

    def _run(self, work: Work) -> None:
        self._view.desk.jobs.start(JOB, work, on_done=self._made, on_failed=self._failed)

    def _made(self, answer: Answer) -> None:
        self._layer = answer.layer
        self._source = answer.source or self._source
        self._view.viewport().update()

    def _failed(self, error: BaseException) -> None:
        self._broken = isinstance(error, WorldError)
        self._view.desk.failed(error)

    def paint(self, painter: QPainter) -> None:
        """Paint the newest picture, in scene metres."""
        if self._layer is None:
            return
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.setOpacity(DARK_SHARE if self._view.look.dark else LIGHT_SHARE)
        painter.drawImage(self._layer.box, self._layer.image)
        painter.restore()


def from_file(sheet: Sheet, source: TileSource | None, path: Path, report: Report) -> Answer:
    """Paint a sheet from a local file, opened if it is not yet; raises WorldError."""
    from loopwright.app.background_paint import painted
    from loopwright.io.background_file import open_background

    report.step(0.0, path.name)
    opened = source or open_background(path)

    def find(tile: TileName) -> bytes | Pixels | None:
        if tile.zoom > opened.most_zoom:
            return None
        return opened.tile(tile.zoom, tile.column, tile.row)

    sheet = replace(sheet, least_zoom=opened.least_zoom)
    return Answer(layer=painted(sheet, find, report), source=opened)
