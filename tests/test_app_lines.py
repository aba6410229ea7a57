"""Lines handed to Qt in one go are the lines that were meant, compared with Qt's own points."""

from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainterPath, QPolygonF

from loopwright.app.lines import UNSEEN_PX, apart, path_of, pixel_path, polygon, thin


@pytest.mark.parametrize("count", [0, 1, 2, 500])
def test_polygon_is_what_qt_makes_of_single_points(count: int) -> None:
    points = np.random.default_rng(1).normal(0.0, 1e3, (count, 2))
    assert polygon(points) == QPolygonF([QPointF(x, y) for x, y in points.tolist()])


def test_a_view_of_other_columns_is_not_mistaken() -> None:
    wide = np.arange(12.0).reshape(4, 3)
    assert polygon(wide[:, :2]).at(3) == QPointF(9.0, 10.0)


def test_paths_keep_lines_apart_and_turn_north_up() -> None:
    path = path_of([np.array([[0.0, 1.0], [2.0, 3.0]]), np.zeros((0, 2)), np.array([[5.0, 5.0]])])
    ends = [(path.elementAt(n).x, path.elementAt(n).y) for n in range(path.elementCount())]
    assert ends == [(0.0, -1.0), (2.0, -3.0), (5.0, -5.0)]
    assert path.elementAt(2).isMoveTo()


@pytest.mark.parametrize("counts", [(), (0,), (1,), (4, 0, 3), (2, 200)])
def test_a_path_is_what_qt_makes_of_its_lines_and_can_be_drawn_on(counts: tuple[int, ...]) -> None:
    dice = np.random.default_rng(2)
    lines = [dice.normal(0.0, 1e3, (count, 2)) for count in counts]
    made, slow = pixel_path(lines), QPainterPath()
    for line in lines:
        slow.addPolygon(QPolygonF([QPointF(x, y) for x, y in line.tolist()]))
    assert made == slow
    assert made.boundingRect() == slow.boundingRect()
    for path in (made, slow):
        path.closeSubpath()
        path.lineTo(1.0, 2.0)
    assert made == slow


def test_points_within_a_pixel_are_left_out_but_never_the_ends() -> None:
    line = np.column_stack((np.linspace(0.0, 3.0, 31), np.zeros(31)))
    kept = apart(line)
    assert len(kept) == 5
    assert kept[0].tolist() == [0.0, 0.0]
    assert kept[-1].tolist() == [3.0, 0.0]


def test_a_thinned_line_is_no_farther_off_than_promised_and_keeps_its_ends() -> None:
    dice = np.random.default_rng(3)
    line = np.column_stack((np.linspace(0.0, 900.0, 2000), dice.normal(0.0, 0.1, 2000).cumsum()))
    short, kept, empty = thin([line[:2], line, line[:0]], UNSEEN_PX)
    assert short.tolist() == line[:2].tolist()
    assert len(empty) == 0
    assert kept[[0, -1]].tolist() == line[[0, -1]].tolist()
    assert len(kept) < len(line) / 4
    # The line runs from left to right, so each point belongs to the chord over it.
    place = np.searchsorted(kept[:, 0], line[:, 0], side="right").clip(1, len(kept) - 1)
    chord, way = kept[place] - kept[place - 1], line - kept[place - 1]
    off = np.abs(chord[:, 0] * way[:, 1] - chord[:, 1] * way[:, 0]) / np.hypot(*chord.T)
    assert off.max() <= UNSEEN_PX
