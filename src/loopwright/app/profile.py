"""The lap's profile below the map: height, grade colours, numbered features, predicted speed.

Gets a desk; shows its course and plan, and points at a lap metre when hovered or stepped through.
Promises: pointing here moves the mark on the map and the other way round; without heights it says
so and still shows speed and features.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
)
from PySide6.QtWidgets import QWidget

from loopwright import units
from loopwright.app.desk import Desk
from loopwright.app.lines import UNSEEN_PX, pixel_path, polygon, thin
from loopwright.app.look import BASE_PT, SMALL_PT, Look
from loopwright.app.map_colours import GRADE_STEPS, grade_pen
from loopwright.app.map_marks import paint_numbered
from loopwright.app.ticks import ticks, ticks_apart
from loopwright.app.told import told
from loopwright.app.words import say
from loopwright.card.palette import blend, grade_words
from loopwright.geo.sections import feature_name
from loopwright.model.arrays import Floats
from loopwright.model.course import Course, CourseFeature
from loopwright.model.ground import FeatureKind
from loopwright.model.laps import Lap
from loopwright.model.rider import LapPlan
from loopwright.units import Units

LEAST_PX, USUAL_PX = 90, 150
"""Figures, signs and a line that can still be read."""
LINE_PX = 17
"""A line of small words."""
LABEL_PX = 12
"""From one figure to the next below it, at least."""
STEP_M = 10.0
"""An arrow key moves the mark this far, with control ten times."""
CALM_M = 40.0
"""The colour under the line means this many metres; the line itself is not touched."""
PALER = 0.25
"""Grade colours step back by this share, so that line and speed stand out."""


class Profile(QWidget):
    """The profile widget."""

    def __init__(self, desk: Desk, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk, self.look = desk, look
        self._pointed: float | None = None
        self._shows: tuple[object, ...] = ()
        self._fits: tuple[object, ...] = ()
        self._picture = QPixmap()
        self.setAccessibleName(say("Profile of the lap"))
        self.setAccessibleDescription(say("Left and right move the mark along the lap"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setMinimumHeight(look.px(LEAST_PX))
        soon = desk.turns.of(self.refresh)  # the map is painted first, what was asked in between
        for signal in (desk.shown_changed, desk.plan_changed, desk.ridden.stretched_changed,
                       desk.told):  # fmt: skip
            signal.connect(soon)
        desk.pointed.connect(self._point)

    def sizeHint(self) -> QSize:
        """Room for the line, the signs and two rows of words."""
        return QSize(600, self.look.px(USUAL_PX))

    def dress(self, look: Look) -> None:
        """Take another look."""
        self.look = look
        self.setMinimumHeight(look.px(LEAST_PX))
        self.update()

    def _point(self, lap_m: object) -> None:
        self._pointed = lap_m if isinstance(lap_m, float) else None
        self.update()

    # -- pointer and keys --------------------------------------------------------------------

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Point at the place under the pointer."""
        course = self.desk.course
        box = self.plot()
        if course is None:
            return
        share = (event.position().x() - box.left()) / max(box.width(), 1.0)
        inside = 0.0 <= share <= 1.0
        self.desk.point(share * course.length_m if inside else None)

    def leaveEvent(self, event: QEvent) -> None:
        """Point at nothing."""
        self.desk.point(None)
        super().leaveEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Step the mark along the lap."""
        course = self.desk.course
        steps = {Qt.Key.Key_Left.value: -STEP_M, Qt.Key.Key_Right.value: STEP_M}
        if course is None or event.key() not in steps:
            super().keyPressEvent(event)
            return
        far = 10.0 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1.0
        now = self._pointed or 0.0
        self.desk.point(float((now + far * steps[event.key()]) % course.length_m))

    def plot(self) -> QRectF:
        """Where the line is drawn; margins hold the figures."""
        px = self.look.px
        return QRectF(self.rect()).adjusted(px(56), px(2 * LINE_PX), -px(58), -px(LINE_PX + 1))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint everything."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.drawPixmap(0, 0, self._still())
        if self.desk.course is not None:
            self._paint_mark(painter, self.plot(), self.desk.course)
        painter.end()

    def refresh(self) -> None:
        """Show what the desk holds, painted here: in one event with the map it would be felt."""
        if self._fits == self._room() and any(
            a is not b for a, b in zip(self._held(), self._shows, strict=True)
        ):
            self._paint_still()
        self.update()

    def _held(self) -> tuple[object, ...]:
        desk = self.desk
        return (desk.course, desk.plan, desk.ridden.lap_in_view)

    def _room(self) -> tuple[object, ...]:
        return (self.look, self.size(), self.devicePixelRatioF())

    def _still(self) -> QPixmap:
        """Give all but the mark as it was painted last, painted anew only for another room."""
        if self._fits != self._room():
            self._paint_still()
        return self._picture

    def _paint_still(self) -> None:
        self._shows, self._fits, self._picture = self._held(), self._room(), self._painted()

    def _painted(self) -> QPixmap:
        ratio = self.devicePixelRatioF()
        picture = QPixmap(self.size() * ratio)
        picture.setDevicePixelRatio(ratio)
        picture.fill(QColor(self.look.theme.paper))
        painter = QPainter(picture)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.desk.course is None:
            self._paint_empty(painter)
        else:
            self._paint_course(painter, self.desk.course)
        painter.end()
        return picture

    def _paint_empty(self, painter: QPainter) -> None:
        painter.setPen(QColor(self.look.theme.faint_ink))
        painter.setFont(self.look.font(BASE_PT))
        words = say("The profile of a lap appears here once a loop is chosen.")
        painter.drawText(self.rect(), int(Qt.AlignmentFlag.AlignCenter), words)

    def _paint_course(self, painter: QPainter, course: Course) -> None:
        box = self.plot()
        heights = height_span(course)
        self._paint_axes(painter, box, course, heights)
        if course.has_heights:
            _paint_grades(painter, box, course, heights=heights, paper=self.look.theme.paper)
            line = _pixels(box, course.dist_m, course.ele_m, heights)
            _paint_line(painter, line, pen=QPen(QColor(self.look.theme.ink), 1.8))
        plan = self.desk.plan
        if plan is not None:
            self._paint_speed(painter, box, plan)
            lap = self.desk.ridden.lap_in_view
            if lap is not None:
                pen, top = QPen(QColor(self.look.theme.accent), 2.0), speed_top(plan, lap)
                for at_m, speed in ridden_steps(lap):
                    line = _pixels(box, at_m, speed, (0.0, top), length_m=course.length_m)
                    _paint_line(painter, line, pen=pen)
        self._paint_signs(painter, box, course)

    def _paint_axes(
        self, painter: QPainter, box: QRectF, course: Course, heights: tuple[float, float]
    ) -> None:
        look = self.look
        painter.setFont(look.font(SMALL_PT))
        rule, soft = QColor(look.theme.rule), QColor(look.theme.soft_ink)
        unit, name = (units.MILE_M, "mi") if look.units is Units.IMPERIAL else (1000.0, "km")
        for tick in ticks(0.0, course.length_m / unit, 6):
            x = box.left() + box.width() * tick * unit / course.length_m
            painter.setPen(QPen(rule, 1.0))
            painter.drawLine(QPointF(x, box.top()), QPointF(x, box.bottom()))
            painter.setPen(soft)
            words = f"{tick:g} {name}" if tick == 0 else f"{tick:g}"
            wide = 0.0 if tick == 0 else painter.fontMetrics().horizontalAdvance(words)
            painter.drawText(QPointF(x - wide / 2, box.bottom() + look.px(14)), words)
        if course.has_heights:
            self._paint_height_ticks(painter, box, heights)

    def _paint_height_ticks(
        self, painter: QPainter, box: QRectF, heights: tuple[float, float]
    ) -> None:
        look = self.look
        unit, name = (units.FOOT_M, "ft") if look.units is Units.IMPERIAL else (1.0, "m")
        low, high = heights
        have = ticks_apart(low / unit, high / unit, box.height() / look.px(LABEL_PX))
        for number, tick in enumerate(have):
            y = box.bottom() - box.height() * (tick * unit - low) / (high - low)
            painter.setPen(QPen(QColor(look.theme.rule), 1.0))
            painter.drawLine(QPointF(box.left(), y), QPointF(box.right(), y))
            painter.setPen(QColor(look.theme.soft_ink))
            words = f"{tick:g} {name}" if number == len(have) - 1 else f"{tick:g}"
            place = QRectF(0, y - look.px(9), box.left() - look.px(6), look.px(18))
            flags = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            painter.drawText(place, int(flags), words)

    def _paint_speed(self, painter: QPainter, box: QRectF, plan: LapPlan) -> None:
        look = self.look
        top = speed_top(plan, self.desk.ridden.lap_in_view)
        pen = QPen(QColor(look.theme.accent), 1.4)
        pen.setDashPattern([4.0, 2.0])
        _paint_line(painter, _pixels(box, plan.dist_m, plan.speed_mps, (0.0, top)), pen=pen)
        painter.setPen(QColor(look.theme.accent))
        painter.setFont(look.font(SMALL_PT))
        for share in (0.0, 0.5, 1.0):
            y = box.bottom() - share * box.height()
            words = units.speed(share * top, look.units)
            words = words if share == 1.0 else words.split(" ")[0]
            place = QRectF(box.right() + look.px(4), y - look.px(9), look.px(54), look.px(18))
            flags = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
            painter.drawText(place, int(flags), words)

    def _paint_signs(self, painter: QPainter, box: QRectF, course: Course) -> None:
        size = self.look.px(5.5)
        last, placed = -1e9, []
        for feature in course.features:
            if feature.kind is FeatureKind.STEADY:
                continue
            x = box.left() + box.width() * feature.at_m / course.length_m
            if x - last < 4.6 * size:
                continue
            last = x
            placed.append((feature, QPointF(x, box.top() - size - self.look.px(2))))
        paint_numbered(painter, placed, size=size, look=self.look)

    def _paint_mark(self, painter: QPainter, box: QRectF, course: Course) -> None:
        words = self.words_at(self._pointed)
        if self._pointed is None:
            words = self._legend_words(course)
        else:
            x = box.left() + box.width() * self._pointed / course.length_m
            painter.setPen(QPen(QColor(self.look.theme.ink), 1.2))
            painter.drawLine(QPointF(x, box.top()), QPointF(x, box.bottom()))
            if course.has_heights:
                ele = float(np.interp(self._pointed, course.dist_m, course.ele_m))
                low, high = height_span(course)
                y = box.bottom() - box.height() * (ele - low) / (high - low)
                painter.setBrush(QColor(self.look.theme.paper))
                painter.setPen(QPen(QColor(self.look.theme.ink), 2.5))
                painter.drawEllipse(QPointF(x, y), 5.0, 5.0)
        painter.setFont(self.look.font(SMALL_PT))
        painter.setPen(QColor(self.look.theme.ink))
        wide = self.width() - box.left()
        place = QRectF(box.left(), self.look.px(1), wide, self.look.px(LINE_PX))
        short = painter.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, int(wide))
        painter.drawText(place, int(Qt.AlignmentFlag.AlignLeft), short)

    def _legend_words(self, course: Course) -> str:
        parts = [say("Height and grade") if course.has_heights else say("No heights recorded")]
        if self.desk.plan is not None:
            parts.append(say("dashed: predicted speed"))
        if self.desk.ridden.lap_in_view is not None:
            parts.append(say("steps: lap {n} as ridden", n=self.desk.ridden.lap_in_view.number))
        return " · ".join(parts)

    def words_at(self, lap_m: float | None) -> str:
        """Say what there is at a lap metre."""
        course = self.desk.course
        if course is None or lap_m is None:
            return ""
        parts = [units.distance(lap_m, self.look.units)]
        if course.has_heights:
            grade = float(np.interp(lap_m, course.dist_m, course.grade))
            ele = float(np.interp(lap_m, course.dist_m, course.ele_m))
            parts += [
                units.short(ele, self.look.units),
                f"{units.percent(abs(grade))} {grade_words(grade)}",
            ]
        plan = self.desk.plan
        if plan is not None:
            speed = float(np.interp(lap_m, plan.dist_m, plan.speed_mps))
            parts.append(units.speed(speed, self.look.units))
            parts.append(units.duration(float(np.interp(lap_m, plan.dist_m, plan.time_s))))
        here = feature_at(course, lap_m)
        if here is not None:
            parts.append(told(feature_name(here)))
        return " · ".join(parts)


def feature_at(course: Course, lap_m: float) -> CourseFeature | None:
    """Shortest feature at a lap metre, None between features."""
    here = [f for f in course.features if f.from_m <= lap_m <= f.to_m]
    return min(here, key=lambda f: f.to_m - f.from_m) if here else None


def height_span(course: Course) -> tuple[float, float]:
    """Heights in metres the plot runs over, with air; a flat lap still gets 20 m."""
    if not course.has_heights:
        return 0.0, 1.0
    low, high = float(np.nanmin(course.ele_m)), float(np.nanmax(course.ele_m))
    air = max(4.0, (high - low) * 0.12, (20.0 - (high - low)) / 2)
    return low - air, high + air


def speed_top(plan: LapPlan, lap: Lap | None) -> float:
    """Round speed in m/s above the fastest predicted and, in ``lap``, ridden."""
    ridden = [float(speed.max()) for _at_m, speed in ridden_steps(lap)] if lap is not None else []
    fastest = max(float(np.nanmax(plan.speed_mps)), *ridden, 0.0)
    return math.ceil(fastest * 3.6 / 10.0) * 10.0 / 3.6


def ridden_steps(lap: Lap) -> list[tuple[Floats, Floats]]:
    """Give lap metres and mean speeds in m/s of each split as steps, both ``(2 k,)``.

    A run of steps ends where the loop was left: nothing is drawn across.
    """
    splits = sorted((s for s in lap.splits if s.elapsed_s > 0), key=lambda s: s.from_m)
    at_m = np.array([[s.from_m, s.to_m] for s in splits]).reshape(-1, 2)
    mean = np.array([(s.to_m - s.from_m) / s.elapsed_s for s in splits])
    cuts = np.flatnonzero(at_m[1:, 0] - at_m[:-1, 1] > 1.0) + 1
    runs = zip(np.split(at_m, cuts), np.split(mean, cuts), strict=True)
    return [(ends.reshape(-1), np.repeat(speed, 2)) for ends, speed in runs if len(speed)]


def calm_grades(course: Course) -> Floats:
    """Grade between neighbouring points ``(n - 1,)``, meaned over about 40 m for its colour."""
    middle = (course.dist_m[1:] + course.dist_m[:-1]) / 2
    low = np.maximum(middle - CALM_M / 2, 0.0)
    high = np.minimum(middle + CALM_M / 2, course.length_m)
    rise = np.interp(high, course.dist_m, course.ele_m) - np.interp(
        low, course.dist_m, course.ele_m
    )
    return np.asarray(rise / np.maximum(high - low, 1e-9))


def _pixels(
    box: QRectF,
    at_m: Floats,
    values: Floats,
    span: tuple[float, float],
    *,
    length_m: float | None = None,
) -> Floats:
    low, high = span
    x = box.left() + box.width() * at_m / max(length_m or float(at_m[-1]), 1e-9)
    y = box.bottom() - box.height() * (values - low) / (high - low)
    known = np.isfinite(y)
    return np.column_stack((x[known], y[known]))


def _paint_line(painter: QPainter, line: Floats, *, pen: QPen) -> None:
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolyline(polygon(thin([line], UNSEEN_PX)[0]))


def _paint_grades(
    painter: QPainter, box: QRectF, course: Course, *, heights: tuple[float, float], paper: str
) -> None:
    """Fill under the line, all runs of one grade class at once."""
    line = _pixels(box, course.dist_m, course.ele_m, heights)
    if len(line) != len(course.dist_m):
        return
    steps = np.digitize(calm_grades(course), GRADE_STEPS)
    edges = [0, *(np.flatnonzero(np.diff(steps)) + 1).tolist(), len(steps)]
    by_step: dict[int, list[Floats]] = {}
    roofs = thin([line[first : last + 1] for first, last in pairwise(edges)], UNSEEN_PX)
    for first, roof in zip(edges, roofs, strict=False):
        floor = [(roof[-1, 0], box.bottom()), (roof[0, 0], box.bottom())]
        by_step.setdefault(int(steps[first]), []).append(np.vstack((roof, floor)))
    for step, areas in by_step.items():
        colour = QColor(blend(grade_pen(step).colour, paper, PALER))
        painter.fillPath(pixel_path(areas), colour)
