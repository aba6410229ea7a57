"""The trade-off between match, length and repeats, shown rather than hidden.

Gets a terrain and a question; gives loops none of which is beaten in all three by another.
Promises: each is the best loop under its own longest lap and number of repeats, proven or said not
to be.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from loopwright.jobs import Report, Silent
from loopwright.loops.find import find_loops
from loopwright.loops.score import repeated_m, score_loop
from loopwright.model.ground import Terrain
from loopwright.model.loops import FoundLoop
from loopwright.model.wishes import Question

STEPS = 6
LEAST_MATCH = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One loop of the front, scored under the whole question."""

    loop: FoundLoop
    repeated_m: float
    proven: bool


def trade_off(
    terrain: Terrain,
    question: Question,
    *,
    most_repeats: int | None = None,
    report: Report | None = None,
) -> tuple[Offer, ...]:
    """Give the front, shortest first.

    ``most_repeats`` is how many stretches ridden again to look at, by default what is wished.
    A cancelled search gives what it has.
    """
    told = report or Silent()
    wishes = question.wishes
    repeats = range((wishes.repeats if most_repeats is None else most_repeats) + 1)
    caps = np.linspace(wishes.min_length_m, wishes.max_length_m, STEPS + 1)[1:]
    offers: list[Offer] = []
    for done, (again, cap) in enumerate((r, float(c)) for r in repeats for c in caps):
        if told.cancelled():
            break
        told.step(done / (len(repeats) * STEPS), "weighing match against length")
        offers.extend(_offer(terrain, question, again, cap))
    return front_of(offers)


def _offer(terrain: Terrain, question: Question, repeats: int, cap: float) -> Iterable[Offer]:
    part = question.wishes.seconds / STEPS
    narrow = replace(question.wishes, max_length_m=cap, repeats=repeats, count=1, seconds=part)
    result = find_loops(terrain, replace(question, wishes=narrow))
    for found in result.loops:
        loop = score_loop(
            terrain, narrow.mix, max_length_m=question.wishes.max_length_m, arcs=found.arcs
        )
        yield Offer(loop=loop, repeated_m=repeated_m(terrain, loop.arcs), proven=result.proven)


def front_of(offers: Iterable[Offer]) -> tuple[Offer, ...]:
    """Leave out offers that another beats or equals in match, length and repeats."""
    front: list[Offer] = []
    order = sorted(offers, key=lambda o: (-o.loop.match, o.loop.length_m, o.repeated_m))
    for offer in order:
        if not any(_covers(other, offer) for other in front):
            front.append(offer)
    return tuple(sorted(front, key=lambda o: (o.loop.length_m, -o.loop.match)))


def _covers(one: Offer, other: Offer) -> bool:
    return (
        one.loop.match >= other.loop.match - LEAST_MATCH
        and one.loop.length_m <= other.loop.length_m
        and one.repeated_m <= other.repeated_m
    )
