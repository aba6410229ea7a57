"""Bad GPX files: one clear line each, in bounded time and memory."""

from __future__ import annotations

import gzip
import os
from pathlib import Path

import pytest

from io_help import gpx_text, point
from loopwright.errors import NoAnswerError, WorldError
from loopwright.io import gpx_read
from loopwright.io.tracks import read_tracks

GOOD = [point(46.5, 13.2 + i / 1e4) for i in range(4)]
BOMB = (
    '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa">'
    + "".join(
        f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in zip("abcdefgh", "bcdefghi", strict=True)
    )
    + "]><gpx><trk><name>&i;</name></trk></gpx>"
)
FAULTS: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "is empty"),
    "text": (b"hello", "neither GPX nor FIT"),
    "gzip": (gzip.compress(b"<gpx/>"), "is compressed"),
    "zip": (b"PK\3\4rest", "is a zip archive"),
    "a root of its own": (b"<html/>", "XML but not a GPX file"),
    "other xml": (b"<kml><trk/></kml>", "XML but not GPX (it starts with kml)"),
    "cut short": (gpx_text(GOOD).encode()[:-30], "line 2"),
    "cut in a point": (gpx_text(GOOD).encode()[:-60], "breaks off"),
    "bomb": (BOMB.encode(), "declares entities"),
    "bomb in utf-16": (BOMB.encode("utf-16"), "declares entities"),
    "wrong encoding": (gpx_text(GOOD, name="é").encode("latin-1"), "character encoding"),
    "unknown encoding": (b'<?xml version="1.0" encoding="klingon"?><gpx/>', "character encoding"),
    "bad token": (gpx_text([*GOOD, "<trkpt lat=1/>"]).encode(), "line 2"),
    "control character": (gpx_text(GOOD, name="a\1b").encode(), "line 2"),
    "unknown entity": (gpx_text(GOOD, name="&who;").encode(), "unknown entity"),
}


def refusal(path: Path) -> str:
    with pytest.raises(WorldError) as caught:
        read_tracks(path)
    words = str(caught.value)
    assert words.startswith(f"{path}: ")
    assert words.count("; ") >= 1
    assert "\n" not in words
    return words


@pytest.mark.parametrize(("data", "words"), FAULTS.values(), ids=FAULTS.keys())
def test_each_fault_gets_one_clear_line(tmp_path: Path, data: bytes, words: str) -> None:
    path = tmp_path / "ride.gpx"
    path.write_bytes(data)
    assert words in refusal(path)


BAD_POINTS = {
    "north of the pole": (
        point(90.1, 13),
        'lat="90.1" is off the globe at track 1, point 3, line 4',
    ),
    "east of the date line": (point(46, 180.5), 'lon="180.5" is off the globe'),
    "NaN": (point("NaN", 13), 'lat="NaN" is off the globe'),
    "INF": (point(46, "INF"), 'lon="INF" is off the globe'),
    "words": (point("north", 13), 'lat="north" is not a number'),
    "no latitude": ('<trkpt lon="13"/>', "lat is missing at track 1, point 3, line 4"),
    "empty": (point(46, ""), "lon is missing"),
    "height in words": (point(46, 13, "<ele>high</ele>"), 'ele="high" is not a number'),
    "long": (point("1" * 5000 + "x", 13), "is not a number"),
    "markup": (point("&lt;b&gt;", 13), 'lat="<b>" is not a number'),
}


@pytest.mark.parametrize(("bad", "words"), BAD_POINTS.values(), ids=BAD_POINTS.keys())
def test_a_bad_point_is_named_with_its_place(tmp_path: Path, bad: str, words: str) -> None:
    path = tmp_path / "ride.gpx"
    path.write_text(gpx_text(["\n", *GOOD[:2], "\n", bad, *GOOD[2:]]))
    line = refusal(path)
    assert words in line
    assert len(line) < 400


def test_heights_that_are_no_heights_count_as_missing(tmp_path: Path) -> None:
    path = tmp_path / "ride.gpx"
    path.write_text(gpx_text([point(46, 13, f"<ele>{word}</ele>") for word in ("NaN", "INF", "7")]))
    (track,) = read_tracks(path)
    assert str(track.ele_m.tolist()) == "[nan, nan, 7.0]"


