"""Which lines can be ridden on a network.

Gets a network once and lines; tells whether a walk that never leaves the network stays within a
few metres of a line from its beginning to its end, or all the way round.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from loopwright.geo.polyline import resample
from loopwright.invented.sample_graph import sample_graph
from loopwright.model.arrays import Floats
from loopwright.model.network import Network

STATION_M = 20.0
WITHIN_M = 12.0
SLACK_M = 14.0
"""From one station of a line to the next a walk may be so much longer than the line."""


class Rideable:
    """A network prepared for questions of which lines it has."""

    def __init__(self, network: Network) -> None:
        graph = sample_graph(network)
        self._near = graph.near(STATION_M + SLACK_M)
        self._tree = cKDTree(graph.xy) if len(graph.xy) else None

    def has(self, line: Floats) -> bool:
        """Tell whether ``line`` ``(n, 2)``, metres, can be ridden from end to end."""
        close = self._close(resample(line, STATION_M))
        return bool(close) and len(self._walked(close, close[0])) > 0

    def has_round(self, line: Floats) -> bool:
        """Tell whether ``line``, which ends where it begins, can be ridden back to its start."""
        close = self._close(resample(line, STATION_M)[:-1])
        return bool(close) and any(self._returns(close, int(start)) for start in close[0])

    def _close(self, stations: Floats) -> list[NDArray[np.intp]]:
        """Give samples near each station; nothing when some station has none."""
        if self._tree is None:
            return []
        found = self._tree.query_ball_point(stations, WITHIN_M)
        close = [np.array(rows, dtype=np.intp) for rows in found]
        return close if all(len(rows) for rows in close) else []

    def _walked(self, close: list[NDArray[np.intp]], here: NDArray[np.intp]) -> NDArray[np.intp]:
        """Give samples at the last station that are reached from those ``here`` at the first."""
        for candidates in close[1:]:
            here = candidates[self._near[np.ix_(here, candidates)].any(axis=0)]
        return here

    def _returns(self, close: list[NDArray[np.intp]], start: int) -> bool:
        last = self._walked(close, np.array([start], dtype=np.intp))
        return bool(self._near[last, start].any())
