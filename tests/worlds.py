"""Small places with known truth, shared by the tests of every room.

Gets nothing; gives frozen worlds: a true network and the facts a test may count on. All lie on
invented ground in open ocean. Promises: built in milliseconds, the same every time.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from loopwright.geo.polyline import resample
from loopwright.invented.lines import beside, straight, zigzag
from loopwright.invented.park import OPEN_OCEAN
from loopwright.invented.receiver import CLEAN, Faults, Receiver
from loopwright.invented.riders import ride_arcs, ride_park
from loopwright.model.arrays import Floats
from loopwright.model.ids import Arc, JunctionId, StretchId, Way, Ways
from loopwright.model.network import Junction, Network, Stretch
from loopwright.model.track import RecordedTrack


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class World:
    """A place and what is true of it.

    ``forks`` is the number of junctions of degree 3 and more; ``lap`` one natural way round or
    through; ``lap_m`` its length in metres; ``corners`` how many corners (45 degrees and more,
    radius up to 25 m, junctions not counted) the whole place has.
    """

    name: str
    network: Network
    lap: tuple[Arc, ...]
    lap_m: float
    forks: int
    corners: int = 0


def _line(name: str, ends: tuple[str, str], xy: Floats, ele_m: Floats | None = None) -> Stretch:
    return Stretch(
        id=StretchId(name),
        start=JunctionId(ends[0]),
        end=JunctionId(ends[1]),
        xy=xy,
        ele_m=np.full(len(xy), 100.0) if ele_m is None else ele_m,
        std_error_m=np.zeros(len(xy)),
    )


def _network(*stretches: Stretch) -> Network:
    ends: dict[JunctionId, list[Floats]] = {}
    heights: dict[JunctionId, float] = {}
    for s in stretches:
        ends.setdefault(s.start, []).append(s.xy[0])
        ends.setdefault(s.end, []).append(s.xy[-1])
        heights[s.start], heights[s.end] = float(s.ele_m[0]), float(s.ele_m[-1])
    junctions = tuple(
        Junction(id=name, xy=places[0], ele_m=heights[name], degree=len(places))
        for name, places in sorted(ends.items())
    )
    return Network(origin=OPEN_OCEAN, stretches=stretches, junctions=junctions)


def _circle(centre: tuple[float, float], radius_m: float, from_deg: float = 0.0) -> Floats:
    angle = np.radians(from_deg) + np.linspace(0.0, 2 * np.pi, int(2 * np.pi * radius_m) + 1)
    xy = np.column_stack((np.cos(angle), np.sin(angle))) * radius_m + np.array(centre)
    xy[-1] = xy[0]
    return np.asarray(xy, dtype=np.float64)


def _ahead(*names: str) -> tuple[Arc, ...]:
    return tuple((StretchId(name), Way.FORWARD) for name in names)


def _back(*names: str) -> tuple[Arc, ...]:
    return tuple((StretchId(name), Way.BACKWARD) for name in names)


def _to(east: float, north: float) -> Floats:
    return np.array([east, north])


def ring() -> World:
    """A circle of 100 m radius; one stretch, no junction."""
    network = _network(_line("ring", ("seam", "seam"), _circle((0.0, 0.0), 100.0)))
    return World(name="ring", network=network, lap=_ahead("ring"), lap_m=200 * np.pi, forks=0)


def figure_eight() -> World:
    """Two circles of 80 m radius touching at one junction of four ends."""
    left = _line("left", ("middle", "middle"), _circle((-80.0, 0.0), 80.0))
    right = _line("right", ("middle", "middle"), _circle((80.0, 0.0), 80.0, 180.0))
    return World(
        name="figure eight",
        network=_network(left, right),
        lap=(*_ahead("left"), *_back("right")),
        lap_m=320 * np.pi,
        forks=1,
    )


def lollipop() -> World:
    """A stick of 200 m with a circle of 60 m radius at its end."""
    stick = _line("stick", ("foot", "fork"), straight(_to(-200.0, 0.0), _to(0.0, 0.0)))
    head = _line("head", ("fork", "fork"), _circle((60.0, 0.0), 60.0, 180.0))
    return World(
        name="lollipop",
        network=_network(stick, head),
        lap=(*_ahead("stick", "head"), *_back("stick")),
        lap_m=400 + 120 * np.pi,
        forks=1,
    )


def side_by_side(gap_m: float = 10.0, run_m: float = 150.0) -> World:
    """One straight line that parts into A and B, ``gap_m`` apart for ``run_m``, and joins."""
    whole = straight(_to(0.0, 0.0), _to(run_m + 240.0, 0.0))
    b_line = beside(whole, from_m=100.0, to_m=run_m + 140.0, gap_m=gap_m, lead_m=20.0)
    parts = (
        _line("in", ("west", "fork"), straight(_to(0.0, 0.0), _to(100.0, 0.0))),
        _line("a", ("fork", "join"), straight(_to(100.0, 0.0), _to(run_m + 140.0, 0.0))),
        _line("b", ("fork", "join"), b_line),
        _line("out", ("join", "east"), straight(_to(run_m + 140.0, 0.0), whole[-1])),
    )
    return World(
        name="side by side",
        network=_network(*parts),
        lap=_ahead("in", "a", "out"),
        lap_m=run_m + 240.0,
        forks=2,
    )


def spur_beside(gap_m: float = 9.0, run_m: float = 60.0) -> World:
    """A lap whose south side has a dead end ``gap_m`` beside it, for ``run_m`` up to the corner."""
    south = straight(_to(0.0, 0.0), _to(300.0, 0.0))
    round_ = np.vstack(
        (straight(_to(300.0, 0.0), _to(300.0, 200.0)), straight(_to(300.0, 200.0), _to(0.0, 0.0)))
    )
    away = straight(_to(300.0 - run_m, gap_m), _to(290.0, gap_m))
    spur = np.vstack((away, straight(_to(290.0, gap_m), _to(300.0, 0.0))[1:]))
    return World(
        name="spur beside",
        network=_network(
            _line("south", ("west", "corner"), south),
            _line("round", ("corner", "west"), round_),
            _line("spur", ("tip", "corner"), spur),
        ),
        lap=_ahead("south", "round"),
        lap_m=300.0 + 200.0 + float(np.hypot(300.0, 200.0)),
        forks=1,
    )


def ladder(rungs: int = 4, gap_m: float = 120.0) -> World:
    """Two rails 150 m apart joined by straight rungs; square corners only at junctions."""
    stretches = []
    for k in range(rungs):
        low, high = _to(k * gap_m, 0.0), _to(k * gap_m, 150.0)
        stretches.append(_line(f"rung{k}", (f"low{k}", f"high{k}"), straight(low, high)))
        if k:
            ends = ((f"low{k - 1}", f"low{k}"), (f"high{k - 1}", f"high{k}"))
            for rail, pair, north in (("low", ends[0], 0.0), ("high", ends[1], 150.0)):
                xy = straight(_to((k - 1) * gap_m, north), _to(k * gap_m, north))
                stretches.append(_line(f"{rail}{k}", pair, xy))
    around = _ahead("rung0", "high1")
    lap = (*around, *_back("rung1", "low1"))
    return World(
        name="ladder",
        network=_network(*stretches),
        lap=lap,
        lap_m=2 * (150.0 + gap_m),
        forks=2 * (rungs - 2),
    )


def hill(grade: float = 0.12, rise_m: float = 24.0) -> World:
    """A straight line: 150 m flat, a steady climb of ``grade`` and ``rise_m``, 150 m flat."""
    climb_m = rise_m / grade
    xy = straight(_to(0.0, 0.0), _to(300.0 + climb_m, 0.0))
    ele = 100.0 + np.clip((xy[:, 0] - 150.0) * grade, 0.0, rise_m)
    return World(
        name="hill",
        network=_network(_line("hill", ("foot", "top"), xy, ele)),
        lap=(*_ahead("hill"), *_back("hill")),
        lap_m=2 * (300.0 + climb_m),
        forks=0,
    )


def bridge(lift_m: float = 7.0) -> World:
    """Two straight lines of 400 m that cross at right angles, one ``lift_m`` above the other."""
    under = straight(_to(-200.0, 0.0), _to(200.0, 0.0))
    over = straight(_to(0.0, -200.0), _to(0.0, 200.0))
    hump = lift_m * np.clip(1.5 - np.abs(over[:, 1]) / 80.0, 0.0, 1.0)
    network = _network(
        _line("under", ("west", "east"), under),
        _line("over", ("south", "north"), over, 100.0 + hump),
    )
    return World(name="bridge", network=network, lap=_ahead("over"), lap_m=400.0, forks=0)


def crossing() -> World:
    """Two straight lines of 400 m that cross at right angles in a junction of four ends."""
    middle = _to(0.0, 0.0)
    tips = {"west": (-200.0, 0.0), "east": (200.0, 0.0), "south": (0.0, -200.0),
            "north": (0.0, 200.0)}  # fmt: skip
    lines = [_line(name, (name, "middle"), straight(_to(*t), middle)) for name, t in tips.items()]
    return World(
        name="crossing",
        network=_network(*lines),
        lap=(*_ahead("south"), *_back("north")),
        lap_m=400.0,
        forks=1,
    )


def staggered(gap_m: float = 15.0) -> World:
    """A line that one branch leaves to the north and, ``gap_m`` on, another to the south."""
    one, two = _to(0.0, 0.0), _to(gap_m, 0.0)
    return World(
        name="staggered",
        network=_network(
            _line("west", ("west", "one"), straight(_to(-200.0, 0.0), one)),
            _line("link", ("one", "two"), straight(one, two)),
            _line("east", ("two", "east"), straight(two, _to(gap_m + 200.0, 0.0))),
            _line("north", ("one", "north"), straight(one, _to(0.0, 200.0))),
            _line("south", ("two", "south"), straight(two, _to(gap_m, -200.0))),
        ),
        lap=_ahead("west", "link", "east"),
        lap_m=400.0 + gap_m,
        forks=2,
    )


def hairpins(gap_m: float = 8.0, legs: int = 5) -> World:
    """A line with ``legs`` legs of 60 m, ``gap_m`` apart: one hairpin between each two."""
    rng = np.random.default_rng(5)
    xy = zigzag(rng, _to(0.0, 0.0), _to(260.0, 0.0), legs=legs, leg_m=60.0, gap_m=gap_m)
    total = float(np.hypot(*np.diff(xy, axis=0).T).sum())
    return World(
        name="hairpins",
        network=_network(_line("zigzag", ("west", "east"), xy)),
        lap=_ahead("zigzag"),
        lap_m=total,
        forks=0,
        corners=legs + 1,
    )


def square(side_m: float = 200.0, radius_m: float = 10.0) -> World:
    """A square loop with four rounded corners of 90 degrees to the left; no junction."""
    half, reach = side_m / 2, side_m / 2 - radius_m
    parts = []
    for k, (east, north) in enumerate(((1, -1), (1, 1), (-1, 1), (-1, -1))):
        angle = np.radians(np.linspace(-90.0, 0.0, 40) + 90.0 * k)
        centre = np.array([east, north]) * reach
        parts.append(centre + radius_m * np.column_stack((np.cos(angle), np.sin(angle))))
    seam = np.array([[0.0, -half]])
    xy = resample(np.vstack((seam, *parts, seam)), 1.0)
    network = _network(_line("square", ("seam", "seam"), xy))
    lap_m = 4 * side_m - 8 * radius_m + 2 * np.pi * radius_m
    return World(
        name="square", network=network, lap=_ahead("square"), lap_m=lap_m, forks=0, corners=4
    )


def one_way(world: World, name: str, ways: Ways = Ways.FORWARD) -> World:
    """The same world with one stretch allowed one way only."""
    stretches = tuple(replace(s, ways=ways) if s.id == name else s for s in world.network.stretches)
    return replace(world, network=replace(world.network, stretches=stretches))


def all_worlds() -> tuple[World, ...]:
    """Every world with its usual size."""
    return (
        ring(), figure_eight(), lollipop(), side_by_side(), ladder(), hill(), bridge(),
        crossing(), hairpins(), square(),
    )  # fmt: skip


def rides_over(
    world: World,
    *,
    rides: int = 6,
    error_m: float = 2.0,
    seed: int = 1,
    interval_s: float = 1.0,
    faults: Faults = CLEAN,
) -> tuple[RecordedTrack, ...]:
    """Random rides that pass everything in a world several times."""
    total = sum(float(np.hypot(*np.diff(s.xy, axis=0).T).sum()) for s in world.network.stretches)
    return ride_park(
        world.network,
        rides=rides,
        error_m=error_m,
        seed=seed,
        interval_s=interval_s,
        length_m=(1.2 * total, 1.8 * total),
        faults=faults,
    )


def lap_rides(
    world: World,
    *,
    rides: int = 6,
    error_m: float = 2.0,
    seed: int = 1,
    laps: int = 1,
    height_offset_m: float = 0.0,
) -> tuple[RecordedTrack, ...]:
    """``rides`` rides of the world's own lap, ``laps`` times each, a day apart."""
    receiver = Receiver(height_offset_m=height_offset_m)
    return tuple(
        ride_arcs(
            world.network,
            world.lap,
            error_m=error_m,
            seed=seed * 1000 + k,
            laps=laps,
            receiver=receiver,
            start_s=1_901_264_400.0 + 86_400.0 * k,
            name=f"Invented lap ride {k + 1}",
        ).track
        for k in range(rides)
    )
