"""Numbers of features: the same round label on map and profile.

Gets page places; gives labels with thin leaders. Promises: number n means feature n everywhere.
"""

from __future__ import annotations

import numpy as np

from loopwright.card import palette
from loopwright.card.boxes import stroke, text
from loopwright.card.shapes import placed
from loopwright.model.course import CourseFeature
from loopwright.model.ground import FeatureKind
from loopwright.model.picture import Disc, Mark, Shape

LABEL_EM = ((10, 1.5), (100, 1.35), (10**9, 0.95))
"""Below these numbers a ring's number is so high, in its radii: three digits need a small one."""


def label_marks(x: float, y: float, number: int, *, radius: float, layer: str) -> tuple[Mark, ...]:
    """Draw a number in a ring centred at (x, y)."""
    size = radius * next(em for most, em in LABEL_EM if number < most)
    edge = palette.LIGHT.soft_ink
    return (
        Disc(x=x, y=y, radius_mm=radius, fill="#ffffff", edge=edge, width_mm=0.18, layer=layer),
        text(x, y + 0.357 * size, str(number), size, anchor="middle", bold=True, layer=layer),
    )


def leader_mark(
    start: tuple[float, float], end: tuple[float, float], *, short: float, layer: str
) -> tuple[Mark, ...]:
    """Draw a hair line from ``start`` toward ``end``, ending ``short`` before it."""
    first, last = np.array(start), np.array(end)
    length = float(np.hypot(*(last - first)))
    if length <= short + 0.3:
        return ()
    tip = last - (last - first) * short / length
    points = np.vstack((first, tip))
    return (stroke(points, colour=palette.LIGHT.soft_ink, width=0.16, layer=layer),)


def shape_mark(kind: FeatureKind, x: float, y: float, *, radius: float, layer: str = "") -> Shape:
    """Draw the shape that stands for a kind of feature."""
    style = palette.FEATURE[kind]
    return Shape(
        points=placed(style.shape, x=x, y=y, radius=radius),
        fill=style.colour,
        edge=palette.INK,
        width_mm=0.2,
        layer=layer,
    )


def listed(features: tuple[CourseFeature, ...]) -> tuple[CourseFeature, ...]:
    """Give features in the order of their numbers."""
    return tuple(sorted(features, key=lambda feature: feature.number))
