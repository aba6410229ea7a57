"""What was ridden: ratings, loads, ground, and what a person changes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.errors import NoAnswerError
from loopwright.model.ids import RideId
from loopwright.model.season import (
    DayLabel,
    GroundMet,
    Race,
    RiddenLaps,
    SeasonPlan,
    SeasonWishes,
)
from loopwright.season import (
    added_up,
    ground_ledger,
    heavier_bike,
    hold_loop,
    monotony,
    note_laps,
    nudges,
    plan_season,
    rate,
    relabel,
    session_load,
    weekly_loads,
    write_note,
)  # fmt: skip

TODAY = date(2030, 3, 4)
DAY = timedelta(days=1)


@pytest.fixture
def plan() -> SeasonPlan:
    race = Race(name="Sandreth Heath", on=date(2030, 4, 14))
    return plan_season(SeasonWishes(races=(race,), weeks=12), TODAY)


def test_load_is_rating_times_minutes(plan: SeasonPlan) -> None:
    # Foster 2001: session load = CR-10 rating x minutes.
    rated = rate(plan, TODAY + DAY, 6.0, minutes=75.0)
    assert session_load(rated.sessions[1]) == 450.0
    assert session_load(plan.sessions[1]) is None
    week = weekly_loads(rated, TODAY + DAY)[0]
    assert week.load == 450.0
    assert week.rated_minutes == 75.0
    assert week.monotony is None


def test_loads_are_coarse(plan: SeasonPlan) -> None:
    rated = rate(plan, TODAY + DAY, 3.0, minutes=77.0)
    assert weekly_loads(rated, TODAY + DAY)[0].load == 230.0


def test_monotony_by_hand() -> None:
    # Daily loads 300, 0, 400, 0, 350, 0, 0: mean 150, sample s.d. 188.2, ratio 0.797 -> 1.0
    # to the half. Mean over s.d. from memory of Foster.
    assert monotony([300, 0, 400, 0, 350, 0, 0]) == 1.0
    assert monotony([300, 310, 290, 300, 305, 295, 0]) == 2.5
    assert monotony([100.0] * 7) is None
    assert monotony([]) is None


def test_monotony_waits_for_a_whole_rated_week(plan: SeasonPlan) -> None:
    rated = plan
    for session in plan.sessions[:7]:
        rated = rate(rated, session.on, 5.0, minutes=session.minutes)
    assert weekly_loads(rated, TODAY + 5 * DAY)[0].monotony is None
    week = weekly_loads(rated, TODAY + 6 * DAY)[0]
    assert week.monotony is not None
    assert week.unrated == 0
    assert weekly_loads(plan, TODAY + 6 * DAY)[0].unrated > 0


def test_weeks_add_up_to_the_plan(plan: SeasonPlan) -> None:
    weeks = weekly_loads(plan, TODAY)
    assert sum(week.planned_minutes for week in weeks) == sum(s.minutes for s in plan.sessions)


def met(time_s: dict[str, float], speed_mps: float = 5.0) -> GroundMet:
    return GroundMet(time_s=time_s, length_m={k: v * speed_mps for k, v in time_s.items()})


def test_ledger_names_the_gaps_and_offers_a_loop() -> None:
    ledger = ground_ledger(
        met({"dirt": 9000.0, "rock": 200.0, "unknown": 500.0}), {"dirt": 2000.0, "rock": 1000.0}
    )
    assert [line.surface for line in ledger.lines] == ["dirt", "rock"]
    assert ledger.gaps == ("rock",)
    assert ledger.untagged_s == 500.0
    assert ledger.met_s == 9200.0
    assert "rock" in ledger.words
    assert "every surface" in ledger.words
    assert ledger.lines[1].met_share == pytest.approx(200 / 9200)


def test_metres_of_a_race_become_time_at_the_riders_own_speed() -> None:
    # By hand: 1000 m of sand at 2 m/s are 500 s, 1000 m of dirt at 6 m/s 166.7 s; mud, never
    # ridden, goes at the mean of all riding: (1200 + 7200) m in (600 + 1200) s, 4.667 m/s.
    ridden = GroundMet(
        time_s={"sand": 600.0, "dirt": 1200.0}, length_m={"sand": 1200.0, "dirt": 7200.0}
    )
    ledger = ground_ledger(ridden, {"sand": 1000.0, "dirt": 1000.0, "mud": 700.0})
    seconds = {line.surface: line.race_s for line in ledger.lines}
    assert seconds == pytest.approx({"sand": 500.0, "dirt": 166.67, "mud": 150.0}, abs=0.01)
    # Sand: a third of the time met, 61 % of race day's, more than half of that share.
    assert ledger.gaps == ("mud",)


def test_ledger_without_a_race_or_without_gaps_says_so() -> None:
    assert "Enter the ground" in ground_ledger(met({"dirt": 100.0}), {}).words
    assert ground_ledger(met({"dirt": 100.0}), {"dirt": 5.0}).gaps == ()
    assert ground_ledger(GroundMet(), {"sand": 5.0}).gaps == ("sand",)


@given(
    st.dictionaries(st.sampled_from(["dirt", "rock", "unknown"]), st.floats(1.0, 1e6)),
    st.floats(0.5, 15.0),
)
def test_ledger_shares_are_shares(time_s: dict[str, float], speed_mps: float) -> None:
    races = added_up([{"rock": 10.0}, {"sand": 30.0}])
    ledger = ground_ledger(met(time_s, speed_mps), races)
    assert sum(line.race_share for line in ledger.lines) == pytest.approx(1.0)
    assert all(0.0 <= line.met_share <= 1.0 for line in ledger.lines)
    assert "sand" in ledger.gaps


def test_laps_of_a_ride_are_noted_and_taken_away(plan: SeasonPlan) -> None:
    laps = RiddenLaps(ride=RideId("ab"), loop="Kettle Round", laps=4, best_s=601.0)
    noted = note_laps(plan, TODAY + DAY, laps, minutes=88.0)
    assert noted.sessions[1].ridden == laps
    assert noted.sessions[1].minutes == 88.0
    assert noted.sessions[1].done
    assert noted.sessions[0] is plan.sessions[0]
    again = plan_season(plan.wishes, TODAY + DAY, previous=noted)
    assert next(s for s in again.sessions if s.on == TODAY + DAY).ridden == laps
    gone = note_laps(noted, TODAY + DAY, None)
    assert gone.sessions[1].ridden is None
    assert gone.sessions[1].minutes == 88.0


def test_a_day_that_is_neither_is_asked_about(plan: SeasonPlan) -> None:
    opened = relabel(plan, TODAY + 2 * DAY, DayLabel.OPEN)
    assert [nudge.on for nudge in nudges(opened)] == [TODAY + 2 * DAY]
    assert "Training or recovery?" in nudges(opened)[0].words


def test_limits_broken_by_hand_are_told(plan: SeasonPlan) -> None:
    hard = tuple(replace(s, hard=True) for s in plan.sessions[:3])
    broken = replace(plan, sessions=(*hard, *plan.sessions[3:]))
    words = " ".join(nudge.words for nudge in nudges(broken))
    assert "Hard day 2 in a row; you allowed 1." in words
    long = rate(plan, TODAY, 2.0, minutes=600.0)
    assert any("This week holds" in nudge.words for nudge in nudges(long))


def test_recovery_is_never_hard(plan: SeasonPlan) -> None:
    hard = next(s for s in plan.sessions if s.hard)
    changed = relabel(plan, hard.on, DayLabel.RECOVERY)
    assert not next(s for s in changed.sessions if s.on == hard.on).hard


def test_changes_touch_one_day_only(plan: SeasonPlan) -> None:
    day = TODAY + 3 * DAY
    changed = write_note(hold_loop(plan, day, "Kettle Round"), day, "dry ground")
    for before, after in zip(plan.sessions, changed.sessions, strict=True):
        assert (before is after) is (before.on != day)
    assert changed.sessions[3].loop == "Kettle Round"
    assert changed.sessions[3].note == "dry ground"


def test_heavier_bike_days_are_noted_with_their_cost(plan: SeasonPlan) -> None:
    noted = heavier_bike(plan, TODAY, extra_kg=2.0, lap_s=11.4)
    assert noted.sessions[0].note.endswith("heavier bike, +2.0 kg, about +11 s a lap")


@pytest.mark.parametrize(("rating", "minutes"), [(-1.0, 60.0), (11.0, 60.0), (5.0, -1.0)])
def test_ratings_out_of_range_are_told(plan: SeasonPlan, rating: float, minutes: float) -> None:
    with pytest.raises(NoAnswerError, match="season"):
        rate(plan, TODAY, rating, minutes=minutes)


def test_a_day_outside_the_plan_is_told(plan: SeasonPlan) -> None:
    with pytest.raises(NoAnswerError, match="not in the plan"):
        hold_loop(plan, TODAY - DAY, "x")


def test_planning_again_keeps_ratings_loops_and_notes(plan: SeasonPlan) -> None:
    day = next(s.on for s in plan.sessions if s.hard)
    chosen = hold_loop(rate(plan, TODAY + DAY, 4.0, minutes=33.0), day, "Kettle Round")
    again = plan_season(plan.wishes, TODAY, previous=chosen)
    kept = {session.on: session for session in again.sessions}
    assert kept[TODAY + DAY].rating_cr10 == 4.0
    assert kept[TODAY + DAY].minutes == 33.0
    assert kept[day].loop == "Kettle Round"
