"""Circles fitted to points.

Algebraic fits in one form: the parameters minimise the mean squared algebraic distance under a
quadratic constraint, which alone tells the methods apart (Al-Sharadqah and Chernov 2009, doi
10.1214/09-EJS419). The hyper-accurate fit has no essential bias, so short noisy arcs do not read
too small as they do with the plainest fit.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eig

from loopwright.model.arrays import Floats

Complexes: TypeAlias = NDArray[np.complex128]
Method = Literal["hyper", "taubin", "pratt"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """Centre and radius in metres; a straight line has an infinite radius."""

    x: float
    y: float
    radius_m: float


STRAIGHT = Circle(x=0.0, y=0.0, radius_m=float("inf"))


def fit_circle(points: Floats, *, method: Method = "hyper") -> Circle:
    """Fit a circle to ``points`` ``(n, 2)``; needs three, fewer or collinear give ``STRAIGHT``.

    Raises ValueError for points that are not finite.
    """
    if not np.isfinite(points).all():
        raise ValueError("a circle needs finite points")
    if len(points) < 3:
        return STRAIGHT
    middle = points.mean(axis=0)
    size = float(np.sqrt(((points - middle) ** 2).sum(axis=1).mean()))
    if size == 0.0:
        return STRAIGHT
    found = _fit((points - middle) / size, method)
    return Circle(
        x=float(found.x * size + middle[0]),
        y=float(found.y * size + middle[1]),
        radius_m=found.radius_m * size,
    )


def _fit(points: Floats, method: Method) -> Circle:
    square = (points**2).sum(axis=1)
    rows = np.column_stack((square, points, np.ones(len(points))))
    moments = rows.T @ rows / len(rows)
    root, vectors = _roots(moments, _constraint(square.mean(), method), method)
    root = np.where(np.isfinite(root), np.real(root), np.inf)
    # The least root that is not negative; rounding may push an exact zero just below it.
    best = int(np.argmin(np.where(root > -1e-9, root, np.inf)))
    a, b, c, d = np.real(vectors[:, best])
    if abs(a) < 1e-12 * max(abs(b), abs(c), abs(d)):
        return STRAIGHT
    inside = b * b + c * c - 4 * a * d
    return Circle(
        x=-b / (2 * a), y=-c / (2 * a), radius_m=float(np.sqrt(max(inside, 0.0)) / abs(2 * a))
    )


def _roots(moments: Floats, constraint: Floats, method: Method) -> tuple[Complexes, Complexes]:
    """Solve the generalised eigenproblem; only Taubin's constraint cannot be inverted."""
    if method == "taubin":
        found = eig(moments, constraint)
        return np.asarray(found[0]), np.asarray(found[1])
    values, vectors = np.linalg.eig(np.linalg.solve(constraint, moments))
    return values.astype(np.complex128), vectors.astype(np.complex128)


def _constraint(mean_square: float, method: Method) -> Floats:
    pratt = np.array([[0, 0, 0, -2.0], [0, 1, 0, 0], [0, 0, 1, 0], [-2.0, 0, 0, 0]])
    if method == "pratt":
        return pratt
    # Points are centred, so the mixed means of x and y vanish.
    taubin = np.diag([4 * mean_square, 1.0, 1.0, 0.0])
    return taubin if method == "taubin" else 2 * taubin - pratt
