"""The season as JSON: races, wishes, dated sessions.

Areas saved before there were counts, ridden laps, a first day to count from or labels known to be
by hand have none.
"""

from __future__ import annotations

from loopwright.io.codec import fields
from loopwright.io.codec.fields import Json
from loopwright.model.ids import RideId
from loopwright.model.season import (
    DayLabel,
    Race,
    RiddenLaps,
    SeasonPlan,
    SeasonWishes,
    Session,
)


def put_season(plan: SeasonPlan) -> Json:
    """Write a season."""
    return {
        "wishes": put_season_wishes(plan.wishes),
        "sessions": fields.put_each(put_session, plan.sessions),
    }


def get_season(source: Json) -> SeasonPlan:
    """Read a season; raises ValueError for what is none."""
    return SeasonPlan(
        wishes=get_season_wishes(fields.table(source.get("wishes"))),
        sessions=fields.each(get_session, source, "sessions"),
    )


def put_season_wishes(wishes: SeasonWishes) -> Json:
    """Write what the rider can give."""
    return {
        "races": fields.put_each(_put_race, wishes.races), "weeks": wishes.weeks,
        "training_days": list(wishes.training_days), "hours_a_week": wishes.hours_a_week,
        "hard_days_in_a_row": wishes.hard_days_in_a_row, "weeks_style": wishes.weeks_style,
        "wanted_counts": fields.put_numbers(wishes.wanted_counts),
        "counts_from": fields.put_day(wishes.counts_from),
    }  # fmt: skip


def get_season_wishes(source: Json) -> SeasonWishes:
    """Read what the rider can give."""
    return SeasonWishes(
        races=fields.each(_get_race, source, "races"),
        weeks=fields.whole(source, "weeks"),
        training_days=fields.wholes(source, "training_days"),
        hours_a_week=fields.number(source, "hours_a_week"),
        hard_days_in_a_row=fields.whole(source, "hard_days_in_a_row"),
        weeks_style=fields.text(source, "weeks_style"),
        wanted_counts=_wanted_counts(source),
        counts_from=fields.maybe(fields.day, source, "counts_from"),
    )


def _wanted_counts(source: Json) -> dict[str, int]:
    counts = fields.numbers(source, "wanted_counts") if "wanted_counts" in source else {}
    return {kind: int(count) for kind, count in counts.items()}


def _put_race(race: Race) -> Json:
    return {
        "name": race.name, "on": fields.put_day(race.on),
        "ground_m": fields.put_numbers(race.ground_m),
    }  # fmt: skip


def _get_race(source: Json) -> Race:
    return Race(
        name=fields.text(source, "name"),
        on=fields.day(source, "on"),
        ground_m=fields.numbers(source, "ground_m"),
    )


def put_session(session: Session) -> Json:
    """Write a session."""
    return {
        "on": fields.put_day(session.on), "label": session.label.value, "kind": session.kind,
        "purpose": session.purpose, "minutes": session.minutes,
        "effort_minutes": session.effort_minutes, "laps": session.laps,
        "rest_minutes": session.rest_minutes, "hard": session.hard, "loop": session.loop,
        "rating_cr10": session.rating_cr10, "note": session.note,
        "ridden": None if session.ridden is None else _put_ridden(session.ridden),
        "by_hand": session.by_hand,
    }  # fmt: skip


def get_session(source: Json) -> Session:
    """Read a session."""
    return Session(
        on=fields.day(source, "on"),
        label=DayLabel(fields.text(source, "label")),
        kind=fields.text(source, "kind"),
        purpose=fields.text(source, "purpose"),
        minutes=fields.number(source, "minutes"),
        effort_minutes=fields.number(source, "effort_minutes"),
        laps=fields.whole(source, "laps"),
        rest_minutes=fields.number(source, "rest_minutes"),
        hard=fields.flag(source, "hard"),
        loop=fields.text(source, "loop"),
        rating_cr10=fields.maybe(fields.number, source, "rating_cr10"),
        note=fields.text(source, "note"),
        ridden=fields.maybe(
            lambda inner, key: _get_ridden(fields.table(inner[key])), source, "ridden"
        ),
        by_hand="by_hand" in source and fields.flag(source, "by_hand"),
    )


def _put_ridden(ridden: RiddenLaps) -> Json:
    return {
        "ride": str(ridden.ride), "loop": ridden.loop, "laps": ridden.laps,
        "best_s": ridden.best_s, "median_s": ridden.median_s,
        "fade_per_lap_s": ridden.fade_per_lap_s, "spread_s": ridden.spread_s,
    }  # fmt: skip


def _get_ridden(source: Json) -> RiddenLaps:
    return RiddenLaps(
        ride=RideId(fields.text(source, "ride")),
        loop=fields.text(source, "loop"),
        laps=fields.whole(source, "laps"),
        best_s=fields.maybe(fields.number, source, "best_s"),
        median_s=fields.maybe(fields.number, source, "median_s"),
        fade_per_lap_s=fields.maybe(fields.number, source, "fade_per_lap_s"),
        spread_s=fields.maybe(fields.number, source, "spread_s"),
    )
