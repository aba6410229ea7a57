"""Invented trail parks with known truth, on an invented island in open ocean.

Gets a seed and a style; gives a park: the true network, ground and features. Promises: the same
seed and style give the same park; nothing in it exists.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from loopwright.errors import UsageError
from loopwright.invented.draft import Draft, Kind
from loopwright.invented.draw import Taste, draw, draw_streets
from loopwright.invented.ground import lay_ground
from loopwright.invented.land import Land, flat, hilly
from loopwright.invented.layout import streets, wild
from loopwright.invented.settle import settle
from loopwright.invented.stagger import stagger
from loopwright.invented.truth import true_features
from loopwright.model.frame import Origin
from loopwright.model.ground import Feature, GroundSpan
from loopwright.model.ids import StretchId, Ways
from loopwright.model.network import Network, Stretch

OPEN_OCEAN = Origin(lat=-47.0, lon=-122.0)
"""South Pacific, more than 2,000 km from any land."""
STYLES = ("park", "hard", "town", "pairs", "staggered")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Park:
    """An invented park. ``network`` is the truth: no error, no passes.

    ``spans`` cover every stretch; ``features`` are true corners and climbs; ``kinds`` tells what
    each stretch was drawn as.
    """

    name: str
    seed: int
    style: str
    network: Network
    land: Land
    spans: Mapping[StretchId, tuple[GroundSpan, ...]]
    features: tuple[Feature, ...]
    kinds: Mapping[StretchId, Kind]


def make_park(
    seed: int,
    *,
    style: str = "park",
    side: int | None = None,
    spacing_m: float | None = None,
    taste: Taste | None = None,
) -> Park:
    """Invent a park.

    Parameters
    ----------
    seed
        Same seed, same park.
    style
        ``park``, ``hard`` (side-by-side lines 9-13 m apart, many hairpins), ``town`` (flat
        straight streets), ``pairs`` (long climbs 9-13 m beside their descents) or ``staggered``
        (most junctions drawn apart: staggered crossings, triangles).
    side, spacing_m
        Places along one side of the plan and their spacing in metres; None takes the style's.
    taste
        How much of what; None takes the style's.
    """
    if style not in STYLES:
        raise UsageError(f"style {style!r} is not one of {', '.join(STYLES)}")
    rng = np.random.default_rng([seed, STYLES.index(style)])
    draft, land = _draft(rng, style=style, side=side, spacing_m=spacing_m, taste=taste)
    network, kinds = settle(draft, land, OPEN_OCEAN)
    network = _paired(network, kinds) if style == "pairs" else _one_ways(network, kinds, rng)
    return Park(
        name=f"Invented {style} {seed}",
        seed=seed,
        style=style,
        network=network,
        land=land,
        spans=lay_ground(network, kinds, rng),
        features=true_features(network),
        kinds=kinds,
    )


def taste_for(style: str) -> Taste:
    """How much of what a style has."""
    if style == "hard":
        return Taste(hairpins=7, side_by_side=6, gap_m=(9.0, 13.0), roads=1)
    if style == "pairs":
        return Taste(hairpins=2, side_by_side=7, gap_m=(9.0, 13.0), run_m=(240.0, 600.0), roads=1)
    return Taste()


def _draft(
    rng: np.random.Generator,
    *,
    style: str,
    side: int | None,
    spacing_m: float | None,
    taste: Taste | None,
) -> tuple[Draft, Land]:
    if style == "town":
        plan = streets(rng, side=side or 6, spacing_m=spacing_m or 190.0)
        return draw_streets(plan), flat(rng)
    usual = (4, 480.0) if style == "pairs" else (5, 310.0)
    count, spacing = side or usual[0], spacing_m or usual[1]
    land = hilly(rng, span_m=count * spacing)
    liking = taste or taste_for(style)
    plan = wild(rng, side=count, spacing_m=spacing, bridges=liking.bridges)
    draft = draw(plan, liking, rng)
    if style == "staggered":
        stagger(draft, rng)
    return draft, land


def _one_ways(
    network: Network, kinds: Mapping[StretchId, Kind], rng: np.random.Generator
) -> Network:
    """Make a few side-by-side lines one-way, downhill, so that everything stays reachable."""
    out = []
    for stretch in network.stretches:
        chosen = kinds[stretch.id] is Kind.B_LINE and rng.uniform() < 0.5
        out.append(replace(stretch, ways=_down_up(stretch)[0]) if chosen else stretch)
    return replace(network, stretches=tuple(out))


def _paired(network: Network, kinds: Mapping[StretchId, Kind]) -> Network:
    """Let one of two lines side by side be ridden up only, and the other down."""
    out = []
    for stretch in network.stretches:
        down, up = _down_up(stretch)
        ways = {Kind.A_LINE: up, Kind.B_LINE: down}.get(kinds[stretch.id], stretch.ways)
        out.append(replace(stretch, ways=ways))
    return replace(network, stretches=tuple(out))


def _down_up(stretch: Stretch) -> tuple[Ways, Ways]:
    """Give the way down a stretch and the way up."""
    falls = stretch.ele_m[0] >= stretch.ele_m[-1]
    return (Ways.FORWARD, Ways.BACKWARD) if falls else (Ways.BACKWARD, Ways.FORWARD)


def part_of(park: Park, network: Network) -> Park:
    """Give a park as far as ``network``, a part of its own, goes."""
    names = {stretch.id for stretch in network.stretches}
    features = tuple(feature for feature in park.features if feature.stretch in names)
    return replace(park, network=network, features=features)
