"""Roughness suggested by how riders slow down.

Gets rides and a terrain; gives, per stretch, how fast it was ridden against what the same rider
does on such a grade elsewhere, and a word that might fit. Only ever a suggestion: mud, traffic and
caution slow riders as well.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.geo import polyline
from loopwright.model.arrays import Floats
from loopwright.model.ground import FeatureKind, Terrain
from loopwright.model.ids import RideId, StretchId, Way
from loopwright.model.network import Pass, Stretch
from loopwright.model.track import CleanTrack

BIN_M = 20.0
GRADES = np.array([-0.30, -0.12, -0.08, -0.05, -0.03, -0.01, 0.01, 0.03])
"""Edges of grade classes; uphill, strength hides what the ground does."""
CORNER_CLEAR_M = 15.0
LEAST_PASSES = 2
LEAST_BINS = 4
SLOW = ((0.55, "very_bad"), (0.75, "bad"))
"""Share of the usual speed below which a word is suggested (our own choice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestion:
    """``word`` might be the roughness: riders went at ``speed_share`` of their usual speed."""

    word: str
    speed_share: float
    passes: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Seen:
    """Speeds of one pass in bins along a stretch: ``grade_class`` and ``speed_mps`` ``(k,)``."""

    stretch: StretchId
    ride: RideId
    grade_class: Floats
    speed_mps: Floats


def suggest_roughness(
    terrain: Terrain, tracks: Sequence[CleanTrack]
) -> Mapping[StretchId, Suggestion]:
    """Suggest a roughness for stretches ridden clearly slower than their grade explains.

    Only stretches of unknown roughness, passed at least twice with times, are looked at.
    """
    seen = list(_all_seen(terrain, {track.ride: track for track in tracks}))
    usual = _usual(seen)
    shares: dict[StretchId, list[float]] = {}
    for pass_ in seen:
        ratio = [
            speed / usual[pass_.ride, int(k)]
            for k, speed in zip(pass_.grade_class, pass_.speed_mps, strict=True)
            if (pass_.ride, int(k)) in usual
        ]
        if len(ratio) >= LEAST_BINS:
            shares.setdefault(pass_.stretch, []).append(float(np.median(ratio)))
    return {
        key: found
        for key, row in sorted(shares.items())
        if not _known(terrain, key) and (found := _suggested(row)) is not None
    }


def _known(terrain: Terrain, key: StretchId) -> bool:
    return any(span.roughness != "unknown" or span.rough for span in terrain.spans[key])


def _suggested(shares: list[float]) -> Suggestion | None:
    share = float(np.median(shares))
    word = next((word for limit, word in SLOW if share < limit), None)
    if word is None or len(shares) < LEAST_PASSES:
        return None
    return Suggestion(word=word, speed_share=share, passes=len(shares))


def _usual(seen: list[_Seen]) -> dict[tuple[RideId, int], float]:
    """Median speed of each ride in each grade class, where it has enough to say."""
    speeds: dict[tuple[RideId, int], list[float]] = {}
    for pass_ in seen:
        for k, speed in zip(pass_.grade_class, pass_.speed_mps, strict=True):
            speeds.setdefault((pass_.ride, int(k)), []).append(float(speed))
    return {key: float(np.median(row)) for key, row in speeds.items() if len(row) >= 3 * LEAST_BINS}


def _all_seen(terrain: Terrain, tracks: Mapping[RideId, CleanTrack]) -> Iterator[_Seen]:
    corners: dict[StretchId, list[float]] = {}
    for feature in terrain.features:
        if feature.kind is FeatureKind.CORNER:
            corners.setdefault(feature.stretch, []).append(feature.at_m)
    for stretch in terrain.network.stretches:
        for pass_ in stretch.passes:
            track = tracks.get(pass_.ride)
            if track is not None:
                seen = _seen(terrain, stretch, pass_, track, corners.get(stretch.id, []))
                if seen is not None:
                    yield seen


def _seen(
    terrain: Terrain, stretch: Stretch, pass_: Pass, track: CleanTrack, corners: list[float]
) -> _Seen | None:
    run, time = _ridden(stretch, pass_, track)
    if len(run) < 3:
        return None
    edges = np.arange(run[0], run[-1], BIN_M)
    if len(edges) < 2:
        return None
    spent = np.diff(np.interp(edges, run, time))
    middle = (edges[:-1] + edges[1:]) / 2
    profile = terrain.profiles[stretch.id]
    grade = np.interp(middle, profile.dist_m, profile.grade)
    grade = grade if pass_.way is Way.FORWARD else -grade
    clear = np.all(np.abs(middle[:, None] - np.array([corners])) > CORNER_CLEAR_M, axis=1)
    usable = clear & (spent > 0) & (grade >= GRADES[0]) & (grade < GRADES[-1])
    return _Seen(
        stretch=stretch.id,
        ride=pass_.ride,
        grade_class=np.digitize(grade[usable], GRADES).astype(np.float64),
        speed_mps=BIN_M / spent[usable],
    )


def _ridden(stretch: Stretch, pass_: Pass, track: CleanTrack) -> tuple[Floats, Floats]:
    """Metres along the stretch, rising, and seconds spent up to there; empty without times."""
    none = np.zeros(0), np.zeros(0)
    for piece in track.pieces:
        rows = (piece.index >= pass_.first) & (piece.index <= pass_.last)
        if rows.sum() < 3 or not np.isfinite(piece.time_s[rows]).all():
            continue
        run, _ = polyline.project(stretch.xy, piece.xy[rows])
        time = piece.time_s[rows] - piece.time_s[rows][0]
        if pass_.way is Way.BACKWARD:
            run, time = run[::-1], (time[-1] - time)[::-1]
        ahead = np.maximum.accumulate(run)
        fresh = np.concatenate(([True], np.diff(ahead) > 0))
        return ahead[fresh], time[fresh]
    return none
