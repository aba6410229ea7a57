"""Judge the network building: ``python -m loopwright.judging``.

Gets how many parks and, if given, a folder of open recordings; prints tables of scores. Promises:
the same parks, rides and figures every time. Knows several rooms, as the pipeline does: it
invents rides, cleans them, builds the network and compares it with the truth.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from loopwright.clean import clean_rides
from loopwright.features import assess
from loopwright.geo.frame import to_local
from loopwright.invented.feature_scores import (
    FeatureScores,
    added,
    features_table,
    score_features,
)  # fmt: skip
from loopwright.invented.judge import Scores, judge, mean_of, table
from loopwright.invented.misses import junction_misses
from loopwright.invented.outings import go_out
from loopwright.invented.park import Park, make_park, part_of
from loopwright.invented.receiver import CLEAN, USUAL, Faults, Receiver
from loopwright.invented.riders import ride_park
from loopwright.invented.speed import Legs
from loopwright.io.tracks import ride_id
from loopwright.judging_open import OpenSet, covered_share, open_sets
from loopwright.model.frame import Origin
from loopwright.model.network import Network
from loopwright.model.track import RecordedTrack, Ride
from loopwright.network import build_network


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One kind of park ridden with one kind of receiver."""

    name: str
    style: str = "park"
    error_m: float = 3.0
    errors_m: tuple[float, float] | None = None
    interval_s: float = 1.0
    intervals_s: tuple[float, float] | None = None
    rides: int = 20
    faults: Faults = CLEAN
    height_offset_m: float = 15.0
    side: int | None = None
    """Places along one side of the park's plan; None takes the style's."""
    shade: float = 0.0
    """How many times the error is added where the ground spoils reception."""
    legs: Legs | None = None
    outings: bool = False
    """People out as they are; ``rides`` of them, everything else as `outings.py` says."""


WALKING = Legs(top_mps=1.35)
"""Somebody on foot."""
WALKED = Faults(spikes=0.5, gaps=0.3, pauses=2.0, pause_scatter_m=4.0, strays=1.0, bends_only=0.15)
HIKED = Faults(
    spikes=0.5, gaps=0.3, pauses=2.0, pause_scatter_m=3.0, strays=0.3, bends_only=0.1
)  # fmt: skip
"""A swing in three hours, one recording in ten only at bends: better devices than the walkers'."""
TRIALS = (
    Trial(name="3 m"),
    Trial(name="4 m", error_m=4.0),
    Trial(name="5 m", error_m=5.0),
    Trial(name="3 m, faults", faults=USUAL),
    Trial(name="3 m, few rides", rides=9),
    Trial(name="3 m, every 5 s", interval_s=5.0),
    Trial(name="3 m, every 8 s", interval_s=8.0),
    Trial(
        name="hard, 2-5 m, 1-4 s",
        style="hard",
        errors_m=(2.0, 5.0),
        intervals_s=(1.0, 4.0),
        height_offset_m=48.0,
    ),
    Trial(name="town, 3 m", style="town"),
    Trial(
        name="walkers, 3-6 m, 1-15 s",
        errors_m=(3.0, 6.0),
        intervals_s=(1.0, 15.0),
        faults=WALKED,
        shade=2.0,
        legs=WALKING,
    ),
    Trial(
        name="hikers, 3-5 m, 1-5 s",
        errors_m=(3.0, 5.0),
        intervals_s=(1.0, 5.0),
        rides=30,
        faults=HIKED,
        shade=1.0,
        legs=WALKING,
    ),
    Trial(
        name="pairs, 3-6 m, 1-4 s",
        style="pairs",
        errors_m=(3.0, 6.0),
        intervals_s=(1.0, 4.0),
        rides=24,
    ),
    Trial(name="staggered, 2-5 m", style="staggered", errors_m=(2.0, 5.0), intervals_s=(1.0, 2.0)),
    Trial(name="outings, 60 people", rides=60, outings=True),
)
"""The kinds of parks to be judged on."""


def build_from(tracks: Sequence[RecordedTrack], origin: Origin) -> Network:
    """Build a network from recordings the way the program does."""
    rides = [Ride(id=ride_id(track), track=track) for track in tracks]
    return build_network(clean_rides(rides, origin), origin)


