"""The longest way down: a chain of stretches that falls all along.

Gets a true network; gives arcs in riding order. Promises: every arc falls at least ``fall`` on
average, none is ridden twice, one-way stretches are honoured.
"""

from __future__ import annotations

from loopwright.geo.polyline import length_m
from loopwright.model.ids import Arc, JunctionId, Way
from loopwright.model.network import Network, Stretch


def longest_descent(network: Network, *, fall: float = 0.04) -> tuple[Arc, ...]:
    """Give the longest chain of falling arcs; empty when nothing falls that much."""
    down = [(stretch, way) for stretch in network.stretches if (way := _downhill(stretch, fall))]
    ordered = sorted(down, key=lambda item: _height(*item, at_end=True))
    best: dict[JunctionId, tuple[float, tuple[Arc, ...]]] = {}
    for stretch, way in ordered:
        tail, tip = (stretch.start, stretch.end)
        if way is Way.BACKWARD:
            tail, tip = tip, tail
        below, rest = best.get(tip, (0.0, ()))
        total = below + length_m(stretch.xy)
        if total > best.get(tail, (0.0, ()))[0]:
            best[tail] = (total, ((stretch.id, way), *rest))
    return max(best.values(), default=(0.0, ()))[1]


def _downhill(stretch: Stretch, fall: float) -> Way | None:
    drop = float(stretch.ele_m[0] - stretch.ele_m[-1])
    way = Way.FORWARD if drop > 0 else Way.BACKWARD
    steep = abs(drop) >= fall * length_m(stretch.xy)
    return way if steep and stretch.ways.allows(way) else None


def _height(stretch: Stretch, way: Way, *, at_end: bool) -> float:
    forward = (way is Way.FORWARD) is at_end
    return float(stretch.ele_m[-1 if forward else 0])
