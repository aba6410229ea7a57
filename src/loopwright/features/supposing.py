"""What if unknown ground were of some kind.

Gets a terrain and what to suppose; gives the terrain as it would then be. Unknown is unknown, not
smooth: this is how far a score could rise once somebody has looked.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from loopwright.features.amounts import amounts_along
from loopwright.features.on_stretch import features_of, piece_of
from loopwright.features.passages import passages_of
from loopwright.jobs import Silent
from loopwright.model.ground import Feature, GroundSpan, Terrain
from loopwright.model.ids import StretchId, Way


def untagged_m(terrain: Terrain, stretch: StretchId) -> float:
    """Metres of a stretch of which neither surface nor roughness is known."""
    return sum(s.to_m - s.from_m for s in terrain.spans[stretch] if _untagged(s))


def _untagged(span: GroundSpan) -> bool:
    return span.surface == "unknown" and span.roughness == "unknown" and not span.roots


def supposing_rough(terrain: Terrain, stretches: Collection[StretchId]) -> Terrain:
    """Give the terrain with all untagged ground of ``stretches`` rough."""
    return supposing(terrain, stretches, roughness="bad")


def supposing(
    terrain: Terrain,
    stretches: Collection[StretchId],
    *,
    surface: str | None = None,
    roughness: str | None = None,
    width: str | None = None,
) -> Terrain:
    """Give the terrain with unknown words of ``stretches`` replaced by those given."""
    words = (surface, roughness, width)
    chosen = set(stretches)
    spans = {
        key: tuple(_with(span, *words) for span in row) if key in chosen else row
        for key, row in terrain.spans.items()
    }
    return _again(terrain, spans, {key for key in chosen if spans[key] != terrain.spans[key]})


def _with(
    span: GroundSpan, surface: str | None, roughness: str | None, width: str | None
) -> GroundSpan:
    # Ground whose surface somebody saw is not supposed rough behind their back.
    unseen = span.roughness == "unknown" and (_untagged(span) or surface is not None)
    return replace(
        span,
        surface=surface if surface and span.surface == "unknown" else span.surface,
        roughness=roughness if roughness and unseen else span.roughness,
        width=width if width and span.width == "unknown" else span.width,
    )


def _again(
    terrain: Terrain,
    spans: dict[StretchId, tuple[GroundSpan, ...]],
    changed: set[StretchId],
) -> Terrain:
    """Find features and amounts of the changed stretches anew."""
    if not changed:
        return terrain
    pieces = {
        s.id: piece_of(s, terrain.profiles[s.id], spans[s.id]) for s in terrain.network.stretches
    }
    features: dict[StretchId, list[Feature]] = {key: [] for key in pieces}
    for feature in terrain.features:
        features[feature.stretch].append(feature)
    features |= {key: features_of(pieces[key]) for key in sorted(changed)}
    amounts = dict(terrain.amounts)
    for key in changed:
        for way in Way:
            amounts[key, way] = amounts_along(pieces[key], features[key], way)
    return replace(
        terrain,
        spans=spans,
        features=tuple(f for row in features.values() for f in row),
        passages=passages_of(terrain.network, pieces, features, Silent()),
        amounts=amounts,
    )
