"""The Season place: races, what the rider can give, the weeks, one session, the ground ledger.

Gets a desk; gives a season plan and its sessions. Promises: every day ends up labelled training or
recovery; a session opens its own mix in the finder; nothing here is called better than the
evidence allows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDoubleSpinBox,
    QSpinBox,
    QTreeWidget,
    QTreeWidgetItem,
    QTreeWidgetItemIterator,
    QVBoxLayout,
    QWidget,
)

from loopwright import edits
from loopwright.app.desk import Desk
from loopwright.app.ladder import Ladder
from loopwright.app.look import Look
from loopwright.app.parts import Column, Fold, button, label, row
from loopwright.app.plain_text import tip
from loopwright.app.season_form import SeasonForm
from loopwright.app.season_ground import GroundFold
from loopwright.app.season_heavy import HeavyFold, note_heavy
from loopwright.app.season_ridden import RiddenFold, loop_for
from loopwright.app.season_rows import (
    Week,
    day_words,
    load_words,
    session_words,
    short_words,
    week_words,
    weeks_of,
)
from loopwright.app.tables import Table
from loopwright.app.told import told
from loopwright.app.words import capital, say
from loopwright.app.wrapped_rows import WrappedRows
from loopwright.model.document import Document
from loopwright.model.loops import SavedLoop
from loopwright.model.season import DayLabel, SeasonPlan, Session
from loopwright.model.wishes import Mix
from loopwright.season import (
    CAUTION,
    EVIDENCE,
    drill_counts,
    hold_loop,
    nudges,
    plan_season,
    rate,
    relabel,
)

NUDGES = 3


class SeasonPlace(Column):
    """The left column while planning the season."""

    def __init__(
        self, desk: Desk, look: Look, *, mixes: Sequence[Mix], do: Callable[[str], None]
    ) -> None:
        super().__init__(say("Season"))
        self.desk, self.look, self._do = desk, look, do
        self._mixes = {mix.name: mix for mix in mixes}
        self.today: Callable[[], date] = lambda: datetime.now(UTC).date()

    def build(self) -> Iterator[None]:
        """Put in what stands here, piece by piece."""
        desk, look, do = self.desk, self.look, self._do
        self.form = SeasonForm(self.today)
        yield
        self.ladder = Ladder(look)
        self.bars_mean = label("", "faint")
        self.nudge = label("", "warning")
        self.drills = Table(
            say("How often each drill comes up"),
            [say("Drill"), say("Done"), say("Planned"), say("Wanted")],
        )
        self.short = label("", "soft")
        self.weeks = QTreeWidget()
        self.session = label("", "soft")
        self.rating, self.minutes = QDoubleSpinBox(), QSpinBox()
        self.load_words = label("", "faint")
        yield
        self.ground = GroundFold(desk, look, do)
        self.heavy = HeavyFold(desk, self._note_heavy)
        self.ridden = RiddenFold(desk, self._change_on)
        self._shows: tuple[SeasonPlan, Look, date] | None = None
        yield
        yield from self._lay_out()
        yield
        self._connect()
        self.refresh()

    def _lay_out(self) -> Iterator[None]:
        self.plan_fold = Fold(say("The weeks"))
        self.wants = Fold(say("Race day and what I can give"))
        self.add(self.plan_fold, self.wants)
        self.wants.add(self.form, label(say(EVIDENCE), "faint"), label(say(CAUTION), "faint"))
        self.wants.add(button(say("Plan the season"), lambda: self._do("plan_season"), main=True))
        yield
        self.weeks.setHeaderHidden(True)
        WrappedRows(self.weeks)
        self.weeks.setAccessibleName(say("Weeks and days"))
        self.weeks.setIndentation(self.look.px(8))
        self.weeks.setFixedHeight(self.look.px(300))
        self.weeks.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.plan_fold.add(
            self.bars_mean, self.ladder, self.nudge, self.weeks, self.session, self._buttons()
        )
        yield
        self.plan_fold.add(self.ridden)
        self.plan_fold.add(label(say("How often"), "faint"), self.drills, self.short)
        self.plan_fold.add(label(say("Load"), "faint"), self.load_words, self.heavy)
        self.plan_fold.add(button(say("Print the season…"), lambda: self._do("print_season")))
        yield
        self.add(self.ground)
        self.close_up()

    def _buttons(self) -> QWidget:
        whole = QWidget()
        lines = QVBoxLayout(whole)
        lines.setContentsMargins(0, 0, 0, 0)
        self.seek = button(say("Find a loop for it"), lambda: self._do("session_loop"))
        self.hold = button(say("Use the loop in view"), self._hold)
        self.card = button(say("Its card…"), lambda: self._do("session_card"),
                           name=say("Loop card of the session"))  # fmt: skip
        self.training = button(
            say("Training"), partial(self._label, DayLabel.TRAINING), name=say("Label as training")
        )
        self.recovery = button(
            say("Recovery"), partial(self._label, DayLabel.RECOVERY), name=say("Label as recovery")
        )
        self.rating.setRange(0.0, 10.0)
        self.rating.setSingleStep(0.5)
        self.rating.setDecimals(1)
        self.rating.setAccessibleName(say("How hard it felt, 0 to 10"))
        self.rating.setPrefix(say("felt "))
        self.minutes.setRange(0, 600)
        self.minutes.setAccessibleName(say("Minutes ridden"))
        self.minutes.setSuffix(say(" min"))
        self.rated = button(say("Note it"), self._rate, name=say("Note how hard it felt"))
        lines.addLayout(row(self.seek, self.hold))
        lines.addLayout(row(self.training, self.recovery, self.card))
        lines.addLayout(row(self.rating, self.minutes, self.rated))
        return whole

    def _connect(self) -> None:
        desk = self.desk
        desk.document_changed.connect(desk.turns.in_view_first(self, self.refresh))
        desk.terrain_changed.connect(desk.turns.of(self.ground.refresh))
        self.weeks.currentItemChanged.connect(lambda *_items: self._show_session())

    # -- showing -----------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the document's season."""
        plan = self.desk.document.season
        self.plan_fold.setVisible(plan is not None)
        if plan is not None:
            self._show_plan(plan)
            self.form.show_wishes(plan.wishes)
        self.ground.refresh()

    def _show_plan(self, plan: SeasonPlan) -> None:
        """Show the plan; the same one again only follows what else the document holds."""
        before, self._shows = self._shows, (plan, self.look, self.today())
        if before is None or any(
            a is not b and a != b for a, b in zip(before, self._shows, strict=True)
        ):
            self.desk.turns.soon(partial(self._show_drills, plan), key=self.drills)
            self._show_weeks(plan)
        self._show_session()

    def _show_drills(self, plan: SeasonPlan) -> None:
        weeks = weeks_of(plan)
        self.ladder.show_weeks(weeks)
        self.bars_mean.setText(self.ladder.caption())
        asked = nudges(plan)
        self.nudge.setVisible(bool(asked))
        self.nudge.setText("\n".join(f"{n.on:%d %b}: {told(n.words)}" for n in asked[:NUDGES]))
        self.nudge.setToolTip(tip("\n".join(f"{n.on}: {told(n.words)}" for n in asked)))
        counts = drill_counts(plan)
        self.drills.show_rows(
            [[capital(say(c.kind)), str(c.done), str(c.planned), f"{c.target:.0f}"] for c in counts]
        )
        self.short.setText(short_words(counts))
        self.load_words.setText(load_words(plan, self.today()))

    def _show_weeks(self, plan: SeasonPlan) -> None:
        weeks, now = weeks_of(plan), self._current()
        blocked = self.weeks.blockSignals(True)  # noqa: FBT003 - Qt's own setter
        self.weeks.clear()
        items = [_week_items(number, week, len(weeks)) for number, week in enumerate(weeks)]
        heads = [head for head, *_days in items]
        self.weeks.addTopLevelItems(heads)  # whole: the tree is told once, not for every day
        days = [day for _head, *days in items for day in days]
        for day in days:
            if now is not None and day.data(0, Qt.ItemDataRole.UserRole).on == now.on:
                self.weeks.setCurrentItem(day)
        for number, head in enumerate(heads):
            head.setExpanded(number == 0)
        self.weeks.blockSignals(blocked)
        if self.weeks.currentItem() is None:
            self._choose_first(days)

    def _choose_first(self, days: Sequence[QTreeWidgetItem]) -> None:
        for day in days:
            if day.data(0, Qt.ItemDataRole.UserRole).label is DayLabel.TRAINING:
                self.weeks.setCurrentItem(day)
                return

    def _current(self) -> Session | None:
        item = self.weeks.currentItem()
        value = item.data(0, Qt.ItemDataRole.UserRole) if item else None
        return value if isinstance(value, Session) else None

    def _show_session(self) -> None:
        session = self._current()
        training = session is not None and session.label is DayLabel.TRAINING
        self.session.setText(session_words(session) if session else say("Choose a day."))
        for push in (self.seek, self.hold):
            push.setEnabled(training)
        ridden = session is not None and (training or session.minutes > 0)
        for field in (self.rating, self.minutes, self.rated):
            field.setEnabled(ridden)
        self.heavy.choose(training=training)
        self.card.setEnabled(session is not None and loop_for(self.desk, session) is not None)
        self.ridden.show_session(session)
        for push in (self.training, self.recovery):
            push.setEnabled(session is not None)
        if session is not None:
            self.rating.setValue(session.rating_cr10 or 0.0)
            self.minutes.setValue(round(session.minutes))
            plan = self.desk.document.season
            mondays = [w.monday for w in weeks_of(plan)] if plan else []
            self.ladder.chosen = sum(monday <= session.on for monday in mondays) - 1
            self.ladder.update()

    # -- changing ----------------------------------------------------------------------------

    def plan(self) -> None:
        """Plan the season from what is asked."""
        wishes = self.form.wishes()
        if wishes is None:
            self.wants.head.setChecked(True)
            self.form.race_name.setFocus()
            self.desk.warn(say("Say when the race is first, then plan"))
            return
        today = self.today()

        previous = self.desk.document.season

        def work(_report: object) -> SeasonPlan:
            return plan_season(wishes, today, previous=previous)

        self.desk.jobs.start(
            "season",
            work,
            on_done=lambda plan: self.desk.apply(
                say("Plan the season"), lambda d: edits.set_season(d, plan)
            ),
            on_failed=self.desk.failed,
        )

    def _change(self, words: str, change: Callable[[SeasonPlan, date], SeasonPlan]) -> None:
        session = self._current()
        if session is not None:
            self._change_on(words, session.on, change)

    def _change_on(
        self, words: str, day: date, change: Callable[[SeasonPlan, date], SeasonPlan]
    ) -> None:
        plan = self.desk.document.season
        if plan is not None:
            after = change(plan, day)
            self.desk.apply(words, lambda d: edits.set_season(d, after))

    def _label(self, what: DayLabel) -> None:
        self._change(say("Label a day"), lambda plan, day: relabel(plan, day, what))

    def _rate(self) -> None:
        felt, minutes = self.rating.value(), float(self.minutes.value())
        self._change(
            say("Note how hard it felt"), lambda plan, day: rate(plan, day, felt, minutes=minutes)
        )

    def _hold(self) -> None:
        loop = self.desk.shown
        if loop is None:
            self.desk.warn(say("Choose a loop in Loops first"))
        else:
            self._hold_loop(loop)

    def _hold_loop(self, loop: SavedLoop) -> None:
        """Hold a loop; one of the last search is kept under a name of its own first."""
        plan, session = self.desk.document.season, self._current()
        if plan is None or session is None:
            return
        named = say("{kind}, {day}", kind=capital(session.kind), day=f"{session.on:%d %b %Y}")
        name = loop.name if self.desk.is_kept(loop) else named
        after = hold_loop(plan, session.on, name)

        def edit(document: Document) -> Document:
            kept = document if self.desk.is_kept(loop) else edits.keep_loop(document, loop, name)
            return edits.set_season(kept, after)

        self.desk.apply(say("Use a loop for a session"), edit)

    def _note_heavy(self, lap_s: float, rims: bool) -> None:  # noqa: FBT001 - called by the fold
        self._change(
            say("Note a heavier bike"),
            lambda plan, day: note_heavy(plan, day, lap_s=lap_s, rims=rims),
        )

    def choose(self, day: date) -> None:
        """Choose a day of the plan."""
        every = QTreeWidgetItemIterator(self.weeks)
        while (item := every.value()) is not None:
            session = item.data(0, Qt.ItemDataRole.UserRole)
            if isinstance(session, Session) and session.on == day:
                self.weeks.setCurrentItem(item)
            every += 1

    def chosen(self) -> tuple[SavedLoop | None, Session | None]:
        """Give the chosen session and its loop, or the loop in view where it holds none."""
        session = self._current()
        return (loop_for(self.desk, session) if session else self.desk.shown), session

    def open_mix(self) -> None:
        """Ask the finder for what the chosen session practises."""
        session = self._current()
        mix = self._mixes.get(session.kind) if session else None
        if mix is None:
            self.desk.warn(say("This session needs no loop of its own"))
            return
        wishes = replace(self.desk.wishes, mix=mix)
        self.desk.apply(
            say("Find a loop for {kind}", kind=mix.name), lambda d: edits.set_wishes(d, wishes)
        )
        self._do("loops")

    def dress(self, look: Look) -> None:
        """Take another look."""
        self.look = self.ladder.look = look
        self.weeks.setFixedHeight(look.px(300))
        self.ground.dress(look)
        self.refresh()


def _week_items(number: int, week: Week, weeks: int) -> list[QTreeWidgetItem]:
    """Give a week, and after it the days below it, each with its session."""
    head = QTreeWidgetItem([week_words(number, week, weeks)])
    head.setToolTip(0, tip(head.text(0)))
    days = [QTreeWidgetItem([day_words(session)]) for session in week.sessions]
    for day, session in zip(days, week.sessions, strict=True):
        day.setData(0, Qt.ItemDataRole.UserRole, session)
        day.setToolTip(0, tip(f"{day.text(0)}\n{session_words(session)}"))
    head.addChildren(days)
    return [head, *days]