EMPTY = {
    "no track": "<gpx version='1.1'><wpt lat='1' lon='2'/></gpx>",
    "no point": "<gpx version='1.1'><trk><trkseg/></trk></gpx>",
    "one point": gpx_text(GOOD[:1]),
    "points outside a segment": f"<gpx><trk>{''.join(GOOD)}</trk></gpx>",
    "a track inside a track": f"<gpx><a><trk><trkseg>{''.join(GOOD)}</trkseg></trk></a></gpx>",
    "all in a comment": f"<gpx><trk><trkseg><!--{''.join(GOOD)}--></trkseg></trk></gpx>",
    "all in CDATA": f"<gpx><trk><trkseg><![CDATA[{''.join(GOOD)}]]></trkseg></trk></gpx>",
}


@pytest.mark.parametrize("text", EMPTY.values(), ids=EMPTY.keys())
def test_no_usable_track_is_an_honest_no(tmp_path: Path, text: str) -> None:
    path = tmp_path / "ride.gpx"
    path.write_text(text)
    with pytest.raises(NoAnswerError, match="no usable track"):
        read_tracks(path)


def test_missing_file_and_folder(tmp_path: Path) -> None:
    assert "does not exist" in refusal(tmp_path / "none.gpx")
    assert "is a folder" in refusal(tmp_path)


def test_names_from_files_are_plain_text(tmp_path: Path) -> None:
    path = tmp_path / "ride.gpx"
    path.write_text(gpx_text(GOOD, name="&lt;b&gt;A&lt;/b&gt;&#10;line \u202e two" + "x" * 500))
    (track,) = read_tracks(path)
    assert track.name.startswith("<b>A</b> line two")
    assert len(track.name) == 200


@pytest.mark.parametrize(
    ("limit", "value", "words"),
    [
        ("POINT_LIMIT", 3, "holds too many points"),
        ("LINE_LIMIT", 0, "holds too many tracks"),
        ("FILE_LIMIT", 100, "is larger than"),
    ],
)
def test_limits(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, limit: str, value: int, words: str
) -> None:
    path = tmp_path / "ride.gpx"
    path.write_text(gpx_text(GOOD))
    monkeypatch.setattr(gpx_read, limit, value)
    assert words in refusal(path)


JUNK = {
    "elements": ("<gpx>", "<a/>", 2_100_000, "without a track point"),
    "elements in a track": ("<gpx><trk>", "<a/>", 2_100_000, "without a track point"),
    "elements in a point": (
        "<gpx><trk><trkseg><trkpt lat='1' lon='1'>", "<a/>", 1_100_000, "absurd size",
    ),
    "depth": ("<gpx>", "<a>", 10_000, "line 1"),
    "white space": ("<gpx>", " ", 2_100_000, "without a track point"),
    "unclosed extensions": (
        "<gpx><trk><trkseg>", '<trkpt lat="1" lon="1"><extensions>', 2_000_000, "line 1",
    ),
}  # fmt: skip


@pytest.mark.parametrize("junk", JUNK.values(), ids=JUNK.keys())
def test_junk_is_refused_early(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, junk: tuple[str, str, int, str]
) -> None:
    monkeypatch.setattr(gpx_read, "BARREN_LIMIT", 1_500_000)
    head, body, size, words = junk
    path = tmp_path / "junk.gpx"
    path.write_text(head + body * (size // len(body)))
    assert words in refusal(path)


def test_a_harmless_document_type_is_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "ride.gpx"
    path.write_text("<!DOCTYPE gpx>" + gpx_text(GOOD).partition("\n")[2])
    assert len(read_tracks(path)[0]) == 4


def test_nothing_outside_the_file_is_opened(tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("hidden words")
    path = tmp_path / "ride.gpx"
    path.write_text(
        f'<!DOCTYPE gpx SYSTEM "{secret.as_uri()}">' + gpx_text(GOOD).partition("\n")[2]
    )
    assert read_tracks(path)[0].name == "Ride"


def test_names_of_files_are_plain_text_too(tmp_path: Path) -> None:
    for name, shown in (("two  spaces.gpx", "two  spaces.gpx"), ("a\u202eb\n.gpx", "a b .gpx")):
        path = tmp_path / name
        path.write_text(gpx_text(GOOD))
        assert read_tracks(path)[0].source == shown
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/\xff.gpx"))
    path.write_text("no ride")
    with pytest.raises(WorldError, match="neither GPX nor FIT") as caught:
        read_tracks(path)
    assert str(caught.value).isprintable()
