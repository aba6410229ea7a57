"""The lines on the map: one item per stretch and pen, the loop above them, what is chosen below.

Gets a terrain, a question and a loop; keeps a Qt scene in local metres (x east, y south, since
screens count downwards). Promises: items are made once per terrain and question, a few a turn, and
those before them stay until all are there; a zoom step only swaps their paths for another level of
detail.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain, islice

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainterPath, QPen
from PySide6.QtWidgets import QGraphicsItem, QGraphicsPathItem, QGraphicsRectItem, QGraphicsScene

from loopwright.app.lines import path_of
from loopwright.app.look import Look
from loopwright.app.map_colours import Pen, Question, Run, key_pens, runs
from loopwright.app.map_levels import TOLERANCES_M, level_for, thinned
from loopwright.app.turns import Turns
from loopwright.model.arrays import Floats
from loopwright.model.ground import Terrain
from loopwright.model.ids import StretchId

CHOSEN_Z, TRAIL_Z, HOVER_Z, CASING_Z, LOOP_Z = 0.0, 1.0, 2.0, 3.0, 4.0
CHOSEN_ALPHA = 90
BAND_Z, BAND_PX, BAND_ALPHA = 0.5, 13.0, 80
CHOSEN_PX, HOVER_PX, CASING_PX, LOOP_PX = 11.0, 6.0, 8.0, 4.5
FEW = 6
"""So many stretches are drawn before the clock is looked at."""
MARGIN_SHARE = 2.0
"""Room around the trails, in their own sizes, so that any place can be dragged to the middle."""


def qt_pen(colour: QColor | str, width: float, dash: Sequence[float] = ()) -> QPen:
    """Give a pen of constant width in pixels, round where it is solid."""
    pen = QPen(QColor(colour), width)
    pen.setCosmetic(True)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap if dash else Qt.PenCapStyle.RoundCap)
    if dash:
        pen.setDashPattern([float(part) for part in dash])
    return pen


class _Levels:
    """One path item with its line at every level, made when first asked for."""

    def __init__(self, item: QGraphicsPathItem, lines: tuple[Floats, ...]) -> None:
        self.item = item
        self.lines = lines
        self.shown = -1
        self._paths: dict[int, QPainterPath] = {}

    def missing(self, level: int) -> tuple[Floats, ...]:
        """Lines still to be thinned for a level."""
        return () if level in self._paths else self.lines

    def keep(self, level: int, lines: Sequence[Floats]) -> None:
        """Keep the thinned lines of a level."""
        self._paths[level] = path_of(lines)

    def show(self, level: int) -> None:
        """Show a level that is kept."""
        if level != self.shown:
            self.shown = level
            self.item.setPath(self._paths[level])


class MapScene(QGraphicsScene):
    """Keeps the items; knows nothing of the mouse."""

    def __init__(self, look: Look, turns: Turns) -> None:
        super().__init__()
        self.look, self._turns = look, turns
        self.question = Question.PLAIN
        self.pens: tuple[Pen, ...] = ()
        """Pens in use, for the legend, each once."""
        self._terrain: Terrain | None = None
        self._level = 0
        self._box = QRectF()
        self._trails: list[_Levels] = []
        self._lap: list[Floats] = []
        self._names: tuple[StretchId, ...] = ()
        self._whole, self._chosen = _carrier(TRAIL_Z), _carrier(CHOSEN_Z)
        self.addItem(self._whole)
        self.addItem(self._chosen)
        self._hover = self._path_item(HOVER_Z)
        self._casing = self._path_item(CASING_Z)
        self._loop = self._path_item(LOOP_Z)
        self.setItemIndexMethod(QGraphicsScene.ItemIndexMethod.NoIndex)
        self.dress(look)

    def _path_item(self, z: float) -> QGraphicsPathItem:
        item = QGraphicsPathItem()
        item.setZValue(z)
        self.addItem(item)
        return item

    def dress(self, look: Look) -> None:
        """Take another look."""
        self.look = look
        theme = look.theme
        self._hover.setPen(qt_pen(look.colour("accent", 130), HOVER_PX))
        self._casing.setPen(qt_pen(theme.trail_casing, CASING_PX))
        self._loop.setPen(qt_pen(theme.accent, LOOP_PX))
        self._mark_chosen()
        self.show_terrain(self._terrain, self.question)

    def show_terrain(self, terrain: Terrain | None, question: Question) -> None:
        """Draw a terrain, coloured by a question; None empties the map."""
        if terrain is None or terrain is not self._terrain:
            self._box = ground_bounds(terrain)
        self._terrain, self.question = terrain, question
        self.setSceneRect(self._roomy())
        steps = self._draw(terrain, question)
        self._turns.soon(lambda: self._turns.go_through(steps, key=self), key=self)

    def _draw(self, terrain: Terrain | None, question: Question) -> Iterator[None]:
        """Make all items, a few at a time, then put them in the place of those before."""
        whole, trails, pens = _carrier(TRAIL_Z), [], dict[Pen, QPen]()
        coloured = runs(terrain, question, self.look.theme) if terrain else iter(())
        while some := tuple(islice(coloured, FEW)):
            made = []
            for pen, lines in chain.from_iterable(map(_by_pen, some)):
                drawn = pens.setdefault(pen, qt_pen(pen.colour, pen.width, pen.dash))
                made.append(_trail(whole, drawn, lines))
            self._show_level(made)
            trails += made
            yield
        self._turns.forget((self, "level"))
        before, self._whole = self._whole, whole
        self.removeItem(before)
        self.addItem(whole)
        self._trails, self.pens = trails, key_pens(pens)
        self._place_loop()
        self.update()
        yield from self._follow_level()

    def show_scale(self, metres_a_pixel: float) -> None:
        """Swap lines for the level this scale asks for."""
        level = level_for(metres_a_pixel)
        if level != self._level:
            self._level = level
            self._thin_marks()
            self._turns.go_through(self._follow_level(), key=(self, "level"))

    def _follow_level(self) -> Iterator[None]:
        trails = iter(self._trails)
        while some := list(islice(trails, FEW)):
            self._show_level(some)
            yield

    def _show_level(self, trails: Sequence[_Levels]) -> None:
        new = [levels for levels in trails if levels.missing(self._level)]
        lines = iter(thinned([line for one in new for line in one.lines], self._level))
        for levels in new:
            levels.keep(self._level, list(islice(lines, len(levels.lines))))
        for levels in trails:
            levels.show(self._level)

    @property
    def level(self) -> int:
        """Level of detail on show, 0 the finest of ``TOLERANCES_M``."""
        return min(self._level, len(TOLERANCES_M) - 1)

    def _place_loop(self) -> None:
        """Put the loop over grey trails, but under colours, as a band, so that they stay seen."""
        over = self.question is Question.PLAIN
        self._casing.setVisible(over)
        self._loop.setZValue(LOOP_Z if over else BAND_Z)
        accent = self.look.colour("accent", 255 if over else BAND_ALPHA)
        self._loop.setPen(qt_pen(accent, LOOP_PX if over else BAND_PX))

    def show_loop(self, xy: Floats | None) -> None:
        """Draw the loop ``(n, 2)`` in local metres, or none."""
        self._lap = [] if xy is None else [xy]
        self._thin_marks()

    def _thin_marks(self) -> None:
        """Draw loop and choice at the level on show: wide lines of many points paint slowly."""
        lap = path_of(thinned(self._lap, self._level))
        for item in (self._casing, self._loop):
            item.setPath(lap)
        self._mark_chosen()

    def _mark_chosen(self) -> None:
        """Mark each chosen stretch by itself: hundreds in one wide line would paint slowly."""
        before, self._chosen = self._chosen, _carrier(CHOSEN_Z)
        self.removeItem(before)
        pen = qt_pen(self.look.colour("accent", CHOSEN_ALPHA), CHOSEN_PX)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        for line in thinned(self._lines(self._names), self._level):
            QGraphicsPathItem(path_of((line,)), self._chosen).setPen(pen)
        self.addItem(self._chosen)

    def show_chosen(self, names: Sequence[StretchId]) -> None:
        """Mark chosen stretches."""
        self._names = tuple(names)
        self._mark_chosen()

    def show_hover(self, name: StretchId | None) -> None:
        """Mark the stretch under the pointer."""
        self._hover.setPath(path_of(self._lines((name,) if name else ())))

    def _lines(self, names: Sequence[StretchId]) -> list[Floats]:
        wanted = set(names)
        stretches = self._terrain.network.stretches if self._terrain else ()
        return [s.xy for s in stretches if s.id in wanted]

    def bounds(self) -> QRectF:
        """Rectangle around all trails; empty when there are none."""
        return self._box

    def _roomy(self) -> QRectF:
        box = self.bounds()
        wide = max(box.width(), box.height(), 1000.0) * MARGIN_SHARE
        return box.adjusted(-wide, -wide, wide, wide)


def _carrier(z: float) -> QGraphicsRectItem:
    """Give an item that shows nothing and carries all lines of a drawing."""
    whole = QGraphicsRectItem()
    whole.setFlag(QGraphicsItem.GraphicsItemFlag.ItemHasNoContents)
    whole.setZValue(z)
    return whole


def _by_pen(parts: Sequence[Run]) -> Iterator[tuple[Pen, tuple[Floats, ...]]]:
    """Give the lines of one stretch, those of one pen together."""
    table: dict[Pen, list[Floats]] = {}
    for run in parts:
        table.setdefault(run.pen, []).append(run.xy)
    return ((pen, tuple(lines)) for pen, lines in table.items())


def _trail(whole: QGraphicsItem, pen: QPen, lines: tuple[Floats, ...]) -> _Levels:
    item = QGraphicsPathItem(whole)
    item.setPen(pen)
    return _Levels(item, lines)


def ground_bounds(terrain: Terrain | None) -> QRectF:
    """Rectangle in scene metres around all trails; empty when there are none."""
    if terrain is None or not terrain.network.stretches:
        return QRectF()
    return line_bounds(np.concatenate([s.xy for s in terrain.network.stretches]))


def line_bounds(xy: Floats) -> QRectF:
    """Rectangle in scene metres around a line ``(n, 2)``."""
    (left, bottom), (right, top) = xy.min(axis=0), xy.max(axis=0)
    return QRectF(left, -top, right - left, top - bottom)
