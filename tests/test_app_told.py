"""What rooms say in English comes in the chosen language wherever the window shows it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from PySide6.QtWidgets import QApplication

from fit_help import longer_words
from loopwright import targets_told
from loopwright.app.told import told, told_all, told_each
from loopwright.app.told_recordings import COPIES
from loopwright.clean.copies import _copy_words
from loopwright.clean.strand import points
from loopwright.geo.sections import sections
from loopwright.model.course import CourseFeature
from loopwright.model.ground import FeatureKind
from loopwright.model.ids import RideId
from loopwright.model.network import Aside
from loopwright.model.rider import FitValue, Rider, RiderFit
from loopwright.model.season import DayLabel, GroundMet, Race, SeasonWishes
from loopwright.network.aside import _fault
from loopwright.pacing import plan_lap
from loopwright.pacing.effort import capacity_of, why_no_capacity
from loopwright.pacing.words import basis_words
from loopwright.season import ground_ledger, nudges, plan_season, relabel
from pacing_help import course_of, stadium

TODAY = date(2031, 3, 3)
FEATURES = tuple(
    CourseFeature(
        number=n, kind=kind, from_m=40.0 * n, at_m=40.0 * n + 10, to_m=40.0 * n + 25,
        turn_deg=(-1) ** n * 90.0,
    )
    for n, kind in enumerate((*FeatureKind, FeatureKind.CORNER), start=1)
)  # fmt: skip


def said_of_a_lap() -> list[str]:
    long = CourseFeature(number=20, kind=FeatureKind.CLIMB, from_m=30.0, at_m=60, to_m=390.0)
    course = course_of(stadium(200.0, 20.0), features=(*FEATURES, long))
    plan = plan_lap(course, Rider(critical_power_w=250.0, w_prime_j=20_000.0), laps=2)
    bare = course_of(stadium(200.0, 20.0))
    names = [one.name for one in (*sections(course), *sections(bare))]
    return [
        *names, targets_told.lap_words(plan), targets_told.balance_words(plan),
        targets_told.balance_words(replace(plan, laps=1)), targets_told.EFFORT_SCALE,
        targets_told.cost_words(2.0, 3.1, 2.0, 3.4),
    ]  # fmt: skip


def said_of_a_season() -> list[str]:
    race = Race(name="Invented Cup", on=TODAY + timedelta(weeks=6))
    plan = plan_season(SeasonWishes(races=(race,), hours_a_week=9.0), TODAY)
    hard = replace(plan, wishes=replace(plan.wishes, hard_days_in_a_row=0, hours_a_week=0.5))
    opened = relabel(hard, plan.sessions[9].on, DayLabel.OPEN)
    said = [one.words for one in nudges(opened)]
    said += [s.purpose for s in plan.sessions] + [s.note for s in plan.sessions if s.note]
    none, some = ground_ledger(GroundMet(), {}), ground_ledger(GroundMet(), {"gravel": 1.0})
    return [*said, none.words, *([] if some.gaps else [some.words])]


def said_of_recordings() -> list[str]:
    asides = [
        Aside(ride=RideId("r"), from_m=1000.0 * n, length_m=60.0, first=0, last=9) for n in range(5)
    ]
    beside = [_fault(asides[:n]).words for n in (1, 2, 5)]
    findings = [points(n) + " far off the line dropped" for n in (1, 1200)]
    return [*beside, *findings, *map(_copy_words, (0, 1, -2)), *COPIES[:2]]


@pytest.mark.parametrize("said", [said_of_a_lap, said_of_a_season, said_of_recordings])
def test_every_sentence_is_translated(qapp: QApplication, said: object) -> None:
    assert qapp is not None
    sentences = list(dict.fromkeys(said()))  # type: ignore[operator] # one of the two above
    assert len(sentences) > 8
    assert [told_each(words) for words in sentences] == sentences  # English stays as it is
    with longer_words():
        assert [words for words in sentences if told_each(words) == words] == []


RIDERS = (
    Rider(critical_power_w=250.0), Rider(critical_power_w=250.0, w_prime_j=20_000.0),
    Rider(all_out_w={180.0: 330.0, 720.0: 270.0}), Rider(all_out_w={180.0: 330.0}), Rider(),
    Rider(all_out_w={180.0: 270.0, 720.0: 330.0}),
)  # fmt: skip


@pytest.mark.parametrize("rider", RIDERS)
def test_what_a_plan_rests_on_is_told(qapp: QApplication, rider: Rider) -> None:
    assert qapp is not None
    value = FitValue(value=1.0, low=0.9, high=1.1, observations=9)
    fit = RiderFit(values={"a": value}, error_share=0.034, words="")
    course, capacity, why = (
        course_of(stadium(200.0, 20.0), surface="unknown"), capacity_of(rider),
        why_no_capacity(rider),
    )  # fmt: skip
    for fitted, seconds in ((fit, 4000.0), (None, 100.0), (replace(fit, error_share=None), 9.0)):
        basis = basis_words(course, fitted, capacity, seconds, why)
        assert told_all(basis) == basis
        with longer_words():
            for part in basis.removesuffix(".").split(". "):
                assert part not in told_all(basis)
            assert not why or why not in told_all(basis)


def test_what_a_person_wrote_stays() -> None:
    for words in ("my own note", "a to b", "Training"):
        assert told(words) == words


def test_each_part_of_a_note_is_told(qapp: QApplication) -> None:
    assert qapp is not None
    note = "very easy; heavier bike, +2.0 kg, about +3 s a lap; knee felt odd"
    with longer_words():
        easy, bike, own = told_each(note).split("; ")
    assert easy != "very easy"
    assert "+2.0" in bike
    assert "heavier" not in bike
    assert own == "knee felt odd"
