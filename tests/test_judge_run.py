"""The judge runs from rides to tables, on invented parks and on open sets."""

from __future__ import annotations

import zipfile
from collections import Counter
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import TypeAlias

import numpy as np
import pytest
from shapely import LineString, STRtree, points

from loopwright.errors import WorldError
from loopwright.geo.frame import to_local
from loopwright.geo.polyline import length_m
from loopwright.invented.crowds import popular, shown_by
from loopwright.invented.misses import junction_misses
from loopwright.invented.outings import go_out
from loopwright.invented.park import OPEN_OCEAN, make_park
from loopwright.judging import TRIALS, Trial, Wanted, judged, main, run
from loopwright.judging_open import covered_share, network_of, open_sets
from loopwright.judging_single import single_lines
from loopwright.model.ids import JunctionId, StretchId, Way
from loopwright.model.network import Junction, Network, Stretch
from worlds import crossing

Spot: TypeAlias = tuple[float, float]
SMALL = Trial(name="small", style="town", side=3, rides=5, error_m=2.0)


def test_a_small_town_is_judged_from_rides_to_scores() -> None:
    scores, found = judged(SMALL, 1)
    assert scores.path_f_10 > 0.9
    assert 0.8 < scores.length_ratio < 1.2
    assert 0.0 <= scores.within_1_se <= scores.within_2_se <= 1.0
    assert found.climbs.true == 0


def test_a_run_says_the_same_twice() -> None:
    one, two = (list(run([SMALL], range(1, 2), Wanted(loop_parks=0))) for _ in range(2))
    assert repr(one) == repr(two)


def test_trials_cover_errors_sampling_hard_parks_and_towns() -> None:
    assert {3.0, 4.0, 5.0} <= {trial.error_m for trial in TRIALS}
    assert any(trial.interval_s >= 5.0 for trial in TRIALS)
    hard = next(trial for trial in TRIALS if trial.style == "hard")
    assert hard.errors_m == (2.0, 5.0)
    assert hard.intervals_s == (1.0, 4.0)
    assert hard.height_offset_m == 48.0
    assert any(trial.style == "town" for trial in TRIALS)


def test_an_unknown_trial_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--parks", "1", "--only", "no such trial"]) == 2
    assert "no trial" in capsys.readouterr().err


def test_misses_are_told_with_what_is_near() -> None:
    park = make_park(1, style="town", side=3)
    nothing = crossing().network
    words = list(junction_misses(nothing, park))
    assert any(line.startswith("missed junction") and "street" in line for line in words)
    assert list(junction_misses(park.network, park)) == []


def _chicago_like(path: Path) -> None:
    """A made-up set in the same form: a square of streets, two trips round it, and a one-way street
    12 m beside one side of it that runs the other way."""
    square = [(0, 0), (400, 0), (400, 400), (0, 400), (0, 0)]
    around = np.array(square, dtype=float)
    run = np.linspace(0, 1600, 161)
    spots = np.column_stack(
        [np.interp(run, [0, 400, 800, 1200, 1600], around[:, k]) for k in (0, 1)]
    )
    trip = "\n".join(
        f"{x + 5000:.2f} {y + 9000:.2f} {1000 + 2 * k}" for k, (x, y) in enumerate(spots)
    )
    corners = [*square[:4], (900, 900), (1000, 900), (400, 12), (0, 12)]
    vertices = "\n".join(f"{k + 1},{x + 5000},{y + 9000}" for k, (x, y) in enumerate(corners))
    edges = "1,1,2,1\n2,2,3,1\n3,3,4,1\n4,4,1,1\n5,5,6,1\n6,2,1,1\n7,7,8,1"
    with zipfile.ZipFile(path, "w") as box:
        box.writestr("trips/trip_0.txt", trip)
        box.writestr("trips/trip_1.txt", trip)
        box.writestr("map/chicago_vertices_osm.txt", vertices)
        box.writestr("map/chicago_edges_osm.txt", edges)


def test_an_open_set_keeps_its_shape_and_only_what_was_driven(tmp_path: Path) -> None:
    _chicago_like(tmp_path / "chicago.zip")
    (found,) = open_sets(tmp_path)
    lengths = {
        name: sum(length_m(s.xy) for s in survey.stretches)
        for name, survey in found.surveys.items()
    }
    assert lengths == {
        "chicago": pytest.approx(2000.0),
        "chicago, one line a street": pytest.approx(1600.0, abs=30.0),
        "chicago, one-ways heeded": pytest.approx(1600.0),
        "chicago, matched": pytest.approx(1600.0),
    }
    assert found.best == "chicago, matched"
    survey = found.surveys["chicago, one-ways heeded"]
    assert len(found.tracks) == 2
    xy = to_local(found.origin, found.tracks[0].lat, found.tracks[0].lon)
    assert length_m(xy) == pytest.approx(1600.0, rel=1e-4)
    assert covered_share(survey, [xy], 0.5) == 1.0
    assert covered_share(survey, [xy + 50.0], 0.5) < 0.2


