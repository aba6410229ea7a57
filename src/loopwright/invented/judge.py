"""The judge: how good a built network is, against the truth.

Gets a built network and the true one; gives scores and tables. Promises: every figure is measured,
the same every time; empty networks get honest zeros.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from loopwright.invented.honesty import within_errors
from loopwright.invented.loops_kept import kept_share
from loopwright.invented.marbles import junction_share, length_ratio, path_share
from loopwright.invented.reachable import reachable_share
from loopwright.invented.rideable import Rideable
from loopwright.invented.turns_kept import turns_share
from loopwright.model.network import Network

JUNCTION_WITHIN_M = 20.0
REACH_WITHIN_M = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Scores:
    """What was measured; ratios 0 to 1 but for ``length_ratio``; NaN where there is nothing."""

    path_p_10: float
    path_r_10: float
    path_f_5: float
    path_f_10: float
    path_f_15: float
    reach_f: float
    junction_p: float
    junction_r: float
    junction_f: float
    junction_error_m: float
    length_ratio: float
    turns_kept: float
    turns_true: float
    loops_kept: float
    loops_true: float
    within_1_se: float
    within_2_se: float


def judge(built: Network, true: Network, *, seed: int = 0, loops: bool = True) -> Scores:
    """Score ``built`` against ``true``; ``seed`` chooses the loops that are tried."""
    at_5, at_10, at_15 = (path_share(built, true, within_m) for within_m in (5.0, 10.0, 15.0))
    found, errors = junction_share(built, true, JUNCTION_WITHIN_M)
    one, two = within_errors(built, true)
    on_built, on_true = Rideable(built), Rideable(true)
    nan = float("nan")
    return Scores(
        path_p_10=at_10.precision,
        path_r_10=at_10.recall,
        path_f_5=at_5.f,
        path_f_10=at_10.f,
        path_f_15=at_15.f,
        reach_f=reachable_share(built, true, REACH_WITHIN_M).f,
        junction_p=found.precision,
        junction_r=found.recall,
        junction_f=found.f,
        junction_error_m=float(np.median(errors)) if len(errors) else nan,
        length_ratio=length_ratio(built, true),
        turns_kept=turns_share(true, on_built),
        turns_true=turns_share(built, on_true),
        loops_kept=kept_share(true, on_built, seed=seed) if loops else nan,
        loops_true=kept_share(built, on_true, seed=seed) if loops else nan,
        within_1_se=one,
        within_2_se=two,
    )


def mean_of(scores: Sequence[Scores]) -> Scores:
    """Mean of every figure, leaving out NaN; raises ValueError when there are no scores."""
    if not scores:
        message = "no scores to take the mean of"
        raise ValueError(message)
    return Scores(**{f.name: _mean([getattr(s, f.name) for s in scores]) for f in fields(Scores)})


def _mean(values: Sequence[float]) -> float:
    known = [value for value in values if np.isfinite(value)]
    return float(np.mean(known)) if known else float("nan")


def table(rows: Sequence[tuple[str, Scores]]) -> str:
    """Scores as a plain-text table, one named row each."""
    names = [field.name for field in fields(Scores)]
    wide = max([len(name) for name, _ in rows] + [4])
    head = " ".join([" " * wide, *[f"{_short(name):>8}" for name in names]])
    lines = [
        " ".join([f"{name:<{wide}}", *[f"{getattr(scores, key):8.3f}" for key in names]])
        for name, scores in rows
    ]
    return "\n".join([head, *lines])


def _short(name: str) -> str:
    words = {
        "path_p_10": "path P", "path_r_10": "path R", "path_f_5": "F 5 m", "path_f_10": "F 10 m",
        "path_f_15": "F 15 m", "reach_f": "reach F", "junction_p": "junc P",
        "junction_r": "junc R", "junction_f": "junc F", "junction_error_m": "junc m",
        "length_ratio": "length", "turns_kept": "turns R", "turns_true": "turns P",
        "loops_kept": "loops R", "loops_true": "loops P",
        "within_1_se": "1 SE", "within_2_se": "2 SE",
    }  # fmt: skip
    return words[name]
