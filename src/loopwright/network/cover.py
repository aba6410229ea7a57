"""Choose the fewest passes that show every line.

Gets aligned samples; gives kept lines: runs of one pass that nothing kept before covers. Each end
of a run that touches a kept line names the sample it touches.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.pairs import across_m
from loopwright.network.plots import Block, Pairs
from loopwright.network.rows import Bools
from loopwright.network.samples import Samples

ACROSS_M = 5.0
"""A kept sample this close across covers: aligned passes of one line lie within 3 m, and lines
8 m apart are still two."""
OWN_ACROSS_M, SOON_M = 3.0, 160.0
"""Within so much riding a receiver's error hardly changes: coming back on the same line, a ride
lies within 3 m of itself, and legs further apart are a hairpin's."""
SHORTEST_RUN_M = 25.0
"""A shorter uncovered run that touches kept lines is a bulge, not a trail."""
FREE_RUN_M = 12.0
"""A run that touches nothing is all there is of a place: kept when it shows a direction."""
HOLE_ROWS = 2
"""Covered holes of so few samples inside an uncovered run do not part it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """Samples ``start`` to ``stop`` (exclusive) of one piece.

    ``head`` and ``tail`` are the kept samples its ends touch, -1 where it touches none.
    """

    start: int
    stop: int
    head: int
    tail: int


def cover(
    samples: Samples,
    xy: Floats,
    head: Floats,
    pairs: Pairs,
    support: Floats,
    *,
    only: Bools | None = None,
) -> list[Run]:
    """Choose runs, the best supported pieces first; ``support`` ``(p,)`` ranks the pieces.

    ``only`` marks the samples ``(n,)`` that runs may be made of; None stands for all.
    """
    book = _Book(samples, xy, head, pairs, only)
    runs: list[Run] = []
    for piece in np.lexsort((np.arange(len(support)), -support)):
        runs += book.take(int(piece))
    return runs


class _Book:
    """Which samples are kept so far, and who covers whom."""

    def __init__(
        self, samples: Samples, xy: Floats, head: Floats, pairs: Pairs, only: Bools | None
    ) -> None:
        """Mark the pairs that cover."""
        self.samples, self.xy, self.head, self.pairs = samples, xy, head, pairs
        self.barred = np.zeros(len(samples), dtype=bool) if only is None else ~only
        self.kept = np.zeros(len(samples), dtype=bool)
        self.covers = np.zeros(len(pairs), dtype=bool)
        for block in pairs.blocks():
            gap = np.abs(across_m(xy, head, block))
            reach = np.where(_soon(samples, block), OWN_ACROSS_M, ACROSS_M)
            self.covers[block.span] = gap <= reach

    def take(self, piece: int) -> list[Run]:
        """Keep what of ``piece`` nothing covers yet.

        A ring ridden many times in one piece is taken lap by lap: a run ends where the piece
        comes back to what the run itself already shows.
        """
        start, stop = int(self.samples.first[piece]), int(self.samples.first[piece + 1])
        runs: list[Run] = []
        at = start
        covered = self._covered(start, stop)
        while (at := _first(~covered, at - start, start)) < stop:
            run = self._run(at, start, stop, covered)
            at = run.stop
            if self._worth(run):
                self.kept[run.start : run.stop] = True
                covered = self._covered(start, stop)
                runs.append(run)
        return runs

    def _covered(self, start: int, stop: int) -> Bools:
        first = self.pairs.first[start : stop + 1]
        rows = self.pairs.span(start, stop)
        hits = self.kept[self.pairs.other[rows]] & self.covers[rows]
        count = np.concatenate(([0], np.cumsum(hits)))
        own = np.diff(count[first - first[0]]) > 0
        return np.asarray(own | self.barred[start:stop])

    def _run(self, at: int, start: int, stop: int, covered: Bools) -> Run:
        end, hole = at + 1, 0
        while end < stop and hole <= HOLE_ROWS:
            hole = hole + 1 if covered[end - start] or self._by_itself(end, at) else 0
            end += 1
        end -= hole
        head = self._touch(at - 1, at) if at > start else -1
        return Run(start=at, stop=end, head=head, tail=self._touch(end, at) if end < stop else -1)

    def _by_itself(self, row: int, since: int) -> bool:
        span = self.pairs.span(row, row + 1)
        other = self.pairs.other[span]
        return bool((self.covers[span] & (other >= since) & (other < row)).any())

    def _touch(self, row: int, since: int) -> int:
        part = self.pairs.block(row, row + 1)
        other, gap = part.j, np.abs(across_m(self.xy, self.head, part))
        use = self.covers[part.span] & (self.kept[other] | ((other >= since) & (other < row)))
        return int(other[use][gap[use].argmin()]) if use.any() else -1

    def _worth(self, run: Run) -> bool:
        size = self.samples.dist[run.stop - 1] - self.samples.dist[run.start]
        touches = run.head >= 0 or run.tail >= 0
        return bool(size >= (SHORTEST_RUN_M if touches else FREE_RUN_M))


def _soon(samples: Samples, block: Block) -> Bools:
    """Mark pairs of one piece that the ride passed soon one after the other."""
    apart = np.abs(samples.dist[block.i] - samples.dist[block.j])
    return np.asarray((samples.piece[block.i] == samples.piece[block.j]) & (apart < SOON_M))


def _first(wanted: Bools, at: int, start: int) -> int:
    """Row of the first wanted place from ``at`` on; one past the end when there is none."""
    rest = np.flatnonzero(wanted[at:])
    return start + at + int(rest[0]) if len(rest) else start + len(wanted)
