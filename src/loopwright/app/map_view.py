"""The map: pan, zoom, hover, choose.

Gets a desk; shows its terrain, loop and selection, and turns pointer and keys into choices.
Promises: wheel and pinch zoom about the pointer, dragging moves the ground, a click chooses, shift
adds, shift and drag circles many; all of it also by keyboard; no job is ever waited for.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from PySide6.QtCore import QEvent, QPoint, QPointF, QRect, QRectF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QContextMenuEvent,
    QKeyEvent,
    QMouseEvent,
    QNativeGestureEvent,
    QPainter,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QGraphicsView, QWidget

from loopwright.app.background_layer import BackgroundLayer
from loopwright.app.brush_panel import key_word
from loopwright.app.desk import Desk
from loopwright.app.look import Look
from loopwright.app.map_camera import MapCamera
from loopwright.app.map_colours import Question
from loopwright.app.map_front import MapFront
from loopwright.app.map_hits import GroundHits, lap_metre
from loopwright.app.map_scene import line_bounds
from loopwright.app.map_tools import Tool
from loopwright.app.relief_layer import ReliefLayer
from loopwright.app.rides_layer import RidesLayer
from loopwright.app.words import say
from loopwright.model.arrays import Floats
from loopwright.model.ids import StretchId

REACH_PX = 10.0
DRAG_PX = 4
WHEEL_STEP = 1.0015
KEY_ZOOM = 1.4
KEY_PAN_SHARE = 0.15


class MapView(MapCamera):
    """The map widget. ``asked`` asks for the menu of the chosen stretches at a global place."""

    asked = Signal(QPoint)
    pulled = Signal(object)
    """The loop was dragged onto a stretch."""
    pulling = Signal(object)
    """A stretch the loop is held over while it is pulled, or None."""

    def __init__(self, desk: Desk, look: Look, parent: QWidget | None = None) -> None:
        self.desk, self.look = desk, look
        super().__init__(look, desk.turns, parent)
        self.show_features = True
        self.show_key = True
        self._hits = GroundHits(None)
        self.pointed: float | None = None
        self.hovered: StretchId | None = None
        self.at: QPointF | None = None
        self._pressed: QPoint | None = None
        self._dragging = False
        self._circle: list[QPointF] = []
        self._pulling = False
        self._over: StretchId | None = None
        self.pull_words, self.pull_line = "", np.empty((0, 2))
        self.tool: Tool | None = None
        self.type_word: Callable[[str], bool] = lambda _word: False
        self.front = MapFront(self)
        self.rides = RidesLayer(self)
        self.background = BackgroundLayer(self)
        self.relief = ReliefLayer(self)
        self._prepare()
        desk.terrain_changed.connect(self._terrain_changed)
        desk.shown_changed.connect(self._loop_changed)
        desk.selection_changed.connect(self._chosen_changed)
        desk.pointed.connect(self._point)
        desk.ridden.stretched_changed.connect(self.viewport().update)
        desk.asked.changed.connect(self._asked_changed)

    def _prepare(self) -> None:
        self.setAccessibleName(say("Map of the trails"))
        self.setAccessibleDescription(
            say("Arrow keys move the map, plus and minus zoom, N and P step through stretches")
        )
        off = Qt.ScrollBarPolicy.ScrollBarAlwaysOff
        self.setHorizontalScrollBarPolicy(off)
        self.setVerticalScrollBarPolicy(off)
        self.setFrameShape(QGraphicsView.Shape.NoFrame)
        self.setRenderHint(QPainter.RenderHint.Antialiasing)
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.FullViewportUpdate)
        self.setTransformationAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setResizeAnchor(QGraphicsView.ViewportAnchor.AnchorViewCenter)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(240, 160)
        self.dress(self.look)

    def dress(self, look: Look) -> None:
        """Take another look."""
        self.look = look
        self.ground.dress(look)
        self.setBackgroundBrush(QColor(look.theme.paper))
        self.viewport().update()
        self.front.get_ready()

    # -- what is shown ---------------------------------------------------------------------

    def ask(self, question: Question) -> None:
        """Colour the trails by a question."""
        self.ground.show_terrain(self.desk.terrain, question)

    def _terrain_changed(self) -> None:
        empty = self.ground.bounds().isEmpty()
        self.ground.show_terrain(self.desk.terrain, self.ground.question)
        self.hovered = None
        self.ground.show_hover(None)
        if empty or not self.fitted:
            self.fit()

    def _loop_changed(self) -> None:
        course = self.desk.course if self.desk.asked.xy is None else None
        self.ground.show_loop(course.xy if course else None)
        if course is not None:
            self.come_closer(line_bounds(course.xy))
        self.viewport().update()

    def _asked_changed(self) -> None:
        """Bring what is asked about into view; the loop would only hide it."""
        if self.desk.asked.xy is not None:
            self._bring_into_view(line_bounds(self.desk.asked.xy))
        self._loop_changed()

    def _chosen_changed(self) -> None:
        self.ground.show_chosen(self.desk.selection)

    def _point(self, lap_m: object) -> None:
        self.pointed = lap_m if isinstance(lap_m, float) else None
        self.viewport().update()

    def take_tool(self, tool: Tool | None) -> None:
        """Give the pointer to a tool, or back to choosing."""
        self.tool = tool
        shapes = Qt.CursorShape
        self.viewport().setCursor(shapes.CrossCursor if tool else shapes.ArrowCursor)
        self.viewport().update()

    @property
    def hits(self) -> GroundHits:
        """What lies where; sorted once the pointer first asks."""
        if self._hits.terrain is not self.desk.terrain:
            self._hits = GroundHits(self.desk.terrain)
        return self._hits

    def fit(self) -> None:
        """Show all trails."""
        self.fit_box(self.ground.bounds())

    def fit_loop(self) -> None:
        """Show the loop."""
        if (course := self.desk.course) is not None:
            self.fit_box(line_bounds(course.xy))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Go on showing what was shown whole."""
        super().resizeEvent(event)
        if self.fits is not None:
            self.fit_box(self.fits)
        elif not self.fitted:
            self.fit()
        self.looked.emit()

    # -- pointer ---------------------------------------------------------------------------

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom about the pointer."""
        self.zoom(WHEEL_STEP ** event.angleDelta().y(), event.position())
        event.accept()

    def viewportEvent(self, event: QEvent) -> bool:
        """Zoom by pinching; forget the pointer when it leaves."""
        pinch = Qt.NativeGestureType.ZoomNativeGesture
        if isinstance(event, QNativeGestureEvent) and event.gestureType() == pinch:
            self.zoom(1.0 + event.value(), event.position())
            return True
        if event.type() == QEvent.Type.Leave:
            self._leave()
        return super().viewportEvent(event)

    def _leave(self) -> None:
        self.at = None
        self._hover(None)
        self.desk.point(None)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin a click, a drag, or a circle with shift."""
        if self.tool is not None and event.button() == Qt.MouseButton.LeftButton:
            self.tool.press(event.position())
            self.viewport().update()
            return
        if event.button() in {Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton}:
            self._pressed, self._dragging = event.position().toPoint(), False
            shift = event.modifiers() & Qt.KeyboardModifier.ShiftModifier
            self._circle = [event.position()] if shift else []
            self._pulling = not shift and self._on_loop(event.position())
        event.accept()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag, circle, or tell what is under the pointer."""
        here = event.position()
        self.at = here
        if self.tool is not None and self.tool.move(here):
            self.viewport().update()
            return
        if self._pressed is None:
            self._tell(here)
            return
        far = (here.toPoint() - self._pressed).manhattanLength() > DRAG_PX
        self._dragging = self._dragging or far
        if self._dragging and self._circle:
            self._circle.append(here)
            self.viewport().update()
        elif self._dragging and self._pulling:
            self._pull_over(here)
        elif self._dragging:
            self.move_by(QPointF(self._pressed - here.toPoint()))
            self._pressed = here.toPoint()
            self.looked.emit()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End a drag, or choose."""
        if self.tool is not None and event.button() == Qt.MouseButton.LeftButton:
            self.tool.release(event.position())
            self.viewport().update()
            return
        dragging, circle = self._dragging, self._circle
        self._pressed, self._dragging, self._circle = None, False, []
        shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        if dragging and circle:
            corners = [self.to_ground(place) for place in circle]
            self._choose(self.hits.inside(corners), add=True)
        elif dragging and self._pulling:
            hit = self._under(event.position())
            self._over = None
            if hit is not None and not self._on_loop(event.position()):
                self.pulled.emit(hit)
            else:
                self.pulling.emit(None)
            self.show_pull("", None)
        elif not dragging and event.button() == Qt.MouseButton.LeftButton:
            hit = self._under(event.position())
            self._choose((hit,) if hit else (), add=shift)
        self.viewport().update()

    def _pull_over(self, here: QPointF) -> None:
        """Tell once when the loop comes over another stretch."""
        before, off_loop = self._over, not self._on_loop(here)
        self._hover(self._under(here))
        self._over = self.hovered if off_loop else None
        if self._over != before:
            self.pulling.emit(self._over)
        self.viewport().update()

    def show_pull(self, words: str, line: Floats | None) -> None:
        """Say beside the pointer what the pull would give; ``line`` is lon, lat in degrees."""
        terrain = self.desk.terrain
        self.pull_words, self.pull_line = words, np.empty((0, 2))
        if line is not None and terrain is not None:
            from loopwright.geo.frame import to_local

            self.pull_line = to_local(terrain.network.origin, line[:, 1], line[:, 0])
        self.viewport().update()

    def _on_loop(self, place: QPointF) -> bool:
        course = self.desk.course
        reach = REACH_PX * self.metres_a_pixel
        return course is not None and (
            lap_metre(course, *self.to_ground(place), within_m=reach) is not None
        )

    @property
    def pull(self) -> tuple[QPoint, QPointF] | None:
        """From where to where the loop is being pulled, in pixels."""
        if self._pulling and self._dragging and self._pressed is not None and self.at is not None:
            return self._pressed, self.at
        return None

    def _choose(self, names: tuple[StretchId, ...], *, add: bool) -> None:
        have = self.desk.selection if add else ()
        if add and len(names) == 1 and names[0] in have:
            self.desk.select([n for n in have if n != names[0]])
        else:
            self.desk.select((*have, *(n for n in names if n not in have)))

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Offer what can be done with the stretch under the pointer."""
        hit = self._under(QPointF(event.pos()))
        if hit is not None and hit not in self.desk.selection:
            self.desk.select((hit,))
        self.asked.emit(event.globalPos())

    def _under(self, place: QPointF) -> StretchId | None:
        reach = REACH_PX * self.metres_a_pixel
        return self.hits.nearest(*self.to_ground(place), within_m=reach)

    def _tell(self, here: QPointF) -> None:
        self._hover(self._under(here))
        course = self.desk.course
        if course is not None:
            reach = REACH_PX * self.metres_a_pixel
            self.desk.point(lap_metre(course, *self.to_ground(here), within_m=reach))
        self.viewport().update()

    def _hover(self, name: StretchId | None) -> None:
        if name != self.hovered:
            self.hovered = name
            self.ground.show_hover(name)
            shapes = Qt.CursorShape
            self.viewport().setCursor(shapes.PointingHandCursor if name else shapes.ArrowCursor)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move, zoom and step through stretches."""
        key = Qt.Key(event.key())
        if self.tool is not None and self.tool.key(key):
            self.viewport().update()
            return
        wide, high = self.viewport().width(), self.viewport().height()
        moves = {
            Qt.Key.Key_Left: (-wide, 0), Qt.Key.Key_Right: (wide, 0),
            Qt.Key.Key_Up: (0, -high), Qt.Key.Key_Down: (0, high),
        }  # fmt: skip
        if key in moves and not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            x, y = moves[key]
            self.move_by(QPointF(x * KEY_PAN_SHARE, y * KEY_PAN_SHARE))
            self.looked.emit()
        elif key in {Qt.Key.Key_Plus, Qt.Key.Key_Equal}:
            self.zoom(KEY_ZOOM)
        elif key in {Qt.Key.Key_Minus, Qt.Key.Key_Underscore}:
            self.zoom(1 / KEY_ZOOM)
        elif key in {Qt.Key.Key_N, Qt.Key.Key_P}:
            self.step(1 if key == Qt.Key.Key_N else -1)
        elif not event.modifiers() and self.type_word(key_word(key)):
            self.viewport().update()
        elif key == Qt.Key.Key_Menu or (key == Qt.Key.Key_Return and self.desk.selection):
            self.asked.emit(self.mapToGlobal(self.rect().center()))
        else:
            event.ignore()

    def step(self, by: int) -> None:
        """Choose the next stretch in the network's order, or the one before."""
        if self.desk.terrain is None:
            return
        names = [s.id for s in self.desk.terrain.network.stretches]
        chosen = self.desk.selection
        now = names.index(chosen[-1]) if chosen and chosen[-1] in names else -min(by, 0) - 1
        self.desk.select((names[(now + by) % len(names)],))
        self.look_at_chosen()

    def look_at_chosen(self) -> None:
        """Bring the chosen stretch into view."""
        stretch = self.desk.stretch(self.desk.selection[-1]) if self.desk.selection else None
        if stretch is None:
            return
        self._bring_into_view(line_bounds(stretch.xy))

    def _bring_into_view(self, box: QRectF) -> None:
        inner = self.viewport().rect().adjusted(20, 20, -20, -20)
        corners = [self.viewportTransform().map(p) for p in (box.topLeft(), box.bottomRight())]
        if not all(inner.contains(c.toPoint()) for c in corners):
            self.fits = None
            self.centerOn(box.center())
            self.looked.emit()

    def drawBackground(self, painter: QPainter, rect: QRectF | QRect) -> None:
        """Paint the paper and what lies under the trails."""
        super().drawBackground(painter, rect)
        self.background.paint(painter)
        self.relief.paint(painter)
        self.rides.paint(painter)

    # -- signs of constant size ------------------------------------------------------------

    def drawForeground(self, painter: QPainter, _rect: QRectF | QRect) -> None:
        """Paint signs over the lines, in pixels."""
        painter.save()
        painter.resetTransform()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self.front.paint(painter)
        if self.tool is not None:
            self.tool.paint(painter)
        self.front.paint_circle(painter, self._circle)
        self.front.paint_pull(painter)
        painter.restore()
