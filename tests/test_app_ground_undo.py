"""Two hundred edits of every kind the Ground place makes, undone and redone at random."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from app_help import Answers, found, ladder_document, rested, wait_until, window_on
from loopwright import edits
from loopwright.app.brush import FLAG_KEYS, ROUGH_KEYS, SURFACE_KEYS, WIDTH_KEYS
from loopwright.app.map_tools import Part
from loopwright.app.opening import Opened
from loopwright.borrow import with_trails, with_words
from loopwright.io.osm import MapExtract, MapLine
from loopwright.model.document import Document
from loopwright.model.network import CorrectionKind

EDITS = 200
KEYS = (*SURFACE_KEYS, *ROUGH_KEYS, *WIDTH_KEYS, *FLAG_KEYS)


@dataclass
class Hand:
    """Somebody who does things at random in one window."""

    opened: Opened
    answers: Answers
    qtbot: QtBot
    luck: random.Random
    done: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        terrain = self.opened.desk.terrain
        assert terrain is not None
        self.terrain = terrain
        self.names = [s.id for s in terrain.network.stretches]
        self.window, self.desk = self.opened.window, self.opened.desk
        self.place, self.view = self.window.ground, self.window.map_pane.map

    def choose(self, number: int = 1) -> None:
        self.desk.select(self.luck.sample(self.names, number))

    def tag_stretches(self) -> None:
        self.choose(self.luck.choice([1, 3]))
        self.place.dated.setChecked(self.luck.random() < 0.3)
        self.place.press(self.luck.choice(KEYS))

    def tag_circled(self) -> None:
        low = np.array([self.luck.uniform(-50, 200), -50.0])
        corners = [tuple(low + step) for step in ((0, 0), (250, 0), (250, 300), (0, 300))]
        self.view._choose(self.view.hits.inside(corners), add=False)
        self.place.press(self.luck.choice(KEYS))

    def paint_part(self) -> None:
        self.desk.select(())
        name = self.luck.choice(self.names)
        half = self.terrain.lengths_m[name] / 2
        self.place.brush.clear()
        self.place.press(self.luck.choice(KEYS))
        self.place.painted((Part(stretch=name, from_m=self.luck.uniform(0, half), to_m=2 * half),))
        self.place.brush.clear()

    def tag_ride(self) -> None:
        self.place.begin_ride(self.luck.choice(self.desk.document.rides))
        if self.place.currentWidget() is self.place.tag_ride:
            self.place.press("D")
            self.place.press(self.luck.choice([*SURFACE_KEYS, "Enter"]))
            self.place.press("Escape")

    def correct(self) -> None:
        self.choose()
        self.answers.word = f"Fern Run {self.luck.randrange(9)}"
        kinds = ["one_way", "one_way_back", "closed", "hide", "rename"]
        self.window.do(self.luck.choice(kinds))

    def join(self) -> None:
        self.choose(2)
        self.window.do("join")

    def draw(self) -> None:
        """Draw a connector or a cut, point by point."""
        before = self.desk.document
        self.window.do(self.luck.choice(["draw", "cut"]))
        tool = self.view.tool
        assert tool is not None
        for _ in range(2):
            place = self.view.to_px(self.luck.uniform(0, 360), self.luck.uniform(0, 150))
            tool.press(place)
        tool.key(Qt.Key.Key_Return)
        wait_until(self.qtbot, lambda: self.desk.document is not before)

    def take_back(self) -> None:
        """Take one correction off the list."""
        unfit = self.place.unfit
        unfit.refresh()
        if unfit.list.count():
            unfit.list.setCurrentRow(self.luck.randrange(unfit.list.count()))
            unfit.off.click()

    def borrow(self) -> None:
        """Take words and trails of a map extract over, or give all back."""
        line = np.array([[-122.0 + self.luck.random() / 1e3, -47.0], [-122.0, -46.999]])
        way = MapLine(line=line, surface="gravel", roughness=None, width=None, name="Back lane",
                      one_way=self.luck.random() < 0.5, obstacles=True)  # fmt: skip
        extract = MapExtract(lines=(way,))
        if self.luck.random() < 0.3:
            self.window.do("give_back")
        else:
            self.desk.apply("Read", lambda d: with_words(with_trails(d, extract), extract))

    def ride(self) -> None:
        self.place.refresh()
        self.place.rides.setCurrentRow(self.luck.randrange(self.place.rides.count()))
        self.luck.choice([self.place.out, self.place.race]).click()

    def allow(self) -> None:
        self.place.unridden.allow.click()

    def plan_for(self) -> None:
        state = self.window.loops.state
        state.show_document(self.desk.document)
        state._chosen(self.luck.randrange(state.choice.count()))

    def lose_tags(self) -> None:
        tags = self.desk.document.tags
        some = self.luck.sample(tags, min(2, len(tags)))
        self.desk.apply("Take tags back", lambda d: edits.remove_tags(d, some))

    def act(self) -> None:
        doings: list[Callable[[], None]] = [
            self.tag_stretches, self.tag_circled, self.paint_part, self.tag_ride, self.correct,
            self.correct, self.join, self.draw, self.take_back, self.borrow, self.ride, self.allow,
            self.plan_for, self.lose_tags,
        ]  # fmt: skip
        doing = self.luck.choice(doings)
        before = self.desk.document
        doing()
        if self.desk.document is not before:
            self.done.add(doing.__name__)


def test_any_mix_of_two_hundred_edits_undoes_and_redoes_to_the_identical_documents(
    qtbot: QtBot,
) -> None:
    answers = Answers()
    with window_on(ladder_document(), answers=answers) as opened:
        wait_until(qtbot, lambda: found(opened))
        opened.window.go("ground")
        wait_until(qtbot, lambda: rested(opened))
        # The ground stays as built meanwhile: no search notes its loops in the document.
        opened.desk._unsubscribe()
        hand = Hand(opened, answers, qtbot, random.Random(11))
        seen = [opened.desk.document]
        made, at = 0, 0
        while made < EDITS:
            at, seen = _wandered(opened, hand.luck, seen, at)
            hand.act()
            if opened.desk.document is not seen[at]:
                seen = [*seen[: at + 1], opened.desk.document]
                made, at = made + 1, at + 1
        assert len(hand.done) == 13
        kinds = {one.kind for document in seen for one in document.corrections}
        assert kinds == set(CorrectionKind)
        _there_and_back(opened, seen, at)
        opened.desk._unsubscribe = opened.desk.workspace.subscribe(lambda _names: None)


def _wandered(
    opened: Opened, luck: random.Random, seen: list[Document], at: int
) -> tuple[int, list[Document]]:
    """Undo and redo some steps at random, checking every document on the way."""
    for _ in range(luck.choice([0, 0, 1, 4, 9])):
        ahead = luck.random() < 0.5
        opened.window.do("redo" if ahead else "undo")
        at = min(len(seen) - 1, at + 1) if ahead else max(0, at - 1)
        assert opened.desk.document is seen[at]
    return at, seen


def _there_and_back(opened: Opened, seen: list[Document], at: int) -> None:
    for name, places in (("undo", range(at - 1, -1, -1)), ("redo", range(1, len(seen)))):
        for place in places:
            opened.window.do(name)
            assert opened.desk.document is seen[place]
