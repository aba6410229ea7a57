"""The judge's measures on cases worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from loopwright.invented.honesty import within_errors
from loopwright.invented.judge import judge, mean_of, table
from loopwright.invented.loops_kept import kept_share, some_loops
from loopwright.invented.marbles import (
    NOTHING,
    Share,
    junction_share,
    length_ratio,
    matched,
    path_share,
    samples,
)  # fmt: skip
from loopwright.invented.pairing import most_pairs
from loopwright.invented.park import make_park
from loopwright.invented.reachable import reachable_share
from loopwright.invented.rideable import Rideable
from loopwright.invented.sample_graph import sample_graph
from loopwright.invented.turns_kept import turns_share
from loopwright.model.arrays import Floats
from loopwright.model.ids import JunctionId
from loopwright.model.network import Junction, Network
from worlds import (
    World,
    all_worlds,
    bridge,
    crossing,
    figure_eight,
    hairpins,
    ladder,
    ring,
    side_by_side,
)  # fmt: skip


def _only(network: Network, *names: str) -> Network:
    kept = tuple(s for s in network.stretches if s.id in names)
    return replace(network, stretches=kept)


def _moved(network: Network, east: float, north: float) -> Network:
    by = np.array([east, north])
    return replace(
        network,
        stretches=tuple(replace(s, xy=s.xy + by) for s in network.stretches),
        junctions=tuple(replace(j, xy=j.xy + by) for j in network.junctions),
    )


def test_share_by_hand() -> None:
    share = Share(hits=6, found=8, true=12)
    assert share.precision == 0.75
    assert share.recall == 0.5
    assert share.f == pytest.approx(0.6)
    assert (share + share).hits == 12
    assert NOTHING.f == NOTHING.precision == NOTHING.recall == 1.0
    assert Share(hits=0, found=0, true=3).f == 0.0


def test_samples_are_five_metres_apart_in_the_middle_of_their_steps() -> None:
    one = samples(bridge().network)
    assert len(one) == 160
    assert one[0] == pytest.approx([-197.5, 0.0])


def test_matching_is_one_to_one() -> None:
    true = np.array([[0.0, 0.0], [10.0, 0.0]])
    built = np.array([[0.0, 1.0], [0.0, 2.0], [0.0, 3.0]])
    assert matched(built, true, 5.0) == Share(hits=1, found=3, true=2)
    assert matched(true, built, 5.0) == Share(hits=1, found=2, true=3)
    assert matched(built, np.zeros((0, 2)), 5.0) == Share(hits=0, found=3, true=0)


def test_matching_moves_others_on_where_that_helps() -> None:
    # Nearest first pairs (2, 2.1) and strands 0 and 4; the best pairing moves everything along.
    one = np.array([[0.0, 0.0], [2.0, 0.0]])
    two = np.array([[2.1, 0.0], [4.5, 0.0]])
    assert most_pairs(one, two, 3.0) == 2


places = st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=0, max_size=6).map(
    lambda rows: np.array(rows, dtype=np.float64).reshape(-1, 2)
)


@given(one=places, two=places)
def test_pairing_is_the_best_there_is(one: Floats, two: Floats) -> None:
    few, many = (one, two) if len(one) <= len(two) else (two, one)
    near = np.hypot(*(few[:, None] - many[None]).transpose(2, 0, 1)) <= 2.0
    best = max(
        (sum(bool(near[a, b]) for a, b in enumerate(order))
         for order in permutations(range(len(many)), len(few))),
        default=0,
    )  # fmt: skip
    assert most_pairs(one, two, 2.0) == best


@pytest.mark.parametrize("world", all_worlds(), ids=lambda world: world.name)
def test_the_truth_is_perfect(world: World) -> None:
    scores = judge(world.network, world.network)
    assert scores.path_f_5 == scores.path_f_10 == scores.path_f_15 == 1.0
    assert scores.reach_f == scores.junction_f == scores.length_ratio == 1.0
    for share in (scores.loops_kept, scores.loops_true, scores.turns_kept, scores.turns_true):
        assert np.isnan(share) or share == 1.0


def test_nothing_built_scores_nothing() -> None:
    truth = ladder().network
    scores = judge(replace(truth, stretches=(), junctions=()), truth)
    assert scores.path_f_10 == scores.reach_f == scores.junction_f == scores.length_ratio == 0.0
    assert scores.loops_kept == scores.turns_kept == 0.0
    assert np.isnan(scores.turns_true)
    assert np.isnan(scores.within_1_se)


def test_half_the_truth_has_half_the_recall() -> None:
    truth = bridge().network
    share = path_share(_only(truth, "over"), truth, 5.0)
    # The crossing's few samples of the other line may not be claimed twice.
    assert share.precision == 1.0
    assert share.recall == pytest.approx(0.5)
    assert length_ratio(_only(truth, "over"), truth) == pytest.approx(0.5)


def test_a_doubled_line_costs_precision_and_a_fused_pair_recall() -> None:
    world = side_by_side(gap_m=8.0)
    fused = _only(world.network, "in", "a", "out")
    assert path_share(fused, world.network, 10.0).precision == 1.0
    assert path_share(fused, world.network, 10.0).recall == pytest.approx(390 / 585, abs=0.02)
    assert path_share(world.network, fused, 10.0).precision == pytest.approx(390 / 585, abs=0.02)


def test_a_shifted_line_counts_up_to_the_distance() -> None:
    truth = bridge().network
    shifted = _moved(truth, 0.0, 7.0)
    assert path_share(_only(shifted, "under"), _only(truth, "under"), 5.0).f == 0.0
    assert path_share(_only(shifted, "under"), _only(truth, "under"), 10.0).f == 1.0


def test_junctions_are_matched_one_to_one_within_reach() -> None:
    truth = ladder(rungs=4).network
    share, errors = junction_share(_moved(truth, 3.0, 4.0), truth, 20.0)
    assert share == Share(hits=4, found=4, true=4)
    assert errors == pytest.approx([5.0] * 4)
    far, none = junction_share(_moved(truth, 30.0, 0.0), truth, 20.0)
    assert far.f == 0.0
    assert len(none) == 0


def test_dead_ends_and_ring_seams_are_no_junctions() -> None:
    assert junction_share(ring().network, ring().network, 20.0)[0] == NOTHING


def test_a_false_junction_costs_reach() -> None:
    truth, built = bridge().network, crossing().network
    # From most seeds 300 m reach the crossing, where the built goes four ways, the truth two.
    assert reachable_share(truth, truth, 10.0).f == 1.0
    share = reachable_share(built, truth, 10.0)
    assert share.recall == 1.0
    assert share.precision < 0.75
    # The path measure does not see it.
    assert path_share(built, truth, 10.0).f == 1.0
    missing = reachable_share(truth, built, 10.0)
    assert missing.precision == 1.0
    assert missing.recall < 0.75


def test_crossing_lines_are_not_linked() -> None:
    graph = sample_graph(bridge().network)
    start = int(np.hypot(*(graph.xy - np.array([-200.0, 0.0])).T).argmin())
    reached = graph.xy[graph.reach(start, 300.0)]
    assert np.abs(reached[:, 1]).max() < 1e-9
    assert reached[:, 0].max() == pytest.approx(100.0, abs=5.1)


def test_turns_a_network_lacks_or_invents() -> None:
    bridged, crossed = bridge().network, crossing().network
    # Four ways meet at the crossing: six turns, of which the bridge has the two straight ones.
    assert turns_share(crossed, Rideable(crossed)) == 1.0
    assert turns_share(crossed, Rideable(bridged)) == pytest.approx(2 / 6)
    assert np.isnan(turns_share(bridged, Rideable(crossed)))


def test_a_hole_near_a_junction_costs_its_turns() -> None:
    truth = crossing().network
    east = next(s for s in truth.stretches if s.id == "east")
    begins, far = JunctionId("40 m out"), east.xy[:, 0] >= 40.0
    holed = replace(
        truth,
        stretches=(
            *(s for s in truth.stretches if s is not east),
            replace(
                east,
                xy=east.xy[far],
                ele_m=east.ele_m[far],
                std_error_m=east.std_error_m[far],
                end=begins,
            ),
        ),
        junctions=(
            *truth.junctions,
            Junction(id=begins, xy=np.array([40.0, 0.0]), ele_m=0.0, degree=1),
        ),
    )
    assert path_share(holed, truth, 10.0).f > 0.95
    assert junction_share(holed, truth, 20.0)[0].f == 1.0
    # Three of six turns lead to the east.
    assert turns_share(truth, Rideable(holed)) == pytest.approx(3 / 6)
    assert turns_share(holed, Rideable(truth)) == 1.0


def test_loops_are_lost_with_their_links() -> None:
    world = ladder(rungs=4)
    every = kept_share(world.network, Rideable(world.network), seed=1)
    without = _only(world.network, *[s.id for s in world.network.stretches if s.id != "rung1"])
    lost = kept_share(world.network, Rideable(without), seed=1)
    assert every == 1.0
    # Six loops: three blocks, two pairs, one of three. Rung 1 is part of four... and no more.
    loops = some_loops(world.network, seed=1)
    kept = [loop for loop in loops if all(name != "rung1" for name, _ in loop)]
    assert len(loops) == 6
    assert lost == pytest.approx(len(kept) / 6)
    assert kept_share(without, Rideable(world.network), seed=1) == 1.0


def test_loops_of_a_figure_eight_and_its_halves() -> None:
    eight = figure_eight().network
    half = _only(eight, "left")
    assert kept_share(eight, Rideable(half), seed=0) == pytest.approx(0.5)


def test_errors_are_honest_when_they_are() -> None:
    # A normal error lies within one s.d. in 68.3 % and within two in 95.4 % of cases.
    # Quantiles of the normal distribution instead of draws: no luck in it.
    truth = _only(bridge().network, "under")
    line = truth.stretches[0]
    off = norm.ppf((np.arange(len(line.xy)) + 0.5) / len(line.xy), scale=2.0)
    shifted = line.xy + np.column_stack((np.zeros(len(off)), off))
    built = replace(
        truth, stretches=(replace(line, xy=shifted, std_error_m=np.full(len(off), 2.0)),)
    )
    one, two = within_errors(built, truth)
    assert one == pytest.approx(0.683, abs=0.005)
    assert two == pytest.approx(0.954, abs=0.005)
    boastful = replace(
        truth, stretches=(replace(line, xy=shifted, std_error_m=np.full(len(off), 0.5)),)
    )
    assert within_errors(boastful, truth)[0] < 0.3


def test_means_leave_out_what_is_not_known_and_the_table_names_every_row() -> None:
    one, two = (judge(w.network, w.network) for w in (hairpins(), ladder()))
    mean = mean_of([one, two])
    assert np.isnan(one.loops_kept)
    assert mean.loops_kept == 1.0
    lines = table([("first", one), ("mean", mean)]).splitlines()
    assert len(lines) == 3
    assert len({len(line) for line in lines}) == 1
    assert lines[2].startswith("mean")
    with pytest.raises(ValueError, match="no scores"):
        mean_of([])


def test_loops_tried_are_loops_of_at_most_six_kilometres() -> None:
    park = make_park(2)
    loops = some_loops(park.network, seed=2)
    assert 20 <= len(loops) <= 60
    assert loops == some_loops(park.network, seed=2)
