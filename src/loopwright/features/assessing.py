"""From a network and tags to a terrain: the room's one public function."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from loopwright.features.amounts import amounts_along
from loopwright.features.ground import lay_tags
from loopwright.features.on_stretch import Piece, features_of, piece_of
from loopwright.features.passages import passages_of
from loopwright.features.smoothed import profiles_of
from loopwright.geo.ascent import LEAST_RISE_M, ascent_m
from loopwright.jobs import Report, Silent
from loopwright.model.ground import Feature, Profile, Tag, Terrain
from loopwright.model.ids import Arc, StretchId, Way
from loopwright.model.network import Network


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
    told = report or Silent()
    told.step(0.0, "smoothing heights and lines")
    profiles = profiles_of(network, told)
    spans, unfit = lay_tags(network, tags, plan_for=plan_for, report=told)
    pieces = {s.id: piece_of(s, profiles[s.id], spans[s.id]) for s in network.stretches}
    features = _features(pieces, told)
    return Terrain(
        network=network,
        spans=spans,
        features=tuple(f for row in features.values() for f in row),
        passages=passages_of(network, pieces, features, told),
        lengths_m={key: piece.length_m for key, piece in pieces.items()},
        ascents_m=_ascents(profiles),
        amounts={
            (key, way): amounts_along(piece, features[key], way)
            for key, piece in pieces.items()
            for way in Way
        },
        unfit=unfit,
        profiles=profiles,
    )


def _features(pieces: dict[StretchId, Piece], report: Report) -> dict[StretchId, list[Feature]]:
    found = {}
    for done, (key, piece) in enumerate(pieces.items()):
        report.check()
        report.step(0.2 + 0.6 * done / len(pieces), "finding features")
        found[key] = features_of(piece)
    return found


def _ascents(profiles: dict[StretchId, Profile]) -> dict[Arc, float]:
    """Metres risen along every arc, in rises of at least ``LEAST_RISE_M``."""
    ascents: dict[Arc, float] = {}
    for key, profile in profiles.items():
        known = bool(np.isfinite(profile.ele_m).all())
        ele = profile.ele_m.tolist() if known else []
        ascents[key, Way.FORWARD] = ascent_m(ele, least_m=LEAST_RISE_M)
        ascents[key, Way.BACKWARD] = ascent_m(ele[::-1], least_m=LEAST_RISE_M)
    return ascents
