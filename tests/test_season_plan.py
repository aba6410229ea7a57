"""Season plans keep the rider's limits, whatever the wishes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.errors import NoAnswerError
from loopwright.io.codec.season import get_season, put_season
from loopwright.loops.mixes import built_in_mixes
from loopwright.model.season import DayLabel, Race, SeasonPlan, SeasonWishes, Session
from loopwright.season import CAUTION, EVIDENCE, drill_counts, nudges, plan_season, rate
from loopwright.season.changes import relabel, session_on
from loopwright.season.ladder import RUNGS, effort_minutes
from loopwright.season.purposes import KINDS, Purpose

TODAY = date(2030, 3, 6)
DAY = timedelta(days=1)
wishes_of = st.builds(
    SeasonWishes,
    races=st.lists(
        st.builds(
            Race,
            name=st.sampled_from(["Sandreth Heath", "Quillmark Cup"]),
            on=st.integers(1, 200).map(lambda k: TODAY + k * DAY),
        ),
        min_size=1,
        max_size=3,
        unique_by=lambda race: race.on,
    ).map(tuple),
    weeks=st.integers(1, 30),
    training_days=st.lists(st.integers(0, 6), unique=True, max_size=7).map(tuple),
    hours_a_week=st.floats(0.25, 25.0),
    hard_days_in_a_row=st.integers(0, 3),
    weeks_style=st.sampled_from(["even", "blocked"]),
)
plans = wishes_of.map(lambda wishes: plan_season(wishes, TODAY))
many = settings(max_examples=60, deadline=None)


def _is_race(plan: SeasonPlan, session: Session) -> bool:
    return any(race.on == session.on for race in plan.wishes.races)


@many
@given(plan=plans)
def test_one_entry_a_day_up_to_the_last_race(plan: SeasonPlan) -> None:
    days = [session.on for session in plan.sessions]
    assert days[-1] == max(race.on for race in plan.wishes.races)
    assert all(b - a == DAY for a, b in pairwise(days))
    assert days[0] >= TODAY
    assert len(days) <= 7 * plan.wishes.weeks


@many
@given(plan=plans)
def test_only_the_riders_days_are_trained_on(plan: SeasonPlan) -> None:
    for session in plan.sessions:
        if session.label is DayLabel.TRAINING and not _is_race(plan, session):
            assert session.on.weekday() in plan.wishes.training_days
        assert session.label is not DayLabel.OPEN


@many
@given(plan=plans)
def test_no_week_holds_more_hours_than_given(plan: SeasonPlan) -> None:
    weeks: dict[tuple[int, int], float] = {}
    for session in plan.sessions:
        week = session.on.isocalendar()[:2]
        weeks[week] = weeks.get(week, 0.0) + session.minutes
    assert max(weeks.values()) <= plan.wishes.hours_a_week * 60 + 1e-6


@many
@given(plan=plans)
def test_no_more_hard_days_in_a_row_than_allowed(plan: SeasonPlan) -> None:
    run = 0
    for session in plan.sessions:
        run = run + 1 if session.hard else 0
        assert run <= plan.wishes.hard_days_in_a_row or _is_race(plan, session)


@many
@given(plan=plans)
def test_days_before_and_after_a_race_are_not_hard(plan: SeasonPlan) -> None:
    races = {race.on for race in plan.wishes.races}
    for session in plan.sessions:
        if session.hard and session.on not in races:
            assert not {session.on + DAY, session.on - DAY} & races


@many
@given(plan=plans)
def test_efforts_never_get_longer_again(plan: SeasonPlan) -> None:
    efforts = [session.effort_minutes for session in plan.sessions if session.effort_minutes > 0]
    assert all(before >= after for before, after in pairwise(efforts))


@many
@given(plan=plans)
def test_no_kind_serves_the_same_purpose_twice_running(plan: SeasonPlan) -> None:
    last: dict[str, str] = {}
    for session in plan.sessions:
        if session.kind:
            assert last.get(session.purpose) != session.kind
            last[session.purpose] = session.kind


@many
@given(plan=plans)
def test_sessions_hang_together(plan: SeasonPlan) -> None:
    names = {mix.name for mix in built_in_mixes()}
    for session in plan.sessions:
        assert session.kind in names or not session.kind
        assert bool(session.kind) == (session.minutes > 0) or _is_race(plan, session)
        if session.laps:
            rest = (session.laps - 1) * session.rest_minutes
            assert session.laps * session.effort_minutes + rest + 10.0 <= session.minutes


@many
@given(plan=plans)
def test_the_same_wishes_give_the_same_plan_and_nothing_to_nudge_about(plan: SeasonPlan) -> None:
    assert plan == plan_season(plan.wishes, TODAY)
    assert nudges(plan) == ()


@many
@given(plan=plans, later=st.integers(0, 60))
def test_planning_again_later_keeps_the_past(plan: SeasonPlan, later: int) -> None:
    day = TODAY + later * DAY
    if day > plan.sessions[-1].on:
        return
    again = plan_season(plan.wishes, day, previous=plan)
    past = [s for s in plan.sessions if s.on < again.sessions[-1].on and s.on < day]
    assert list(again.sessions[: len(past)]) == past
    days = [session.on for session in again.sessions]
    assert days == [session.on for session in plan.sessions]


def _ridden(plan: SeasonPlan, until: date, every: int) -> SeasonPlan:
    """The plan with days up to ``until`` rated, each ``every``th a little longer than planned."""
    for k, session in enumerate(plan.sessions):
        if session.on <= until and session.minutes > 0:
            minutes = session.minutes + (10.0 if k % every == 0 else 0.0)
            plan = rate(plan, session.on, 5.0, minutes=minutes)
    return plan


def _week_minutes(plan: SeasonPlan) -> dict[date, float]:
    weeks: dict[date, float] = {}
    for session in plan.sessions:
        monday = session.on - session.on.weekday() * DAY
        weeks[monday] = weeks.get(monday, 0.0) + session.minutes
    return weeks


@many
@given(plan=plans, later=st.integers(0, 40), every=st.integers(1, 9), wishes=wishes_of)
def test_planning_again_keeps_the_limits_with_what_was_ridden(
    plan: SeasonPlan, later: int, every: int, wishes: SeasonWishes
) -> None:
    day = TODAY + later * DAY
    if day > max(race.on for race in wishes.races):
        return
    ridden = _ridden(plan, day, every)
    again = plan_season(wishes, day, previous=ridden)
    behind = {s.on for s in again.sessions if s.on < day or s.done}
    races = {race.on for race in wishes.races}
    run = 0
    for session in again.sessions:
        run = run + 1 if session.hard else 0
        if session.hard and session.on not in behind | races:
            assert run <= wishes.hard_days_in_a_row
            assert not {session.on - DAY, session.on + DAY} & races
    spent = _week_minutes(replace(ridden, sessions=tuple(
        s for s in ridden.sessions if s.on in behind
    )))  # fmt: skip
    for monday, minutes in _week_minutes(again).items():
        most = max(wishes.hours_a_week * 60, spent.get(monday, 0.0))
        assert minutes <= most + 1e-6


@many
@given(plan=plans, later=st.integers(0, 40))
def test_planning_again_keeps_ladder_and_variety(plan: SeasonPlan, later: int) -> None:
    day = TODAY + later * DAY
    if day > plan.sessions[-1].on:
        return
    again = plan_season(plan.wishes, day, previous=_ridden(plan, day, 4))
    efforts = [s.effort_minutes for s in again.sessions if s.effort_minutes > 0]
    assert all(before >= after for before, after in pairwise(efforts))
    last: dict[str, str] = {}
    for session in again.sessions:
        if session.kind:
            assert last.get(session.purpose) != session.kind
            last[session.purpose] = session.kind


@given(days=st.integers(0, 400))
def test_the_ladder_narrows(days: int) -> None:
    assert effort_minutes(days) <= effort_minutes(days + 1)


def test_the_ladder_goes_from_eight_minutes_to_two_or_three_as_race_day_nears() -> None:
    # Common practice, no source: efforts of 8 minutes, later of 2 to 3.
    assert effort_minutes(45) == 8.0
    assert effort_minutes(120) == 20.0
    assert 2.0 <= effort_minutes(10) <= 3.0
    days = [rung[0] for rung in RUNGS]
    assert days == sorted(days, reverse=True)


def test_twelve_weeks_look_like_a_season() -> None:
    race = Race(name="Sandreth Heath", on=date(2030, 6, 1))
    plan = plan_season(SeasonWishes(races=(race,), weeks=12), TODAY)
    assert len(plan.sessions) == 84
    hard = [s for s in plan.sessions if s.hard and s.on != race.on]
    assert 18 <= len(hard) <= 24
    assert hard[0].purpose == Purpose.LONG_EFFORTS
    assert hard[-1].purpose == Purpose.RACE_EFFORTS
    assert hard[0].effort_minutes >= 15
    assert hard[-1].effort_minutes <= 3
    assert plan.sessions[-1].purpose == "race: Sandreth Heath"
    assert not any(count.short for count in drill_counts(plan))


def test_the_last_two_weeks_hold_less() -> None:
    race = Race(name="Sandreth Heath", on=date(2030, 6, 2))
    plan = plan_season(SeasonWishes(races=(race,), weeks=8, hours_a_week=8.0), TODAY)
    weeks = [sum(s.minutes for s in plan.sessions[k : k + 7]) for k in range(0, 56, 7)]
    assert weeks[-1] < weeks[-2] < min(weeks[:-2])


def test_blocks_hold_more_hard_days_than_the_weeks_between() -> None:
    race = Race(name="Sandreth Heath", on=date(2030, 6, 2))
    wishes = SeasonWishes(
        races=(race,),
        weeks=8,
        training_days=(0, 1, 2, 3, 4, 5),
        hours_a_week=10.0,
        hard_days_in_a_row=3,
        weeks_style="blocked",
    )
    plan = plan_season(wishes, TODAY)
    counts = [sum(s.hard for s in plan.sessions[k : k + 7]) for k in range(0, 49, 7)]
    assert sorted(counts, reverse=True)[:2] == [4, 4] or max(counts) >= 4
    assert counts.count(1) >= 4


def test_the_riders_own_counts_are_met() -> None:
    race = Race(name="Sandreth Heath", on=date(2030, 6, 1))
    wishes = SeasonWishes(
        races=(race,), weeks=12, training_days=(0, 1, 3, 5, 6), wanted_counts={"skills hour": 4}
    )
    plan = plan_season(wishes, TODAY)
    counts = {count.kind: count for count in drill_counts(plan)}
    assert counts["skills hour"].target == pytest.approx(12.0)
    assert counts["skills hour"].planned >= 12


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        (SeasonWishes(races=()), "no race from today on"),
        (SeasonWishes(races=(Race(name="old", on=TODAY - DAY),)), "no race from today on"),
        (SeasonWishes(races=(Race(name="far", on=date(2040, 1, 1)),)), "weeks away"),
        (SeasonWishes(races=(Race(name="r", on=TODAY),), weeks=0), "0 weeks"),
        (SeasonWishes(races=(Race(name="r", on=TODAY),), training_days=(7,)), "no weekday"),
        (SeasonWishes(races=(Race(name="r", on=TODAY),), hours_a_week=0.0), "0 hours"),
        (SeasonWishes(races=(Race(name="r", on=TODAY),), hours_a_week=float("nan")), "nan hours"),
        (SeasonWishes(races=(Race(name="r", on=TODAY),), hard_days_in_a_row=-1), "-1 hard days"),
        (SeasonWishes(races=(Race(name="r", on=TODAY),), weeks_style="odd"), "'odd'"),
    ],
)
def test_wishes_out_of_range_are_told_in_one_sentence(wishes: SeasonWishes, words: str) -> None:
    with pytest.raises(NoAnswerError, match=words):
        plan_season(wishes, TODAY)


def test_a_race_today_is_planned() -> None:
    plan = plan_season(SeasonWishes(races=(Race(name="now", on=TODAY),)), TODAY)
    assert [s.purpose for s in plan.sessions] == ["race: now"]


def test_every_purpose_has_kinds_to_take_turns() -> None:
    names = {mix.name for mix in built_in_mixes()}
    for kinds in KINDS.values():
        assert len(set(kinds)) >= 2
        assert set(kinds) <= names


def test_both_sides_of_the_evidence_are_told_with_a_caution() -> None:
    # Ronnestad, Hansen and Ellefsen 2012, doi 10.1111/j.1600-0838.2012.01485.x; contrary:
    # Front. Physiol. 2022, 13:837634 and McGawley 2017.
    assert "2012" in EVIDENCE
    assert "2022" in EVIDENCE
    assert "better" not in EVIDENCE
    assert "doctor" in CAUTION


def test_days_labelled_by_hand_stay_so_when_the_season_is_planned_again() -> None:
    wishes = SeasonWishes(races=(Race(name="Sandreth Heath", on=TODAY + 40 * DAY),), weeks=5)
    plan = plan_season(wishes, TODAY)
    hard = next(s.on for s in plan.sessions if s.hard and s.on > TODAY + 7 * DAY)
    free = next(s.on for s in plan.sessions if s.label is DayLabel.RECOVERY and s.on > hard)
    for day, label in ((hard, DayLabel.RECOVERY), (free, DayLabel.TRAINING)):
        plan = relabel(plan, day, label)
    again = plan_season(replace(wishes, hours_a_week=9.0), TODAY, previous=plan)
    assert session_on(again, hard).label is DayLabel.RECOVERY
    assert not session_on(again, hard).hard
    assert session_on(again, free).label is DayLabel.TRAINING
    others = [s for s in again.sessions if s.on not in {hard, free}]
    fresh = {s.on: s.label for s in plan_season(replace(wishes, hours_a_week=9.0), TODAY).sessions}
    assert all(s.label is fresh[s.on] for s in others)
    assert get_season(put_season(again)) == again
