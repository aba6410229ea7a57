"""Measure the fit on invented riders: ``python tests/bench_riders.py [--riders N] [--first SEED]``.

Every rider has a park of his own and parameters the fit is not told: power, side grip, top speed,
mass, rolling resistance. Each rides ten times with a receiver in error by 3 m on each axis;
network, fit and lap come from the recordings alone. Prints how far the plan is from laps not used
in the fit.

Three truths are kept apart. The *usual* lap is the mean of many days. A *day's* lap differs from it
by the day's form, which no fit can foretell: that difference is printed as the floor. A *split* is
one section of one day's lap.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loopwright.clean import clean_rides
from loopwright.errors import NoAnswerError
from loopwright.features import assess, named_as_one, unroll
from loopwright.geo.sections import sections
from loopwright.invented.circuits import richest
from loopwright.invented.island import _busiest
from loopwright.invented.park import Park, make_park
from loopwright.invented.receiver import fading
from loopwright.invented.riders import WOBBLE_M, lay_out, ride_arcs
from loopwright.invented.speed import Legs, times_along
from loopwright.invented.walks import cover
from loopwright.jobs import Silent
from loopwright.loops.mixes import built_in_mixes
from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc
from loopwright.model.loops import SavedLoop
from loopwright.model.rider import LapPlan, Rider, RiderFit
from loopwright.model.track import CleanTrack
from loopwright.model.wishes import Wishes
from loopwright.network import build_network
from loopwright.pacing import fit_rider, plan_lap
from loopwright.pacing.kernels import rising_places
from loopwright.places import arcs_of_line, lap_line
from network_help import as_rides

RIDES = 10
DAY_POWER = 0.03
"""Log-normal spread of the power from one day to the next."""
WOBBLE = 0.08
"""Log-normal spread of the pace from one hundred metres to the next."""
DAYS = 200
"""Days of which the usual lap is the mean."""
TOLD_DAYS = 6
SAME_SHARE = 0.03
"""A lap on the network built is the true lap if its length agrees within this share."""


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """What one rider recorded, and the truth: seconds at the section edges of the lap, by day.

    ``day_s`` ``(DAYS, sections + 1)``; a row begins at 0 and ends with that day's lap time.
    """

    seed: int
    legs: Legs
    rider: Rider
    tracks: tuple[CleanTrack, ...]
    terrain: Terrain
    course: Course
    day_s: Floats

    @property
    def lap_s(self) -> Floats:
        """Lap times of all days."""
        return self.day_s[:, -1]


def someone(rng: np.random.Generator) -> Legs:
    """Draw a rider nobody is told of."""
    return Legs(
        power_w=float(rng.uniform(160.0, 320.0)),
        mass_kg=float(rng.uniform(66.0, 98.0)),
        grip=float(rng.uniform(0.28, 0.60)),
        top_mps=float(rng.uniform(8.0, 12.5)),
        rolling=float(rng.uniform(0.014, 0.028)),
    )


def world_of(seed: int, *, rides: int = RIDES) -> World:
    """Invent a park and a rider, ride it, build all from the recordings.

    Raises NoAnswerError when the lap does not close on the network built, or goes another way.
    """
    rng = np.random.default_rng([seed, 40])
    park, legs = make_park(seed), someone(rng)
    start = _busiest(park.network)
    lap = richest(park.network, park.features, start=start, length_m=(2500.0, 4500.0))
    tracks = []
    for k, arcs in enumerate(cover(park.network, rng, rides=rides, length_m=(5000.0, 12_000.0))):
        ridden = ride_arcs(
            park, arcs, seed=1000 * seed + k, legs=on_a_day(rng, legs), wobble=WOBBLE,
            interval_s=float(rng.choice([1.0, 2.0, 4.0])), start_s=1.9e9 + 86_400.0 * k,
        )  # fmt: skip
        tracks.append(ridden.track)
    clean = clean_rides(as_rides(tracks), park.network.origin)
    terrain = assess(build_network(clean, park.network.origin))
    course = course_of(terrain, park, lap)
    other_way(course, park, lap)
    return World(
        seed=seed, legs=legs, rider=Rider(mass_kg=legs.mass_kg - 11.5), tracks=clean,
        terrain=terrain, course=course, day_s=days_of(rng, park, lap, legs, course),
    )  # fmt: skip


def on_a_day(rng: np.random.Generator, legs: Legs) -> Legs:
    """Give the rider as he is today."""
    return replace(legs, power_w=legs.power_w * float(np.exp(DAY_POWER * rng.standard_normal())))


def course_of(terrain: Terrain, park: Park, lap: Sequence[Arc]) -> Course:
    """Find the true lap on the network built, its features as the program numbers them."""
    line = lap_line(assess(park.network), lap)
    wishes = Wishes(mix=built_in_mixes()[0])
    loop = SavedLoop(name=f"lap of park {park.seed}", line=line, wishes=wishes, score=0, match=0)
    arcs, start_m = arcs_of_line(terrain, loop, Silent())
    return named_as_one(unroll(terrain, arcs, name=loop.name, start_m=start_m))


def other_way(course: Course, park: Park, lap: Sequence[Arc]) -> None:
    """Raise NoAnswerError where the lap on the network built goes another way than the true one."""
    true_m = float(lay_out(park.network, lap)[2][-1])
    if abs(course.length_m / true_m - 1) > SAME_SHARE:
        said = f"goes another way: {course.length_m:.0f} m instead of {true_m:.0f} m"
        raise NoAnswerError(course.name, said, "a matter of the network, not of pacing")


def days_of(
    rng: np.random.Generator, park: Park, lap: Sequence[Arc], legs: Legs, course: Course
) -> Floats:
    """Ride the flying lap on many days; seconds at the section edges of ``course``."""
    line, ele, _ = lay_out(park.network, list(lap) * 2)
    half = (len(line) - 1) // 2
    marks = half + edges_on(line[: half + 1], course)
    rows = []
    for _ in range(DAYS // 10):
        steps = np.diff(times_along(line, ele, on_a_day(rng, legs)))
        for _ in range(10):
            pace = np.exp(WOBBLE * fading(rng, np.ones(len(steps) - 1), WOBBLE_M, 1)[:, 0])
            clock = np.concatenate(([0.0], np.cumsum(steps * pace)))
            rows.append(np.interp(marks, np.arange(len(clock)), clock))
    return np.array([row - row[0] for row in rows])


def edges_on(line: Floats, course: Course) -> Floats:
    """Places on the true ``line`` where the sections of ``course`` begin and the last ends."""
    edges = [part.from_m for part in sections(course)] + [course.length_m]
    places = rising_places(np.ascontiguousarray(course.xy), np.ascontiguousarray(line))
    at = np.interp(edges, course.dist_m, places.astype(np.float64))
    at[[0, -1]] = 0.0, len(line) - 1.0
    return np.asarray(np.maximum.accumulate(at))


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """How one plan compares. Errors are logarithms of ratios, positive when the plan is slow."""

    world: World
    fit: RiderFit
    plan: LapPlan
    prior: LapPlan

    @property
    def usual(self) -> float:
        """Against the mean of all days."""
        return float(np.log(self.plan.lap_time_s / self.world.lap_s.mean()))

    @property
    def days(self) -> Floats:
        """Against one lap on one day."""
        return np.log(self.plan.lap_time_s / self.world.lap_s[:: DAYS // TOLD_DAYS])

    @property
    def splits(self) -> Floats:
        """Which sections of one day's lap lie within their interval, with kind and seconds."""
        split_s = np.diff(self.world.day_s[:: DAYS // TOLD_DAYS], axis=1)
        low = np.array([s.low_s for s in self.plan.splits])
        high = np.array([s.high_s for s in self.plan.splits])
        return np.asarray((split_s >= low) & (split_s <= high), dtype=np.float64)


def told_of(world: World) -> Told:
    """Fit and plan."""
    fit = fit_rider(world.tracks, world.terrain, world.rider)
    plan = plan_lap(world.course, world.rider, fit=fit)
    return Told(world=world, fit=fit, plan=plan, prior=plan_lap(world.course, world.rider))


def worlds(first: int, count: int) -> Iterator[World]:
    """Give ``count`` worlds; parks whose lap does not close on the network built are left out."""
    seed = first
    while count:
        try:
            yield world_of(seed)
            count -= 1
        except NoAnswerError as error:
            print(error)  # noqa: T201 - a report
        seed += 1


def printed(all_told: Sequence[Told]) -> str:
    """Lay out the figures."""
    usual = np.array([one.usual for one in all_told])
    days = np.concatenate([one.days for one in all_told])
    form = np.concatenate([np.log(w.lap_s / w.lap_s.mean()) for w in (t.world for t in all_told)])
    size = np.sort(np.abs(usual))
    prior = [abs(np.log(t.prior.lap_time_s / t.world.lap_s.mean())) for t in all_told]
    inside = np.concatenate([one.splits.ravel() for one in all_told])
    laps = np.array([(t.world.lap_s > t.plan.low_s) & (t.world.lap_s < t.plan.high_s)
                     for t in all_told])  # fmt: skip
    wide = [t.plan.high_s / t.plan.low_s for t in all_told]
    rows = [
        ("usual lap, mean absolute error", f"{size.mean():.2%}"),
        ("  mean, signed", f"{usual.mean():+.2%}"),
        ("  within 3 %", f"{(size < 0.03).sum()} of {len(size)}"),
        ("  all, sorted", " ".join(f"{100 * one:.1f}" for one in size)),
        ("  without the fit, mean absolute", f"{np.mean(prior):.1%}"),
        ("one day's lap, mean absolute error", f"{np.abs(days).mean():.2%}"),
        ("  within 3 %", f"{(np.abs(days) < 0.03).mean():.0%}"),
        ("  floor: the same for a perfect usual lap", f"{np.abs(form).mean():.2%}"),
        ("  floor: days within 3 % of the usual lap", f"{(np.abs(form) < 0.03).mean():.0%}"),
        ("days' laps within the 90 % interval", f"{laps.mean():.1%}"),
        ("splits within theirs", f"{inside.mean():.1%} of {len(inside)}"),
        ("width, high over low", f"{np.median(wide):.3f}"),
        ("error printed, mean", f"{np.mean([t.fit.error_share or np.nan for t in all_told]):.2%}"),
    ]
    return "\n".join(f"{name:44} {value}" for name, value in rows)


def main() -> None:
    """Run."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--riders", type=int, default=20)
    asked.add_argument("--first", type=int, default=7000, help="the first seed")
    options = asked.parse_args()
    told = []
    for world in worlds(options.first, options.riders):
        told.append(told_of(world))
        print(f"{world.seed}: {told[-1].usual:+.1%}", flush=True)  # noqa: T201 - a report
    print(printed(told))  # noqa: T201 - a report


if __name__ == "__main__":
    main()
