"""Heights from local files."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from loopwright.errors import WorldError
from loopwright.io.heights import HGT_VOID, bilinear, open_heights
from loopwright.model.arrays import Floats


def tile(folder: Path, name: str, cells: Floats) -> Path:
    path = folder / name
    path.write_bytes(np.asarray(cells).astype(">i2").tobytes())
    return path


def plane(side: int) -> Floats:
    """Return heights that rise 1 m a row to the south and 2 m a column to the east."""
    row, column = np.mgrid[0:side, 0:side]
    return np.asarray(row + 2.0 * column)


@pytest.mark.parametrize(
    ("name", "south", "west"),
    [("N46E013.hgt", 46, 13), ("s01w078.HGT", -1, -78), ("a_S33E018_b.hgt", -33, 18)],
)
def test_corners_of_a_tile(tmp_path: Path, name: str, south: float, west: float) -> None:
    grid = open_heights(tile(tmp_path, name, plane(1201)))
    lat = np.array([south + 1.0, south + 1.0, south, south])
    lon = np.array([west, west + 1.0, west, west + 1.0])
    np.testing.assert_allclose(grid.at(lat, lon), [0, 2400, 1200, 3600])


def test_between_points_it_is_bilinear(tmp_path: Path) -> None:
    grid = open_heights(tile(tmp_path, "N46E013.hgt", plane(1201)))
    lat, lon = np.array([46.25, 46.5 + 0.3 / 1200]), np.array([13.75, 13.5 + 0.7 / 1200])
    np.testing.assert_allclose(grid.at(lat, lon), [900 + 1800, 600 - 0.3 + 1200 + 1.4], rtol=1e-9)


def test_fine_tiles_too(tmp_path: Path) -> None:
    grid = open_heights(tile(tmp_path, "N46E013.hgt", np.full((3601, 3601), 7.0)))
    assert grid.at(np.array([46.123]), np.array([13.4567])).tolist() == [7.0]


def test_outside_and_void_are_nan(tmp_path: Path) -> None:
    cells = np.full((1201, 1201), 100.0)
    cells[600, 600] = HGT_VOID
    grid = open_heights(tile(tmp_path, "N46E013.hgt", cells))
    lat = np.array([46.5, 46.5 + 0.5 / 1200, 46.5 + 1 / 1200, 45.99, 46.5, np.nan])
    lon = np.array([13.5, 13.5, 13.5, 13.5, 14.01, 13.5])
    heights = grid.at(lat, lon)
    assert np.isnan(heights).tolist() == [True, True, False, True, True, True]
    assert grid.at(np.zeros(0), np.zeros(0)).shape == (0,)


def test_a_tile_at_the_antimeridian(tmp_path: Path) -> None:
    grid = open_heights(tile(tmp_path, "N46E179.hgt", plane(1201)))
    assert grid.at(np.array([47.0]), np.array([-180.0])).tolist() == [2400.0]


def test_a_grid_of_one_point() -> None:
    value = bilinear(np.array([[5.0]]), np.array([0.0, 0.5]), np.array([0.0, 0.0]))
    assert str(value.tolist()) == "[5.0, nan]"


def refusal(path: Path) -> str:
    with pytest.raises(WorldError) as caught:
        open_heights(path)
    return str(caught.value)


def test_bad_files_are_named(tmp_path: Path) -> None:
    cells = np.zeros((1201, 1201))
    assert "does not say where it lies" in refusal(tile(tmp_path, "hill.hgt", cells))
    assert "is no height file" in refusal(tile(tmp_path, "N46E013.hgt", cells[:-1]))
    assert "does not exist" in refusal(tmp_path / "none.hgt")
    assert "is a folder" in refusal(tmp_path)


def test_a_geotiff_without_the_library_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "rasterio", None)
    path = tmp_path / "hill.tif"
    path.write_bytes(b"II*\0rest")
    assert "install loopwright[heights]" in refusal(path)


@pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")  # rasterio's own, of affine
def test_a_geotiff(tmp_path: Path) -> None:
    rasterio = pytest.importorskip("rasterio", reason="an optional library")
    transform = pytest.importorskip("rasterio.transform")
    path = tmp_path / "hill.tif"
    cells = plane(50)
    cells[40:, 40:] = -9999
    with rasterio.open(
        path, "w", driver="GTiff", height=50, width=50, count=1, dtype="float32", nodata=-9999,
        crs="EPSG:4326", transform=transform.from_origin(13.0, 47.0, 0.01, 0.01),
    ) as sink:  # fmt: skip
        sink.write(cells.astype("float32"), 1)
    grid = open_heights(path)
    lat = np.array([47.0 - 0.105, 47.0 - 0.11, 46.55, 40.0])
    lon = np.array([13.0 + 0.205, 13.0 + 0.205, 13.45, 13.2])
    found = grid.at(lat, lon)
    np.testing.assert_allclose(found[:2], [10 + 40, 10.5 + 40], atol=1e-4)
    assert np.isnan(found[2:]).all()
    assert grid.at(np.zeros(0), np.zeros(0)).shape == (0,)


def test_a_damaged_geotiff(tmp_path: Path) -> None:
    pytest.importorskip("rasterio", reason="an optional library")
    path = tmp_path / "hill.tif"
    path.write_bytes(b"II*\0rest")
    assert "damaged GeoTIFF" in refusal(path)


def test_places_that_a_geotiff_cannot_show_are_told(tmp_path: Path) -> None:
    """A gnomonic frame shows one half of the globe only."""
    rasterio = pytest.importorskip("rasterio", reason="an optional library")
    path = tmp_path / "hill.tif"
    with rasterio.open(
        path, "w", driver="GTiff", height=5, width=5, count=1, dtype="float32",
        crs="+proj=gnom +lat_0=90 +lon_0=0", transform=rasterio.Affine(9, 0, 0, 0, -9, 0),
    ) as sink:  # fmt: skip
        sink.write(np.ones((1, 5, 5), "float32"))
    grid = open_heights(path)
    assert np.isnan(grid.at(np.array([46.0]), np.array([13.0]))).all()
    with pytest.raises(WorldError, match="lies in a frame that cannot be used"):
        grid.at(np.array([-46.0]), np.array([13.0]))
