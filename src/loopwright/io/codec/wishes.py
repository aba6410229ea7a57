"""Mixes, wishes and kept loops as JSON."""

from __future__ import annotations

from loopwright.io.codec import fields
from loopwright.io.codec.fields import Json
from loopwright.model.loops import SavedLoop
from loopwright.model.wishes import Mix, Place, Wishes


def put_mix(mix: Mix) -> Json:
    """Write a mix."""
    return {
        "name": mix.name, "targets": fields.put_numbers(mix.targets),
        "weights": fields.put_numbers(mix.weights),
    }  # fmt: skip


def get_mix(source: Json) -> Mix:
    """Read a mix; raises ValueError for what is none."""
    return Mix(
        name=fields.text(source, "name"),
        targets=fields.numbers(source, "targets"),
        weights=fields.numbers(source, "weights"),
    )


def put_wishes(wishes: Wishes) -> Json:
    """Write wishes."""
    return {
        "mix": put_mix(wishes.mix),
        "min_length_m": wishes.min_length_m, "max_length_m": wishes.max_length_m,
        "start": None if wishes.start is None else list(wishes.start),
        "must": [fields.put_line(place.line) for place in wishes.must],
        "avoid": [fields.put_line(place.line) for place in wishes.avoid],
        "repeats": wishes.repeats, "count": wishes.count, "seconds": wishes.seconds,
        "use_unridden": wishes.use_unridden,
        "lap_s": None if wishes.lap_s is None else list(wishes.lap_s),
        "head_on_m": wishes.head_on_m,
    }  # fmt: skip


def get_wishes(source: Json) -> Wishes:
    """Read wishes; raises ValueError for what is none."""
    return Wishes(
        mix=get_mix(fields.table(source.get("mix"))),
        min_length_m=fields.number(source, "min_length_m"),
        max_length_m=fields.number(source, "max_length_m"),
        start=fields.maybe(_point, source, "start"),
        must=_places(source, "must"),
        avoid=_places(source, "avoid"),
        repeats=fields.whole(source, "repeats"),
        count=fields.whole(source, "count"),
        seconds=fields.number(source, "seconds"),
        use_unridden=fields.flag(source, "use_unridden"),
        lap_s=fields.maybe(_point, source, "lap_s"),
        head_on_m=fields.maybe(fields.number, source, "head_on_m") or 0.0,
    )


def _point(source: Json, key: str) -> tuple[float, float]:
    first, second = fields.line({key: [source[key]]}, key, columns=2)[0]
    return float(first), float(second)


def _places(source: Json, key: str) -> tuple[Place, ...]:
    lines = fields.rows(source.get(key))
    return tuple(Place(line=fields.line({key: line}, key, columns=2)) for line in lines)


def put_loop(loop: SavedLoop) -> Json:
    """Write a kept loop."""
    return {
        "name": loop.name, "line": fields.put_line(loop.line), "wishes": put_wishes(loop.wishes),
        "score": loop.score, "match": loop.match, "rank": loop.rank,
    }  # fmt: skip


def get_loop(source: Json) -> SavedLoop:
    """Read a kept loop; raises ValueError for what is none."""
    return SavedLoop(
        name=fields.text(source, "name"),
        line=fields.line(source, "line", columns=3),
        wishes=get_wishes(fields.table(source.get("wishes"))),
        score=fields.number(source, "score"),
        match=fields.number(source, "match"),
        rank=fields.maybe(fields.whole, source, "rank"),
    )
