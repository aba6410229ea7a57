"""Reading GPX: every value is the one gpxpy gives (gpxpy 1.6, Apache-2.0, is the reference)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from io_gpxpy import assert_same, table
from io_help import gpx_text, point
from loopwright.io import gpx_read
from loopwright.io.gpx_extensions import NotPlainError
from loopwright.io.gpx_quick import QuickPoints
from loopwright.io.tracks import read_tracks

ROUNDS = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
TIMES = st.sampled_from([
    "2024-05-01T08:00:00Z", "2024-02-29T23:59:59.999Z", "2024-05-01T08:00:00",
    "2024-05-01 08:00:00Z",
    "2024-05-31T08:00:00+02:00", "2024-05-01T08:00:00.1234567-03:30", "2023-02-29T00:00:00Z",
    "1901-12-13T20:45:52.2073437Z", "2024-5-1T8:0:0Z", "24:00", "2024-13-01T00:00:00Z",
    "2024-05-01T24:00:00Z", "2100-02-28T00:00:00Z", "0001-01-01T00:00:00Z",
    "2024-05-01T08:00:00+0230",
])  # fmt: skip
LATS = st.floats(-90, 90).map(repr) | st.sampled_from(["46.5", " 46.5 ", "-0.0", "4.65e1", "1_0"])
LONS = st.floats(-180, 180).map(repr) | st.sampled_from(["13", "180", "-180.0"])
ELES = st.floats(-500, 9000).map(repr) | st.sampled_from(["0", "1e3", " 12 "])


@st.composite
def points(draw: st.DrawFn) -> str:
    """Draw a point in any of the forms devices write."""
    ele = draw(ELES | st.none())
    time = draw(TIMES | st.none())
    extra = draw(
        st.sampled_from(["", "<sat>7</sat>", "<!-- odd --><fix>3d</fix>", "<name>a&amp;b</name>"])
    )
    inner = "" if ele is None else f"<ele>{ele}</ele>"
    inner += "" if time is None else f"\n  <time>{time}</time>"
    inner += extra
    return point(draw(LATS), draw(LONS), inner) + draw(st.sampled_from(["", "\n", "<!-- c -->"]))


@ROUNDS
@given(st.lists(points(), min_size=2, max_size=12))
def test_any_form_of_point_reads_as_gpxpy_reads_it(tmp_path: Path, rows: list[str]) -> None:
    path = tmp_path / "ride.gpx"
    path.write_text(gpx_text(rows))
    assert_same(path, read_tracks(path))


START = np.datetime64("2024-04-30T22:00:00")


def many(count: int) -> list[str]:
    rng = np.random.default_rng(3)
    lat, lon = 46.5 + rng.normal(0, 1e-3, count), 13.2 + rng.normal(0, 1e-3, count)
    seconds = np.cumsum(rng.integers(1, 90, count))
    return [
        point(
            f"{lat[i]:.7f}",
            f"{lon[i]:.7f}",
            f"<ele>{500 + i / 7:.2f}</ele><time>{START + seconds[i]}Z</time>",
        )
        for i in range(count)
    ]


def test_a_long_file_over_many_chunks_reads_as_gpxpy_reads_it(tmp_path: Path) -> None:
    path = tmp_path / "long.gpx"
    rows = many(12_000)
    assert len(gpx_text(rows)) > 2**20
    path.write_text(gpx_text(rows))
    assert_same(path, read_tracks(path))


def test_quick_and_thorough_reading_agree(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "ride.gpx"
    rows = many(3000)
    rows[1500] = point(
        "46.5", "13.2", "<ele>3</ele><link href='a'/><time>2024-05-01T08:00:00Z</time>"
    )
    path.write_text(gpx_text(rows))
    quick = QuickPoints()
    assert list(quick.without_points([path.read_bytes()]))
    assert [len(run) for run in quick.runs] == [1500, 1499]
    first = read_tracks(path)
    monkeypatch.setattr(gpx_read, "QuickPoints", NeverQuick)
    second = read_tracks(path)
    np.testing.assert_array_equal(table(first[0]), table(second[0]))
    assert_same(path, first)


class NeverQuick(QuickPoints):
    """Takes no point out, so that the XML parser reads all."""

    def without_points(self, chunks: Iterable[bytes]) -> Iterator[bytes]:
        assert chunks
        raise NotPlainError


HEADS = {
    "1.0": '<gpx version="1.0" creator="x" xmlns="http://www.topografix.com/GPX/1/0">',
    "1.1": '<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">',
    "none": '<gpx version="1.1" creator="x">',
    "no version": "<gpx>",
    "single quotes": "<gpx version='1.1' xmlns='http://www.topografix.com/GPX/1/1'>",
}


@pytest.mark.parametrize("head", HEADS.values(), ids=HEADS.keys())
@pytest.mark.parametrize("start", ["", '<?xml version="1.0"?>', "\ufeff<?xml version='1.0'?>"])
def test_versions_and_namespaces(tmp_path: Path, head: str, start: str) -> None:
    path = tmp_path / "ride.gpx"
    body = "".join(many(5))
    path.write_text(f"{start}{head}<trk><trkseg>{body}</trkseg></trk></gpx>", encoding="utf-8")
    assert_same(path, read_tracks(path))


def test_a_prefixed_file_reads_like_a_plain_one(tmp_path: Path) -> None:
    plain, prefixed = tmp_path / "plain.gpx", tmp_path / "prefixed.gpx"
    text = gpx_text(many(5))
    plain.write_text(text)
    for name in ("gpx", "trk", "trkseg", "trkpt", "ele", "time", "name"):
        text = text.replace(f"<{name}", f"<g:{name}").replace(f"</{name}", f"</g:{name}")
    prefixed.write_text(text.replace("xmlns=", "xmlns:g=").replace("g:g:", "g:"))
    (first,), (second,) = read_tracks(plain), read_tracks(prefixed)
    np.testing.assert_array_equal(first.time_s, second.time_s)
    np.testing.assert_array_equal(first.lat, second.lat)
    assert second.name == "Ride"


def test_tracks_segments_and_routes(tmp_path: Path) -> None:
    path = tmp_path / "ride.gpx"
    rows = many(9)
    one, two = "".join(rows[:2]), "".join(rows[2:5])
    first = f"<trk><trkseg>{one}</trkseg><trkseg/><trkseg>{two}</trkseg></trk>"
    second = f"<trk><name>B</name><trkseg>{''.join(rows[5:])}</trkseg></trk><trk><trkseg/></trk>"
    route = "<rte><rtept lat='1' lon='2'/><rtept lat='1' lon='3'/></rte>"
    path.write_text(f"<gpx version='1.1'>{route}{first}{second}</gpx>")
    tracks = read_tracks(path)
    assert [len(track) for track in tracks] == [5, 4]
    assert tracks[0].piece.tolist() == [0, 0, 2, 2, 2]
    assert [track.name for track in tracks] == ["", "B"]
    assert_same(path, tracks)


def test_a_route_alone_is_read_with_its_name(tmp_path: Path) -> None:
    path = tmp_path / "route.gpx"
    one = '<rtept lat="46.5" lon="{}"><name>p</name></rtept>'
    cells = "".join(one.format(i / 1e4) for i in range(15_000))
    path.write_text(f"<gpx version='1.1'><rte><name>Way</name>{cells}</rte></gpx>")
    (track,) = read_tracks(path)
    assert (track.name, len(track)) == ("Way", 15_000)
    assert_same(path, (track,))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "iso-8859-1", "cp1252"])
def test_encodings_keep_names_and_numbers(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "ride.gpx"
    text = gpx_text(many(4), name="Pré d'été").replace('"UTF-8"', f'"{encoding}"')
    path.write_bytes(text.encode(encoding))
    (track,) = read_tracks(path)
    assert (track.name, len(track)) == ("Pré d'été", 4)
