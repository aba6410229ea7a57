"""The plan of an invented park: which places are linked, before any line winds.

Gets a seeded generator and a size; gives node places and pairs. Promises: linked, no crossing
links, angles at a node at least ``LEAST_ANGLE_DEG``, at most four links a node.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations

import networkx as nx
import numpy as np
from scipy.spatial import Delaunay

from loopwright.model.arrays import Floats, Ints

LEAST_ANGLE_DEG = 42.0
MOST_LINKS = 4


@dataclass(slots=True)
class Plan:
    """Places ``(k, 2)`` metres, the links chosen, and pairs that would cross one link."""

    places: Floats
    links: list[tuple[int, int]] = field(default_factory=list)
    crossings: list[tuple[tuple[int, int], tuple[int, int]]] = field(default_factory=list)
    """A pair kept for a bridge, and the link it crosses at about its middle."""

    def fits(self, pair: tuple[int, int]) -> bool:
        """Tell whether a further link leaves room at both of its ends."""
        return self._room(pair[0], pair[1]) and self._room(pair[1], pair[0])

    def _room(self, node: int, other: int) -> bool:
        want = self.places[other] - self.places[node]
        taken = [
            self.places[b if a == node else a] - self.places[node]
            for a, b in self.links
            if node in {a, b}
        ]
        least = np.cos(np.radians(LEAST_ANGLE_DEG))
        cosines = [want @ have / np.hypot(*want) / np.hypot(*have) for have in taken]
        return len(taken) < MOST_LINKS and all(cosine < least for cosine in cosines)


def wild(rng: np.random.Generator, *, side: int, spacing_m: float, bridges: int) -> Plan:
    """Make a plan on ``side`` x ``side`` shaken places, mean degree about 3."""
    grid = np.array([(i + 0.25 * (j % 2), j) for j in range(side) for i in range(side)], float)
    shake = rng.uniform(-0.24, 0.24, grid.shape)
    plan = Plan(places=(grid + shake - (side - 1) / 2) * spacing_m)
    corners = np.sort(Delaunay(plan.places).simplices, axis=1)
    pairs = sorted({pair for tri in corners.tolist() for pair in combinations(tri, 2)})
    long = [float(np.hypot(*(plan.places[a] - plan.places[b]))) for a, b in pairs]
    order = np.argsort(np.array(long) * rng.uniform(0.6, 1.4, len(pairs)))
    usable = [pairs[k] for k in order if long[k] < 1.75 * spacing_m]
    _link(plan, usable, corners, bridges)
    return plan


def _link(plan: Plan, pairs: list[tuple[int, int]], corners: Ints, bridges: int) -> None:
    tree: nx.Graph[int] = nx.Graph()
    tree.add_nodes_from(range(len(plan.places)))
    for pair in pairs:
        if not nx.has_path(tree, *pair) and plan.fits(pair):
            tree.add_edge(*pair)
            plan.links.append(pair)
    for pair, under in _crossings(plan, corners):
        if len(plan.crossings) < bridges and plan.fits(pair):
            plan.links.append(pair)
            plan.crossings.append((pair, under))
    wanted = round(1.5 * len(plan.places))
    for pair in pairs:
        if len(plan.links) < wanted and pair not in plan.links and plan.fits(pair):
            plan.links.append(pair)


def _crossings(plan: Plan, corners: Ints) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    tips: dict[tuple[int, int], list[int]] = {}
    for tri in corners.tolist():
        for tip in tri:
            a, b = (node for node in tri if node != tip)
            tips.setdefault((a, b), []).append(tip)
    out = []
    for link in plan.links:
        ends = tips.get(link, [])
        if len(ends) == 2 and _near_right_angle(plan.places, link, ends):
            out.append(((min(ends), max(ends)), link))
    return out


def _near_right_angle(places: Floats, link: tuple[int, int], ends: list[int]) -> bool:
    one, two = places[link[1]] - places[link[0]], places[ends[1]] - places[ends[0]]
    sine = abs(one[0] * two[1] - one[1] * two[0]) / np.hypot(*one) / np.hypot(*two)
    at = np.array(meeting(places, link, (ends[0], ends[1])))
    share = np.hypot(*(at - places[link[0]])) / np.hypot(*one)
    return bool(sine > 0.8 and 0.3 < share < 0.7)


def meeting(places: Floats, link: tuple[int, int], ends: tuple[int, int]) -> tuple[float, float]:
    """Where two straight links cross, metres east and north."""
    start, one = places[link[0]], places[link[1]] - places[link[0]]
    two = places[ends[1]] - places[ends[0]]
    gap = places[ends[0]] - start
    cross = one[0] * two[1] - one[1] * two[0]
    at = start + one * ((gap[0] * two[1] - gap[1] * two[0]) / cross)
    return float(at[0]), float(at[1])


def streets(rng: np.random.Generator, *, side: int, spacing_m: float) -> Plan:
    """Make a plan of blocks: straight streets at right angles, a few left out."""
    east = np.cumsum(rng.uniform(0.7, 1.3, side)) * spacing_m
    north = np.cumsum(rng.uniform(0.5, 1.0, side)) * spacing_m
    grid = np.array([(x, y) for y in north for x in east])
    plan = Plan(places=grid - grid.mean(axis=0))
    for row in range(side):
        for column in range(side):
            node = row * side + column
            if column + 1 < side:
                plan.links.append((node, node + 1))
            if row + 1 < side:
                plan.links.append((node, node + side))
    keep = rng.uniform(size=len(plan.links)) > 0.12
    plan.links = [link for link, stays in zip(plan.links, keep, strict=True) if stays]
    return plan
