"""Widgets in a row that goes on below where there is no more room.

Gets widgets; lays them out. Promises: a row breaks before the words on a button do, and everything
in it keeps its height.
"""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem


class Flow(QLayout):
    """Widgets side by side, going on in the next line where there is no room.

    The one numbered ``stretch`` takes what is left of its line, else all share it; ``even`` makes
    columns of one width, as wide as the widest needs.
    """

    def __init__(self, *, stretch: int = -1, even: bool = False) -> None:
        super().__init__()
        self._items: list[QLayoutItem] = []
        self._stretch, self._even = stretch, even
        self._heights: dict[int, int] = {}
        self._sizes: dict[str, QSize] = {}

    def addItem(self, item: QLayoutItem) -> None:
        """Take one more at the end."""
        self._items.append(item)

    def count(self) -> int:
        """Tell how many."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem:
        """Give one, as Qt asks: none beyond the end."""
        return self._items[index] if 0 <= index < len(self._items) else None  # type: ignore[return-value] # Qt's stubs know no none

    def takeAt(self, index: int) -> QLayoutItem:
        """Let go of one."""
        return self._items.pop(index) if 0 <= index < len(self._items) else None  # type: ignore[return-value] # Qt's stubs know no none

    def expandingDirections(self) -> Qt.Orientation:
        """Take width, not height."""
        return Qt.Orientation.Horizontal

    def hasHeightForWidth(self) -> bool:
        """Tell layouts to ask for the height."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Give the height at a width."""
        if width not in self._heights:
            self._heights[width] = self._height_at(width)
        return self._heights[width]

    def _height_at(self, width: int) -> int:
        margins = self.contentsMargins()
        room = width - margins.left() - margins.right()
        lines = self._lines(room)
        high = sum(self._high(line, room) for line in lines) + self.spacing() * (len(lines) - 1)
        return max(0, high) + margins.top() + margins.bottom()

    def invalidate(self) -> None:
        """Forget heights and sizes: something in the row has changed."""
        self._heights.clear()
        self._sizes.clear()
        super().invalidate()

    def sizeHint(self) -> QSize:
        """Everything in one line."""
        if "hint" not in self._sizes:
            self._sizes["hint"] = self._in_one_line()
        return self._sizes["hint"]

    def minimumSize(self) -> QSize:
        """Everything below one another."""
        if "least" not in self._sizes:
            self._sizes["least"] = self._stacked()
        return self._sizes["least"]

    def _in_one_line(self) -> QSize:
        items = self._seen()
        wide = sum(_need(item) for item in items) + self.spacing() * max(0, len(items) - 1)
        high = max((item.sizeHint().height() for item in items), default=0)
        return self._outer(QSize(wide, high))

    def _stacked(self) -> QSize:
        items = self._seen()
        wide = max((item.minimumSize().width() for item in items), default=0)
        high = max((item.minimumSize().height() for item in items), default=0)
        return self._outer(QSize(wide, high))

    def setGeometry(self, rect: QRect) -> None:
        """Lay all out."""
        super().setGeometry(rect)
        box = rect.marginsRemoved(self.contentsMargins())
        top = box.top()
        for line in self._lines(box.width()):
            high = self._high(line, box.width())
            self._lay(line, QRect(box.left(), top, box.width(), high))
            top += high + self.spacing()

    def _seen(self) -> list[QLayoutItem]:
        return [item for item in self._items if not item.isEmpty()]

    def _outer(self, inner: QSize) -> QSize:
        margins = self.contentsMargins()
        return inner + QSize(margins.left() + margins.right(), margins.top() + margins.bottom())

    def _lines(self, room: int) -> list[list[QLayoutItem]]:
        items = self._seen()
        if self._even:
            columns = self._columns(room)
            return [items[first : first + columns] for first in range(0, len(items), columns)]
        lines: list[list[QLayoutItem]] = []
        left = 0
        for item in items:
            need = _need(item)
            if lines and need + self.spacing() <= left:
                lines[-1].append(item)
                left -= need + self.spacing()
            else:
                lines.append([item])
                left = room - need
        return lines

    def _columns(self, room: int) -> int:
        widest = max((_need(item) for item in self._seen()), default=1)
        return max(1, (room + self.spacing()) // (widest + self.spacing()))

    def _widths(self, line: list[QLayoutItem], room: int) -> list[int]:
        """Widths of a line's items: what each needs, and what is left to one or to all."""
        if self._even:
            columns = self._columns(room)
            return [(room - self.spacing() * (columns - 1)) // columns] * len(line)
        needs = [min(room, _need(item)) for item in line]
        over = max(0, room - sum(needs) - self.spacing() * (len(line) - 1))
        greedy = [n for n, item in enumerate(line) if self._items.index(item) == self._stretch]
        takers = greedy or list(range(len(line)))
        for turn, place in enumerate(takers):
            needs[place] += over // len(takers) + (turn < over % len(takers))
        return needs

    def _high(self, line: list[QLayoutItem], room: int) -> int:
        return max(
            _height_of(item, wide)
            for item, wide in zip(line, self._widths(line, room), strict=True)
        )

    def _lay(self, line: list[QLayoutItem], box: QRect) -> None:
        left = box.left()
        for item, wide in zip(line, self._widths(line, box.width()), strict=True):
            high = min(box.height(), _height_of(item, wide))
            top = box.top() + (box.height() - high) // 2
            item.setGeometry(QRect(QPoint(left, top), QSize(wide, high)))
            left += wide + self.spacing()


def _need(item: QLayoutItem) -> int:
    """Width below which an item would rather go to the next line: words stay whole."""
    return item.sizeHint().width() if item.hasHeightForWidth() else item.minimumSize().width()


def _height_of(item: QLayoutItem, wide: int) -> int:
    return item.heightForWidth(wide) if item.hasHeightForWidth() else item.sizeHint().height()