def rides_of(park: Park, trial: Trial, seed: int) -> tuple[RecordedTrack, ...]:
    """Ride a park as the trial says."""
    return ride_park(
        park,
        rides=trial.rides,
        error_m=trial.error_m,
        errors_m=trial.errors_m,
        seed=seed,
        interval_s=trial.interval_s,
        intervals_s=trial.intervals_s,
        receiver=Receiver(
            height_offset_m=trial.height_offset_m, shade=trial.shade, shade_seed=seed
        ),
        faults=trial.faults,
        legs=trial.legs,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What to judge beside paths and junctions."""

    loop_parks: int = 5
    """Loops are tried on so many parks a trial: they take longest."""
    misses: bool = False


def judged(
    trial: Trial, seed: int, *, loops: bool = True, misses: bool = False
) -> tuple[Scores, FeatureScores]:
    """Score one park of a trial; with ``misses`` also tell every junction missed or false."""
    park = make_park(seed, style=trial.style, side=trial.side)
    if trial.outings:
        tracks, shown = go_out(park, walks=trial.rides, seed=seed)
        park = part_of(park, shown)
    else:
        tracks = rides_of(park, trial, seed)
    built = build_from(tracks, park.network.origin)
    if misses:
        for words in junction_misses(built, park):
            note(f"{trial.name}, park {seed}: {words}")
    found = score_features(assess(built).features, built, park)
    return judge(built, park.network, seed=seed, loops=loops), found


def run(
    trials: Sequence[Trial], seeds: range, wanted: Wanted
) -> Iterator[tuple[str, Scores, FeatureScores]]:
    """Yield the mean scores of every trial."""
    for trial in trials:
        began = time.monotonic()
        pairs = [
            judged(trial, seed, loops=k < wanted.loop_parks, misses=wanted.misses)
            for k, seed in enumerate(seeds)
        ]
        scores, found = mean_of([s for s, _ in pairs]), added([f for _, f in pairs])
        note(f"{trial.name}: {len(pairs)} parks in {time.monotonic() - began:.0f} s")
        note(f"{table([(trial.name, scores)])}\n{features_table([(trial.name, found)])}")
        yield trial.name, scores, found


def note(words: str) -> None:
    """Tell on standard error how far it is."""
    sys.stderr.write(f"{words}\n")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the judge and print its tables."""
    parser = argparse.ArgumentParser(prog="judge", description=__doc__)
    parser.add_argument("--parks", type=int, default=20, help="parks a trial (default 20)")
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--only", default="", help="only trials whose name holds these words")
    parser.add_argument("--loop-parks", type=int, default=5, help="try loops on so many parks")
    parser.add_argument("--misses", action="store_true", help="tell junctions missed or false")
    parser.add_argument("--data", type=Path, help="folder of open recordings to judge too")
    given = parser.parse_args(arguments)
    trials = [trial for trial in TRIALS if given.only in trial.name]
    if not trials:
        note(f"--only {given.only!r}: no trial has these words in its name")
        return 2
    seeds = range(given.first, given.first + given.parks)
    wanted = Wanted(loop_parks=given.loop_parks, misses=given.misses)
    done = list(run(trials, seeds, wanted))
    rows = [(name, scores) for name, scores, _ in done]
    if given.data:
        rows += [scored for found in open_sets(given.data) for scored in _open_scores(found)]
    sys.stdout.write(table(rows) + "\n\n")
    sys.stdout.write(features_table([(name, found) for name, _, found in done]) + "\n")
    return 0


def _open_scores(found: OpenSet) -> Iterator[tuple[str, Scores]]:
    """Score an open set against its survey, or tell how much of it the built network covers."""
    began = time.monotonic()
    built = build_from(found.tracks, found.origin)
    note(f"{found.name}: {len(found.tracks)} recordings in {time.monotonic() - began:.0f} s")
    for name, survey in found.surveys.items():
        yield name, judge(built, survey, loops=False)
        if found.best and name != found.best:
            yield f"{name}, at best", judge(found.surveys[found.best], survey, loops=False)
    if found.surveys:
        return
    places = [to_local(found.origin, track.lat, track.lon) for track in found.tracks]
    shares = [f"{covered_share(built, places, m):.1%} within {m:.0f} m" for m in (5.0, 10.0, 15.0)]
    note(f"{found.name}: {len(built.stretches)} stretches cover {', '.join(shares)}; no survey")


if __name__ == "__main__":
    raise SystemExit(main())
