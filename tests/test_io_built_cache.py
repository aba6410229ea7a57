"""Built networks on disk: the same network back, or honestly nothing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from io_help import ride
from loopwright.io.built_cache import KEEP, BuiltCache
from loopwright.model.document import PrivateCircle
from loopwright.model.frame import Origin
from loopwright.model.ground import Tag
from loopwright.model.ids import JunctionId, RideId, StretchId, Way, Ways
from loopwright.model.network import (
    Aside,
    Correction,
    CorrectionKind,
    Junction,
    Network,
    Pass,
    Stretch,
)
from loopwright.model.rider import FitValue, Rider, RiderFit
from loopwright.model.track import RideRole

ORIGIN = Origin(lat=-47.1, lon=-126.4)
LOST = Correction(kind=CorrectionKind.HIDE, line=np.array([[1.0, 2.0, np.nan]] * 2))
STRETCH = Stretch(
    id=StretchId("s1"),
    start=JunctionId("j1"),
    end=JunctionId("j2"),
    xy=np.array([[0.0, 0.0], [10.0, 1.0], [20.0, 0.0]]),
    ele_m=np.array([1.0, np.nan, 3.0]),
    std_error_m=np.array([0.5, 0.6, 0.7]),
    passes=(
        Pass(ride=RideId("r"), way=Way.BACKWARD, time_s=float("nan"), first=3, last=9),
        Pass(ride=RideId("q"), way=Way.FORWARD, time_s=12.5, first=0, last=5),
    ),
    ways=Ways.FORWARD,
    name="Fernstieg é",
)
ENDS = tuple(
    Junction(id=JunctionId(f"j{k}"), xy=np.array([20.0 * (k - 1), 0.0]), ele_m=2.0, degree=1)
    for k in (1, 2)
)
ASIDE = Aside(ride=RideId("q"), from_m=120.5, length_m=60.0, first=4, last=9)
NETWORK = Network(
    origin=ORIGIN, stretches=(STRETCH,), junctions=ENDS, unfit=(LOST,), asides=(ASIDE,)
)


def test_the_same_network_comes_back(tmp_path: Path) -> None:
    cache = BuiltCache(tmp_path / "built")
    key = cache.key([], ORIGIN, [LOST], None)
    assert cache.get(key, [LOST]) is None
    cache.put(key, NETWORK, [LOST])
    back = cache.get(key, [LOST])
    assert back is not None
    assert back.unfit == (LOST,)
    assert back.asides == (ASIDE,)
    assert [j.degree for j in back.junctions] == [1, 1]
    (stretch,) = back.stretches
    for name in ("xy", "ele_m", "std_error_m"):
        np.testing.assert_array_equal(getattr(stretch, name), getattr(STRETCH, name))
    assert (stretch.id, stretch.name, stretch.ways) == ("s1", "Fernstieg é", Ways.FORWARD)
    assert stretch.passes[1] == STRETCH.passes[1]
    assert np.isnan(stretch.passes[0].time_s)


def test_every_input_changes_the_key(tmp_path: Path) -> None:
    cache = BuiltCache(tmp_path)
    other = replace(LOST, value="x")
    recorded = ride()
    circle = PrivateCircle(lat=0, lon=0, radius_m=100)
    keys = {
        cache.key([], ORIGIN, [], None),
        cache.key([], replace(ORIGIN, lat=-47.2), [], None),
        cache.key([], ORIGIN, [LOST], None),
        cache.key([], ORIGIN, [other], None),
        cache.key([], ORIGIN, [], circle),
        cache.key([recorded], ORIGIN, [], None),
        cache.key([replace(recorded, hidden=True)], ORIGIN, [], None),
        cache.key([replace(recorded, role=RideRole.RACE)], ORIGIN, [], None),
        BuiltCache(tmp_path, "other code").key([], ORIGIN, [], None),
    }
    assert len(keys) == 9


def test_a_damaged_file_counts_as_absent(tmp_path: Path) -> None:
    cache = BuiltCache(tmp_path)
    cache.put("k", NETWORK, [LOST])
    path = tmp_path / "k.npz"
    whole = path.read_bytes()
    for data in (b"", whole[: len(whole) // 2], b"junk" * 100):
        path.write_bytes(data)
        assert cache.get("k", [LOST]) is None


def test_a_folder_that_cannot_be_made_is_no_trouble(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    cache = BuiltCache(tmp_path / "file" / "built")
    cache.put("k", NETWORK, [LOST])
    assert cache.get("k", [LOST]) is None


def test_only_the_newest_are_kept(tmp_path: Path) -> None:
    cache = BuiltCache(tmp_path)
    for k in range(KEEP + 3):
        cache.put(f"k{k}", NETWORK, [LOST])
    assert len(list(tmp_path.glob("*.npz"))) == KEEP


def test_a_fit_comes_back_and_a_damaged_one_counts_as_absent(tmp_path: Path) -> None:
    cache = BuiltCache(tmp_path)
    value = FitValue(value=0.02, low=0.01, high=0.03, observations=7)
    fit = RiderFit(
        values={"crr:dirt": value},
        error_share=0.02,
        words="fitted",
        spread_keys=("crr:dirt",),
        spread_rows=((0.1,),),
        trails={"s1 forward": (value, value)},
    )
    key = cache.fit_key("k", [], Rider(), None)
    assert cache.get_fit(key) is None
    cache.put_fit(key, fit)
    assert cache.get_fit(key) == fit
    (tmp_path / f"{key}.json").write_text('{"values": 3}')
    assert cache.get_fit(key) is None
    assert key != cache.fit_key("k", [], Rider(mass_kg=60), None)
    tag = Tag(line=np.zeros((2, 2)), surface="mud")
    assert key != cache.fit_key("k", [tag], Rider(), None)


@pytest.mark.parametrize("at", range(0, 2000, 7))
def test_a_kept_network_with_a_wrong_byte_is_absent_or_whole(tmp_path: Path, at: int) -> None:
    """Versions of zip from the future, encryption marks, broken packing: nothing gets out."""
    cache = BuiltCache(tmp_path)
    cache.put("k", NETWORK, [LOST])
    data = bytearray((tmp_path / "k.npz").read_bytes())
    data[at % len(data)] ^= 0x2D
    (tmp_path / "k.npz").write_bytes(data)
    back = cache.get("k", [LOST])
    assert back is None or len(back.stretches) == 1
