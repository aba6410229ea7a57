"""From clean rides to a trail network.

Gets clean tracks, the origin of their frame and a person's corrections; gives a Network.
Promises: the order of the tracks does not matter; the same tracks give the same bytes.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loopwright.jobs import Report, Silent
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin
from loopwright.model.network import Correction, Network
from loopwright.model.track import CleanTrack
from loopwright.network.attract import attract
from loopwright.network.cover import ACROSS_M, cover
from loopwright.network.finish import finished
from loopwright.network.heights import levelled
from loopwright.network.pairs import Pairs, abreast
from loopwright.network.place import place_junctions
from loopwright.network.refit import refit
from loopwright.network.repair import mend, untwin
from loopwright.network.samples import Samples, gather
from loopwright.network.shadows import count_passes, drop_shadows
from loopwright.network.spread import spread_m
from loopwright.network.weave import weave

NEAR_M = 20.0
"""How far apart rides of one trail may lie before they are aligned."""


def build_network(
    tracks: Sequence[CleanTrack],
    origin: Origin,
    *,
    corrections: Sequence[Correction] = (),
    previous: Network | None = None,
    report: Report | None = None,
) -> Network:
    """Build the network of all ``tracks`` that are used, then apply ``corrections`` in order."""
    report = report or Silent()
    used = sorted((t for t in tracks if t.used and t.pieces), key=lambda t: t.ride)
    samples = gather(used)
    if len(samples) == 0:
        return Network(origin=origin, stretches=(), junctions=(), unfit=tuple(corrections))
    report.step(0.1, "comparing rides")
    raw_pairs = abreast(samples, samples.xy, samples.head, reach_m=NEAR_M)
    errors = spread_m(samples, raw_pairs, rides=len(used))
    report.step(0.2, "laying rides together")
    aligned = attract(samples, errors, report=report)
    pairs = abreast(samples, aligned.xy, aligned.head, reach_m=ACROSS_M + 2.0)
    ele = levelled(samples, aligned.xy, aligned.head, pairs, rides=len(used))
    report.step(0.6, "finding trails")
    runs = cover(samples, aligned.xy, aligned.head, pairs, _support(samples, pairs))
    web = weave(runs, np.column_stack((aligned.xy, ele)))
    mend(web)
    usual = float(np.median(errors))
    for _ in range(3):
        count_passes(web, samples, aligned.xy, aligned.head, ele, reach_m=4.0)
        if not drop_shadows(web, usual) + untwin(web, usual):
            break
        mend(web)
    place_junctions(web)
    sigma = errors[samples.ride]
    for _ in range(2):
        refit(web, samples, aligned.xy, aligned.head, ele, sigma)
    report.step(0.8, "measuring trails")
    return finished(web, samples, aligned, ele, sigma, [t.ride for t in used], origin)


def _support(samples: Samples, pairs: Pairs) -> Floats:
    """Rank pieces: the mean number of neighbours, less for sparse recording."""
    seen = np.bincount(pairs.i, minlength=len(samples)).astype(np.float64)
    pieces = len(samples.first) - 1
    size = np.bincount(samples.piece, minlength=pieces)
    mean = np.bincount(samples.piece, seen, pieces) / np.maximum(size, 1)
    return mean - np.where(samples.spacing > 9.0, 1000.0, 0.0)
