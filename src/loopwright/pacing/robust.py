"""A small robust least-squares solver with priors.

Gets a function of a few parameters whose prior is standard normal, giving scaled residuals. Gives
the most likely parameters, the residuals, their slopes and weights. Promises: deterministic; no
more than a given number of rounds of Gauss-Newton with step halving.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats

ROUNDS = 12
KNEE = 2.0
"""Residuals beyond two standard errors count less and less (soft l1 loss)."""
NUDGE = 0.02
ENOUGH = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """The answer.

    Parameters ``(p,)``, residuals ``(n,)``, slopes ``(n, p)``, weights ``(n,)``, inverse curvature
    ``(p, p)`` (the covariance if residuals were independent).
    """

    theta: Floats
    cost: float
    residual: Floats
    slope: Floats
    weight: Floats
    inverse: Floats


def solve(function: Callable[[Floats], Floats], start: Floats, *, rounds: int = ROUNDS) -> Solved:
    """Minimise the robust sum of squares of ``function`` plus the squares of the parameters."""
    theta = start
    size = len(start)
    residual = function(theta)
    for _ in range(rounds):
        slope = _slopes(function, theta, residual)
        weight = _weights(residual)
        curve = slope.T @ (slope * weight[:, None]) + np.eye(size)
        step: Floats = np.asarray(
            -np.linalg.solve(curve, slope.T @ (weight * residual) + theta), np.float64
        )
        theta, residual, moved = _walk(function, theta, residual, step)
        if moved < ENOUGH:
            break
    slope, weight = _slopes(function, theta, residual), _weights(residual)
    curve = slope.T @ (slope * weight[:, None]) + np.eye(size)
    inverse: Floats = np.asarray(np.linalg.inv(curve), np.float64)
    return Solved(
        theta=theta,
        cost=_cost(theta, residual),
        residual=residual,
        slope=slope,
        weight=weight,
        inverse=inverse,
    )


def _weights(residual: Floats) -> Floats:
    return 1.0 / np.sqrt(1.0 + (residual / KNEE) ** 2)


def _cost(theta: Floats, residual: Floats) -> float:
    loss = 2 * KNEE**2 * (np.sqrt(1.0 + (residual / KNEE) ** 2) - 1.0)
    return float(loss.sum() + (theta**2).sum())


def _slopes(function: Callable[[Floats], Floats], theta: Floats, residual: Floats) -> Floats:
    columns = []
    for k in range(len(theta)):
        near = theta.copy()
        near[k] += NUDGE
        columns.append((function(near) - residual) / NUDGE)
    return np.column_stack(columns)


def _walk(
    function: Callable[[Floats], Floats], theta: Floats, residual: Floats, step: Floats
) -> tuple[Floats, Floats, float]:
    """Go along the step, halved until the cost falls; the size of the move, 0 if none helps."""
    cost = _cost(theta, residual)
    for _ in range(6):
        there = function(theta + step)
        if _cost(theta + step, there) < cost:
            return theta + step, there, float(np.abs(step).max())
        step = step / 2
    return theta, residual, 0.0


def without(solved: Solved, mask: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> Floats:
    """Parameters as they would be without the residuals in ``mask``: one Gauss-Newton step."""
    slope, weight, residual = solved.slope[mask], solved.weight[mask], solved.residual[mask]
    curve = np.linalg.inv(solved.inverse) - slope.T @ (slope * weight[:, None])
    return np.asarray(solved.theta + np.linalg.solve(curve, slope.T @ (weight * residual)))


def clustered(solved: Solved, group: np.ndarray[tuple[int], np.dtype[np.int32]]) -> float:
    """How much wider than independent residuals the spread is, since groups hang together.

    The ratio of the summed outer products of group gradients to those of single residuals,
    measured in the metric of the inverse curvature; never below 1.
    """
    pull = solved.slope * (solved.weight * solved.residual)[:, None]
    groups = np.array([pull[group == g].sum(axis=0) for g in np.unique(group)])
    together = float(np.einsum("ij,jk,ik->", groups, solved.inverse, groups))
    alone = np.einsum(
        "ij,jk,ik->", solved.slope * solved.weight[:, None], solved.inverse, solved.slope
    )
    return max(together / max(float(alone), 1e-9), 1.0)
