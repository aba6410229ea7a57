"""Ground along every stretch, from dated tags.

Gets tags anchored to lines on the ground; gives spans per stretch that cover it without gap or
overlap. Whose word holds, from weakest to strongest: an open map before the user; undated words
before dated ones; dated words as ``_age`` says. Each attribute is decided by itself, and words a
tag leaves out leave what was known.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import pairwise

from loopwright.geo import polyline
from loopwright.geo.follow import Followed, Follower
from loopwright.geo.frame import to_local
from loopwright.jobs import Report, watched
from loopwright.model.ground import GroundSpan, Tag
from loopwright.model.ids import StretchId
from loopwright.model.network import Network

TAG_WITHIN_M = 15.0
"""Farther from its trail than this a tag does not fit: about three times a poor ride's error."""
SNAP_M = 8.0
"""A tag that ends this near a stretch's end reaches it; junctions move a little in a rebuild."""
FRESH_DAYS = 45
SEASON_DAYS = 45

Spans = dict[StretchId, tuple[GroundSpan, ...]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Placed:
    """Tags of one network with the parts of stretches they lie along.

    ``by_tag`` goes by the identity of a tag, which it holds; ``follower`` finds more.
    """

    by_tag: Mapping[int, tuple[Tag, tuple[Followed, ...]]] = field(default_factory=dict)
    follower: Follower | None = None


def place_tags(network: Network, tags: Sequence[Tag], *, known: Placed, report: Report) -> Placed:
    """Find the place of every tag on ``network``; that of ``known`` ones is taken as it is."""
    by_tag = {id(tag): known.by_tag[id(tag)] for tag in tags if id(tag) in known.by_tag}
    new = [tag for tag in tags if id(tag) not in by_tag]
    follower = known.follower
    for tag in watched(new, report.check):
        follower = follower or Follower([s.xy for s in network.stretches], within_m=TAG_WITHIN_M)
        line = to_local(network.origin, tag.line[:, 1], tag.line[:, 0])
        by_tag[id(tag)] = (tag, follower.follow(line, check=report.check))
    return Placed(by_tag=by_tag, follower=follower)


def lay_tags(
    network: Network, tags: Sequence[Tag], *, plan_for: date | None, placed: Placed
) -> tuple[Spans, tuple[Tag, ...]]:
    """Spans for every stretch, and the tags that find no place."""
    lengths = [polyline.length_m(s.xy) for s in network.stretches]
    spans = [[GroundSpan(from_m=0.0, to_m=length)] for length in lengths]
    unfit: list[Tag] = []
    for tag in in_order(tags, plan_for=plan_for):
        laid = False
        for part in placed.by_tag[id(tag)][1]:
            before = spans[part.index]
            spans[part.index] = _painted(before, part, tag)
            laid = laid or spans[part.index] is not before
        if not laid:
            unfit.append(tag)
    ids = [s.id for s in network.stretches]
    return {key: tuple(_merged(row)) for key, row in zip(ids, spans, strict=True)}, tuple(unfit)


def in_order(tags: Sequence[Tag], *, plan_for: date | None) -> list[Tag]:
    """Tags that count on ``plan_for``, the strongest last."""
    count = [tag for tag in tags if not (plan_for and tag.on and tag.on > plan_for)]
    return sorted(count, key=lambda tag: (not tag.source, _age(tag.on, plan_for)))


def _age(on: date | None, plan_for: date | None) -> tuple[int, int]:
    """How much dated words weigh: a higher pair holds against a lower.

    Undated words are the ground's usual state. Without ``plan_for`` the newest words hold. With
    it, words of the last weeks come first, then the same season of earlier years, then the rest;
    within each the newest.
    """
    if on is None:
        return (0, 0)
    if plan_for is None:
        return (1, on.toordinal())
    past = (plan_for - on).days
    apart = abs((plan_for.timetuple().tm_yday - on.timetuple().tm_yday + 182) % 365 - 182)
    rank = 3 if past <= FRESH_DAYS else 2 if apart <= SEASON_DAYS else 1
    return (rank, on.toordinal())


def _painted(spans: list[GroundSpan], part: Followed, tag: Tag) -> list[GroundSpan]:
    """Lay a tag over its part of a stretch; gives the spans themselves where that is too short."""
    total = spans[-1].to_m
    low = 0.0 if part.from_m <= SNAP_M else part.from_m
    high = total if part.to_m >= total - SNAP_M else part.to_m
    if total > 2 * SNAP_M and high - low < SNAP_M:
        return spans
    painted = []
    for span in spans:
        cuts = sorted(
            {span.from_m, span.to_m, *(c for c in (low, high) if span.from_m < c < span.to_m)}
        )
        for start, stop in pairwise(cuts):
            piece = replace(span, from_m=start, to_m=stop)
            painted.append(_said(piece, tag) if low <= start and stop <= high else piece)
    return painted


def _said(span: GroundSpan, tag: Tag) -> GroundSpan:
    keys = ("surface", "roughness", "width", "banked", "roots", "obstacles")
    words = {key: getattr(tag, key) for key in keys if getattr(tag, key) is not None}
    return replace(span, **words)


def _merged(spans: list[GroundSpan]) -> list[GroundSpan]:
    merged = [spans[0]]
    for span in spans[1:]:
        if replace(span, from_m=merged[-1].from_m) == replace(merged[-1], to_m=span.to_m):
            merged[-1] = replace(merged[-1], to_m=span.to_m)
        else:
            merged.append(span)
    return merged


def metres(
    spans: Sequence[GroundSpan], from_m: float, to_m: float
) -> list[tuple[GroundSpan, float]]:
    """Each span that reaches into ``from_m`` .. ``to_m``, with how many metres of it."""
    shares = [(span, min(span.to_m, to_m) - max(span.from_m, from_m)) for span in spans]
    return [(span, share) for span, share in shares if share > 0]


def span_at(spans: Sequence[GroundSpan], at_m: float) -> GroundSpan:
    """Ground at a place; the ends hold beyond the stretch."""
    return next((span for span in spans if at_m < span.to_m), spans[-1])
