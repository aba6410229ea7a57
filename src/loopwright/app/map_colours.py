"""Which part of a stretch is drawn how, for each question the map can answer.

Gets a terrain and a question (plain, grade, ground, corners, passes, certainty), gives runs of
line with colour, dash and width. Promises: every run is told in the legend with words, so colour
is never the only sign; the same terrain gives the same runs.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loopwright.card.palette import SURFACE, Theme, blend, grade_colour
from loopwright.geo.polyline import along
from loopwright.model.arrays import Floats
from loopwright.model.ground import FeatureKind, Terrain
from loopwright.model.ids import StretchId, Ways
from loopwright.model.network import Stretch

GRADE_STEPS = (-0.15, -0.10, -0.06, -0.03, 0.03, 0.06, 0.10, 0.15)
STEEP_STEPS = GRADE_STEPS[4:]
"""A trail is ridden both ways, so the map tells steepness; the profile tells up from down."""
PLAIN_PX = 2.2
STRONG_PX = 3.2


class Question(StrEnum):
    """What the map's colours tell."""

    PLAIN = "plain"
    GRADE = "grade"
    GROUND = "ground"
    CORNERS = "corners"
    PASSES = "passes"
    CERTAINTY = "certainty"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """How a run is drawn; ``dash`` in line widths on/off, ``words`` for the legend."""

    colour: str
    words: str
    width: float = STRONG_PX
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """A part of a stretch, ``xy`` ``(n, 2)`` local metres, drawn with one pen."""

    xy: Floats
    pen: Pen


def runs(terrain: Terrain, question: Question, theme: Theme) -> Iterator[tuple[Run, ...]]:
    """Give the runs of each stretch of the network: in order, covering it end to end."""
    corners = corners_of(terrain) if question is Question.CORNERS else {}
    for stretch in terrain.network.stretches:
        if question is Question.CORNERS and stretch.ways is not Ways.CLOSED:
            yield _corner_runs(stretch, corners.get(stretch.id, ()), theme)
        else:
            yield _runs(terrain, stretch, question, theme)


def _runs(terrain: Terrain, stretch: Stretch, question: Question, theme: Theme) -> tuple[Run, ...]:
    if stretch.ways is Ways.CLOSED:
        pen = Pen(colour=theme.warning, words="closed", width=PLAIN_PX, dash=(1.0, 3.0))
        return (Run(xy=stretch.xy, pen=pen),)
    if stretch.unridden and question is Question.PLAIN:
        pen = Pen(colour=theme.trail, words="not ridden yet", width=PLAIN_PX, dash=(4.0, 3.0))
        return (Run(xy=stretch.xy, pen=pen),)
    if question is Question.GRADE:
        return _grade_runs(terrain, stretch)
    if question is Question.GROUND:
        return _ground_runs(terrain, stretch, theme)
    return (Run(xy=stretch.xy, pen=_whole_pen(stretch, question, theme)),)


def _whole_pen(stretch: Stretch, question: Question, theme: Theme) -> Pen:
    if question is Question.PASSES:
        return _passes_pen(len(stretch.passes), theme)
    if question is Question.CERTAINTY:
        return _certainty_pen(_median(stretch.std_error_m), theme)
    return Pen(colour=theme.trail, words="trail", width=PLAIN_PX)


def _passes_pen(passes: int, theme: Theme) -> Pen:
    for limit, words, share, width in (
        (1, "ridden once", 0.15, 2.0), (4, "2 to 4 times", 0.45, 2.8),
        (9, "5 to 9 times", 0.7, 3.8), (10**9, "10 times or more", 1.0, 5.0),
    ):  # fmt: skip
        if passes <= limit:
            return Pen(colour=blend(theme.trail, theme.ink, share), words=words, width=width)
    raise AssertionError  # the last limit is above any count


