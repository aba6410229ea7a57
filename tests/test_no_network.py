"""Nothing goes out: the main job runs where every socket of the internet is refused."""

from __future__ import annotations

import re
import socket
from pathlib import Path
from typing import Any, NoReturn

import pytest
from pytestqt.qtbot import QtBot

import loopwright
from app_help import found, ladder_document, wait_until, window_on
from io_help import gpx_text, point
from loopwright.cli.main import main
from loopwright.model.track import RecordedTrack

DOOR = "app/tile_web.py"
"""The one file that may ask for something from outside, at an address that was typed in."""
NETWORK = re.compile(
    r"^\s*(?:import|from)\s+(socket|ssl|http|requests|ftplib|smtplib|asyncio|urllib\.request|"
    r"PySide6\.QtNetwork|PySide6\.QtWebEngine\w*)\b",
    re.MULTILINE,
)


@pytest.fixture
def sealed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Refuse every socket but those between processes of one machine, and every name look-up."""
    asked: list[str] = []
    whole = socket.socket.__init__

    def refuse(what: str) -> NoReturn:
        asked.append(what)
        raise OSError(what)

    def init(self: socket.socket, family: int = -1, *more: Any, **named: Any) -> None:
        if family != socket.AF_UNIX:
            refuse("socket")
        whole(self, family, *more, **named)

    monkeypatch.setattr(socket.socket, "__init__", init)
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_a, **_k: refuse("getaddrinfo"))
    return asked


def _gpx(track: RecordedTrack) -> str:
    rows = zip(track.lat, track.lon, track.ele_m, strict=True)
    return gpx_text([point(lat, lon, f"<ele>{ele}</ele>") for lat, lon, ele in rows])


def test_the_seal_holds(sealed: list[str]) -> None:
    with pytest.raises(OSError, match="socket"):
        socket.socket(socket.AF_INET)
    assert sealed == ["socket"]


def test_the_main_job_asks_nothing_of_the_network(
    sealed: list[str], tmp_path: Path, qtbot: QtBot
) -> None:
    area, files = tmp_path / "a.loopwright", []
    for number, ride in enumerate(ladder_document().rides):
        files.append(tmp_path / f"{number}.gpx")
        files[-1].write_text(_gpx(ride.track))
    assert main(["import", str(area), *map(str, files)]) == 0
    assert main(["find", str(area), "--length", "0.4-1.2", "--seconds", "60"]) == 0
    assert main(["card", str(area), "--loop", "1", "--out", str(tmp_path / "c.pdf")]) == 0
    assert main(["export", str(area), str(tmp_path / "n.geojson")]) == 0
    assert sealed == []


def test_the_window_asks_nothing_of_the_network(sealed: list[str], qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened))
    assert sealed == []


def test_one_file_alone_knows_the_network() -> None:
    root = Path(loopwright.__file__).parent
    knowing = {
        path.relative_to(root).as_posix()
        for path in root.rglob("*.py")
        if NETWORK.search(path.read_text("utf-8"))
    }
    assert knowing <= {DOOR}
