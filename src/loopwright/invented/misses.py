"""Where a built network went wrong at junctions, in words.

Gets a built network and the park it should be; gives one sentence for every junction that was
missed or is false, with what lies around it.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from scipy.spatial import cKDTree

from loopwright.invented.marbles import forks
from loopwright.invented.park import Park
from loopwright.model.arrays import Floats
from loopwright.model.network import Network

WITHIN_M = 20.0
AROUND_M = 30.0


def junction_misses(built: Network, park: Park) -> Iterator[str]:
    """Yield what is wrong with each junction that has no partner within 20 m."""
    have, want = forks(built), forks(park.network)
    for word, places, others in (("missed", want, have), ("false", have, want)):
        for place in places[_alone(places, others)]:
            around = ", ".join(sorted(_around(park, place))) or "nothing"
            yield f"{word} junction at {place[0]:.0f}, {place[1]:.0f} m, near {around}"


def _alone(places: Floats, others: Floats) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    if len(others) == 0 or len(places) == 0:
        return np.ones(len(places), dtype=bool)
    gaps = np.atleast_1d(cKDTree(others).query(places)[0])
    return np.asarray(gaps > WITHIN_M, dtype=bool)


def _around(park: Park, place: Floats) -> set[str]:
    return {
        park.kinds[stretch.id].value
        for stretch in park.network.stretches
        if np.hypot(*(stretch.xy - place).T).min() < AROUND_M
    }
