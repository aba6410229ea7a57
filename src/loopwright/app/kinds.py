"""Words for amounts, surfaces and features: what the model's keys are called in the window.

Gets keys of the model, gives names, units and sensible steps. Promises: every key of the model has
a name, and a key nobody knows is shown readable rather than refused.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from loopwright import units
from loopwright.app.words import say
from loopwright.card.palette import SURFACE
from loopwright.model.ground import GROUND_PREFIX
from loopwright.units import Units


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """An amount a mix can ask for. ``metres`` tells a length or height from a count."""

    key: str
    name: str
    metres: bool
    step: float
    first: float
    """What is asked when the kind is added and nothing is known of the ground."""

    def amount(self, value: float, look: Units) -> str:
        """Say an amount with its unit."""
        return units.short(value, look) if self.metres else f"{value:.0f}"


def kind(key: str) -> Kind:
    """Describe an amount by its key."""
    if key.startswith(GROUND_PREFIX):
        surface = key.removeprefix(GROUND_PREFIX)
        style = SURFACE.get(surface)
        name = say(style.words) if style else surface
        return Kind(key=key, name=say("On {ground}", ground=name), metres=True, step=50, first=300)
    known = _KINDS.get(key)
    if known is not None:
        return replace(known, name=say(known.name))
    return Kind(
        key=key, name=key.removesuffix("_m").replace("_", " ").capitalize(),
        metres=key.endswith("_m"), step=10, first=100,
    )  # fmt: skip


def _kind(key: str, name: str, *, step: float, first: float) -> Kind:
    return Kind(key=key, name=name, metres=key.endswith("_m"), step=step, first=first)


_KINDS = {
    k.key: k
    for k in (
        _kind("climb_gain_m", "Climbing", step=5, first=100),
        _kind("steep_gain_m", "Steep climbing", step=5, first=40),
        _kind("corners", "Corners", step=1, first=12),
        _kind("tight_corners", "Tight corners", step=1, first=4),
        _kind("descent_m", "Descending", step=50, first=600),
        _kind("rough_descent_m", "Rough descending", step=50, first=300),
        _kind("straights", "Straights", step=1, first=2),
        _kind("steady_m", "Steady stretches", step=50, first=1000),
        _kind("funnels", "Funnels", step=1, first=1),
        _kind("narrow_m", "Narrow trail", step=50, first=500),
        _kind("rough_m", "Rough ground", step=50, first=500),
        _kind("smooth_m", "Smooth ground", step=50, first=1500),
        _kind("easy_m", "Near-level ground", step=50, first=2000),
        _kind("obstacles_m", "Ground with obstacles", step=10, first=100),
    )
}
OFFERED = (
    *_KINDS,
    *(GROUND_PREFIX + s for s in ("gravel", "ground", "dirt", "grass", "sand", "mud", "rock")),
)
"""Kinds a person can add to a mix, in order."""


def surface_words(surface: str) -> str:
    """Name a surface."""
    return say(SURFACE[surface].words) if surface in SURFACE else surface


ROUGH_WORDS = {
    "excellent": "very smooth",
    "good": "smooth",
    "intermediate": "a bit rough",
    "bad": "rough",
    "very_bad": "very rough",
    "horrible": "roughest",
    "very_horrible": "hardly rideable",
    "impassable": "not rideable",
    "unknown": "roughness not tagged",
}
"""The OpenStreetMap values of smoothness, said in one way wherever they stand; what the map draws
as a wide line, ``rough``, begins where a key says rough."""


def roughness_words(roughness: str) -> str:
    """Name a roughness (OSM smoothness value), as its key does."""
    return say(ROUGH_WORDS.get(roughness, roughness.replace("_", " ")))
