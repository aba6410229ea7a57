"""From a network and tags to a terrain: the room's one public function.

What one assessment worked out the next of the same network takes over: smoothed stretches, the
places of tags, and all of the stretches whose ground is the same. Promises: what is taken over is
what would be worked out anew.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from loopwright.features.amounts import amounts_along
from loopwright.features.ground import Placed, Spans, lay_tags, place_tags
from loopwright.features.on_stretch import Piece, features_of, piece_of
from loopwright.features.passages import Pairs, by_pair, in_order
from loopwright.features.smoothed import profiles_of
from loopwright.geo.ascent import LEAST_RISE_M, ascent_m
from loopwright.jobs import Report, Silent, watched
from loopwright.model.ground import Amounts, Feature, Profile, Tag, Terrain
from loopwright.model.ids import Arc, StretchId, Way
from loopwright.model.network import Network

Features = Mapping[StretchId, Sequence[Feature]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Assessed:
    """A terrain, and what the next assessment of its network can take over."""

    terrain: Terrain
    placed: Placed
    pieces: Mapping[StretchId, Piece]
    features: Features
    pairs: Pairs


def assess(
    network: Network,
    tags: Sequence[Tag] = (),
    *,
    plan_for: date | None = None,
    report: Report | None = None,
) -> Terrain:
    """Find the features and amounts of ``network``.

    ``tags`` say what the ground is; of dated ones those hold that fit ``plan_for``, see
    docs/features.md. Tags that find no place are listed in the terrain's ``unfit``. Allowed ways
    are left to the search. Raises Cancelled when ``report`` says so.
    """
    return assess_again(network, tags, plan_for=plan_for, before=None, report=report).terrain


def assess_again(
    network: Network,
    tags: Sequence[Tag],
    *,
    plan_for: date | None,
    before: Assessed | None,
    report: Report | None = None,
) -> Assessed:
    """Assess ``network`` as ``assess`` does, after it was assessed with other tags.

    ``before`` counts only where its network is this very one.
    """
    told = report or Silent()
    told.step(0.0, "smoothing heights and lines")
    old = before if before is not None and before.terrain.network is network else None
    profiles = old.terrain.profiles if old else profiles_of(network, told)
    placed = place_tags(network, tags, known=old.placed if old else Placed(), report=told)
    spans, unfit = lay_tags(network, tags, plan_for=plan_for, placed=placed)
    kept = _kept(old, spans)
    pieces = {
        s.id: kept.pieces.get(s.id) or piece_of(s, profiles[s.id], spans[s.id])
        for s in watched(network.stretches, told.check)
    }
    features = _features(pieces, kept.features, told)
    pairs = by_pair(network, pieces, features, told, kept.pairs)
    terrain = Terrain(
        network=network,
        spans=spans,
        features=tuple(f for row in features.values() for f in row),
        passages=in_order(pairs),
        lengths_m={key: piece.length_m for key, piece in pieces.items()},
        ascents_m=old.terrain.ascents_m if old else _ascents(profiles, told),
        amounts=_amounts(pieces, features, kept.amounts, told),
        unfit=unfit,
        profiles=profiles,
    )
    return Assessed(terrain=terrain, placed=placed, pieces=pieces, features=features, pairs=pairs)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Kept:
    """All of the stretches whose ground is what it was."""

    pieces: Mapping[StretchId, Piece] = field(default_factory=dict)
    features: Features = field(default_factory=dict)
    pairs: Pairs = field(default_factory=dict)
    amounts: Mapping[Arc, Amounts] = field(default_factory=dict)


def _kept(old: Assessed | None, spans: Spans) -> _Kept:
    if old is None:
        return _Kept()
    same = {key for key, row in spans.items() if row == old.terrain.spans[key]}
    return _Kept(
        pieces={key: old.pieces[key] for key in same},
        features={key: old.features[key] for key in same},
        pairs={(a, b): row for (a, b), row in old.pairs.items() if {a[0], b[0]} <= same},
        amounts={arc: row for arc, row in old.terrain.amounts.items() if arc[0] in same},
    )


def _features(pieces: Mapping[StretchId, Piece], kept: Features, report: Report) -> Features:
    found: dict[StretchId, Sequence[Feature]] = {}
    for done, (key, piece) in enumerate(pieces.items()):
        report.check()
        report.step(0.2 + 0.6 * done / len(pieces), "finding features")
        found[key] = kept[key] if key in kept else features_of(piece)
    return found


def _amounts(
    pieces: Mapping[StretchId, Piece],
    features: Features,
    kept: Mapping[Arc, Amounts],
    report: Report,
) -> Mapping[Arc, Amounts]:
    arcs = ((key, way) for key in watched(pieces, report.check) for way in Way)
    return {
        (key, way): kept[key, way]
        if (key, way) in kept
        else amounts_along(pieces[key], features[key], way)
        for key, way in arcs
    }


def _ascents(profiles: Mapping[StretchId, Profile], report: Report) -> dict[Arc, float]:
    """Metres risen along every arc, in rises of at least ``LEAST_RISE_M``."""
    ascents: dict[Arc, float] = {}
    for key, profile in watched(profiles.items(), report.check):
        known = bool(np.isfinite(profile.ele_m).all())
        ele = profile.ele_m.tolist() if known else []
        ascents[key, Way.FORWARD] = ascent_m(ele, least_m=LEAST_RISE_M)
        ascents[key, Way.BACKWARD] = ascent_m(ele[::-1], least_m=LEAST_RISE_M)
    return ascents
