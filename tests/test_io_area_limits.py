"""The area file at its limits, and the exact dress of its zip."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from pathlib import Path

import pytest

from io_help import document, packed
from loopwright.errors import DamagedError, WorldError
from loopwright.io import area_file, area_zip
from loopwright.io.area_file import area_bytes, load_area
from loopwright.io.area_zip import FORMAT, MANIFEST, damaged, open_members
from loopwright.io.files import backup_path
from loopwright.model.document import Document

DOCS = Path(__file__).parents[1] / "docs" / "formats.md"
PARTS = {"document.json": bytes(2000), f"tracks/{'0' * 64}.npy": bytes(3000)}


@pytest.fixture
def whole(tmp_path: Path) -> Path:
    """An archive of two members and a manifest, 5,000 bytes unpacked beside the manifest."""
    path = tmp_path / "hill.loopwright"
    path.write_bytes(packed(PARTS))
    return path


def opened(path: Path) -> str:
    """What is wrong with an archive; empty if it opens."""
    try:
        with open_members(path):
            return ""
    except DamagedError as error:
        return str(error)


def unpacked(path: Path) -> int:
    with zipfile.ZipFile(path) as archive:
        return sum(info.file_size for info in archive.infolist())


def test_a_limit_is_reached_but_not_passed(whole: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    size, kept = unpacked(whole), whole.stat().st_size
    with monkeypatch.context() as patch:
        patch.setattr(area_zip, "MEMBER_LIMIT", 3)
        assert opened(whole) == ""
        patch.setattr(area_zip, "MEMBER_LIMIT", 2)
        assert "3 members where 2 is the most" in opened(whole)
    with monkeypatch.context() as patch:
        patch.setattr(area_zip, "UNPACKED_LIMIT", size)
        assert opened(whole) == ""
        patch.setattr(area_zip, "UNPACKED_LIMIT", size - 1)
        assert "unpacked it would pass" in opened(whole)
    with monkeypatch.context() as patch:
        patch.setattr(area_zip, "SWELL_MOST", 0)
        patch.setattr(area_zip, "SWELL_FROM", size)
        assert opened(whole) == ""
        patch.setattr(area_zip, "SWELL_FROM", size - 1)
        assert "it swells to" in opened(whole)
        patch.setattr(area_zip, "SWELL_MOST", size / kept)
        assert opened(whole) == ""
        patch.setattr(area_zip, "SWELL_MOST", size / kept - 1e-6)
        assert "it swells to" in opened(whole)


def test_the_limits_are_those_written_down() -> None:
    words = DOCS.read_text()
    assert f"at most {area_zip.MEMBER_LIMIT:,} members" in words
    assert f"{area_zip.UNPACKED_LIMIT / 1e9:g} GB unpacked" in words
    assert f"## Area file: `*{area_file.AREA_SUFFIX}`" in words
    assert area_file.FILE_LIMIT == area_zip.UNPACKED_LIMIT
    assert (area_zip.SWELL_FROM, area_zip.SWELL_MOST) == (50_000_000, 40)


def test_a_manifest_fits_every_member_that_may_be_there() -> None:
    name, size = f"tracks/{'0' * 64}.npy", area_zip.UNPACKED_LIMIT
    row = json.dumps({name: {"bytes": size, "sha256": "0" * 64}}, indent=1)
    assert len(row) * area_zip.MEMBER_LIMIT < area_zip._MANIFEST_LIMIT < 20_000_000


@pytest.mark.parametrize("manifest", [[1], "words", 5, None, {}, {"format": FORMAT + "s"}])
def test_a_manifest_of_another_kind_is_refused(tmp_path: Path, manifest: object) -> None:
    path = tmp_path / "a.loopwright"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr(MANIFEST, json.dumps(manifest))
    assert "its manifest is not that of an area" in opened(path)


@pytest.mark.parametrize("schema", [True, 1.0, "1", None, 0, -1])
def test_a_schema_is_a_whole_number_from_one(tmp_path: Path, schema: object) -> None:
    path = tmp_path / "a.loopwright"
    with zipfile.ZipFile(path, "w") as archive:
        words = {"format": FORMAT, "schema": schema, "members": {}}
        archive.writestr(MANIFEST, json.dumps(words))
    assert "its manifest has no schema number" in opened(path)


def test_the_zip_is_dressed_the_same_on_every_machine() -> None:
    """Zip counts time from 1980 on, and 3 is Unix there (APPNOTE.TXT, 4.4; from memory)."""
    with zipfile.ZipFile(io.BytesIO(area_bytes(document()))) as archive:
        assert archive.namelist()[-1] == MANIFEST
        for info in archive.infolist():
            assert info.date_time == (1980, 1, 1, 0, 0, 0)
            assert info.create_system == 3
            assert info.external_attr == 0o600 << 16
            assert info.compress_type == zipfile.ZIP_DEFLATED
            assert info.file_size > 0
        words = archive.read("document.json").decode()
        assert "Zoë" in words
        assert '": ' not in words
        assert "\n" not in words
        assert '\n "schema": ' in archive.read(MANIFEST).decode()
    assert len(packed({"document.json": bytes(100_000)})) < 2000


def test_a_name_is_nothing_but_the_document_or_a_track(tmp_path: Path) -> None:
    path = tmp_path / "a.loopwright"
    for name in ("document.json~", "~document.json", f"tracks/{'g' * 64}.npy", "documentXjson"):
        path.write_bytes(packed({name: b"x"}))
        assert "strange name" in opened(path)


def test_what_to_do_about_damage(tmp_path: Path) -> None:
    path = tmp_path / "a.loopwright"
    assert str(damaged(path, "x")) == f"{path}: the area is damaged (x); restore a copy of it"
    backup_path(path).touch()
    assert str(damaged(path, "x")).endswith("; open the backup a.loopwright.bak beside it")


def test_a_missing_member_is_named(whole: Path) -> None:
    with open_members(whole) as members, pytest.raises(ValueError, match=r"^other is missing$"):
        members.read("other")


def test_what_cannot_be_read_is_not_called_damaged(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.loopwright"):
        with pytest.raises(WorldError) as caught:
            load_area(path)
        assert not isinstance(caught.value, DamagedError)
    (tmp_path / "a").write_bytes(b"no zip at all")
    assert "it is not an area file or was cut short" in opened(tmp_path / "a")


@pytest.mark.parametrize(
    ("corrections", "words"),
    [({}, "expected a list, got dict"), ([5], r"corrections\[0\]: expected an object, got int")],
)
def test_a_first_form_that_makes_no_sense_is_told_as_a_newer_one_is(
    tmp_path: Path, corrections: object, words: str
) -> None:
    path = tmp_path / "a.loopwright"
    with zipfile.ZipFile(io.BytesIO(area_bytes(Document(name="a")))) as archive:
        parts = json.loads(archive.read("document.json"))
    parts["corrections"] = corrections
    path.write_bytes(packed({"document.json": json.dumps(parts).encode()}, schema=1))
    with pytest.raises(DamagedError, match=words):
        load_area(path)


def test_a_size_other_than_listed_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.loopwright"
    entry = {"bytes": 3, "sha256": hashlib.sha256(b"{}").hexdigest()}
    words = {"format": FORMAT, "schema": 1, "members": {"document.json": entry}}
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr(MANIFEST, json.dumps(words))
        archive.writestr("document.json", b"{}")
    assert "document.json has the wrong size" in opened(path)
