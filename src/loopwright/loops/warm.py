"""Compile the search's kernels before anyone waits for them.

``warm_up`` runs one tiny search; the compiled kernels then stay in numba's cache on disk, beside
the source or, where that cannot be written, in the user's cache folder. Called at install, and in
the background when an area opens.
"""

from __future__ import annotations

import time

import numpy as np

from loopwright.jobs import Silent
from loopwright.loops.further import Further
from loopwright.loops.graph import sheet_of
from loopwright.loops.progress import Progress, highest_score
from loopwright.loops.search import search
from loopwright.model.frame import Origin
from loopwright.model.ground import Terrain
from loopwright.model.ids import JunctionId, StretchId, Way
from loopwright.model.network import Junction, Network, Stretch
from loopwright.model.wishes import Mix, Question, Wishes


def warm_up() -> None:
    """Compile every kernel, or load it from the cache; a few seconds the first time."""
    mix = Mix(name="warming", targets={"corners": 50.0, "climb_gain_m": 900.0})
    wishes = Wishes(mix=mix, min_length_m=200.0, max_length_m=900.0, count=2, seconds=600.0)
    terrain = triangle_pair()
    must = frozenset({terrain.network.stretches[0].id})
    for question in (Question(wishes=wishes), Question(wishes=wishes, must=must)):
        sheet = sheet_of(terrain, question, Further())
        progress = Progress(
            terrain=terrain, question=question, report=Silent(), further=Further(),
            began=time.monotonic(), bound=highest_score(sheet),
        )  # fmt: skip
        search(progress, sheet, workers=1)


def triangle_pair() -> Terrain:
    """Two made-up triangles that share a side: the least that has more than one loop."""
    spots = np.array([[0.0, 0.0], [100.0, 90.0], [100.0, -90.0], [200.0, 0.0]])
    ends = ((0, 1), (1, 2), (2, 0), (1, 3), (3, 2))
    names = [JunctionId(f"j{i}") for i in range(4)]
    stretches = tuple(
        Stretch(
            id=StretchId(f"s{i}"), start=names[a], end=names[b],
            xy=spots[[a, b]], ele_m=np.zeros(2), std_error_m=np.zeros(2),
        )
        for i, (a, b) in enumerate(ends)
    )  # fmt: skip
    junctions = tuple(
        Junction(id=name, xy=spot, ele_m=0.0, degree=2)
        for name, spot in zip(names, spots, strict=True)
    )
    arcs = [(s.id, way) for s in stretches for way in Way]
    return Terrain(
        network=Network(origin=Origin(lat=0.0, lon=0.0), stretches=stretches, junctions=junctions),
        spans={}, features=(), passages=(),
        lengths_m={s.id: 130.0 + 10.0 * i for i, s in enumerate(stretches)},
        ascents_m={arc: float(i) for i, arc in enumerate(arcs)},
        amounts={a: {"corners": 1.0 + i % 3, "climb_gain_m": 1.0 * i} for i, a in enumerate(arcs)},
    )  # fmt: skip
