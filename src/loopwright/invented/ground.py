"""What invented ground is made of.

Gets stretches and what they were drawn as; gives true ground spans that cover each stretch from
end to end.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from loopwright.geo.polyline import length_m
from loopwright.invented.draft import Kind
from loopwright.model.ground import GroundSpan
from loopwright.model.ids import StretchId
from loopwright.model.network import Network, Stretch

ROAD_GROUND = (("compacted", "good"), ("gravel", "intermediate"), ("fine_gravel", "good"))
TRAIL_GROUND = (
    ("dirt", "intermediate"), ("ground", "intermediate"), ("dirt", "bad"), ("ground", "bad"),
    ("grass", "intermediate"), ("sand", "bad"), ("mud", "bad"), ("rock", "very_bad"),
    ("wood", "good"), ("pebblestone", "bad"), ("fine_gravel", "good"), ("gravel", "bad"),
    ("compacted", "good"), ("ground", "very_bad"),
)  # fmt: skip
ROUGH_FALL = 0.055
"""Mean grade from which a winding descent is laid out as the rough one."""


def lay_ground(
    network: Network, kinds: Mapping[StretchId, Kind], rng: np.random.Generator
) -> dict[StretchId, tuple[GroundSpan, ...]]:
    """Lay true ground for every stretch, by what it was drawn as."""
    return {s.id: _spans(s, kinds[s.id], rng) for s in network.stretches}


def _spans(stretch: Stretch, kind: Kind, rng: np.random.Generator) -> tuple[GroundSpan, ...]:
    total = length_m(stretch.xy)
    if kind is Kind.STREET:
        return (_span(0.0, total, ("asphalt", "excellent"), width="wide"),)
    if kind is Kind.ROAD:
        words = ROAD_GROUND[int(rng.integers(len(ROAD_GROUND)))]
        return (_span(0.0, total, words, width="wide"),)
    fall = abs(float(stretch.ele_m[-1] - stretch.ele_m[0])) / total
    if fall > ROUGH_FALL and rng.uniform() < 0.6:
        return (_span(0.0, total, ("rock", "very_bad"), width="narrow", roots=True),)
    return _trail(total, rng)


def _trail(total: float, rng: np.random.Generator) -> tuple[GroundSpan, ...]:
    pieces = 1 if total < 150.0 or rng.uniform() < 0.5 else 2
    cuts = [0.0, *sorted(rng.uniform(0.3, 0.7, pieces - 1) * total), total]
    return tuple(
        _span(
            float(cuts[k]),
            float(cuts[k + 1]),
            TRAIL_GROUND[int(rng.integers(len(TRAIL_GROUND)))],
            width="narrow",
            banked=bool(rng.uniform() < 0.2),
            roots=bool(rng.uniform() < 0.15),
        )
        for k in range(pieces)
    )


def _span(
    from_m: float,
    to_m: float,
    words: tuple[str, str],
    *,
    width: str,
    banked: bool = False,
    roots: bool = False,
) -> GroundSpan:
    return GroundSpan(
        from_m=from_m,
        to_m=to_m,
        surface=words[0],
        roughness=words[1],
        width=width,
        banked=banked,
        roots=roots,
    )
