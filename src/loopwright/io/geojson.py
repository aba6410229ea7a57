"""GeoJSON of networks and loops (RFC 7946: lon, lat, height; WGS 84), and lines read from it.

Gets a Terrain or a Course; gives plain JSON values in the published shape (docs/formats.md).
Promises: the same input makes the same output, in the order of the network; nothing inside the
private circle gets out.
"""

from __future__ import annotations

import numpy as np

from loopwright.geo.ascent import LEAST_RISE_M
from loopwright.io.geojson_ground import dominating
from loopwright.io.geojson_loop import loop_geojson
from loopwright.io.geojson_read import read_ground, read_lines
from loopwright.io.json_file import metres
from loopwright.io.trim import outside, parts_outside
from loopwright.io.wgs import cut, line_string, point, positions
from loopwright.model.arrays import Floats
from loopwright.model.document import PrivateCircle
from loopwright.model.ground import Amounts, Feature, FeatureKind, Passage, Terrain
from loopwright.model.ids import Arc, Way
from loopwright.model.network import Junction, Stretch

__all__ = ["loop_geojson", "network_geojson", "read_ground", "read_lines"]

Value = dict[str, object]
_CLIMBS = frozenset({
    FeatureKind.CLIMB, FeatureKind.STEEP_CLIMB, FeatureKind.DESCENT, FeatureKind.ROUGH_DESCENT,
})  # fmt: skip


def network_geojson(
    terrain: Terrain,
    *,
    private: PrivateCircle | None = None,
    invented: bool = False,
    attributions: tuple[str, ...] = (),
) -> Value:
    """Return the network as a FeatureCollection with ``schema`` and ``passages``.

    Stretches wholly inside the private circle, and what hangs on them, are left out; one that
    reaches into it keeps its longest part outside and is marked ``trimmed``.
    """
    return _Network(terrain, private).collection(invented=invented, attributions=attributions)


