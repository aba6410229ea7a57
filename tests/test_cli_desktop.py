"""The desktop entry, checked by an independent reader of the freedesktop specifications."""

from __future__ import annotations

import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from lxml import etree

from loopwright.cli import placing
from loopwright.cli.main import main
from loopwright.cli.placing import KIND, quoted

DesktopEntry = pytest.importorskip("xdg.DesktopEntry").DesktopEntry

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="a Linux desktop")


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    return tmp_path


def files(data: Path) -> set[str]:
    return {str(p.relative_to(data)) for p in data.rglob("*") if p.is_file()}


def test_the_entry_is_valid_and_starts_this_program(data: Path) -> None:
    # Source: Desktop Entry Specification 1.5, read and validated by PyPI pyxdg.
    assert main(["desktop"]) == 0
    entry = DesktopEntry(str(data / "applications/loopwright.desktop"))
    entry.validate()
    assert entry.getName() == "Loopwright"
    assert entry.getMimeTypes() == [KIND]
    words = shlex.split(entry.getExec())
    assert words[-1] == "%f"
    said = subprocess.run(
        [*words[:-1], "--version"], check=True, capture_output=True, text=True, timeout=60
    )
    assert said.stdout.startswith("loopwright ")


def test_areas_are_known_by_their_ending(data: Path) -> None:
    # Source: Shared MIME-info Database specification 0.21: glob and sub-class-of.
    assert main(["desktop"]) == 0
    tree = etree.parse(data / "mime/packages/loopwright.xml")
    space = {"m": "http://www.freedesktop.org/standards/shared-mime-info"}
    found = tree.find(".//m:glob", namespaces=space)
    assert found is not None
    assert found.get("pattern") == "*.loopwright"


def test_taking_it_out_leaves_only_what_others_wrote(data: Path) -> None:
    other = data / "applications" / "other.desktop"
    other.parent.mkdir()
    other.write_text("[Desktop Entry]\n")
    assert main(["desktop"]) == 0
    assert main(["desktop"]) == 0
    assert set(placing.pieces()) <= files(data)
    assert main(["desktop", "--remove"]) == 0
    assert not set(placing.pieces()) & files(data)
    assert other.exists()
    assert main(["desktop", "--remove"]) == 0


def test_a_folder_that_cannot_be_written_is_one_sentence(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (data / "applications").write_text("a file where a folder should be")
    assert main(["desktop"]) == 1
    assert len(capsys.readouterr().err.splitlines()) == 1


@pytest.mark.parametrize(("word", "line"), [
    ("/opt/a b/run", '"/opt/a b/run"'), ("/opt/50%/run", '"/opt/50%%/run"'),
    ('/opt/"q"/$x`y', '"/opt/\\\\"q\\\\"/\\\\$x\\\\`y"'),
])  # fmt: skip
def test_words_are_quoted_as_the_specification_asks(word: str, line: str) -> None:
    # Source: Desktop Entry Specification 1.5, "The Exec key".
    assert quoted(word) == line
