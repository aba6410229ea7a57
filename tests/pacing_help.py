"""Courses and riders made up for the pacing and laps tests."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.model.course import Course, CourseFeature
from loopwright.model.frame import Origin
from loopwright.model.ground import ROUGHNESSES, SURFACES, FeatureKind
from loopwright.model.ids import StretchId, Way

ORIGIN = Origin(lat=47.0, lon=8.0)


def course_of(
    xy: Floats,
    *,
    ele: Floats | None = None,
    features: Sequence[CourseFeature] = (),
    surface: str = "dirt",
    roughness: str = "unknown",
    name: str = "test loop",
) -> Course:
    """A course along a closed line ``(n, 2)``, resampled to about 2.5 m."""
    ring = np.vstack((xy, xy[:1])) if not np.allclose(xy[0], xy[-1]) else np.asarray(xy)
    have = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))))
    dist = np.linspace(0.0, have[-1], max(int(have[-1] / 2.5), 8) + 1)
    line = np.column_stack([np.interp(dist, have, ring[:, k]) for k in (0, 1)])
    heights = np.full(len(dist), np.nan) if ele is None else np.interp(dist, have, ele)
    rows = len(dist)
    return Course(
        origin=ORIGIN,
        name=name,
        arcs=((StretchId("s1"), Way.FORWARD),),
        arc_ends_m=np.array([dist[-1]]),
        dist_m=dist,
        xy=line,
        ele_m=heights,
        grade=np.gradient(heights, dist) if ele is not None else np.full(rows, np.nan),
        curvature_per_m=_bend(line, dist),
        std_error_m=np.full(rows, 0.5),
        surface=np.full(rows, SURFACES.index(surface)),
        roughness=np.full(rows, ROUGHNESSES.index(roughness)),
        width=np.zeros(rows, dtype=np.int32),
        rough=np.zeros(rows, dtype=np.int32),
        banked=np.zeros(rows, dtype=np.int32),
        obstacles=np.zeros(rows, dtype=np.int32),
        features=tuple(features),
        ascent_m=0.0 if ele is None else float(np.maximum(np.diff(heights), 0).sum()),
    )


def _bend(line: Floats, dist: Floats) -> Floats:
    ring = line[:-1]
    step = np.roll(ring, -1, axis=0) - ring
    heading = np.arctan2(step[:, 1], step[:, 0])
    turn = (heading - np.roll(heading, 1) + np.pi) % (2 * np.pi) - np.pi
    bend = turn / (dist[1] - dist[0])
    return np.concatenate((bend, bend[:1]))


def ring(radius_m: float, *, points: int = 720) -> Floats:
    """A circle ridden anticlockwise from the east, first point repeated."""
    turn = np.linspace(0.0, 2 * np.pi, points + 1)
    return radius_m * np.column_stack((np.cos(turn), np.sin(turn)))


def stadium(straight_m: float, radius_m: float) -> Floats:
    """Two straights joined by two half circles, first point repeated."""
    half = np.linspace(-np.pi / 2, np.pi / 2, 90)
    right = radius_m * np.column_stack((np.cos(half), np.sin(half))) + [straight_m, radius_m]
    left = radius_m * np.column_stack((-np.cos(half), -np.sin(half))) + [0.0, radius_m]
    return np.vstack(([[0.0, 0.0]], right, left, [[0.0, 0.0]]))


def wiggly(length_m: float = 3000.0, *, seed: int = 1) -> Floats:
    """A closed loop with bends of 10 to 40 m radius; does not cross itself."""
    rng = np.random.default_rng(seed)
    turn = np.linspace(0.0, 2 * np.pi, 4001)
    base = length_m / (2 * np.pi) * 0.82
    radius = np.full(len(turn), base)
    for wave in (3, 5, 9, 17, 26):
        radius += base * 0.5 / wave**1.1 * 0.5 * np.sin(wave * turn + rng.uniform(0, 2 * np.pi))
    circle = np.column_stack((np.cos(turn), np.sin(turn)))
    return np.asarray(radius[:, None] * circle)


def feature(number: int, kind: FeatureKind, from_m: float, to_m: float) -> CourseFeature:
    """A feature with its place in the middle."""
    turn = 90.0 if kind is FeatureKind.CORNER else 0.0
    return CourseFeature(
        number=number, kind=kind, from_m=from_m, at_m=(from_m + to_m) / 2, to_m=to_m, turn_deg=turn
    )
