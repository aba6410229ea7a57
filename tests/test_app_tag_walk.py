"""A ride of 12 km tagged stretch by stretch, by keyboard alone, and how long that takes a person.

The time is that of the keystroke-level model (Card, Moran and Newell 1980, Communications of the
ACM 23(7), 396-410, doi 10.1145/358886.358895): 0.28 s a keystroke of an average typist who is no
secretary, 1.35 s to make up one's mind (values from memory). The model takes an expert who makes no
errors and whom the program never keeps waiting; here a mind is made up before every single key.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app_help import WISHES, Answers, rested, wait_until, window_on
from loopwright.app.tag_ride import TagRide
from loopwright.model.document import Document
from loopwright.model.ids import RideId
from loopwright.model.track import RideRole
from loopwright.sample import sample_document

KEY_S, MIND_S = 0.28, 1.35
LIMIT_S = 180.0
RIDE = RideId("5087e70a177f6cbc")
"""The sample's ride that covers most ground of its own: 12.9 km."""
OTHERS = ("1970177cea445ce4", "a1af3cc29c5ff8ac", "339025939bd19dee", "406fb06b3588d052")


@dataclass
class Typist:
    """Presses keys on whatever has the focus, and keeps count."""

    home: QWidget
    seconds: float = 0.0
    keys: list[str] = field(default_factory=list)

    def press(self, key: Qt.Key, *, control: bool = False) -> None:
        held = Qt.KeyboardModifier.ControlModifier
        target = QApplication.focusWidget() or self.home
        QTest.keyClick(target, key, held if control else Qt.KeyboardModifier.NoModifier)
        self.keys.append(key.name)
        self.seconds += MIND_S + KEY_S * (2 if control else 1)


def few_rides() -> Document:
    """Some rides of the invented sample area, with what is tagged there."""
    document = sample_document()
    rides = tuple(ride for ride in document.rides if ride.id in {RIDE, *OTHERS})
    return replace(document, rides=rides, wishes=WISHES, found=(), kept=())


def walked(typist: Typist, flow: TagRide) -> None:
    """Tag every part: surface alone, roughness too, same as last time, skipped and gone back."""
    surfaces = {0: Qt.Key.Key_1, 3: Qt.Key.Key_2, 4: Qt.Key.Key_8}
    while flow.part is not None:
        turn = flow.place % 5
        if turn == 1:
            typist.press(Qt.Key.Key_Return)
        elif turn == 2:
            typist.press(Qt.Key.Key_Space)
            typist.press(Qt.Key.Key_Backspace)
            typist.press(Qt.Key.Key_3)
        else:
            if turn == 4:
                typist.press(Qt.Key.Key_E)
            typist.press(surfaces[turn])


def test_a_ride_of_12_km_is_tagged_by_keyboard_in_under_three_minutes(qtbot: QtBot) -> None:
    document = few_rides()
    rides = [r for r in reversed(document.rides) if r.role is RideRole.RIDE]
    place = next(n for n, ride in enumerate(rides) if ride.id == RIDE)
    with window_on(document, answers=Answers(choice=place)) as opened:
        wait_until(qtbot, lambda: rested(opened) and opened.desk.terrain is not None)
        window, desk = opened.window, opened.desk
        typist = Typist(window)
        typist.press(Qt.Key.Key_T, control=True)
        typist.press(Qt.Key.Key_Return)  # the ride is picked; the picker here answers by itself
        flow = window.ground.tag_ride
        flow.step(-1)
        parts = flow.parts
        assert sum(part.length_m for part in parts) > 12_000
        assert max(part.length_m for part in parts) <= 500
        assert desk.asked.xy is not None
        walked(typist, flow)
        typist.press(Qt.Key.Key_Escape)
        assert typist.seconds < LIMIT_S
        assert desk.asked.xy is None
        _all_said(document, desk.document, len(parts))


def _all_said(before: Document, after: Document, parts: int) -> None:
    """Nearly every part got its tag; where nothing was known, the same again says nothing."""
    fresh = after.tags[len(before.tags) :]
    assert after.tags[: len(before.tags)] == before.tags
    assert len(fresh) >= 0.8 * parts
    assert {tag.surface for tag in fresh} >= {"ground", "dirt", "gravel", "rock"}
    assert sum(tag.roughness == "bad" for tag in fresh) >= parts // 6
    assert all(np.isfinite(tag.line).all() for tag in fresh)
