"""Every edit a person can make, by name, each with the fields it may touch.

An edit here is made of a number: the number picks which ride, tag or loop it is about. Small
documents on invented ground, so that thousands of steps take seconds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TypeVar

import numpy as np

from io_help import ORIGIN, ride, season, wishes
from loopwright import edits
from loopwright.borrow import given_back
from loopwright.io.osm import ATTRIBUTION
from loopwright.model.document import AreaSettings, Document, PrivateCircle
from loopwright.model.ground import Tag
from loopwright.model.ids import RideId
from loopwright.model.loops import SavedLoop
from loopwright.model.network import Correction, CorrectionKind
from loopwright.model.rider import Rider
from loopwright.model.season import DayLabel, RiddenLaps, SeasonPlan
from loopwright.model.track import RideRole
from loopwright.model.wishes import Mix
from loopwright.reading import take_in
from loopwright.season.changes import relabel

T = TypeVar("T")
NAMES = ("Larch loop", "<b>Ridge</b>", "Beck", "")
LINE = np.array([[13.2, 46.5, 500.0], [13.201, 46.5, np.nan], [13.2, 46.5, 500.0]])


@dataclass(frozen=True, kw_only=True)
class Edited:
    """One kind of edit: ``make`` gives the next document, only ``touches`` may differ in it."""

    make: Callable[[Document, int], Document]
    touches: frozenset[str]


def picked(among: Sequence[T], number: int) -> T | None:
    """One of them, or None where there are none."""
    return among[number % len(among)] if among else None


def _tag(number: int) -> Tag:
    return Tag(
        line=LINE[:2, :2] + 1e-4 * number,
        surface=("rock", "mud", None)[number % 3],
        obstacles=(True, None)[number % 2],
        roots=(None, False, True)[number % 3],
        on=date(2027, 3, 1 + number) if number % 4 else None,
        source="osm" if number % 5 == 0 else "",
    )


def _correction(kind: CorrectionKind) -> Callable[[Document, int], Document]:
    def make(document: Document, number: int) -> Document:
        source = "osm" if kind is CorrectionKind.DRAWN and number % 3 == 0 else ""
        line = LINE[: 2 + number % 2] + 1e-4 * number
        one = Correction(kind=kind, line=line, value=NAMES[number % 4], source=source)
        return edits.add_correction(document, one)

    return make


def _loop(number: int, rank: int | None = None) -> SavedLoop:
    name = NAMES[number % 3] if rank is None else f"Loop {rank}"
    return SavedLoop(
        name=name, line=LINE + 1e-4 * (number % 2), wishes=wishes(), score=70.0 + number,
        match=0.5, rank=rank,
    )  # fmt: skip


def found(number: int) -> tuple[SavedLoop, ...]:
    """The loops of a search."""
    return tuple(_loop(number, rank) for rank in range(1, 1 + number % 4))


def _import(document: Document, number: int) -> Document:
    return take_in(document, [ride(4 + number % 5, name=f"ride {number % 5}")])[0]


def _import_race(document: Document, number: int) -> Document:
    lap = replace(ride(9 + number % 2, name="race lap"), role=RideRole.RACE)
    return take_in(document, [lap])[0]


def _ride_id(document: Document, number: int) -> RideId:
    one = picked(document.rides, number)
    return one.id if one is not None and number != 11 else RideId("gone")


def _remove_tags(document: Document, number: int) -> Document:
    return edits.remove_tags(document, document.tags[number % 7 : number % 7 + 2])


def _remove_correction(document: Document, number: int) -> Document:
    one = picked(document.corrections, number)
    return edits.remove_correction(document, one) if one is not None else document


def _season(document: Document, number: int) -> Document:
    return edits.set_season(document, None if number % 6 == 5 else season())


def _on_plan(
    change: Callable[[SeasonPlan, int], SeasonPlan],
) -> Callable[[Document, int], Document]:
    def make(document: Document, number: int) -> Document:
        plan = document.season
        return document if plan is None else edits.set_season(document, change(plan, number))

    return make


def _relabelled(plan: SeasonPlan, number: int) -> SeasonPlan:
    label = (DayLabel.TRAINING, DayLabel.RECOVERY)[number % 2]
    return relabel(plan, plan.sessions[number % len(plan.sessions)].on, label)


def _ridden(plan: SeasonPlan, number: int) -> SeasonPlan:
    laps = RiddenLaps(ride=RideId("0123456789abcdef"), loop=NAMES[0], laps=number)
    return replace(plan, sessions=(replace(plan.sessions[0], ridden=laps), *plan.sessions[1:]))


def _mix(document: Document, number: int) -> Document:
    return edits.keep_mix(
        document, Mix(name=f"mix {number % 2}", targets={"corners": 8.0 + number % 3})
    )


def _rider(document: Document, number: int) -> Document:
    return edits.set_rider(document, Rider(name=NAMES[number % 4], mass_kg=60.0 + number % 3))


def _settings(document: Document, number: int) -> Document:
    circle = PrivateCircle(lat=46.5, lon=13.2, radius_m=100.0 + number) if number % 3 else None
    return edits.set_settings(
        document, AreaSettings(private=circle, plan_for=date(2027, 5, 9 + number % 2))
    )


def _edited(make: Callable[[Document, int], Document], *touches: str) -> Edited:
    return Edited(make=make, touches=frozenset(touches))


EDITS: dict[str, Edited] = {
    "import": _edited(_import, "rides", "origin"),
    "import a race lap": _edited(_import_race, "rides"),
    "remove a ride": _edited(lambda d, n: edits.remove_ride(d, _ride_id(d, n)), "rides"),
    "hide a ride": _edited(
        lambda d, n: edits.hide_ride(d, _ride_id(d, n), hidden=n % 2 == 0), "rides"
    ),
    "role": _edited(
        lambda d, n: edits.set_role(d, _ride_id(d, n), list(RideRole)[n % 2]), "rides"
    ),
    "tag": _edited(lambda d, n: edits.add_tags(d, [_tag(k) for k in range(n % 3)]), "tags"),
    "take tags back": _edited(_remove_tags, "tags"),
    **{
        f"correct: {kind}": _edited(_correction(kind), "corrections") for kind in CorrectionKind
    },
    "take a correction back": _edited(_remove_correction, "corrections"),
    "give back": _edited(
        lambda d, _n: given_back(d, ATTRIBUTION), "tags", "corrections", "settings"
    ),
    "wishes": _edited(
        lambda d, n: edits.set_wishes(d, replace(wishes(), count=1 + n % 3)), "wishes"
    ),
    "keep a loop": _edited(lambda d, n: edits.keep_loop(d, _loop(n), NAMES[n % 3]), "kept"),
    "forget a loop": _edited(lambda d, n: edits.remove_loop(d, NAMES[n % 4]), "kept"),
    "keep a mix": _edited(_mix, "mixes"),
    "rider": _edited(_rider, "rider"),
    "plan a season": _edited(_season, "season"),
    "label a day": _edited(_on_plan(_relabelled), "season"),
    "note laps": _edited(_on_plan(_ridden), "season"),
    "settings": _edited(_settings, "settings"),
    "name": _edited(lambda d, n: edits.set_name(d, NAMES[n % 3]), "name"),
}  # fmt: skip
"""``found`` is no edit of a person: it comes as a note."""

START = Document(name="Invented hill", origin=ORIGIN, rides=(ride(),))
