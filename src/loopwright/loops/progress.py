"""What one call of the finder knows so far, and how it tells.

Gets loops and bounds as they come; gives results. Promises: every result told is true at that
moment.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from loopwright.jobs import Report
from loopwright.loops.further import Further
from loopwright.loops.graph import COMPACT_POINTS, FULL, Sheet
from loopwright.loops.score import score_loop
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc
from loopwright.model.loops import FoundLoop, SearchResult
from loopwright.model.wishes import Question

PROVEN_GAP = 0.01
"""Points: 5 m of a 5 km lap. A best loop within this of the bound counts as proven."""

SAME = 1e-9
"""Points that rounding may come to."""


class Stopped(Exception):  # noqa: N818 - an outcome, not an error
    """The time is up, or the caller asked to stop."""


@dataclass(slots=True, kw_only=True)
class Progress:
    """One call's state: the best loop and its bound, then different loops after it."""

    terrain: Terrain
    question: Question
    report: Report
    further: Further
    began: float
    bound: float
    loops: list[FoundLoop] = field(default_factory=list)
    most: dict[str, float] = field(default_factory=dict)

    def tick(self) -> None:
        """Raise Stopped once time is up or the caller asked to stop."""
        if self.report.cancelled() or self.spent() > self.question.wishes.seconds:
            raise Stopped

    def spent(self) -> float:
        """Seconds since the call."""
        return time.monotonic() - self.began

    def place(self, rank: int, arcs: Sequence[Arc]) -> None:
        """Put a loop at ``rank`` (from 1), in place of what stood there unless that was better."""
        loop = scored(self.terrain, self.question, self.further, arcs, rank=rank)
        if rank > 1 or not self.loops or loop.score >= self.loops[0].score - SAME:
            self.loops[rank - 1 :] = [loop]

    def tell(self) -> None:
        """Report all that is known now."""
        self.report.best(self.result())

    def result(self) -> SearchResult:
        """All that is known now; where no loop exists at all, 0 stands for the bound."""
        best = self.loops[0].score if self.loops else -math.inf
        empty = self.bound == -math.inf
        return SearchResult(
            loops=tuple(self.loops),
            bound=0.0 if empty else max(best, self.bound),
            proven=empty or self.bound - best <= PROVEN_GAP + SAME,
            seconds=self.spent(),
            most=dict(self.most),
        )


def highest_score(sheet: Sheet) -> float:
    """Give the score of a loop that meets every target at the shortest length."""
    return FULL + COMPACT_POINTS * float(sheet.rule.room[0]) / FULL


def named(sheet: Sheet, arcs: Sequence[int]) -> tuple[Arc, ...]:
    """Name a loop's arcs, turned so that it begins at the wished start.

    Without a wished start it begins with its first arc in the graph's order, so that one loop is
    always written one way.
    """
    tails = sheet.graph.tail
    starts = [i for i, a in enumerate(arcs) if sheet.start < 0 or int(tails[a]) == sheet.start]
    turn = min(starts, key=lambda i: (*arcs[i:], *arcs[:i]))
    return tuple(sheet.arcs[a] for a in (*arcs[turn:], *arcs[:turn]))


def scored(
    terrain: Terrain, question: Question, further: Further, arcs: Sequence[Arc], *, rank: int = 1
) -> FoundLoop:
    """Score a loop; where the window is in seconds, seconds are priced in place of metres."""
    mix, longest = question.wishes.mix, question.wishes.max_length_m
    loop = score_loop(terrain, mix, max_length_m=longest, arcs=arcs, rank=rank)
    times = further.times
    if times is None:
        return loop
    first = {stretch: i for i, (stretch, _) in reversed(list(enumerate(arcs)))}
    spent = [times.seconds[arc] * (1 if first[arc[0]] == i else 2) for i, arc in enumerate(arcs)]
    return replace(loop, score=FULL * loop.match - COMPACT_POINTS * sum(spent) / times.high_s)
