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
from loopwright.loops.further import FREE, Further
from loopwright.loops.progress import scored
from loopwright.loops.score import repeated_m
from loopwright.model.ground import Terrain
from loopwright.model.loops import FoundLoop, SearchResult
from loopwright.model.wishes import Question

STEPS = 6


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
    further: Further = FREE,
    report: Report | None = None,
) -> tuple[Offer, ...]:
    """Give the front, shortest first.

    ``most_repeats`` is how many stretches ridden again to look at, by default what is wished.
    A cancelled search gives what it has.
    """
    told = report or Silent()
    wishes = question.wishes
    repeats = range((wishes.repeats if most_repeats is None else most_repeats) + 1)
    shares = np.linspace(_least_share(question, further), 1.0, STEPS + 1)[1:]
    offers: list[Offer] = []
    for done, (again, share) in enumerate((r, float(c)) for r in repeats for c in shares):
        if told.cancelled():
            break
        told.step(done / (len(repeats) * STEPS), "weighing match against length")
        narrow, hurried = _narrowed(question, again, share), _hurried(further, share)
        result = find_loops(terrain, narrow, further=hurried, report=_Hushed(told))
        offers.extend(_offers(terrain, question, further, result))
    return front_of(offers)


@dataclass(frozen=True, slots=True)
class _Hushed(Silent):
    """Passes on only whether to stop: the best of one part is not the best of all."""

    told: Report

    def cancelled(self) -> bool:
        return self.told.cancelled()


def _least_share(question: Question, further: Further) -> float:
    """Give the least lap as a share of the greatest, in metres or seconds."""
    if further.times is not None:
        return further.times.low_s / further.times.high_s
    return question.wishes.min_length_m / question.wishes.max_length_m


def _narrowed(question: Question, repeats: int, share: float) -> Question:
    """Ask for one lap of at most ``share`` of the greatest length, in its part of the time."""
    wishes = question.wishes
    cap = max(wishes.min_length_m, share * wishes.max_length_m)
    part = wishes.seconds / STEPS
    return replace(
        question,
        wishes=replace(wishes, max_length_m=cap, repeats=repeats, count=1, seconds=part),
    )


def _hurried(further: Further, share: float) -> Further:
    times = further.times
    if times is None:
        return further
    high_s = max(times.low_s, share * times.high_s)
    return replace(further, times=replace(times, high_s=high_s))


def _offers(
    terrain: Terrain, question: Question, further: Further, result: SearchResult
) -> Iterable[Offer]:
    for found in result.loops:
        loop = scored(terrain, question, further, found.arcs)
        yield Offer(loop=loop, repeated_m=repeated_m(terrain, loop.arcs), proven=result.proven)


def front_of(offers: Iterable[Offer]) -> tuple[Offer, ...]:
    """Leave out offers that another beats or equals in match, length and repeats.

    They are taken by falling match: what came before matches no worse.
    """
    front: list[Offer] = []
    order = sorted(offers, key=lambda o: (-o.loop.match, o.loop.length_m, o.repeated_m))
    for offer in order:
        if not any(_no_longer(other, offer) for other in front):
            front.append(offer)
    return tuple(sorted(front, key=lambda o: (o.loop.length_m, -o.loop.match)))


def _no_longer(one: Offer, other: Offer) -> bool:
    return one.loop.length_m <= other.loop.length_m and one.repeated_m <= other.repeated_m
