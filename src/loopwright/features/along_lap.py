"""Features of a lap in riding order.

Gets a terrain, arcs and the lap's profile; gives numbered features. Climbs and descents are read
from the lap itself, so one that goes on over a junction is one; the rest comes from the stretches
and passages ridden. Steady parts are left out: the card would be full of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from loopwright.features.rises import Rise, climbs, steep_climbs
from loopwright.model.arrays import Floats
from loopwright.model.course import CourseFeature
from loopwright.model.ground import Feature, FeatureKind, Passage, Terrain
from loopwright.model.ids import Arc, StretchId, Way

TOUCH_M = 5.0
"""Parts on both sides of a junction no farther apart than this are one."""
ORDER = tuple(FeatureKind)


def lap_features(
    terrain: Terrain,
    arcs: Sequence[Arc],
    *,
    shift_m: float,
    dist_m: Floats,
    ele_m: Floats,
    closed: bool,
) -> tuple[CourseFeature, ...]:
    """Features in riding order, numbered from 1; the gate lies ``shift_m`` along the arcs."""
    total = float(dist_m[-1])
    placed = _put_together(list(_placed(terrain, arcs, closed=closed)))
    found = [_from_gate(feature, shift_m, total) for feature in placed]
    found += [_rise(rise, dist_m, FeatureKind.CLIMB) for rise in climbs(dist_m, ele_m)]
    found += [_rise(rise, dist_m, FeatureKind.STEEP_CLIMB) for rise in steep_climbs(dist_m, ele_m)]
    found += [_fall(fall, dist_m) for fall in climbs(total - dist_m[::-1], ele_m[::-1])]
    found.sort(key=lambda f: (f.from_m, ORDER.index(f.kind), f.to_m))
    return tuple(replace(feature, number=k + 1) for k, feature in enumerate(found))


_TAKEN = (
    FeatureKind.ROUGH_DESCENT,
    FeatureKind.CORNER,
    FeatureKind.STRAIGHT,
    FeatureKind.FUNNEL,
)


def _placed(terrain: Terrain, arcs: Sequence[Arc], *, closed: bool) -> Iterator[CourseFeature]:
    """Features of stretches and passages at metres along the arcs."""
    by_stretch: dict[StretchId, list[Feature]] = {}
    for feature in terrain.features:
        by_stretch.setdefault(feature.stretch, []).append(feature)
    passages = {(p.before, p.after): p for p in terrain.passages}
    done = 0.0
    for k, (key, way) in enumerate(arcs):
        length = terrain.lengths_m[key]
        passage = passages.get((arcs[k - 1], arcs[k])) if k or closed else None
        if passage is not None:
            yield from _on_passage(passage, done)
            before = terrain.lengths_m[passage.before[0]]
            yield from _funnel(passage, by_stretch, before, done - before)
        for feature in by_stretch.get(key, ()):
            if feature.kind in _TAKEN and feature.way.counts(way):
                yield _on_arc(feature, way, length, done)
        done += length


def _funnel(
    passage: Passage,
    by_stretch: Mapping[StretchId, Sequence[Feature]],
    length: float,
    done: float,
) -> Iterator[CourseFeature]:
    """Give the funnel a passage makes: the last straight of the arc before it."""
    if "funnels" not in passage.amounts:
        return
    key, way = passage.before
    straights = [
        _on_arc(feature, way, length, done)
        for feature in by_stretch.get(key, ())
        if feature.kind is FeatureKind.STRAIGHT
    ]
    yield replace(max(straights, key=lambda f: f.to_m), kind=FeatureKind.FUNNEL)


def _on_passage(passage: Passage, done: float) -> Iterator[CourseFeature]:
    if passage.corner is None:
        return
    corner = passage.corner
    half = corner.to_m - corner.from_m
    yield CourseFeature(
        number=0,
        kind=FeatureKind.CORNER,
        from_m=done - half,
        at_m=done,
        to_m=done + half,
        turn_deg=corner.turn_deg,
        radius_m=corner.radius_m,
        tight=corner.tight,
        banked=corner.banked,
    )


def _on_arc(feature: Feature, way: Way, length: float, done: float) -> CourseFeature:
    ahead = way is Way.FORWARD
    low, at, high = feature.from_m, feature.at_m, feature.to_m
    if not ahead:
        low, at, high = length - high, length - at, length - low
    level = feature.kind in (FeatureKind.STRAIGHT, FeatureKind.FUNNEL)
    return CourseFeature(
        number=0,
        kind=feature.kind,
        from_m=done + low,
        at_m=done + at,
        to_m=done + high,
        turn_deg=feature.turn_deg if ahead else -feature.turn_deg,
        radius_m=feature.radius_m,
        tight=feature.tight,
        banked=feature.banked,
        gain_m=feature.gain_m,
        grade_mean=-feature.grade_mean if level and not ahead else feature.grade_mean,
        grade_max=feature.grade_max,
    )


def _put_together(features: list[CourseFeature]) -> list[CourseFeature]:
    """Join rough descents that go on over a junction."""
    joined: list[CourseFeature] = []
    for feature in features:
        last = next((k for k, f in enumerate(joined) if _same(f, feature)), None)
        if last is None:
            joined.append(feature)
        else:
            joined[last] = _join(joined[last], feature)
    return joined


def _same(before: CourseFeature, after: CourseFeature) -> bool:
    rough = before.kind is after.kind is FeatureKind.ROUGH_DESCENT
    return rough and abs(after.from_m - before.to_m) <= TOUCH_M


def _join(before: CourseFeature, after: CourseFeature) -> CourseFeature:
    fall = before.gain_m + after.gain_m
    length = after.to_m - before.from_m
    return replace(
        before,
        at_m=before.from_m + length / 2,
        to_m=after.to_m,
        gain_m=fall,
        grade_mean=-fall / length,
        grade_max=min(before.grade_max, after.grade_max),
    )


def _from_gate(feature: CourseFeature, shift_m: float, total: float) -> CourseFeature:
    """Seen from the gate; what lies over it is cut off on the side away from its middle."""
    at = (feature.at_m - shift_m) % total
    low, high = at - (feature.at_m - feature.from_m), at + (feature.to_m - feature.at_m)
    return replace(feature, from_m=max(0.0, low), at_m=at, to_m=min(total, high))


def _rise(rise: Rise, dist_m: Floats, kind: FeatureKind) -> CourseFeature:
    low, high = float(dist_m[rise.first]), float(dist_m[rise.last])
    return CourseFeature(
        number=0,
        kind=kind,
        from_m=low,
        at_m=(low + high) / 2,
        to_m=high,
        gain_m=rise.gain_m,
        grade_mean=rise.grade_mean,
        grade_max=rise.grade_max,
    )


def _fall(fall: Rise, dist_m: Floats) -> CourseFeature:
    turned = Rise(
        first=len(dist_m) - 1 - fall.last,
        last=len(dist_m) - 1 - fall.first,
        gain_m=fall.gain_m,
        grade_mean=-fall.grade_mean,
        grade_max=-fall.grade_max,
    )
    return _rise(turned, dist_m, FeatureKind.DESCENT)
