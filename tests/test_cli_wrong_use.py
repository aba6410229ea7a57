"""Wrong use and bad input on the command line: one line on stderr, the right exit code."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from loopwright.cli.main import main

GPX = (
    '<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1">'
    "<trk><trkseg>{}</trkseg></trk></gpx>"
)


def one_line(capsys: pytest.CaptureFixture[str]) -> str:
    said = capsys.readouterr().err
    assert said.endswith("\n"), said
    assert said.count("\n") == 1, said
    assert "Traceback" not in said
    return said


@pytest.mark.parametrize(
    "words",
    [
        ["nonsense"],
        ["find"],
        ["find", "--length"],
        ["find", "a.loopwright", "--length", "5-3"],
        ["find", "a.loopwright", "--length", "long"],
        ["find", "a.loopwright", "--start", "91,0"],
        ["find", "a.loopwright", "--start", "-12.5"],
        ["find", "a.loopwright", "--count", "0"],
        ["find", "a.loopwright", "--mix", "no such mix"],
        ["tag", "a.loopwright"],
        ["tag", "a.loopwright", "--line", "x.geojson", "--surface", "lava"],
        ["import"],
        ["--unknown"],
        ["card", "a.loopwright", "--loop", "1", "--out", "card.docx"],
        ["export", "a.loopwright", "x.shp"],
        ["season", "a.loopwright", "--race", "soon"],
        ["season", "a.loopwright", "--race", "2020-01-01"],
        ["season", "a.loopwright", "--race", "2099-01-01", "--weeks", "0"],
        ["a.loopwright", "b.loopwright"],
    ],
)
def test_wrong_use_is_one_line_and_exit_2(
    words: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    from loopwright.io.area_file import save_area
    from loopwright.model.document import Document

    monkeypatch.chdir(tmp_path)
    save_area(Document(name="a"), tmp_path / "a.loopwright")
    before = (tmp_path / "a.loopwright").read_bytes()
    assert main(words) == 2
    one_line(capsys)
    assert (tmp_path / "a.loopwright").read_bytes() == before


BAD = {
    "not_xml.gpx": b"this is no track at all",
    "empty.gpx": b"",
    "no_points.gpx": GPX.format("").encode(),
    "one_point.gpx": GPX.format('<trkpt lat="1" lon="2"/>').encode(),
    "range.gpx": GPX.format('<trkpt lat="91" lon="2"/><trkpt lat="1" lon="2"/>').encode(),
    "nan.gpx": GPX.format('<trkpt lat="NaN" lon="2"/><trkpt lat="1" lon="2"/>').encode(),
    "cut.gpx": GPX.format('<trkpt lat="1" lon="2"/>').encode()[:90],
    "bomb.gpx": (
        b'<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa">'
        b'<!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;">'
        b"]><gpx><name>&c;</name></gpx>"
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_is_one_line_and_exit_1(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / name).write_bytes(BAD[name])
    area = tmp_path / "a.loopwright"
    assert main(["import", str(area), str(tmp_path / name)]) == 1
    said = capsys.readouterr().err
    assert name in said
    assert all(line.count(";") >= 1 for line in said.splitlines()), said
    assert "Traceback" not in said
    assert not area.exists()


def test_a_missing_file_and_a_missing_area(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(tmp_path / "none.loopwright")]) == 1
    assert "no such area" in one_line(capsys)
    assert main(["import", str(tmp_path / "a.loopwright"), str(tmp_path / "none.gpx")]) == 1
    assert "none.gpx" in capsys.readouterr().err


def test_a_damaged_area_is_told_and_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    area = tmp_path / "a.loopwright"
    area.write_bytes(b"PK\x03\x04 half a file")
    assert main(["check", str(area)]) == 1
    one_line(capsys)
    assert area.read_bytes() == b"PK\x03\x04 half a file"


def test_a_real_process_says_one_line(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "loopwright", "find", str(tmp_path / "none.loopwright")],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
