"""The background of the map: a file, tiles from the loopback address, and nothing by default."""

from __future__ import annotations

import resource
import struct
import subprocess
import sys
import zlib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtGui import QColor
from pytestqt.qtbot import QtBot

from app_help import Answers, ladder_document, rested, wait_until, window_on
from loopwright.app.background_dialog import ADDRESS, OWN_FILE, BackgroundDialog
from loopwright.app.background_paint import decoded
from loopwright.app.opening import Opened
from loopwright.app.remembered import Remembered
from loopwright.app.tile_web import TILE_BYTES, TileWeb
from loopwright.geo.tiles import TileName, tiles_over
from loopwright.io.preferences import Preferences, load_preferences
from loopwright.io.tile_address import tile_address
from loopwright.model.document import Document
from tiles_help import square, tile_file, tile_server

TILE = TileName(14, 100, 200)


def colour_in_a_corner(opened: Opened) -> QColor:
    """The map's colour where no trail and no panel is."""
    view = opened.window.map_pane.map
    image = view.viewport().grab().toImage()
    return QColor(image.pixel(3, image.height() // 2))


def reddish(colour: QColor) -> bool:
    return colour.red() > colour.blue() + 60


def world_file(path: Path) -> Path:
    """The whole world in one red tile."""
    return tile_file(path, {(0, 0, 0): square("#ff0000")}, format="png", attribution="Invented")


def with_file(path: Path) -> Document:
    document = ladder_document()
    return replace(document, settings=replace(document.settings, background_file=str(path)))


def test_a_file_lies_under_the_trails_and_is_credited(qtbot: QtBot, tmp_path: Path) -> None:
    with window_on(with_file(world_file(tmp_path / "w.mbtiles"))) as opened:
        background = opened.window.map_pane.map.background
        wait_until(qtbot, lambda: bool(background.credit) and rested(opened))
        assert background.credit == "Invented"
        assert reddish(colour_in_a_corner(opened))


def test_only_the_pictures_a_tile_may_be_are_read() -> None:
    svg = b'<svg xmlns="http://www.w3.org/2000/svg" width="8" height="8"/>'
    assert decoded(svg) is None
    assert decoded(b"GIF89a" + bytes(40)) is None
    assert decoded(square("#ff0000")[:60]) is None
    for kind in ("PNG", "JPG", "WEBP"):
        image = decoded(square("#ff0000", kind=kind))
        assert image is not None
        assert reddish(image.pixelColor(9, 9))


def test_a_tile_that_would_swell_is_no_picture() -> None:
    """A picture of one colour packs a thousand to one: what it would unpack to is what counts."""
    swollen = png_of_nothing(6000)
    assert len(swollen) < 200_000
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert decoded(swollen) is None
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 50_000
    assert decoded(png_of_nothing(2048)) is not None
    assert decoded(png_of_nothing(2049)) is None


def png_of_nothing(side: int) -> bytes:
    """A clear picture, packed row by row as PNG (W3C PNG specification, third edition) says."""
    pack = zlib.compressobj(9)
    row = bytes(1 + 4 * side)
    rows = b"".join([*(pack.compress(row) for _ in range(side)), pack.flush()])
    head = struct.pack(">IIBBBBB", side, side, 8, 6, 0, 0, 0)
    parts = [(b"IHDR", head), (b"IDAT", rows), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in parts
    )


def test_no_background_shows_plain_paper(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: opened.desk.terrain is not None and rested(opened))
        assert not reddish(colour_in_a_corner(opened))


def test_a_file_that_is_gone_is_told_once_and_the_map_goes_on(qtbot: QtBot, tmp_path: Path) -> None:
    with window_on(with_file(tmp_path / "gone.mbtiles")) as opened:
        wait_until(qtbot, lambda: "gone.mbtiles" in opened.desk.trouble)
        wait_until(qtbot, lambda: opened.desk.terrain is not None and rested(opened))
        opened.window.map_pane.map.zoom(1.5)
        assert not opened.desk.jobs.busy("background")


def dialog(opened: Opened, remembered: Remembered) -> BackgroundDialog:
    made = BackgroundDialog(opened.window, remembered)
    made.show()
    return made


def test_choosing_a_file_is_one_step_that_can_be_undone(qtbot: QtBot, tmp_path: Path) -> None:
    path = world_file(tmp_path / "w.mbtiles")
    with window_on(ladder_document(), answers=Answers(file=path)) as opened:
        form = dialog(opened, Remembered())
        form.kind.setCurrentIndex(OWN_FILE)
        form.choose.click()
        form.keep()
        assert opened.desk.document.settings.background_file == str(path)
        wait_until(qtbot, lambda: opened.desk.terrain is not None and rested(opened))
        opened.window.do("undo")
        assert opened.desk.document.settings.background_file == ""
        wait_until(qtbot, lambda: rested(opened))
        assert not reddish(colour_in_a_corner(opened))


def test_what_cannot_work_is_said_in_the_form(qtbot: QtBot, tmp_path: Path) -> None:
    with window_on(ladder_document()) as opened:
        form = dialog(opened, Remembered())
        form.kind.setCurrentIndex(ADDRESS)
        form.address.setText("file:///{z}/{x}/{y}")
        form.keep()
        assert "http" in form.trouble.text()
        form.kind.setCurrentIndex(OWN_FILE)
        form.file.setText(str(tmp_path / "<b>no.tif"))
        form.keep()
        assert "<b>no.tif" in form.trouble.text()
        assert form.isVisible()
        form.close()
        wait_until(qtbot, lambda: rested(opened))


def test_an_address_is_asked_only_once_it_is_saved(qtbot: QtBot, tmp_path: Path) -> None:
    record = Remembered(path=tmp_path / "preferences.json")
    with tile_server(square("#ff0000")) as server, window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: opened.desk.terrain is not None and rested(opened))
        form = dialog(opened, record)
        form.kind.setCurrentIndex(ADDRESS)
        form.address.setText(server.address)
        form.credit.setText("Invented tiles")
        assert server.asked == []
        form.keep()
        wait_until(qtbot, lambda: bool(server.asked) and reddish(colour_in_a_corner(opened)))
        assert opened.window.map_pane.map.background.credit == "Invented tiles"
        assert all(agent.startswith("Loopwright/") for agent in server.agents)
        kept = load_preferences(tmp_path / "preferences.json")
        assert kept.tiles_on
        assert kept.tile_address == server.address
        assert "127.0.0.1" not in str(opened.desk.document.settings)
        again = dialog(opened, record)
        again.kind.setCurrentIndex(0)
        again.keep()
        assert not load_preferences(tmp_path / "preferences.json").tiles_on
        wait_until(qtbot, lambda: rested(opened))
        assert not reddish(colour_in_a_corner(opened))


def ask(qtbot: QtBot, address: str, folder: Path) -> tuple[bytes | None, str]:
    """Ask for one tile and give it, or what went wrong."""
    made = TileWeb(tile_address(address), folder)
    said: list[str] = []
    made.failed.connect(said.append)
    made.want((TILE,))
    wait_until(qtbot, lambda: TILE in made.held() or bool(said) or not made.busy)
    answer = made.held().get(TILE)
    made.close()
    made.deleteLater()
    return answer, said[0] if said else ""


def test_a_tile_is_shown_again_without_a_connection(qtbot: QtBot, tmp_path: Path) -> None:
    body = square("#00ff00")
    with tile_server(body) as server:
        assert ask(qtbot, server.address, tmp_path) == (body, "")
    assert len(server.asked) == 1
    assert ask(qtbot, server.address, tmp_path) == (body, "")
    got, words = ask(qtbot, server.address, tmp_path / "empty")
    assert got is None
    assert words


@pytest.mark.parametrize("to", ["file:///etc/hostname", "ftp://127.0.0.1/a", "data:image/png,a"])
def test_a_redirect_out_of_the_web_is_refused(qtbot: QtBot, tmp_path: Path, to: str) -> None:
    with tile_server(b"") as server:
        server.status, server.to = 302, to
        got, words = ask(qtbot, server.address, tmp_path)
    assert got is None
    assert words
    assert len(server.asked) == 1


def test_redirects_without_end_are_given_up(qtbot: QtBot, tmp_path: Path) -> None:
    with tile_server(b"") as server:
        server.status, server.to = 302, "/again"
        got, words = ask(qtbot, server.address, tmp_path)
        assert got is None
        assert words
        assert len(server.asked) <= 5


def test_an_answer_too_large_is_dropped(qtbot: QtBot, tmp_path: Path) -> None:
    with tile_server(bytes(TILE_BYTES * 3)) as server:
        assert ask(qtbot, server.address, tmp_path)[0] is None


def test_a_tile_that_is_not_there_is_no_trouble_and_is_left_alone(
    qtbot: QtBot, tmp_path: Path
) -> None:
    with tile_server(b"nothing") as server:
        server.status = 404
        made = TileWeb(tile_address(server.address), tmp_path)
        said: list[str] = []
        made.failed.connect(said.append)
        made.want((TILE,))
        wait_until(qtbot, lambda: not made.busy)
        made.want((TILE,))
        assert not made.busy
        assert said == []
        assert len(server.asked) == len(set(server.asked)) == 6, "the tile and coarser ones"
        made.deleteLater()


def test_what_is_wanted_no_longer_is_let_go(qtbot: QtBot, tmp_path: Path) -> None:
    with tile_server(square("#00ff00")) as server:
        made = TileWeb(tile_address(server.address), tmp_path)
        many = tuple(TileName(14, column, 7) for column in range(40))
        made.want(many)
        made.close()
        assert not made.busy
        made.want((TILE,))
        wait_until(qtbot, lambda: TILE in made.held())
        assert len(made.held()) < 10
        made.close()
        made.deleteLater()


def test_without_an_address_no_network_code_is_loaded() -> None:
    code = (
        "import sys, os; os.environ['QT_QPA_PLATFORM'] = 'offscreen'\n"
        "from loopwright.app.picture import ensure_widgets\n"
        "from loopwright.app.look import make_look\n"
        "from loopwright.app.opening import open_window\n"
        "from loopwright.model.document import Document\n"
        "application = ensure_widgets()\n"
        "opened = open_window(Document(name='a'), make_look('light'))\n"
        "opened.window.show(); application.processEvents(); opened.close()\n"
        "assert 'PySide6.QtNetwork' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, timeout=120)


def test_preferences_that_make_no_sense_fall_back_one_by_one(tmp_path: Path) -> None:
    path = tmp_path / "p.json"
    path.write_text('{"tiles_on": "yes", "tile_address": 5, "tile_credit": "ok"}')
    assert load_preferences(path) == Preferences(tile_credit="ok")


def test_tiles_finer_than_the_view_are_used_where_there_are_no_others(
    qtbot: QtBot, tmp_path: Path
) -> None:
    track = ladder_document().rides[0].track
    around = np.array([-0.01, 0.01])
    fine = tiles_over(track.lat.mean() + around, track.lon.mean() + around, 18)
    red = square("#ff0000", 8)
    path = tile_file(tmp_path / "f.mbtiles", {(t.zoom, t.column, t.row): red for t in fine})
    with window_on(with_file(path)) as opened:
        view = opened.window.map_pane.map
        wait_until(qtbot, lambda: opened.desk.terrain is not None and rested(opened))
        view.zoom(0.9)
        wait_until(qtbot, lambda: rested(opened))
        assert reddish(colour_in_a_corner(opened))
