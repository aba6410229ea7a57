"""Heights from a file fill what no ride brought, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from loopwright.errors import WorldError
from loopwright.model.network import Network
from loopwright.relief import filled
from worlds import ladder

SIDE = 1201


def tile(folder: Path, network: Network, height_m: int) -> Path:
    """A flat height tile in the published HGT layout (SRTM documentation: big-endian int16)."""
    lat, lon = int(np.floor(network.origin.lat)), int(np.floor(network.origin.lon))
    ns, ew = "NS"[lat < 0], "EW"[lon < 0]
    path = folder / f"{ns}{abs(lat):02d}{ew}{abs(lon):03d}.hgt"
    path.write_bytes(np.full((SIDE, SIDE), height_m, dtype=">i2").tobytes())
    return path


def bare(network: Network) -> Network:
    first, *rest = network.stretches
    return replace(
        network,
        stretches=(replace(first, ele_m=np.full(len(first.xy), np.nan)), *rest),
    )


def test_only_missing_heights_are_filled(tmp_path: Path) -> None:
    network = bare(ladder().network)
    done = filled(network, str(tile(tmp_path, network, 321)))
    np.testing.assert_allclose(done.stretches[0].ele_m, 321.0)
    np.testing.assert_array_equal(done.stretches[1].ele_m, network.stretches[1].ele_m)


def test_a_half_known_stretch_takes_the_file_shifted_to_its_own_level(tmp_path: Path) -> None:
    network = ladder().network
    first, *rest = network.stretches
    ele = np.full(len(first.xy), 100.0)
    ele[len(ele) // 2 :] = np.nan
    network = replace(network, stretches=(replace(first, ele_m=ele), *rest))
    done = filled(network, str(tile(tmp_path, network, 321)))
    np.testing.assert_allclose(done.stretches[0].ele_m, 100.0)


def test_without_need_or_file_nothing_happens(tmp_path: Path) -> None:
    network = ladder().network
    assert filled(network, str(tmp_path / "gone.hgt")) is network
    assert filled(bare(network), "").stretches[1] is not None


def test_a_file_that_is_gone_leaves_the_network_as_it_is(tmp_path: Path) -> None:
    network = bare(ladder().network)
    assert filled(network, str(tmp_path / "gone.hgt")) is network


def test_a_damaged_file_is_told(tmp_path: Path) -> None:
    network = bare(ladder().network)
    path = tile(tmp_path, network, 321)
    path.write_bytes(path.read_bytes()[:1000])
    with pytest.raises(WorldError, match=path.name):
        filled(network, str(path))
