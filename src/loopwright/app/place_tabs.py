"""The four places, as tabs over the left column: going to one changes what stands below them.

Gets the actions; gives buttons for them. Promises: where all do not fit side by side they go on
below; in the tab order they come before what they change.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QFrame, QHBoxLayout, QSizePolicy, QToolButton, QWidget

from loopwright.app.actions import BY_ID
from loopwright.app.flow import Flow
from loopwright.app.words import say

PLACES = ("ground", "loops", "laps", "season")


class PlaceTabs(QFrame):
    """A tab for each place."""

    def __init__(self, actions: Mapping[str, QAction], do: Callable[[str], None]) -> None:
        super().__init__()
        self.setProperty("role", "bar")
        self._actions, self._do = actions, do
        self.places = {name: self._place(name) for name in PLACES}
        line = Flow()
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(0)
        for pair in (PLACES[:2], PLACES[2:]):
            line.addWidget(self._side_by_side(pair))
        self.setLayout(line)
        policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def _side_by_side(self, names: Sequence[str]) -> QWidget:
        """Hold places together: two lines of two where four have no room."""
        pair = QWidget()
        line = QHBoxLayout(pair)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(0)
        for name in names:
            line.addWidget(self.places[name])
        return pair

    def _place(self, name: str) -> QToolButton:
        tool = QToolButton()
        tool.setProperty("place", True)  # noqa: FBT003 - Qt's own setter
        tool.setCheckable(True)
        tool.setText(say(BY_ID[name].words))
        tool.setAccessibleName(tool.text())
        tool.setToolTip(f"{tool.text()} ({BY_ID[name].keys})")
        tool.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        policy = QSizePolicy.Policy
        tool.setSizePolicy(policy.Expanding, policy.Fixed)
        tool.clicked.connect(lambda: self._do(name))
        return tool

    def refresh(self) -> None:
        """Follow the actions."""
        for name, place in self.places.items():
            place.setChecked(self._actions[name].isChecked())
