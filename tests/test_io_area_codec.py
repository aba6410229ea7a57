"""How rides and settings are written in an area file: edges, and what must not get in."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from io_help import document, ride, season, wishes
from loopwright.io.area_file import area_bytes
from loopwright.io.codec.fields import Json, line
from loopwright.io.codec.rides import get_ride, put_ride
from loopwright.io.codec.season import get_session, put_session
from loopwright.io.codec.settings import get_settings, put_settings
from loopwright.io.codec.wishes import get_wishes, put_wishes
from loopwright.model.track import Ride


def written(**columns: list[float]) -> tuple[Json, bytes]:
    """A ride of five points whose columns are changed, as it is written."""
    whole = ride()
    changed: dict[str, Any] = {key: np.array(row) for key, row in columns.items()}
    return put_ride(replace(whole, track=replace(whole.track, **changed)))


def read(words: Json, data: bytes) -> Ride:
    return get_ride(words, lambda _name: data)


def test_the_edges_of_the_globe_come_back() -> None:
    lat, lon = [90.0, -90.0, 89.5, 0.0, -89.9], [180.0, -180.0, 179.5, 0.0, -100.0]
    back = read(*written(lat=lat, lon=lon)).track
    assert back.lat.tolist() == lat
    assert back.lon.tolist() == lon
    assert back.piece.dtype == np.int32


@pytest.mark.parametrize(
    ("column", "value"), [("lat", 90.001), ("lat", -91.0), ("lon", 180.001), ("lon", -200.0)]
)
def test_a_position_off_the_globe_is_refused(column: str, value: float) -> None:
    words, data = written(**{column: [0.0, 0.0, value, 0.0, 0.0]})
    with pytest.raises(ValueError, match="has positions off the globe"):
        read(words, data)


def test_segments_are_counted_up_to_what_fits() -> None:
    most = [0, 1, 2**30, 2**31 - 2, 2**31 - 1]
    back = read(*written(piece=[float(x) for x in most])).track
    assert back.piece.tolist() == most


def test_a_column_there_twice_is_refused() -> None:
    words, data = put_ride(ride())
    assert words["columns"][-1] == "power_w"
    twice = words | {"columns": [*words["columns"], "power_w"]}
    with pytest.raises(ValueError, match="unknown columns lat, lon"):
        read(twice, data)


def array(values: np.ndarray, version: tuple[int, int] = (1, 0)) -> bytes:
    sink = io.BytesIO()
    np.lib.format.write_array(sink, values, version=version)
    return sink.getvalue()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (array(np.asfortranarray(np.zeros((6, 5)))), "does not fit its 6 columns"),
        (array(np.zeros((6, 5, 1))), "does not fit its 6 columns"),
        (array(np.zeros((6, 5), dtype=">f8")), "does not fit its 6 columns"),
        (array(np.zeros((5, 6))), "does not fit its 6 columns"),
        (array(np.zeros((6, 5)), (2, 0)), "an array is of an unknown version"),
        (array(np.zeros((6, 5)), (3, 0)), "an array is of an unknown version"),
    ],
    ids=["columns first", "three axes", "other order of bytes", "turned", "2.0", "3.0"],
)
def test_an_array_of_another_make_is_refused(data: bytes, words: str) -> None:
    said, _ = put_ride(ride())
    with pytest.raises(ValueError, match=words):
        read(said, data)


def test_what_older_programs_did_not_write_is_read_as_nothing() -> None:
    settings = put_settings(document().settings)
    assert get_settings(settings).background_file == "picture.tif"
    del settings["background_file"]
    assert get_settings(settings).background_file == ""
    asked = put_wishes(wishes())
    assert get_wishes(asked).head_on_m == 2.5
    del asked["head_on_m"]
    assert get_wishes(asked).head_on_m == 0.0
    held = put_session(replace(season().sessions[0], by_hand=True))
    assert get_session(held).by_hand
    del held["by_hand"]
    assert not get_session(held).by_hand


def test_a_line_of_no_points_has_its_columns() -> None:
    assert line({"line": []}, "line", columns=3).shape == (0, 3)


def test_what_is_no_number_in_json_is_never_written() -> None:
    whole = document()
    lost = replace(whole, kept=(replace(whole.kept[0], score=float("nan")),))
    with pytest.raises(ValueError, match="not JSON compliant"):
        area_bytes(lost)
