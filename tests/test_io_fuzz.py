"""Generated bad files: every reader answers or refuses in one clear line, never anything else."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from io_help import document, gpx_text, packed, point
from loopwright.errors import WorldError
from loopwright.io.area_file import area_bytes, load_area
from loopwright.io.area_zip import MANIFEST
from loopwright.io.geojson import read_ground
from loopwright.io.gpx_quick import MARKER
from loopwright.io.heights import open_heights
from loopwright.io.mix_file import read_mix
from loopwright.io.osm import read_osm
from loopwright.io.preferences import load_preferences
from loopwright.io.tracks import read_tracks
from test_io_fit import fit_bytes

ROUNDS = settings(
    max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
EXTENSIONS = "<extensions><a:x xmlns:a='u'><a:hr>140</a:hr></a:x><power>200</power></extensions>"
GPX = gpx_text([
    point(46.5 + i / 1e4, 13.2, f"<ele>{i}</ele><time>2024-05-01T08:00:{i:02d}Z</time>{EXTENSIONS}")
    for i in range(6)
])  # fmt: skip
OSM = (
    "<osm><node id='1' lat='46.5' lon='13.2'/><node id='2' lat='46.6' lon='13.2'/>"
    "<way id='3'><nd ref='1'/><nd ref='2'/><tag k='highway' v='path'/></way></osm>"
)
LINES = json.dumps({
    "type": "FeatureCollection",
    "features": [{
        "type": "Feature", "properties": {"surface": "rock"},
        "geometry": {"type": "LineString", "coordinates": [[13.2, 46.5], [13.3, 46.5]]},
    }],
})  # fmt: skip
MIX = json.dumps({"name": "m", "targets": {"corners": 5, "ground_m:rock": 100}, "weights": {}})
PREFERENCES = json.dumps({"units": "metric", "theme": "dark", "text_scale": 1.25, "recent": ["a"]})
SEEDS: dict[str, tuple[Callable[[Path], object], bytes]] = {
    "gpx": (read_tracks, GPX.encode()),
    "gpx utf-16": (read_tracks, GPX.replace("UTF-8", "UTF-16").encode("utf-16")),
    "fit": (read_tracks, fit_bytes(6)),
    "area": (load_area, area_bytes(document())),
    "lines": (read_ground, LINES.encode()),
    "mix": (read_mix, MIX.encode()),
    "osm": (read_osm, OSM.encode()),
    "preferences": (load_preferences, PREFERENCES.encode()),
    "heights": (open_heights, b"II*\0" + bytes(50)),
}
PIECES = [
    b"<", b">", b"&", b'"', b"\0", b"\xff\xfe", b"NaN", b"-1e999", b"<!--", b"-->", b"<![CDATA[",
    b"]]>", b"<!DOCTYPE a [", b"&lt;", b"</trkpt>", b"<trkpt", b"<trkseg>", b"</trkseg>", b"<?x?>",
    b"{", b"[" * 50, b"9" * 400, b"</extensions>", b"PK\5\6", b"null", "é\u202e".encode(),
    f'<{MARKER} i="0"/>'.encode(),
]  # fmt: skip


@st.composite
def damage(draw: st.DrawFn, data: bytes) -> bytes:
    """Draw a few changes: bytes flipped, cut out, doubled, moved, or odd pieces put in."""
    broken = bytearray(data)
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, max(0, len(broken) - 1)))
        end = min(len(broken), start + draw(st.sampled_from([1, 1, 3, 20, 200])))
        kind = draw(st.sampled_from(["flip", "piece", "piece", "cut", "double", "bytes", "end"]))
        if kind == "flip" and broken:
            broken[start] ^= 1 << draw(st.integers(0, 7))
        elif kind == "piece":
            broken[start:start] = draw(st.sampled_from(PIECES))
        elif kind == "cut":
            del broken[start:end]
        elif kind == "double":
            broken[start:start] = broken[start:end]
        elif kind == "bytes":
            broken[start:end] = draw(st.binary(max_size=12))
        elif kind == "end":
            del broken[start:]
    return bytes(broken)


def answers(read: Callable[[Path], object], path: Path) -> None:
    """Read and accept nothing but an answer or one clear line."""
    try:
        read(path)
    except WorldError as error:
        words = str(error)
        assert words.isprintable()
        assert words.startswith(f"{path}: ")
        assert len(words) < 700


@pytest.mark.parametrize("kind", SEEDS)
def test_whole_files_are_read(tmp_path: Path, kind: str) -> None:
    read, data = SEEDS[kind]
    path = tmp_path / "in"
    path.write_bytes(data)
    if kind != "heights":
        read(path)


@pytest.mark.parametrize("kind", SEEDS)
def test_damaged_files_get_an_answer_or_one_line(tmp_path: Path, kind: str) -> None:
    read, data = SEEDS[kind]
    path = tmp_path / "in"

    @ROUNDS
    @given(damage(data))
    def check(broken: bytes) -> None:
        path.write_bytes(broken)
        answers(read, path)

    check()


@pytest.mark.parametrize("kind", SEEDS)
def test_random_bytes_get_one_line(tmp_path: Path, kind: str) -> None:
    read, _ = SEEDS[kind]
    path = tmp_path / "in"

    @settings(ROUNDS, max_examples=30)
    @given(st.binary(max_size=300))
    def check(data: bytes) -> None:
        path.write_bytes(data)
        answers(read, path)

    check()


def members() -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(area_bytes(document()))) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def test_damage_inside_an_honest_archive(tmp_path: Path) -> None:
    """The checksums do not help against a file made to fool: the content must be checked too."""
    path = tmp_path / "in"
    whole = members()
    names = sorted(whole)

    @ROUNDS
    @given(st.data())
    def check(data: st.DataObject) -> None:
        name = data.draw(st.sampled_from(names))
        parts = whole | {name: data.draw(damage(whole[name]))}
        path.write_bytes(again(parts, honest=name != "manifest.json"))
        answers(load_area, path)

    check()


def again(parts: dict[str, bytes], *, honest: bool) -> bytes:
    if honest:
        return packed({name: data for name, data in parts.items() if name != MANIFEST})
    sink = io.BytesIO()
    with zipfile.ZipFile(sink, "w") as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return sink.getvalue()


@ROUNDS
@given(
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=8),
        lambda inner: (
            st.lists(inner, max_size=4)
            | st.dictionaries(
                st.sampled_from(["type", "coordinates", "features", "geometry", "name", "targets"]),
                inner,
            )
        ),
        max_leaves=12,
    )
)
def test_any_json_gets_an_answer_or_one_line(tmp_path: Path, value: object) -> None:
    path = tmp_path / "in"
    path.write_text(json.dumps(value))
    for read in (read_ground, read_mix, load_preferences):
        answers(read, path)
