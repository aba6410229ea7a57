"""Small parts the left column is built from.

Gets words, gives labelled widgets. Promises: everything that can be focused has an accessible
name; headings fold what is below them.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import (
    QComboBox,
    QDialogButtonBox,
    QFormLayout,
    QFrame,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from loopwright.app.flow import Flow
from loopwright.app.plain_text import bare_label, tip
from loopwright.app.wrapping import WrapPush, WrapTool

GAP = 8
FEWEST_LETTERS = 12


def label(words: str, role: str = "") -> QLabel:
    """Give wrapped text; ``role`` is soft, faint, head or warning."""
    text = bare_label(words)
    text.setWordWrap(True)
    text.setProperty("role", role)
    return text


def button(
    words: str, on_click: Callable[[], object], *, main: bool = False, name: str = ""
) -> QPushButton:
    """Give a push button; ``main`` marks the one next sensible thing."""
    push = WrapPush(words)
    push.setProperty("main", main)
    push.setAccessibleName(name or words.rstrip("…"))
    push.clicked.connect(lambda _on=False: on_click())
    return push


def save_or_cancel(save: Callable[[], object], cancel: Callable[[], object]) -> QDialogButtonBox:
    """Give the foot of a form that is kept or left."""
    kinds = QDialogButtonBox.StandardButton
    buttons = QDialogButtonBox(kinds.Save | kinds.Cancel)
    buttons.accepted.connect(save)
    buttons.rejected.connect(cancel)
    return buttons


def row(*widgets: QWidget, stretch: int = -1) -> Flow:
    """Lay widgets side by side, or below; the one numbered ``stretch`` takes what is left."""
    line = Flow(stretch=stretch)
    line.setSpacing(GAP)
    for widget in widgets:
        line.addWidget(widget)
    return line


def form() -> QFormLayout:
    """Give a form whose fields go below their names where there is no room beside them."""
    lines = QFormLayout()
    lines.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
    lines.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
    return lines


def add_field(lines: QFormLayout, words: str, field: QWidget) -> None:
    """Add a field under its name, which is also what a screen reader says."""
    field.setAccessibleName(words)
    lines.addRow(label(words), field)


class Choice(QComboBox):
    """One of several; words that have no room are whole in the tip and in the list."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self._about = ""
        self.currentTextChanged.connect(lambda _words: self._tell())

    def explain(self, about: str) -> None:
        """Say in the tip, below the words chosen, what the choice is about."""
        self._about = about
        self._tell()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint; what was chosen while signals were blocked is told in the tip as well."""
        self._tell()
        super().paintEvent(event)

    def _tell(self) -> None:
        self.setToolTip(tip("\n".join(filter(None, (self.currentText(), self._about)))))

    def minimumSizeHint(self) -> QSize:
        """Room for some letters and the arrow."""
        natural = super().minimumSizeHint()
        few = self.fontMetrics().averageCharWidth() * FEWEST_LETTERS
        return QSize(min(natural.width(), few), natural.height())

    def showPopup(self) -> None:
        """Open the list as wide as its words."""
        view = self.view()
        bar = view.verticalScrollBar().sizeHint().width()
        view.setMinimumWidth(view.sizeHintForColumn(0) + bar)
        super().showPopup()


class Fold(QWidget):
    """A heading that shows or hides what is below it."""

    def __init__(self, words: str, *, open_: bool = True) -> None:
        super().__init__()
        self.head = WrapTool()
        self.head.setText(words)
        self.head.setAccessibleName(words)
        self.head.setProperty("fold", True)  # noqa: FBT003 - Qt's own setter
        self.head.setCheckable(True)
        self.head.setChecked(open_)
        self.head.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        policy = self.head.sizePolicy()
        policy.setHorizontalPolicy(QSizePolicy.Policy.Expanding)
        self.head.setSizePolicy(policy)
        self.body = QWidget()
        self.lines = QVBoxLayout(self.body)
        self.lines.setContentsMargins(0, 0, 0, GAP)
        self.lines.setSpacing(GAP)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addWidget(self.head)
        whole.addWidget(self.body)
        self._unfilled: Callable[[], object] | None = None
        self.head.toggled.connect(self._turn)
        self._turn(open_)

    def fill_when_open(self, fill: Callable[[], object]) -> None:
        """Fill what is below: now if it is to be seen, else once it is opened."""
        self._unfilled = fill
        self._turn(self.head.isChecked())

    def _turn(self, open_: bool) -> None:  # noqa: FBT001 - a Qt slot
        fill = self._unfilled
        if open_ and fill is not None:
            self._unfilled = None
            fill()
        self.body.setVisible(open_)
        self.head.setArrowType(Qt.ArrowType.DownArrow if open_ else Qt.ArrowType.RightArrow)

    def add(self, *widgets: QWidget) -> None:
        """Put widgets below, one under the other."""
        for widget in widgets:
            self.lines.addWidget(widget)

    def rename(self, words: str) -> None:
        """Change the heading."""
        self.head.setText(words)
        self.head.setAccessibleName(words)


class Column(QScrollArea):
    """The left column of one place: sections under one another, scrolled when long."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.setAccessibleName(words)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        inner = QWidget()
        self.lines = QVBoxLayout(inner)
        self.lines.setContentsMargins(GAP + 4, GAP, GAP - 2, GAP)
        self.lines.setSpacing(GAP)
        inner.setMinimumWidth(0)
        inner.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.setWidget(inner)

    def sizeHint(self) -> QSize:
        """Ask for nothing: the window gives the width, and what is long scrolls.

        Without this, all that stands in a column would be measured while none of it shows.
        """
        return QSize(0, 0)

    def add(self, *widgets: QWidget) -> None:
        """Put sections below, one under the other."""
        for widget in widgets:
            self.lines.addWidget(widget)

    def close_up(self) -> None:
        """Keep sections at the top."""
        self.lines.addStretch(1)
