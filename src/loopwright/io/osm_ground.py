"""OpenStreetMap tags read as access and ground.

Gets the tags of a way; tells whether and which way a bicycle may use it and what the ground is.
Promises: no guess is made where the map is silent; where it is unclear who may ride, nobody does.
Values as the OpenStreetMap wiki documents them: ``highway``, ``access``, ``bicycle``, ``surface``,
``smoothness``, ``width`` (from memory), ``oneway``, ``oneway:bicycle`` (looked up).
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from loopwright.model.ground import ROUGHNESSES, SURFACES
from loopwright.model.ids import Ways

NARROW_UNDER_M = 1.0
_OPEN = frozenset({
    "path", "track", "cycleway", "unclassified", "residential", "service", "living_street",
    "tertiary", "tertiary_link", "road",
})  # fmt: skip
_TRAILS = frozenset({"path", "track", "cycleway", "bridleway", "footway"})
_ASKED = frozenset({"footway", "bridleway", "pedestrian", "secondary"})
"""Open only where a tag says so."""
_YES = frozenset({"yes", "designated", "permissive", "official"})
_NO = frozenset({
    "no", "private", "dismount", "use_sidepath", "military", "forestry", "agricultural",
    "customers", "delivery", "destination", "permit",
})  # fmt: skip
_ONE_WAY = {
    **dict.fromkeys(("yes", "true", "1"), Ways.FORWARD),
    **dict.fromkeys(("-1", "reverse"), Ways.BACKWARD),
    **dict.fromkeys(("reversible", "alternating"), Ways.CLOSED),
}
"""A way that runs now one way and now the other is no way to count on."""
_SAME_SURFACE = {"earth": "dirt", "soil": "dirt", "bare_rock": "rock", "rocks": "rock"}
_WIDTH = re.compile(r"(\d{1,3}(?:\.\d{1,3})?)(?:\s?m)?")


def is_open(tags: Mapping[str, str]) -> bool:
    """Tell whether a bicycle may use the way."""
    highway = tags.get("highway", "")
    bicycle = tags.get("bicycle")
    if highway not in _OPEN | _ASKED or bicycle in _NO:
        return False
    if bicycle in _YES:
        return True
    closed = tags.get("access") in _NO or tags.get("vehicle") in _NO
    return highway in _OPEN and not closed


def ways_of(tags: Mapping[str, str]) -> Ways:
    """Tell which way along its line a bicycle may use the way, once it may use it at all.

    ``oneway:bicycle`` decides, then ``oneway``, then that a roundabout has one direction.
    """
    ring = "yes" if tags.get("junction") == "roundabout" else "no"
    word = tags.get("oneway:bicycle") or tags.get("oneway") or ring
    return _ONE_WAY.get(word, Ways.BOTH)


def is_trail(tags: Mapping[str, str]) -> bool:
    """Tell whether the way is a path or track rather than a street."""
    return tags.get("highway", "") in _TRAILS


def ground_of(tags: Mapping[str, str]) -> tuple[str | None, str | None, str | None]:
    """Return surface, roughness and width words, None where the tags do not say."""
    surface = tags.get("surface", "")
    surface = _SAME_SURFACE.get(surface, surface)
    roughness = tags.get("smoothness", "")
    return (
        surface if surface in SURFACES[1:] else None,
        roughness if roughness in ROUGHNESSES[1:] else None,
        _width(tags.get("width", "")),
    )


def obstacles_of(tags: Mapping[str, str]) -> bool | None:
    """Tell whether the way has obstacles, None where the tags do not say.

    Any value of ``obstacle`` but ``no`` is one: the key's values name what lies in the way
    (OpenStreetMap wiki, Key:obstacle).
    """
    word = tags.get("obstacle", "")
    return word != "no" if word else None


def _width(word: str) -> str | None:
    found = _WIDTH.fullmatch(word.strip())
    if found is None:
        return None
    return "narrow" if float(found[1]) < NARROW_UNDER_M else "wide"
