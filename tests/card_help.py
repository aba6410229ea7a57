"""Courses, plans and card inputs of known content for card and render tests. All invented."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date

import numpy as np

from loopwright.card import card_pages
from loopwright.card.boxes import Box, text_box
from loopwright.card.sheet import Ask, CardInput, Density, Paper, SessionWords
from loopwright.geo.polyline import along
from loopwright.model.arrays import Floats
from loopwright.model.course import Course, CourseFeature, mark_m
from loopwright.model.frame import Origin
from loopwright.model.ground import SURFACES, FeatureKind
from loopwright.model.picture import Disc, Mark, Picture, Text, side_by_side
from loopwright.model.rider import LapPlan, SplitTarget
from loopwright.model.season import DayLabel

ORIGIN = Origin(lat=47.11, lon=11.52)
EDGE_MM = 1.5
KINDS = tuple(FeatureKind)
NAMES = (
    "Kestrel bank and back",
    "Älvsborgs långa kvällsvända över åsen",
    "الحلقة الطويلة خلف الطاحونة القديمة",
    "סיבוב היער הצפוני",
    "The very long name of a loop that somebody typed without once stopping for breath or paper",
    "短い周回",
)


def ring(seed: int, *, length_m: float = 4300.0, step_m: float = 5.0) -> Floats:
    """A closed wavy line ``(n, 2)`` of about ``length_m``."""
    dice = np.random.default_rng(seed)
    turn = np.linspace(0.0, 2 * np.pi, round(length_m / step_m) + 1)
    radius = np.ones_like(turn)
    for k in range(2, 9):
        radius += dice.normal(0, 0.22 / k) * np.cos(k * turn + dice.uniform(0, 6.28))
    xy = np.column_stack((radius * np.cos(turn) * dice.uniform(0.8, 1.6), radius * np.sin(turn)))
    xy *= length_m / along(xy)[-1]
    xy[-1] = xy[0]
    return xy


def course(
    seed: int = 1, *, features: int = 14, length_m: float = 4300.0, heights: bool = True
) -> Course:
    """A loop with hills and ``features`` features of mixed kinds in riding order."""
    xy = ring(seed, length_m=length_m)
    dist = along(xy)
    rows = len(dist)
    lap = dist / dist[-1] * 2 * np.pi
    ele = 640 + 22 * np.sin(lap + seed) + 9 * np.sin(3 * lap + 2) + 3 * np.sin(7 * lap)
    grade = np.gradient(ele, dist)
    zeros, nil = np.zeros(rows), np.zeros(rows, dtype=np.int32)
    return Course(
        origin=ORIGIN,
        name="test loop",
        arcs=(),
        arc_ends_m=np.zeros(0),
        dist_m=dist,
        xy=xy,
        ele_m=ele if heights else np.full(rows, np.nan),
        grade=grade if heights else np.full(rows, np.nan),
        curvature_per_m=zeros,
        std_error_m=zeros,
        surface=np.full(rows, SURFACES.index("dirt")),
        roughness=nil,
        width=nil,
        rough=nil,
        banked=nil,
        obstacles=nil,
        features=course_features(seed, features, float(dist[-1])),
        ascent_m=float(np.maximum(np.diff(ele), 0).sum()) if heights else 0.0,
    )


def course_features(seed: int, count: int, length_m: float) -> tuple[CourseFeature, ...]:
    """Features with plausible numbers, spread over the lap."""
    dice = random.Random(seed)
    places = sorted(dice.uniform(0, length_m * 0.97) for _ in range(count))
    found = sorted((_feature(dice, place, length_m) for place in places), key=mark_m)
    return tuple(replace(one, number=n) for n, one in enumerate(found, start=1))


def _feature(dice: random.Random, place: float, length_m: float) -> CourseFeature:
    kind = dice.choice((*KINDS, FeatureKind.CORNER, FeatureKind.CORNER))
    size = dice.uniform(10, 25) if kind is FeatureKind.CORNER else dice.uniform(60, 280)
    end = min(length_m, place + size)
    up = kind in {FeatureKind.CLIMB, FeatureKind.STEEP_CLIMB}
    down = kind in {FeatureKind.DESCENT, FeatureKind.ROUGH_DESCENT}
    grade = dice.uniform(0.04, 0.16) * (1 if up else -1 if down else 0)
    turn = dice.choice((-1, 1)) * dice.uniform(45, 170) if kind is FeatureKind.CORNER else 0.0
    return CourseFeature(
        number=1,
        kind=kind,
        from_m=place,
        at_m=(place + end) / 2,
        to_m=end,
        turn_deg=turn,
        radius_m=dice.uniform(4, 20),
        tight=abs(turn) > 120,
        banked=dice.random() < 0.2,
        gain_m=abs(grade) * (end - place),
        grade_mean=grade,
        grade_max=grade * 1.3,
    )


def plan(lap: Course, *, power: bool = True) -> LapPlan:
    """A plan of 5 m/s all along with a split for each feature."""
    time = lap.dist_m / 5.0
    total = float(time[-1])
    return LapPlan(
        lap_time_s=total,
        low_s=total * 0.96,
        high_s=total * 1.05,
        first_lap_s=total + 6,
        laps=4,
        dist_m=lap.dist_m,
        speed_mps=np.full(len(time), 5.0),
        time_s=time,
        power_w=np.full(len(time), 210.0),
        splits=tuple(_split(feature, power=power) for feature in lap.features),
        basis="your 12 rides here, off by 2.8 % on rides left out",
    )


def _split(feature: CourseFeature, *, power: bool) -> SplitTarget:
    time = (feature.to_m - feature.from_m) / 5.0
    up, corner = feature.grade_mean > 0, feature.kind is FeatureKind.CORNER
    return SplitTarget(
        number=feature.number,
        name=feature.kind.value,
        from_m=feature.from_m,
        to_m=feature.to_m,
        time_s=time,
        low_s=time * 0.94,
        high_s=time * 1.08,
        power_w=312.0 if up and power else None,
        effort_cr10=(6, 7) if up and not power else None,
        cadence_rpm=58.0 if up else None,
        gear="32/39" if up else "",
        torque_nm=48.0 if up else None,
        entry_mps=7.1 if corner else None,
        lowest_mps=4.4 if corner else None,
        exit_mps=6.2 if corner else None,
        look_ahead_m=12.0 if corner else None,
    )


def sheet(seed: int = 1, *, features: int = 14, name: str = NAMES[0], **more: object) -> CardInput:
    """A card input with everything filled in."""
    lap = course(seed, features=features)
    given: dict[str, object] = {
        "course": lap,
        "name": name,
        "plan": plan(lap),
        "area": "Wolds of Marrowmere",
        "invented": True,
        "match": 0.91,
        "match_words": "91 % of what is wanted",
        "mix_name": "race lap",
        "asks": (
            Ask(kind="climb_gain_m", wanted=120, given=96),
            Ask(kind="steep_gain_m", wanted=40, given=44),
            Ask(kind="corners", wanted=24, given=22),
            Ask(kind="rough_descent_m", wanted=500, given=310),
            Ask(kind="ground_m:gravel", wanted=800, given=812),
        ),
        "session": SessionWords(label=DayLabel.TRAINING, kind="race_lap", laps=4, rest_minutes=5),
        "background": tuple(ring(seed * 100 + k, length_m=5000.0) for k in range(3)),
        "ground_m": {"dirt": 2100.0, "gravel": 812.0, "rock": 420.0, "unknown": 960.0},
        "densities": (
            Density(kind="corner", per_km=5.1),
            Density(kind="climb", per_km=0.9),
        ),
        "inside_share": 0.71,
        "ascent_scale": "over 20 m",
        "ground_state": "tags of 12 May 2026",
        "on": date(2026, 5, 16),
        "attributions": ("Hand-drawn for tests",),
        "start": (47.11234, 11.52345),
    }
    given.update(more)
    return CardInput(**given)  # type: ignore[arg-type] # values by name, checked by the card


def faults(picture: Picture) -> list[str]:
    """Name every pair of texts that touch, and every mark that leaves the page."""
    boxes = [(mark, text_box(mark)) for mark in picture.marks if isinstance(mark, Text)]
    found = [
        f"{first.words!r} touches {second.words!r}"
        for i, (first, one) in enumerate(boxes)
        for second, other in boxes[i + 1 :]
        if one.overlaps(other, slack=0.02)
    ]
    found += [f"{mark.words!r} leaves the page" for mark, box in boxes if not _inside(picture, box)]
    return found + [
        f"{mark!r} leaves the page" for mark in picture.marks if _outside(picture, mark)
    ]


def _inside(picture: Picture, box: Box) -> bool:
    right, bottom = picture.width_mm - EDGE_MM, picture.height_mm - EDGE_MM
    return box.left >= EDGE_MM and box.top >= 0 and box.right <= right and box.bottom <= bottom


def _outside(picture: Picture, mark: Mark) -> bool:
    if isinstance(mark, Disc):
        points = np.array([(mark.x - mark.radius_mm, mark.y), (mark.x + mark.radius_mm, mark.y)])
    elif isinstance(mark, Text):
        return False
    else:
        points = mark.points
    low, high = points.min(axis=0), points.max(axis=0)
    return bool((low < -1e-6).any() or (high > (picture.width_mm, picture.height_mm)).any())


def card_picture(given: CardInput, *, paper: Paper = "A4") -> Picture:
    """All pages of a card beside each other."""
    return side_by_side(card_pages(given, paper=paper))
