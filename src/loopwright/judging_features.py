"""Judge the features: ``python -m loopwright.judging_features``.

Gets how many parks; prints a table of how well corners and climbs of invented parks are found, on
the true lines and on networks built from rides. Promises: the same figures every time.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from dataclasses import astuple, fields

import numpy as np

from loopwright.clean import clean_rides
from loopwright.features import assess
from loopwright.features.judge import FeatureScores, score_features
from loopwright.invented.park import Park, make_park
from loopwright.invented.riders import ride_park
from loopwright.io.tracks import ride_id
from loopwright.model.network import Network
from loopwright.model.track import Ride
from loopwright.network import build_network

TRIALS = (("park", None), ("park", 3.0), ("park", 5.0), ("hard", 3.0), ("town", 3.0))
"""Style and error of the rides in metres; None judges the true lines."""
HEAD = ("", *(field.name.replace("_", " ") for field in fields(FeatureScores)))


def network_of(park: Park, error_m: float | None, *, rides: int, seed: int) -> Network:
    """Give the true network, or the one built from rides with ``error_m`` of error."""
    if error_m is None:
        return park.network
    tracks = ride_park(park, rides=rides, error_m=error_m, seed=seed)
    clean = clean_rides([Ride(id=ride_id(t), track=t) for t in tracks], park.network.origin)
    return build_network(clean, park.network.origin)


def run(seeds: Sequence[int], *, rides: int = 12) -> Iterator[tuple[str, FeatureScores]]:
    """Yield the mean scores of every trial."""
    for style, error_m in TRIALS:
        rows = []
        for seed in seeds:
            park = make_park(seed, style=style)
            terrain = assess(network_of(park, error_m, rides=rides, seed=seed))
            rows.append(astuple(score_features(park.network, park.features, terrain)))
        name = f"{style}, {'true lines' if error_m is None else f'rides at {error_m:g} m'}"
        yield name, _mean_scores(rows)


def _mean_scores(rows: Sequence[tuple[float, ...]]) -> FeatureScores:
    table = np.array(rows, dtype=np.float64)
    known = np.isfinite(table)
    total = np.where(known, table, 0.0).sum(axis=0)
    means = total / np.where(known.any(axis=0), known.sum(axis=0), np.nan)
    keys = [field.name for field in fields(FeatureScores)]
    named = dict(zip(keys, means.tolist(), strict=True))
    return FeatureScores(**(named | {"corners": round(named["corners"])}))


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="judge features", description=__doc__)
    parser.add_argument("--parks", type=int, default=10, help="parks a trial (default 10)")
    parser.add_argument("--first", type=int, default=1, help="first seed")
    given = parser.parse_args(arguments)
    sys.stdout.write(" | ".join(HEAD) + "\n")
    for name, scores in run(range(given.first, given.first + given.parks)):
        cells = (f"{value:.3f}" for value in astuple(scores)[1:])
        sys.stdout.write(" | ".join((name, f"{scores.corners:.0f}", *cells)) + "\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