def _streets(lines: Sequence[tuple[Spot, Spot]]) -> Network:
    """A survey of straight streets; a place named twice is one junction."""
    spots = sorted({spot for line in lines for spot in line})
    names = {spot: JunctionId(str(k)) for k, spot in enumerate(spots)}
    return Network(
        origin=OPEN_OCEAN,
        stretches=tuple(
            Stretch(
                id=StretchId(str(k)), start=names[line[0]], end=names[line[1]],
                xy=np.array(line), ele_m=np.zeros(2), std_error_m=np.zeros(2),
            )
            for k, line in enumerate(lines)
        ),
        junctions=tuple(
            Junction(
                id=names[spot], xy=np.array(spot), ele_m=0.0,
                degree=sum(spot in line for line in lines),
            )
            for spot in spots
        ),
    )  # fmt: skip


def test_two_carriageways_are_one_street_with_one_crossing() -> None:
    spots = (-300.0, 0.0, 12.0, 312.0)
    lines = [
        line
        for street in (0.0, 12.0)
        for a, b in pairwise(spots)
        for line in (((a, street), (b, street)), ((street, a), (street, b)))
    ]
    single = network_of(*single_lines(_streets(lines)))
    assert sorted(j.degree for j in single.junctions) == [1, 1, 1, 1, 4]
    assert sum(length_m(s.xy) for s in single.stretches) == pytest.approx(1212.0, abs=30.0)


def test_a_street_that_parts_from_another_stays() -> None:
    lines = [
        ((0.0, 0.0), (600.0, 0.0)),
        ((0.0, 12.0), (300.0, 12.0)),
        ((300.0, 12.0), (600.0, 212.0)),
    ]
    single = network_of(*single_lines(_streets(lines)))
    assert sorted(j.degree for j in single.junctions) == [1, 1, 1, 3]
    assert sum(length_m(s.xy) for s in single.stretches) == pytest.approx(960.0, abs=30.0)


def test_a_folder_without_open_sets_is_told(tmp_path: Path) -> None:
    with pytest.raises(WorldError, match="holds no known open recordings"):
        list(open_sets(tmp_path))


OUT = Trial(name="out", style="town", side=3, rides=4, outings=True)


def test_people_who_go_out_are_judged_against_what_they_walked() -> None:
    scores, _ = judged(OUT, 3, loops=False)
    assert scores.path_f_10 > 0.7
    assert 0.6 < scores.length_ratio < 1.4


def test_outings_are_the_same_twice_and_hold_what_surveys_do_not() -> None:
    park = make_park(4, style="town", side=4)
    (one, shown), (two, _) = (
        go_out(park, walks=40, seed=4, length_m=(500.0, 900.0)) for _ in range(2)
    )
    assert [track.lat.tolist() for track in one] == [track.lat.tolist() for track in two]
    assert {s.id for s in shown.stretches} <= {s.id for s in park.network.stretches}
    assert len(shown.stretches) > 3
    lines = STRtree([LineString(s.xy) for s in shown.stretches])
    far = 0.0
    for track in one:
        xy = to_local(park.network.origin, track.lat, track.lon)
        far = max(far, float(lines.query_nearest(points(xy), return_distance=True)[1].max()))
    assert far > 40.0
    untimed = [track for track in one if np.isnan(track.time_s).all()]
    drawn = [track for track in untimed if np.isnan(track.ele_m).all()]
    assert 0 < len(drawn) <= len(untimed) < 20
    steps = [float(np.median(np.diff(t.time_s))) for t in one if np.isfinite(t.time_s).all()]
    assert min(steps) == 1.0
    assert max(steps) > 5.0


def test_popular_walks_come_home_and_some_ways_are_walked_far_more_than_others() -> None:
    network = make_park(5).network
    walks = popular(network, np.random.default_rng(5), walks=40, length_m=(3000.0, 6000.0))
    named = {s.id: s for s in network.stretches}
    for walk in walks:
        ends = [
            (named[n].start, named[n].end)[:: 1 if way is Way.FORWARD else -1] for n, way in walk
        ]
        assert all(before[1] == after[0] for before, after in pairwise(ends))
        assert ends[0][0] == ends[-1][1]
        assert sum(length_m(named[n].xy) for n, _ in walk) >= 3000.0
    times = Counter(name for walk in walks for name, _ in walk)
    assert max(times.values()) > 8 * min(times.values())
    shown = shown_by(network, walks)
    assert {s.id for s in shown.stretches} == set(times)
    assert sum(j.degree for j in shown.junctions) == 2 * len(shown.stretches)
