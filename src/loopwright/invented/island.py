"""The sample island: one trail park to try everything on, and a race course elsewhere on it.

Gets nothing; gives the same island every time. Promises: the park has climbs, hairpins, lines
side by side, bridges, a long rough descent, fire roads and every surface there is a word for.
Vessalo, its parks, trails and people are invented.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from loopwright.geo.polyline import length_m
from loopwright.invented.circuits import richest
from loopwright.invented.descents import longest_descent
from loopwright.invented.draft import Kind
from loopwright.invented.draw import Taste
from loopwright.invented.park import OPEN_OCEAN, Park, make_park
from loopwright.model.frame import Origin
from loopwright.model.ground import SURFACES, GroundSpan
from loopwright.model.ids import Arc, JunctionId, StretchId
from loopwright.model.network import Network, Stretch

ISLAND = "Vessalo"
PARK_NAME = "Quillmark Trail Park"
RACE_NAME = "Sandreth Heath"
PARK_SEED = 37
RACE_SEED = 6
RACE_ORIGIN = Origin(lat=OPEN_OCEAN.lat + 0.05, lon=OPEN_OCEAN.lon + 0.02)
PARK_TASTE = Taste(hairpins=5, side_by_side=4, bridges=2, spurs=2, lollipops=1, rings=0, roads=3)
ROUGHNESS_OF = {
    "asphalt": "excellent", "concrete": "excellent", "compacted": "good", "fine_gravel": "good",
    "gravel": "intermediate", "pebblestone": "bad", "ground": "intermediate",
    "dirt": "intermediate", "grass": "intermediate", "sand": "bad", "mud": "bad",
    "rock": "very_bad", "wood": "good",
}  # fmt: skip
ROAD_SURFACES = ("compacted", "gravel", "fine_gravel", "asphalt", "concrete")
FIRST_WORDS = (
    "Kettle", "Lantern", "Thistle", "Copper", "Marrow", "Ember", "Pewter", "Sorrel", "Tinder",
    "Hollow", "Quern", "Bramble",
)  # fmt: skip
SECOND_WORDS = ("Thread", "Steps", "Run", "Weave", "Rill", "Hook")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RaceCourse:
    """A race course: its place and one lap of it."""

    name: str
    park: Park
    lap: tuple[Arc, ...]


def sample_park() -> Park:
    """Give the sample park, its trails named and its ground laid."""
    park = make_park(PARK_SEED, side=6, spacing_m=378.0, taste=PARK_TASTE)
    stretches = park.network.stretches
    named = tuple(replace(s, name=name) for s, name in zip(stretches, _names(), strict=False))
    network = replace(park.network, stretches=named)
    return replace(park, name=PARK_NAME, network=network, spans=_ground(park))


def _names() -> Iterator[str]:
    for second in SECOND_WORDS:
        for first in FIRST_WORDS:
            yield f"{first} {second}"


def _ground(park: Park) -> dict[StretchId, tuple[GroundSpan, ...]]:
    rough = {name for name, _ in longest_descent(park.network)}
    trails = [s for s in park.network.stretches if not _is_road(park, s) and s.id not in rough]
    roads = [s for s in park.network.stretches if _is_road(park, s) and s.id not in rough]
    out = {s.id: _rough(s) for s in park.network.stretches if s.id in rough}
    for k, stretch in enumerate(roads):
        out[stretch.id] = (_span(stretch, ROAD_SURFACES[k % len(ROAD_SURFACES)], width="wide"),)
    kinds = [word for word in SURFACES[1:] if word not in {"asphalt", "concrete"}]
    for k, stretch in enumerate(trails):
        out[stretch.id] = _halves(
            stretch, kinds[k % len(kinds)], kinds[(3 * k + 4) % len(kinds)], k
        )
    return out


def _is_road(park: Park, stretch: Stretch) -> bool:
    return park.kinds[stretch.id] in {Kind.ROAD, Kind.BRIDGE}


def _rough(stretch: Stretch) -> tuple[GroundSpan, ...]:
    span = _span(stretch, "rock", width="narrow")
    return (replace(span, roughness="very_bad", roots=True),)


def _span(stretch: Stretch, surface: str, *, width: str) -> GroundSpan:
    return GroundSpan(
        from_m=0.0,
        to_m=length_m(stretch.xy),
        surface=surface,
        roughness=ROUGHNESS_OF[surface],
        width=width,
    )


def _halves(stretch: Stretch, first: str, second: str, number: int) -> tuple[GroundSpan, ...]:
    whole = _span(stretch, first, width="narrow")
    if number % 3 or whole.to_m < 200.0:
        return (replace(whole, banked=number % 5 == 0, roots=number % 7 == 0),)
    middle = round(whole.to_m * 0.55, 1)
    other = replace(_span(stretch, second, width="narrow"), from_m=middle)
    return (replace(whole, to_m=middle), other)


def training_lap(park: Park) -> tuple[Arc, ...]:
    """Give the lap of 4 to 5 km that the sample laps were ridden on."""
    start = _busiest(park.network)
    return richest(park.network, park.features, start=start, length_m=(4000.0, 5000.0))


def race_course() -> RaceCourse:
    """Give the race course, some kilometres north of the park."""
    park = make_park(RACE_SEED, spacing_m=330.0)
    network = replace(park.network, origin=RACE_ORIGIN)
    park = replace(park, name=RACE_NAME, network=network)
    start = _busiest(network)
    lap = richest(network, park.features, start=start, length_m=(4200.0, 5200.0))
    return RaceCourse(name=RACE_NAME, park=park, lap=lap)


def _busiest(network: Network) -> JunctionId:
    """Choose the junction with most stretches, then the one nearest the middle."""
    best = min(network.junctions, key=lambda j: (-j.degree, float((j.xy**2).sum())))
    return best.id
