"""Power, heart rate and cadence, whatever the namespace."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from io_help import gpx_text, point
from loopwright.io.gpx_extensions import LAYOUT_LIMIT, NotPlainError
from loopwright.io.gpx_quick import QuickPoints
from loopwright.io.tracks import read_tracks
from loopwright.model.track import RecordedTrack

SPACES = 'xmlns:a="urn:a" xmlns:b="urn:b"'


def read(tmp_path: Path, inner: list[str]) -> RecordedTrack:
    path = tmp_path / "ride.gpx"
    rows = [point(46.5, 13.2 + i / 1e4, f"<ele>5</ele>{cell}") for i, cell in enumerate(inner)]
    path.write_text(gpx_text(rows).replace("<gpx ", f"<gpx {SPACES} "))
    (track,) = read_tracks(path)
    return track


FORMS = {
    "bare": "<extensions><power>201</power></extensions>",
    "prefixed": "<extensions><a:power>201</a:power></extensions>",
    "nested": "<extensions><a:m><b:cad>80</b:cad><b:power>201</b:power></a:m></extensions>",
    "in words": "<extensions><PowerInWatts>201</PowerInWatts></extensions>",
    "attributes": '<extensions><a:more v="1"><power>201</power></a:more></extensions>',
    "wrapped": "<extensions>\n <a:more>\n <power> 201 </power>\n</a:more></extensions>",
    "space declared in place": (
        '<extensions><n:x xmlns:n="http://n/v2" a:v="1"><n:power>201</n:power></n:x></extensions>'
    ),
    "own namespace": '<extensions><power xmlns="urn:c">201</power></extensions>',
    "with other leaves": "<sat>9</sat><extensions><a:t>3</a:t><power>201</power></extensions>",
    "entity": "<extensions><note>a&amp;b</note><power>201</power></extensions>",
    "empty first": "<extensions><a:power/><power></power><b:power>201</b:power></extensions>",
    "words first": "<extensions><a:power>none</a:power><b:power>201</b:power></extensions>",
}


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS.keys())
def test_power_is_found_in_any_dress(tmp_path: Path, form: str) -> None:
    track = read(tmp_path, [form, "", form])
    np.testing.assert_array_equal(track.extras["power_w"], [201.0, np.nan, 201.0])


def test_all_three_kinds_and_nothing_else(tmp_path: Path) -> None:
    form = (
        "<extensions><power>1</power><a:x><a:hr>140</a:hr><a:cad>81</a:cad>"
        "<a:atemp>20</a:atemp></a:x></extensions>"
    )
    track = read(tmp_path, [form, form])
    assert {key: values.tolist() for key, values in track.extras.items()} == {
        "power_w": [1.0, 1.0], "heart_rate_bpm": [140.0, 140.0], "cadence_rpm": [81.0, 81.0],
    }  # fmt: skip


@pytest.mark.parametrize("word", ["", "none", "NaN", "INF", "-"])
def test_a_kind_without_any_number_is_left_out(tmp_path: Path, word: str) -> None:
    form = f"<extensions><hr>{word}</hr></extensions>"
    assert read(tmp_path, [form, form]).extras == {}


def test_the_first_number_of_a_kind_wins(tmp_path: Path) -> None:
    form = "<extensions><power>1</power><a:power>2</a:power></extensions>"
    assert read(tmp_path, [form, form]).extras["power_w"].tolist() == [1.0, 1.0]


def test_more_layouts_than_are_remembered(tmp_path: Path) -> None:
    count = LAYOUT_LIMIT + 5
    forms = [f"<extensions><t{i}/><hr>{100 + i}</hr></extensions>" for i in range(count)]
    values = read(tmp_path, forms).extras["heart_rate_bpm"]
    assert values.tolist() == [100.0 + i for i in range(count)]


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS.keys())
def test_quick_and_thorough_reading_find_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, form: str
) -> None:
    first = read(tmp_path, [form, form])

    def refuse(*_: object) -> None:
        raise NotPlainError

    monkeypatch.setattr(QuickPoints, "without_points", refuse)
    second = read(tmp_path, [form, form])
    assert list(first.extras) == list(second.extras)
    for key, values in first.extras.items():
        np.testing.assert_array_equal(values, second.extras[key])


@pytest.mark.parametrize("form", ["attributes", "space declared in place", "nested", "bare"])
def test_common_dresses_are_read_the_quick_way(form: str) -> None:
    quick = QuickPoints()
    rows = [point(46.5, 13.2, f"<ele>5</ele>{FORMS[form]}")] * 3
    assert list(quick.without_points([gpx_text(rows).encode()]))
    assert [len(run) for run in quick.runs] == [3]
    assert quick.runs[0].extras["power_w"].tolist() == [201.0] * 3


@pytest.mark.parametrize(
    "inner",
    ["<a b='1'/>", '<a b="1" b="2"/>', "<a><b></a></b>", "<a-->", "<a><!-- c --></a>", "<a"],
)
def test_odd_dresses_are_left_to_the_xml_parser(inner: str) -> None:
    rows = [point(46.5, 13.2, f"<extensions>{inner}</extensions>")] * 2
    quick = QuickPoints()
    try:
        rest = b"".join(quick.without_points([gpx_text(rows).encode()]))
    except NotPlainError:
        return
    assert inner.encode() in rest


def test_megabytes_of_words_before_a_point_are_read_the_thorough_way(tmp_path: Path) -> None:
    with pytest.raises(NotPlainError):
        list(QuickPoints().without_points([b"<gpx>" + b" " * 2_500_000] * 2))
    path = tmp_path / "ride.gpx"
    rows = [point(46.5, 13.2 + i / 1e4) for i in range(3)]
    path.write_text(gpx_text(rows).replace("<trkseg>", "<trkseg><!--" + "=" * 5_000_000 + "-->"))
    (track,) = read_tracks(path)
    assert track.lon.tolist() == [13.2 + i / 1e4 for i in range(3)]
