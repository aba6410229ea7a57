"""A stretch in words: what hovering tells and what a screen reader reads.

Gets a terrain and a stretch, gives one line. Promises: nothing is told that was not measured or
tagged; what is unknown is said to be unknown.
"""

from __future__ import annotations

import numpy as np

from loopwright import units
from loopwright.app.kinds import roughness_words, surface_words
from loopwright.app.words import count, say
from loopwright.model.ground import Terrain
from loopwright.model.ids import StretchId, Way, Ways
from loopwright.model.network import Stretch
from loopwright.units import Units


def stretch_words(terrain: Terrain, name: StretchId, look: Units) -> str:
    """Tell length, climb, ground, passes and certainty of a stretch; empty if it is gone."""
    stretch = next((s for s in terrain.network.stretches if s.id == name), None)
    if stretch is None:
        return ""
    parts = [
        title(stretch),
        units.short(terrain.lengths_m.get(name, 0.0), look),
        climb_words(terrain, name, look),
        ground_words(terrain, name),
        count(len(stretch.passes), "ridden once", "ridden {n} times")
        if stretch.passes
        else say("not ridden yet"),
        certainty_words(stretch, look),
    ]
    if stretch.ways is not Ways.BOTH:
        parts.append(say("closed") if stretch.ways is Ways.CLOSED else say("one-way"))
    return " · ".join(part for part in parts if part)


def title(stretch: Stretch) -> str:
    """Name of a stretch, or its number."""
    return stretch.name or say("Stretch {id}", id=stretch.id)


def climb_words(terrain: Terrain, name: StretchId, look: Units) -> str:
    """Metres up and down along the drawn direction; empty without heights."""
    up = terrain.ascents_m.get((name, Way.FORWARD), float("nan"))
    down = terrain.ascents_m.get((name, Way.BACKWARD), float("nan"))
    if not (np.isfinite(up) and np.isfinite(down)):
        return ""
    return say("{up} up, {down} down", up=units.short(up, look), down=units.short(down, look))


def ground_words(terrain: Terrain, name: StretchId) -> str:
    """Surfaces and roughness along a stretch, longest first."""
    metres: dict[str, float] = {}
    for span in terrain.spans.get(name, ()):
        words = surface_words(span.surface)
        if span.roughness != "unknown":
            words = f"{words}, {roughness_words(span.roughness)}"
        metres[words] = metres.get(words, 0.0) + span.to_m - span.from_m
    ranked = sorted(metres, key=lambda words: -metres[words])
    return say(" and ").join(ranked[:2]) if ranked else surface_words("unknown")


def certainty_words(stretch: Stretch, look: Units) -> str:
    """How far the centre line may be off."""
    error = float(np.nanmedian(stretch.std_error_m)) if len(stretch.std_error_m) else float("nan")
    if not np.isfinite(error):
        return ""
    if look is Units.IMPERIAL:
        return say("within {d} ft", d=f"{error / units.FOOT_M:.0f}")
    return say("within {d} m", d=f"{error:.1f}")
