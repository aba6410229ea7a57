"""A network assessed again after a change of tags is what it would be assessed anew."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from features_help import bent, network_of, path, tag_on
from loopwright.features import Assessed, assess, assess_again
from loopwright.geo.follow import Follower
from loopwright.model.arrays import Floats
from loopwright.model.ground import Tag, Terrain
from loopwright.model.ids import StretchId, Way
from loopwright.model.network import Network

FIELDS = ("spans", "features", "passages", "lengths_m", "ascents_m", "amounts", "unfit")
MAY = date(2026, 5, 1)
LINES = (
    path((0, 0), (200, 0)),
    path((200, 0), (200, 160)),
    bent((60, 0), (25, 100), (40, 0), (25, -100), (80, 0), start=(200, 0)),
    path((200, 160), (0, 160), (0, 0)),
)


def hilly(xy: Floats) -> Floats:
    return 40.0 + 25.0 * np.sin(xy[:, 0] / 60.0) + xy[:, 1] / 12.0


@lru_cache(maxsize=1)
def net() -> Network:
    return network_of(*LINES, height=hilly)


def worded() -> st.SearchStrategy[Tag]:
    """Tags over parts of stretches, one in five beside all of them."""
    words = st.fixed_dictionaries(
        {},
        optional={
            "surface": st.sampled_from(["gravel", "rock"]),
            "roughness": st.sampled_from(["very_bad", "good"]),
            "width": st.sampled_from(["wide", "narrow"]),
            "banked": st.booleans(),
            "on": st.sampled_from([date(2026, 4, 1), date(2026, 6, 1)]),
        },
    )
    places = st.tuples(st.integers(0, len(LINES)), st.floats(0.0, 0.6), st.floats(0.2, 0.4)).map(
        lambda at: part(*at)
    )
    return st.builds(lambda line, said: tag_on(line, **said), places, words)


def part(number: int, begin: float, share: float) -> Floats:
    line = LINES[number % len(LINES)]
    first, last = (round(x * (len(line) - 1)) for x in (begin, begin + share))
    beside = 400.0 if number == len(LINES) else 0.0
    return line[first : last + 1] + beside


def same(one: Terrain, other: Terrain) -> None:
    for name in FIELDS:
        assert getattr(one, name) == getattr(other, name), name
    assert list(one.amounts) == list(other.amounts)
    assert [id(tag) for tag in one.unfit] == [id(tag) for tag in other.unfit]


@settings(max_examples=8, deadline=None)
@given(st.lists(worded(), min_size=1, max_size=6), st.data())
def test_after_any_changes_all_is_as_if_assessed_anew(tags: list[Tag], data: st.DataObject) -> None:
    before: Assessed | None = None
    for _ in range(3):
        now = data.draw(st.lists(st.sampled_from(tags), unique_by=id))
        day = data.draw(st.sampled_from([None, MAY]))
        before = assess_again(net(), now, plan_for=day, before=before)
        same(before.terrain, assess(net(), now, plan_for=day))


def again(tags: Sequence[Tag], before: Assessed | None = None) -> Assessed:
    return assess_again(net(), tags, plan_for=None, before=before)


def test_what_is_the_same_is_taken_over() -> None:
    first = again([tag_on(part(1, 0.0, 0.4), surface="rock")])
    then = again([*first.terrain.unfit, tag_on(part(0, 0.3, 0.3), surface="gravel")], first)
    a, c = StretchId("a"), StretchId("c")
    assert then.terrain.profiles is first.terrain.profiles
    assert then.features[c] is first.features[c]
    assert then.features[a] is not first.features[a]
    assert then.terrain.amounts[c, Way.BACKWARD] is first.terrain.amounts[c, Way.BACKWARD]
    assert then.terrain.amounts[a, Way.FORWARD]["ground_m:gravel"] > 50


def test_a_tag_known_is_not_looked_for_again(monkeypatch: pytest.MonkeyPatch) -> None:
    old, new = tag_on(part(1, 0.0, 0.4), surface="rock"), tag_on(part(0, 0.2, 0.4), width="wide")
    first, asked = again([old]), list[int]()
    follow = Follower.follow

    def counted(self: Follower, line: Floats, **more: object) -> object:
        asked.append(len(line))
        return follow(self, line, **more)  # type: ignore[arg-type] # passed on as it came

    monkeypatch.setattr(Follower, "follow", counted)
    again([old, new], first)
    assert asked == [len(new.line)]


def test_what_is_known_of_another_network_does_not_count() -> None:
    first = again([tag_on(part(0, 0.0, 0.4), surface="rock")])
    other = network_of(*LINES[:2], height=hilly)
    tags = [tag_on(part(1, 0.0, 0.4), surface="rock")]
    found = assess_again(other, tags, plan_for=None, before=first).terrain
    same(found, assess(other, tags))
    assert found.network is other
