"""The Loops place: what is wanted, where, and the loops on offer.

Gets a desk, gives changed wishes and picked loops. Promises: every change is one named step that
can be undone, and the search starts by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QSplitter

from loopwright import edits, units
from loopwright.app.candidates import Candidates, Offer
from loopwright.app.desk import Candidate, Desk
from loopwright.app.ground_state import GroundState
from loopwright.app.lap_window import LapWindow
from loopwright.app.look import Look
from loopwright.app.loop_words import out_of_reach
from loopwright.app.mix_rows import MixRows
from loopwright.app.parts import Choice, Column, Fold, button, label, row
from loopwright.app.words import capital, count, say
from loopwright.card.words import date_words
from loopwright.geo.ascent import LEAST_RISE_M
from loopwright.loops import scaled_to
from loopwright.loops.graph import COMPACT_POINTS
from loopwright.model.wishes import Mix, Wishes
from loopwright.units import Units

if TYPE_CHECKING:
    from loopwright.reporting import LoopFacts


class LoopsPlace(QSplitter):
    """The left column while designing loops."""

    def __init__(
        self, desk: Desk, look: Look, *, mixes: Sequence[Mix], do: Callable[[str], None]
    ) -> None:
        super().__init__(Qt.Orientation.Vertical)
        self.setAccessibleName(say("Loops"))
        self.setHandleWidth(1)
        self.setChildrenCollapsible(False)
        self.desk, self.look, self._built_in, self._do = desk, look, tuple(mixes), do

    def build(self) -> Iterator[None]:
        """Put in what stands here, piece by piece."""
        look, do = self.look, self._do
        self.sessions = Choice()
        self.rows = MixRows(look)
        yield
        self.lap = LapWindow()
        self.state = GroundState()
        self.where = label("", "soft")
        self.free = button(say("Free these"), lambda: do("free_wishes"))
        self.found = Candidates(look, say("Loops found"))
        self.kept = Candidates(look, say("Loops kept"))
        self.told = label("", "soft")
        yield
        yield from self._lay_out()
        yield
        self._connect()
        self.refresh()

    def _lay_out(self) -> Iterator[None]:
        wants, offers = Column(say("What I want")), Column(say("Loops on offer"))
        for column, share in ((wants, 3), (offers, 2)):
            self.addWidget(column)
            self.setStretchFactor(self.count() - 1, share)
        want = Fold(say("What I want to practise"))
        self.sessions.setAccessibleName(say("Session"))
        race = button(say("Copy what a race lap asks…"), lambda: self._do("copy_race"))
        want.add(self.sessions, self.rows, race)
        lap = Fold(say("The lap"))
        lap.add(self.lap, self.state, self.where, self.free)
        wants.add(want, lap)
        yield
        self.found_fold = Fold(say("Loops found"))
        self.side = button(say("Side by side"), lambda: self._do("compare"))
        self.weigh = button(say("Length against match…"), lambda: self._do("trade_off"))
        self.less = button(say("Ask only for what there is"), self._ask_less)
        self.found_fold.add(self.told, self.less, self.found)
        self.found_fold.lines.addLayout(row(self.side, self.weigh, stretch=1))
        self.scale = label("", "faint")
        self.kept_fold = Fold(say("Loops kept"))
        self.kept_fold.add(self.kept)
        yield
        offers.add(self.found_fold, self.kept_fold, self.scale)
        wants.close_up()
        offers.close_up()

    def _connect(self) -> None:
        desk = self.desk
        desk.document_changed.connect(desk.turns.in_view_first(self, self.refresh))
        found = desk.turns.of(self._show_found)
        for signal in (desk.candidates_changed, desk.shown_changed, desk.plan_changed,
                       desk.facts.changed):  # fmt: skip
            signal.connect(found)
        self.sessions.activated.connect(self._session_picked)
        self.rows.mixed.connect(self._mixed)
        self.lap.wished.connect(self._wish)
        self.state.wished.connect(self._plan_for)
        self.found.currentRowChanged.connect(lambda _r: self._picked(self.found))
        self.kept.currentRowChanged.connect(lambda _r: self._picked(self.kept))

    def dress(self, look: Look) -> None:
        """Take another look."""
        self.look = look
        self.rows.dress(look)
        for offers in (self.found, self.kept):
            offers.dress(look)
        self.refresh()

    # -- showing -----------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the document's wishes."""
        wishes = self.desk.wishes
        self._show_sessions(wishes.mix)
        self.rows.show_mix(wishes.mix)
        self.lap.show_wishes(wishes, self.look.units)
        least = units.small(LEAST_RISE_M, self.look.units)
        self.scale.setText(
            say("Metres up are rises of {least} or more, added together.", least=least)
        )
        self.state.show_document(self.desk.document)
        self._show_where(wishes)
        self._show_found()

    def _show_sessions(self, mix: Mix) -> None:
        names = [m.name for m in self._mixes()]
        if [self.sessions.itemData(i) for i in range(self.sessions.count())] != names:
            self.sessions.clear()
            for name in names:
                self.sessions.addItem(say(name), name)
        if mix.name in names:
            self.sessions.setCurrentIndex(names.index(mix.name))

    def _mixes(self) -> tuple[Mix, ...]:
        own = self.desk.document.mixes
        have = (
            *self._built_in,
            *(m for m in own if m.name not in {b.name for b in self._built_in}),
        )
        mix = self.desk.wishes.mix
        return have if any(m.name == mix.name for m in have) else (*have, mix)

    def _show_where(self, wishes: Wishes) -> None:
        parts = [say("Starts where you chose") if wishes.start else say("May start anywhere")]
        if wishes.must:
            parts.append(
                count(len(wishes.must), "1 stretch must be in", "{n} stretches must be in")
            )
        if wishes.avoid:
            parts.append(count(len(wishes.avoid), "1 kept out", "{n} kept out"))
        self.where.setText(". ".join(parts) + ". " + say("Click a stretch on the map to say more."))
        self.free.setVisible(bool(wishes.start or wishes.must or wishes.avoid))

    def _show_found(self) -> None:
        desk = self.desk
        self.found.show_offers([self._offer(c) for c in desk.candidates], desk.shown)
        for part in (self.found, self.side, self.weigh, self.scale):
            part.setVisible(bool(desk.candidates))
        kept = [Candidate(loop=loop) for loop in desk.document.kept]
        self.kept.show_offers([self._offer(c) for c in kept], desk.shown)
        self.kept_fold.setVisible(bool(kept))
        self.told.setText(self._told())
        self.told.setVisible(bool(self.told.text()))
        self.less.setVisible(bool(desk.candidates and self.told.text()))
        shown = next((c for c in desk.candidates if c.loop is desk.shown), None)
        facts = desk.facts.of(desk.shown) if desk.shown else None
        have = shown.found.amounts if shown and shown.found else {}
        have = facts.judged.amounts if facts and not have else have
        self.rows.show_amounts(have, desk.result.most if desk.result else {})

    def _told(self) -> str:
        desk = self.desk
        if not desk.document.rides:
            return say("Import your rides first: the finder works on your own trails.")
        if desk.candidates:
            return out_of_reach(desk.result, desk.wishes.mix, self.look.units)
        return say("Searching…") if not desk.at_rest else say("No loop fits these wishes.")

    def _offer(self, candidate: Candidate) -> Offer:
        loop, found, look = candidate.loop, candidate.found, self.look.units
        title = capital(loop.name)
        if loop.match > 0:
            match = units.percent(loop.match)
            title = say("{name} · {match} of the mix", name=title, match=match)
        facts = self.desk.facts.of(loop)
        measures = facts or found
        lines = []
        if measures is not None:
            length = units.distance(measures.length_m, look)
            climb = units.short(measures.ascent_m, look)
            lines.append(say("{length}, {climb} up", length=length, climb=climb))
        if facts is not None:
            lines.append(self._more(facts))
            if facts.repeated_m > 0:
                lines.append(self._again(facts))
        return Offer(loop=loop, title=title, lines=tuple(lines))

    def _again(self, facts: LoopFacts) -> str:
        metres = units.short(facts.repeated_m, self.look.units)
        points = 2 * COMPACT_POINTS * facts.repeated_m / facts.loop.wishes.max_length_m
        return say("{metres} again, which costs {n} points", metres=metres, n=f"{points:.1f}")

    def _more(self, facts: LoopFacts) -> str:
        imperial = self.look.units is Units.IMPERIAL
        each = facts.density_per_km * (units.MILE_M / 1000 if imperial else 1.0)
        dense = say("{n} features/mile" if imperial else "{n} features/km", n=f"{each:.1f}")
        if facts.lap_time_s is None:
            return dense
        time = units.duration(facts.lap_time_s)
        return say("about {time} a lap, {dense}", time=time, dense=dense)

    # -- changing ----------------------------------------------------------------------------

    def _wish(self, words: str, wishes: Wishes) -> None:
        self.desk.apply(words, lambda document: edits.set_wishes(document, wishes))

    def _plan_for(self, on: date | None) -> None:
        settings = replace(self.desk.document.settings, plan_for=on)
        words = (
            say("Plan for the ground of {day}", day=date_words(on)) if on
            else say("Plan for the newest ground words")
        )  # fmt: skip
        self.desk.apply(words, lambda document: edits.set_settings(document, settings))

    def _session_picked(self, place: int) -> None:
        mix = self._mixes()[place]
        self._wish(say("Session {name}", name=mix.name), replace(self.desk.wishes, mix=mix))

    def _mixed(self, mix: Mix) -> None:
        self._wish(say("Change the mix"), replace(self.desk.wishes, mix=mix))

    def _ask_less(self) -> None:
        """Ask for no more than the ground can give."""
        desk = self.desk
        if desk.result is not None:
            mix = scaled_to(desk.wishes.mix, desk.result.most)
            self._mixed(mix)

    def _picked(self, where: Candidates) -> None:
        offer = where.offer()
        if offer is not None and offer.loop is not self.desk.shown:
            self.desk.show_loop(offer.loop)