class _Network:
    """One export: the terrain, the circle, and which stretches get out."""

    def __init__(self, terrain: Terrain, private: PrivateCircle | None) -> None:
        self._terrain = terrain
        self._private = private
        self._origin = terrain.network.origin
        self._by_id = {stretch.id: stretch for stretch in terrain.network.stretches}
        self._stretches = [
            feature
            for stretch in terrain.network.stretches
            if (feature := self._stretch(stretch)) is not None
        ]
        self._shown = {feature["id"] for feature in self._stretches}

    def collection(self, *, invented: bool, attributions: tuple[str, ...]) -> Value:
        junctions = [self._junction(each) for each in self._terrain.network.junctions]
        features = [self._feature(each) for each in self._terrain.features]
        passages = self._terrain.passages
        return {
            "type": "FeatureCollection",
            "schema": 1,
            "invented": invented,
            "attributions": list(attributions),
            "ascent_least_rise_m": LEAST_RISE_M,
            "features": [
                *self._stretches,
                *(each for each in junctions if each is not None),
                *(each for each in features if each is not None),
            ],
            "passages": [_passage(each) for each in passages if self._shows(each)],
        }

    def _shows(self, passage: Passage) -> bool:
        return passage.before[0] in self._shown and passage.after[0] in self._shown

    def _stretch(self, stretch: Stretch) -> Value | None:
        whole = positions(self._origin, stretch.xy, stretch.ele_m)
        parts = parts_outside(whole, self._private)
        if not parts:
            return None
        longest = max(parts, key=len)
        words = self._stretch_words(stretch)
        if len(longest) < len(whole):
            words["trimmed"] = True
            del words["std_errors_m"]
        return {
            "type": "Feature", "id": str(stretch.id), "geometry": line_string(longest),
            "properties": words,
        }  # fmt: skip

    def _stretch_words(self, stretch: Stretch) -> Value:
        forward, backward = (stretch.id, Way.FORWARD), (stretch.id, Way.BACKWARD)
        ground = dominating(self._terrain.spans.get(stretch.id, ()))
        errors = [metres(float(each)) for each in stretch.std_error_m]
        return {
            "role": "stretch", "id": str(stretch.id), "name": stretch.name,
            "from": str(stretch.start), "to": str(stretch.end),
            "length_m": metres(self._terrain.lengths_m.get(stretch.id)),
            "ascent_m": metres(self._terrain.ascents_m.get(forward, 0.0)),
            "descent_m": metres(self._terrain.ascents_m.get(backward, 0.0)),
            "passes": len(stretch.passes), "ways": stretch.ways.value,
            "suggested_ways": stretch.suggested.value, "unridden": stretch.unridden,
            **ground,
            "std_error_m": metres(float(stretch.std_error_m.mean())),
            "std_errors_m": errors,
            "amounts_forward": amounts_of(self._terrain.amounts.get(forward, {})),
            "amounts_backward": amounts_of(self._terrain.amounts.get(backward, {})),
        }  # fmt: skip

    def _junction(self, junction: Junction) -> Value | None:
        place = positions(self._origin, junction.xy.reshape(1, 2), _one(junction.ele_m))
        if not outside(place[:, 0], place[:, 1], self._private).all():
            return None
        return {
            "type": "Feature", "id": str(junction.id), "geometry": point(place[0]),
            "properties": {
                "role": "junction", "id": str(junction.id), "degree": junction.degree,
            },
        }  # fmt: skip

    def _feature(self, feature: Feature) -> Value | None:
        stretch = self._by_id.get(feature.stretch)
        if stretch is None or str(stretch.id) not in self._shown:
            return None
        geometry = self._geometry(feature, stretch)
        if geometry is None:
            return None
        return {"type": "Feature", "geometry": geometry, "properties": _feature_words(feature)}

    def _geometry(self, feature: Feature, stretch: Stretch) -> Value | None:
        corner = feature.kind is FeatureKind.CORNER
        span = (feature.at_m, feature.at_m) if corner else (feature.from_m, feature.to_m)
        xy, ele_m = cut(stretch.xy, stretch.ele_m, from_m=span[0], to_m=span[1])
        rows = positions(self._origin, xy, ele_m)
        if corner:
            seen = outside(rows[:1, 0], rows[:1, 1], self._private).all()
            return point(rows[0]) if seen else None
        parts = parts_outside(rows, self._private)
        return line_string(max(parts, key=len)) if parts else None


def _one(value: float) -> Floats:
    return np.array([value])


def _feature_words(feature: Feature) -> Value:
    words: Value = {
        "role": "feature", "kind": feature.kind.value, "stretch": str(feature.stretch),
        "from_m": metres(feature.from_m), "to_m": metres(feature.to_m),
        "way": feature.way.value,
    }  # fmt: skip
    if feature.kind is FeatureKind.CORNER:
        words |= corner_words(feature)
    if feature.kind in _CLIMBS:
        words |= {
            "gain_m": metres(feature.gain_m), "grade_mean": metres(feature.grade_mean),
            "grade_max": metres(feature.grade_max),
        }  # fmt: skip
    return words


def corner_words(feature: Feature) -> Value:
    """Write what a corner has beyond other features; left turns are positive."""
    return {
        "at_m": metres(feature.at_m), "turn_deg": metres(feature.turn_deg),
        "radius_m": metres(feature.radius_m), "tight": feature.tight, "banked": feature.banked,
    }  # fmt: skip


def _passage(passage: Passage) -> Value:
    words: Value = {
        "from": _arc(passage.before), "to": _arc(passage.after),
        "amounts": amounts_of(passage.amounts), "allowed": passage.allowed,
    }  # fmt: skip
    if passage.corner is not None:
        words["corner"] = corner_words(passage.corner)
    return words


def _arc(arc: Arc) -> list[str]:
    return [str(arc[0]), arc[1].value]


def amounts_of(amounts: Amounts) -> Value:
    """Write amounts in the order of their names."""
    return {kind: metres(amounts[kind]) for kind in sorted(amounts)}
