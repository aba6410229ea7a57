"""Tags find their place, later words win by the rule told, and nothing is lost in silence."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from features_help import moved, network_of, path, tag_on
from loopwright.features import assess
from loopwright.features.ground import in_order
from loopwright.model.arrays import Floats
from loopwright.model.ground import Tag, Terrain
from loopwright.model.ids import StretchId, Way
from loopwright.model.network import Network

A, B = StretchId("a"), StretchId("b")
MARCH, JULY = date(2026, 3, 10), date(2026, 7, 20)


def two() -> Network:
    return network_of(path((0, 0), (300, 0)), path((300, 0), (300, 200)))


def words(terrain: Terrain, stretch: StretchId = A) -> list[tuple[float, float, str]]:
    return [(round(s.from_m), round(s.to_m), s.surface) for s in terrain.spans[stretch]]


def test_unknown_stays_unknown() -> None:
    terrain = assess(two())
    assert words(terrain) == [(0, 300, "unknown")]
    assert terrain.amounts[A, Way.FORWARD]["ground_m:unknown"] == pytest.approx(300)


def test_a_tag_covers_its_part_of_the_trail_only() -> None:
    terrain = assess(two(), [tag_on(path((100, 3), (180, 3)), surface="gravel")])
    assert words(terrain) == [(0, 100, "unknown"), (100, 180, "gravel"), (180, 300, "unknown")]
    assert words(terrain, B) == [(0, 200, "unknown")]
    assert terrain.amounts[A, Way.BACKWARD]["ground_m:gravel"] == pytest.approx(80, abs=0.5)


def test_a_tag_over_a_junction_and_near_an_end_reaches_it() -> None:
    line = path((4, 2), (300, 1), (302, 195))
    terrain = assess(two(), [tag_on(line, surface="sand", width="narrow")])
    assert words(terrain) == [(0, 300, "sand")]
    assert words(terrain, B) == [(0, 200, "sand")]
    assert terrain.amounts[B, Way.FORWARD]["narrow_m"] == pytest.approx(200)


def test_obstacles_count_as_metres_and_do_not_make_ground_rough() -> None:
    terrain = assess(two(), [tag_on(path((100, 3), (180, 3)), obstacles=True)])
    amounts = terrain.amounts[A, Way.FORWARD]
    assert amounts["obstacles_m"] == pytest.approx(80, abs=0.5)
    assert "rough_m" not in amounts
    assert [span.obstacles for span in terrain.spans[A]] == [False, True, False]


def test_a_tag_that_runs_a_few_metres_past_a_junction_stays_on_its_stretch() -> None:
    terrain = assess(two(), [tag_on(path((0, 0), (300, 0), (300, 7)), surface="mud")])
    assert words(terrain) == [(0, 300, "mud")]
    assert words(terrain, B) == [(0, 200, "unknown")]
    assert terrain.unfit == ()


def test_a_tag_elsewhere_is_listed_not_dropped() -> None:
    lost = tag_on(path((0, 400), (200, 400)), surface="mud")
    fits = tag_on(path((0, 0), (300, 0)), surface="rock")
    terrain = assess(two(), [lost, fits])
    assert terrain.unfit == (lost,)
    assert words(terrain) == [(0, 300, "rock")]


def test_a_tag_too_short_to_be_laid_is_listed_not_dropped() -> None:
    short, enough = (tag_on(path((at, 3), (at + size, 3)), surface="mud")
                     for at, size in ((100, 5), (200, 10)))  # fmt: skip
    terrain = assess(two(), [short, enough])
    assert terrain.unfit == (short,)
    assert words(terrain) == [(0, 200, "unknown"), (200, 210, "mud"), (210, 300, "unknown")]


def test_tags_stay_in_place_when_the_network_is_built_anew() -> None:
    tags = [tag_on(path((60, 0), (200, 0)), surface="grass")]

    def shifted(xy: Floats) -> Floats:
        return xy + 3.0 * np.column_stack((np.sin(xy[:, 0] / 70), np.cos(xy[:, 0] / 50)))

    terrain = assess(moved(two(), shifted), tags)
    assert terrain.unfit == ()
    assert terrain.amounts[A, Way.FORWARD]["ground_m:grass"] == pytest.approx(140, rel=0.05)


def whole(**said: object) -> Tag:
    return tag_on(path((0, 0), (300, 0)), **said)


def test_each_attribute_is_decided_by_itself() -> None:
    terrain = assess(two(), [whole(surface="dirt", roughness="bad"), whole(roughness="good")])
    (span,) = terrain.spans[A]
    assert (span.surface, span.roughness, span.width) == ("dirt", "good", "unknown")
    assert terrain.amounts[A, Way.FORWARD]["smooth_m"] == pytest.approx(300)


def test_dated_words_win_over_undated_and_newer_over_older() -> None:
    tags = [whole(surface="dirt", on=JULY), whole(surface="mud", on=MARCH), whole(surface="wood")]
    assert words(assess(two(), tags)) == [(0, 300, "dirt")]
    assert words(assess(two(), tags[1:])) == [(0, 300, "mud")]


@pytest.mark.parametrize(
    ("plan_for", "surface"),
    [
        (date(2026, 2, 1), "wood"),  # nothing dated was said yet
        (date(2026, 4, 1), "mud"),  # said three weeks ago
        (date(2026, 8, 1), "dirt"),
        (date(2026, 12, 1), "dirt"),  # neither season: the newest
        (date(2027, 3, 20), "mud"),  # the season of last year's mud
        (date(2027, 7, 1), "dirt"),
    ],
)  # fmt: skip
def test_the_state_to_plan_for_goes_by_season(plan_for: date, surface: str) -> None:
    tags = [whole(surface="dirt", on=JULY), whole(surface="mud", on=MARCH), whole(surface="wood")]
    assert words(assess(two(), tags, plan_for=plan_for)) == [(0, 300, surface)]


def test_the_user_wins_over_an_open_map_whatever_the_dates() -> None:
    tags = [whole(surface="dirt"), whole(surface="asphalt", on=JULY, source="osm")]
    assert words(assess(two(), tags)) == [(0, 300, "dirt")]
    assert words(assess(two(), tags[1:])) == [(0, 300, "asphalt")]


@given(st.permutations(range(4)))
def test_the_order_of_tags_matters_only_among_equals(order: list[int]) -> None:
    tags = [whole(surface="dirt", on=JULY), whole(surface="mud", on=MARCH),
            whole(surface="wood"), whole(surface="gravel", source="osm")]  # fmt: skip
    shuffled = in_order([tags[k] for k in order], plan_for=None)
    assert [t.surface for t in shuffled] == ["gravel", "wood", "mud", "dirt"]


@given(
    st.lists(
        st.tuples(st.floats(0, 280), st.floats(10, 150), st.sampled_from(["mud", "rock", "sand"])),
        max_size=6,
    )
)
def test_spans_cover_a_stretch_without_gap_or_overlap(
    parts: list[tuple[float, float, str]],
) -> None:
    tags = [
        tag_on(path((low, 0), (min(low + length, 300.0), 0)), surface=surface)
        for low, length, surface in parts
    ]
    spans = assess(two(), tags).spans[A]
    assert spans[0].from_m == 0
    assert spans[-1].to_m == pytest.approx(300)
    assert all(a.to_m == b.from_m for a, b in pairwise(spans))
    assert all(a.surface != b.surface for a, b in pairwise(spans))