def _median(values: Floats) -> float:
    """Median of what is known, NaN of nothing; asked for hundreds of lines at once."""
    known = np.sort(values[np.isfinite(values)])
    if len(known) == 0:
        return float("nan")
    return float(known[(len(known) - 1) // 2] + known[len(known) // 2]) / 2


def _certainty_pen(error_m: float, theme: Theme) -> Pen:
    for limit, words, share, dash in (
        (1.0, "within 1 m", 1.0, ()), (2.0, "within 2 m", 0.7, (8.0, 1.5)),
        (4.0, "within 4 m", 0.4, (4.0, 2.0)), (float("inf"), "more than 4 m", 0.15, (1.5, 2.5)),
    ):  # fmt: skip
        if error_m <= limit:
            colour = blend(theme.trail, theme.ink, share)
            return Pen(colour=colour, words=words, width=STRONG_PX, dash=tuple(dash))
    return Pen(colour=theme.trail, words="unknown", width=PLAIN_PX, dash=(1.5, 2.5))


def _grade_runs(terrain: Terrain, stretch: Stretch) -> tuple[Run, ...]:
    profile = terrain.profiles.get(stretch.id)
    if profile is None or not np.isfinite(profile.grade).all():
        pen = Pen(colour=grade_colour(0.0), words="no heights", dash=(1.5, 2.5))
        return (Run(xy=stretch.xy, pen=pen),)
    steep = np.abs(profile.grade[:-1] + profile.grade[1:]) / 2
    steps = np.digitize(steep, STEEP_STEPS)
    return tuple(
        Run(xy=profile.xy[first : last + 1], pen=steep_pen(int(steps[first])))
        for first, last in _same(steps)
    )


def _same(values: NDArray[np.integer]) -> list[tuple[int, int]]:
    """Index ranges (first, past last) of equal neighbours."""
    cuts = np.flatnonzero(np.diff(values)) + 1
    edges = [0, *cuts.tolist(), len(values)]
    return list(pairwise(edges))


@cache
def grade_pen(step: int) -> Pen:
    """Pen of a grade class; steeper is wider, so that it reads without colour."""
    edges = (-0.20, *GRADE_STEPS, 0.20)
    middle = (edges[step] + edges[step + 1]) / 2
    words = (
        "steeper than 15 % down", "10-15 % down", "6-10 % down", "3-6 % down", "level, within 3 %",
        "3-6 % up", "6-10 % up", "10-15 % up", "steeper than 15 % up",
    )[step]  # fmt: skip
    return Pen(colour=grade_colour(middle), words=words, width=2.6 + 0.6 * abs(step - 4))


@cache
def steep_pen(step: int) -> Pen:
    """Pen of a steepness class, 0 for level."""
    pen = grade_pen(step + 4)
    return Pen(colour=pen.colour, words=pen.words.removesuffix(" up"), width=pen.width)


def _ground_runs(terrain: Terrain, stretch: Stretch, theme: Theme) -> tuple[Run, ...]:
    spans = terrain.spans.get(stretch.id, ())
    if not spans:
        return (Run(xy=stretch.xy, pen=_ground_pen("unknown", rough=False, theme=theme)),)
    return tuple(
        Run(
            xy=cut(stretch.xy, span.from_m, span.to_m) if len(spans) > 1 else stretch.xy,
            pen=_ground_pen(span.surface, rough=span.rough, theme=theme),
        )
        for span in spans
    )


def _ground_pen(surface: str, *, rough: bool, theme: Theme) -> Pen:
    style = SURFACE[surface]
    colour = blend(style.colour, theme.ink, 0.35) if theme.name == "dark" else style.colour
    words = f"{style.words}, rough" if rough else style.words
    width = 5.0 if rough else STRONG_PX
    return Pen(colour=colour, words=words, width=width, dash=style.dash)


def key_pens(pens: Iterable[Pen]) -> tuple[Pen, ...]:
    """Pens for the key, each word once, in the order of the model's words, rough as one row."""
    rough_mark = ", rough"
    plain: dict[str, Pen] = {}
    rough: list[Pen] = []
    for pen in pens:
        words = pen.words.removesuffix(rough_mark)
        if words != pen.words:
            rough.append(pen)
        width = STRONG_PX if words != pen.words else pen.width
        plain.setdefault(words, replace(pen, words=words, width=width))
    order = {style.words: place for place, style in enumerate(SURFACE.values())}
    order |= {steep_pen(step).words: step for step in range(len(STEEP_STEPS) + 1)}
    rows = sorted(plain.values(), key=lambda pen: order.get(pen.words, -1))
    if rough:
        rows.append(Pen(colour=rough[0].colour, words="wide line: rough", width=rough[0].width))
    return tuple(rows)


def _corner_runs(
    stretch: Stretch, corners: tuple[tuple[float, float, bool], ...], theme: Theme
) -> tuple[Run, ...]:
    plain = Pen(colour=theme.trail, words="no corner", width=PLAIN_PX)
    found = [Run(xy=stretch.xy, pen=plain)]
    for from_m, to_m, tight in corners:
        words = "tight corner" if tight else "corner"
        pen = Pen(colour=theme.accent, words=words, width=6.0 if tight else 4.0)
        found.append(Run(xy=cut(stretch.xy, from_m, to_m), pen=pen))
    return tuple(found)


def corners_of(terrain: Terrain) -> Mapping[StretchId, tuple[tuple[float, float, bool], ...]]:
    """Corners per stretch: from, to (forward metres) and whether tight."""
    table: dict[StretchId, tuple[tuple[float, float, bool], ...]] = {}
    for one in terrain.features:
        if one.kind is FeatureKind.CORNER:
            have = table.get(one.stretch, ())
            table[one.stretch] = (*have, (one.from_m, one.to_m, one.tight))
    return table


def cut(xy: Floats, from_m: float, to_m: float) -> Floats:
    """Part of a line between two distances along it, at least two points."""
    dist = along(xy)
    inner = xy[(dist > from_m) & (dist < to_m)]
    ends = np.column_stack([np.interp((from_m, to_m), dist, xy[:, axis]) for axis in (0, 1)])
    return np.concatenate((ends[:1], inner, ends[1:]))
