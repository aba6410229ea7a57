"""Which ground to look at next.

Gets a terrain and a way to score it; gives the untagged stretches whose tagging could change the
best loop most. Promises: never more searches than ``tries`` and two.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import TypeAlias

from loopwright.features.supposing import supposing_rough, untagged_m
from loopwright.jobs import Report, Silent
from loopwright.model.ground import FeatureKind, Terrain
from loopwright.model.ids import StretchId, Way

Supposing: TypeAlias = Callable[[Terrain, Collection[StretchId]], Terrain]
"""Gives the terrain as it would be if untagged ground of some stretches were what is hoped."""
WORTH = 0.01
"""Scores closer than this are alike: the search proves to 0.01."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TagNext:
    """A stretch worth a look: how far the best score could rise by it alone."""

    stretch: StretchId
    gain: float
    untagged_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """Best score now, best score if all untagged ground were rough, and what to look at."""

    now: float
    at_most: float
    stretches: tuple[TagNext, ...]


def what_to_tag(
    terrain: Terrain,
    *,
    best: Callable[[Terrain], float],
    suppose: Supposing = supposing_rough,
    tries: int = 12,
    report: Report | None = None,
) -> Outlook:
    """Rank untagged stretches by what ``best`` of the terrain could gain from them.

    ``suppose`` says what untagged ground might turn out to be: rough, unless told otherwise.
    Stretches alone are tried in the order of how much untagged descent they hold; those that add
    nothing alone are left out.
    """
    told = report or Silent()
    now = best(terrain)
    order = candidates(terrain)
    at_most = best(suppose(terrain, order)) if order else now
    if at_most - now < WORTH:
        return Outlook(now=now, at_most=max(now, at_most), stretches=())
    found = []
    for done, stretch in enumerate(order[:tries]):
        told.check()
        told.step(done / min(tries, len(order)), "weighing untagged stretches")
        gain = best(suppose(terrain, [stretch])) - now
        if gain >= WORTH:
            length = untagged_m(terrain, stretch)
            found.append(TagNext(stretch=stretch, gain=gain, untagged_m=length))
    found.sort(key=lambda item: (-item.gain, item.stretch))
    return Outlook(now=now, at_most=at_most, stretches=tuple(found))


def candidates(terrain: Terrain) -> list[StretchId]:
    """Stretches with untagged ground, most untagged descent first, then most untagged metres."""
    fall = dict.fromkeys(terrain.spans, 0.0)
    for feature in terrain.features:
        if feature.kind is FeatureKind.DESCENT:
            fall[feature.stretch] += feature.to_m - feature.from_m
    untagged = {key: untagged_m(terrain, key) for key in terrain.spans}
    some = [key for key, length in untagged.items() if length > 0]
    return sorted(some, key=lambda key: (-_share(terrain, key, fall), -untagged[key], key))


def _share(terrain: Terrain, stretch: StretchId, fall: dict[StretchId, float]) -> float:
    known = max(terrain.amounts[stretch, way].get("rough_descent_m", 0.0) for way in Way)
    return max(0.0, fall[stretch] - known)
