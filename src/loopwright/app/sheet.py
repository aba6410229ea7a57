"""What every dialog of ours stands on: it fits the screen, and scrolls where it does not.

Gets words and widgets; gives dialogs. Promises: no dialog opens larger than the screen at any text
size; its buttons are always in view.
"""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFrame,
    QScrollArea,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

EDGE_PX = 48
"""What the system's own frame and bars may take of a screen."""
LOW_PX = 120


def fit_screen(dialog: QWidget, wish: QSize) -> None:
    """Size a dialog as wished, as far as the screen or its window has room."""
    owner = dialog.parentWidget()
    room = dialog.screen().availableSize() - QSize(EDGE_PX, EDGE_PX)
    if owner is not None:
        room = room.expandedTo(owner.window().size())
    dialog.resize(wish.boundedTo(room))


class Scrolled(QScrollArea):
    """A body that scrolls downwards where there is no room for all of it."""

    def __init__(self, inner: QWidget, name: str) -> None:
        super().__init__()
        self.inner = inner
        self.setAccessibleName(name)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidget(inner)

    def sizeHint(self) -> QSize:
        """Room for all of it."""
        inner = self.inner
        hint = inner.sizeHint()
        high = inner.heightForWidth(hint.width()) if inner.hasHeightForWidth() else hint.height()
        return QSize(hint.width() + self._bar(), max(hint.height(), high))

    def high_at(self, wide: int) -> int:
        """Give the height of all of it at a width."""
        return self.inner.heightForWidth(wide - self._bar())

    def minimumSizeHint(self) -> QSize:
        """Its whole width, and enough height to read in."""
        inner = self.inner.minimumSizeHint()
        return QSize(inner.width() + self._bar(), min(LOW_PX, inner.height()))

    def _bar(self) -> int:
        return self.verticalScrollBar().sizeHint().width()


class ReadingSheet(QDialog):
    """Words to read, with headings and lists."""

    def __init__(self, parent: QWidget, title: str, html: str, *, wide: int) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.words = QTextBrowser()
        self.words.setAccessibleName(title)
        self.words.setOpenLinks(False)
        self.words.setHtml(html)
        self.words.setTabChangesFocus(True)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        lines = QVBoxLayout(self)
        lines.addWidget(self.words, 1)
        lines.addWidget(buttons)
        fit_screen(self, QSize(wide, self._high(wide)))

    def _high(self, wide: int) -> int:
        """Give the height at which everything is in view."""
        page = self.words.document().clone(self)
        page.setTextWidth(wide - 2 * LOW_PX / 3)
        return round(page.size().height()) + LOW_PX
