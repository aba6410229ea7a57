"""The area file: what goes in comes out, byte for byte, and damage is told."""

from __future__ import annotations

import dataclasses
import hashlib
import io
import json
import os
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from io_help import document, packed, ride
from loopwright.errors import DamagedError, WorldError
from loopwright.io import area_file, area_zip
from loopwright.io.area_file import area_bytes, load_area, save_area
from loopwright.io.area_zip import FORMAT, MANIFEST
from loopwright.io.migrations import SCHEMA, migrate
from loopwright.io.tracks import ride_id
from loopwright.model.document import Document


def same(first: object, second: object) -> bool:
    """Compare values field by field, arrays by content, NaN equal to NaN."""
    if isinstance(first, np.ndarray):
        return isinstance(second, np.ndarray) and bool(
            first.dtype == second.dtype and np.array_equal(first, second, equal_nan=True)
        )
    if dataclasses.is_dataclass(first):
        return type(first) is type(second) and all(
            same(getattr(first, each.name), getattr(second, each.name))
            for each in dataclasses.fields(first)
        )
    if isinstance(first, tuple):
        return (
            isinstance(second, tuple)
            and len(first) == len(second)
            and all(map(same, first, second))
        )
    if isinstance(first, dict):
        return (
            isinstance(second, dict)
            and list(first) == list(second)
            and all(same(first[key], second[key]) for key in first)
        )
    return type(first) is type(second) and first == second


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    path = tmp_path / "hill.loopwright"
    save_area(document(), path)
    return path


def test_every_field_of_a_document_comes_back(saved: Path) -> None:
    whole, empty = document(), Document(name="")
    for each in dataclasses.fields(Document):
        assert not same(getattr(whole, each.name), getattr(empty, each.name)), each.name
    assert same(load_area(saved), whole)
    save_area(empty, saved)
    assert same(load_area(saved), empty)


def parts(value: object) -> Iterator[object]:
    """Walk over every dataclass inside a value."""
    if isinstance(value, tuple):
        for each in value:
            yield from parts(each)
    elif dataclasses.is_dataclass(value):
        yield value
        for field in dataclasses.fields(value):
            yield from parts(getattr(value, field.name))


def test_no_field_anywhere_goes_untested() -> None:
    """The document above must give every field, however deep, a value that is not its default."""
    seen = set()
    for part in parts(document()):
        for field in dataclasses.fields(part):  # type: ignore[arg-type]  # parts gives dataclasses
            made = field.default_factory
            usual = field.default if made is dataclasses.MISSING else made()
            if not same(getattr(part, field.name), usual):
                seen.add((type(part), field.name))
    kinds = {type(part) for part in parts(document())}
    missed = [
        f"{kind.__name__}.{field.name}"
        for kind in kinds
        for field in dataclasses.fields(kind)  # type: ignore[arg-type]  # parts gives dataclasses
        if (kind, field.name) not in seen
    ]
    assert sorted(missed) == []


def test_saving_what_was_loaded_gives_the_same_bytes(saved: Path) -> None:
    first = saved.read_bytes()
    save_area(load_area(saved), saved)
    assert saved.read_bytes() == first
    assert area_bytes(document()) == first


def test_recordings_are_kept_to_the_last_bit(tmp_path: Path) -> None:
    kept = ride(1000)
    path = tmp_path / "a.loopwright"
    save_area(Document(name="a", rides=(kept,)), path)
    back = load_area(path).rides[0]
    assert same(back, kept)
    assert ride_id(back.track) == kept.id


def test_a_recording_there_twice_is_kept_once(tmp_path: Path) -> None:
    path = tmp_path / "a.loopwright"
    twin = ride()
    save_area(Document(name="a", rides=(twin, dataclasses.replace(twin, hidden=True))), path)
    assert [each.hidden for each in load_area(path).rides] == [False, True]
    with zipfile.ZipFile(path) as kept:
        assert len(kept.namelist()) == 3


def test_names_with_anything_in_them_come_back(tmp_path: Path) -> None:
    path = tmp_path / "a.loopwright"
    for name in ("<b>", "🌲", '"', "a\nb\x00", "\u202eabc", "\ud800"):
        save_area(Document(name=name), path)
        shown = "".join(letter if letter.isprintable() else " " for letter in name)
        assert load_area(path).name == shown


def test_one_backup_stays_beside(saved: Path) -> None:
    first = saved.read_bytes()
    save_area(Document(name="second"), saved)
    backup = saved.with_name("hill.loopwright.bak")
    assert backup.read_bytes() == first
    save_area(Document(name="third"), saved)
    assert load_area(backup).name == "second"
    assert sorted(each.name for each in saved.parent.iterdir()) == [
        "hill.loopwright", "hill.loopwright.bak",
    ]  # fmt: skip


def test_any_changed_byte_is_noticed(saved: Path) -> None:
    whole = saved.read_bytes()
    original = load_area(saved)
    rng = np.random.default_rng(5)
    for place in rng.integers(0, len(whole), 300):
        broken = bytearray(whole)
        broken[place] ^= 1 << int(rng.integers(0, 8))
        saved.write_bytes(broken)
        try:
            back = load_area(saved)
        except DamagedError:
            continue
        assert same(back, original), place  # a byte that carries nothing


@pytest.mark.parametrize("share", [0.0, 0.01, 0.5, 0.99])
def test_a_file_cut_short_is_told(saved: Path, share: float) -> None:
    whole = saved.read_bytes()
    saved.write_bytes(whole[: int(len(whole) * share)])
    with pytest.raises(DamagedError, match=r"not an area file or was cut short.*restore a copy"):
        load_area(saved)


def test_damage_points_at_the_backup(saved: Path) -> None:
    save_area(document(), saved)
    saved.write_bytes(b"gone")
    with pytest.raises(DamagedError, match=r"open the backup hill\.loopwright\.bak"):
        load_area(saved)


def members() -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(area_bytes(document()))) as archive:
        return {name: archive.read(name) for name in archive.namelist() if name != MANIFEST}


def changed(change: Callable[[dict[str, Any]], object], schema: int = 1) -> bytes:
    """Return an area whose document was changed before its checksum was taken."""
    parts = members()
    words = json.loads(parts["document.json"])
    change(words)
    parts["document.json"] = json.dumps(words).encode()
    return packed(parts, schema=schema)


def _first_form(words: dict[str, Any]) -> None:
    """Take out what the second form added."""
    for tag in words["tags"]:
        del tag["obstacles"]
    for correction in words["corrections"]:
        del correction["source"]


def test_an_area_of_the_first_form_opens_with_obstacles_unknown(saved: Path) -> None:
    saved.write_bytes(changed(_first_form, schema=1))
    found = load_area(saved)
    assert [tag.obstacles for tag in found.tags] == [None, None]
    assert [tag.surface for tag in found.tags] == ["rock", None]
    assert [correction.source for correction in found.corrections] == [""]
    saved.write_bytes(changed(_first_form, schema=SCHEMA))
    with pytest.raises(DamagedError):
        load_area(saved)


def test_a_newer_form_is_refused_in_plain_words(saved: Path) -> None:
    saved.write_bytes(changed(lambda words: words.update(new=1), schema=SCHEMA + 1))
    with pytest.raises(WorldError, match=r"saved by a newer Loopwright.*update Loopwright"):
        load_area(saved)


WRONG: dict[str, tuple[Callable[[dict[str, Any]], object], str]] = {
    "name": (lambda d: d.update(name=5), "'name' should be text"),
    "no rider": (lambda d: d.pop("rider"), "expected an object"),
    "rides": (lambda d: d.update(rides={}), "expected a list"),
    "ride": (lambda d: d["rides"][1].update(role="other"), r"rides\[1\]"),
    "array": (lambda d: d["rides"][0].update(array="0" * 64), r"tracks/0+\.npy is missing"),
    "column": (lambda d: d["rides"][0]["columns"].pop(), "does not fit"),
    "columns": (lambda d: d["rides"][0]["columns"].reverse(), "unknown columns"),
    "tag": (lambda d: d["tags"][0].update(surface="cheese"), r"tags\[0\].*cheese"),
    "point": (lambda d: d["tags"][0]["line"].append([1]), "a point should have 2 numbers"),
    "mass": (lambda d: d["rider"].update(mass_kg=True), "'mass_kg' should be a number"),
    "date": (lambda d: d["season"]["sessions"][0].update(on="soon"), r"sessions\[0\]"),
    "window": (lambda d: d["wishes"].update(min_length_m=9e9), "lap window"),
    "flag": (lambda d: d["settings"].update(invented=1), "'invented' should be true or false"),
    "whole": (lambda d: d["season"]["wishes"].update(weeks=1.5), "'weeks' should be a whole"),
    "huge": (lambda d: d["rider"].update(mass_kg=10**400), "document.json"),
}


@pytest.mark.parametrize(("change", "words"), WRONG.values(), ids=WRONG.keys())
def test_a_document_that_makes_no_sense_names_the_field(
    saved: Path, change: Callable[[dict[str, Any]], object], words: str
) -> None:
    saved.write_bytes(changed(change))
    with pytest.raises(DamagedError, match=words):
        load_area(saved)


def archive(parts: dict[str, bytes], *, deflate: bool = True) -> bytes:
    sink = io.BytesIO()
    kind = zipfile.ZIP_DEFLATED if deflate else zipfile.ZIP_STORED
    with zipfile.ZipFile(sink, "w", kind) as target:
        for name, data in parts.items():
            target.writestr(name, data)
    return sink.getvalue()


def listed(parts: dict[str, bytes], **more: object) -> dict[str, bytes]:
    entries = {
        name: {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
        for name, data in parts.items()
    }
    manifest = {"format": FORMAT, "schema": 1, "members": entries} | more
    return {MANIFEST: json.dumps(manifest).encode(), **parts}


def spare_member() -> bytes:
    return packed({f"tracks/{'0' * 64}.npy": b"spare", **members()})


ONES = {"document.json": 1}
LIE = {"document.json": {"bytes": 2, "sha256": "0" * 64}}
FORGED: dict[str, tuple[bytes, str]] = {
    "another zip": (archive({"a.txt": b"a"}), "no manifest"),
    "no json": (archive({MANIFEST: b"{"}), "manifest is no JSON"),
    "deep json": (archive({MANIFEST: b"[" * 100_000}), "manifest is no JSON"),
    "other format": (archive({MANIFEST: b'{"format": "x"}'}), "not that of an area"),
    "no schema": (archive(listed({}, schema="1")), "no schema number"),
    "schema 0": (archive(listed({}, schema=0)), "no schema number"),
    "traversal": (archive(listed({"../../evil": b"x"})), "strange name"),
    "absolute": (archive(listed({"/etc/evil": b"x"})), "strange name"),
    "pickle": (archive(listed({"tracks/a.pkl": b"x"})), "strange name"),
    "extra": (archive({**listed({}), "more": b""}), "not those of its manifest"),
    "no document": (archive(listed({})), r"document\.json is missing"),
    "other checksum": (
        archive(listed({"document.json": b"{}"}, members=LIE)), "has changed since it was saved",
    ),
    "belongs to nothing": (spare_member(), "belongs to nothing in it"),
    "no members": (archive(listed({}, members=[])), "not those of its manifest"),
    "bad entry": (archive(listed({"document.json": b""}, members=ONES)), "wrong size"),
    "text document": (archive(listed({"document.json": b"hello"})), r"document\.json"),
    "list document": (archive(listed({"document.json": b"[]"})), "expected an object"),
    "deep document": (archive(listed({"document.json": b"[" * 100_000})), r"document\.json"),
    "no utf-8": (archive(listed({"document.json": b"\xff\xfe"})), r"document\.json"),
}  # fmt: skip


@pytest.mark.parametrize(("data", "words"), FORGED.values(), ids=FORGED.keys())
def test_forged_archives_are_refused(saved: Path, data: bytes, words: str) -> None:
    saved.write_bytes(data)
    with pytest.raises(DamagedError, match=words):
        load_area(saved)
    assert not (saved.parent.parent / "evil").exists()


def test_a_zip_bomb_is_refused_before_it_is_unpacked(
    saved: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    saved.write_bytes(archive(listed({"document.json": bytes(3_000_000)})))
    assert saved.stat().st_size < 10_000
    monkeypatch.setattr(area_zip, "UNPACKED_LIMIT", 1_000_000)
    with pytest.raises(DamagedError, match="unpacked it would pass"):
        load_area(saved)


def test_too_many_members_are_refused(saved: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(area_zip, "MEMBER_LIMIT", 2)
    with pytest.raises(DamagedError, match="members where 2 is the most"):
        load_area(saved)


def test_too_large_a_file_is_refused(saved: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(area_file, "FILE_LIMIT", 10)
    with pytest.raises(WorldError, match="is larger than"):
        load_area(saved)


def test_a_member_there_twice_is_refused(saved: Path) -> None:
    parts = listed({"document.json": b"{}"})
    sink = io.BytesIO(archive(parts))
    with zipfile.ZipFile(sink, "a") as target, pytest.warns(UserWarning, match="Duplicate"):
        target.writestr("document.json", b"{}")
    saved.write_bytes(sink.getvalue())
    with pytest.raises(DamagedError, match="there twice"):
        load_area(saved)


def forged_array(data: bytes) -> bytes:
    """Return an area in which the first ride's array is replaced, checksums and all."""
    parts = members()
    words = json.loads(parts["document.json"])
    name = hashlib.sha256(data).hexdigest()
    words["rides"][0]["array"] = name
    old = f"tracks/{json.loads(parts['document.json'])['rides'][0]['array']}.npy"
    parts.pop(old)
    parts[f"tracks/{name}.npy"] = data
    parts["document.json"] = json.dumps(words).encode()
    return packed(parts)


def npy(array: np.ndarray[Any, Any], **more: bool) -> bytes:
    sink = io.BytesIO()
    np.save(sink, array, **more)
    return sink.getvalue()


GLOBE = np.zeros((6, 3))
ARRAYS: dict[str, tuple[bytes, str]] = {
    "pickle": (npy(np.array([{}]), allow_pickle=True), "does not fit"),
    "text": (npy(np.array(["a"])), "does not fit"),
    "ints": (npy(np.zeros((6, 3), dtype=np.int64)), "does not fit"),
    "flat": (npy(np.zeros(18)), "does not fit"),
    "broken head": (npy(GLOBE).replace(b"(6, 3)", b"(6, 90"), "unreadable head"),
    "absurd shape": (npy(GLOBE).replace(b"(6, 3), }" + b" " * 9, b"(6, 9000000000), }"), "fit"),
    "cut": (npy(GLOBE)[:-8], "does not fit"),
    "longer": (npy(GLOBE) + bytes(8), "does not fit"),
    "empty": (b"", "document"),
    "off the globe": (npy(GLOBE + 91), "off the globe"),
    "NaN position": (npy(GLOBE * np.nan), "off the globe"),
    "no piece": (npy(GLOBE - np.array([[0, 0, 0, 0, 1, 0]]).T), "broken segment"),
    "far piece": (npy(GLOBE + np.array([[0, 0, 0, 0, 2.0**31, 0]]).T), "broken segment"),
    "half a piece": (npy(GLOBE + np.array([[0, 0, 0, 0, 0.5, 0]]).T), "broken segment"),
}


@pytest.mark.parametrize(("data", "words"), ARRAYS.values(), ids=ARRAYS.keys())
def test_forged_arrays_are_refused(saved: Path, data: bytes, words: str) -> None:
    saved.write_bytes(forged_array(data))
    with pytest.raises(DamagedError, match=words):
        load_area(saved)


def test_older_forms_are_brought_up_to_date_step_by_step() -> None:
    steps = {
        1: lambda words: words | {"b": words["a"] + 1},
        2: lambda words: words | {"c": words["b"] + 1},
    }
    assert migrate({"a": 1}, 1, steps=steps, newest=3) == {"a": 1, "b": 2, "c": 3}
    assert migrate({"a": 1}, SCHEMA) == {"a": 1}
    with pytest.raises(KeyError):
        migrate({}, 1, steps={}, newest=2)


@pytest.mark.skipif(os.geteuid() == 0, reason="permissions do not bind the superuser")
def test_a_read_only_folder_keeps_the_old_file(saved: Path) -> None:
    first = saved.read_bytes()
    saved.parent.chmod(0o500)
    try:
        with pytest.raises(WorldError, match="access is denied"):
            save_area(Document(name="new"), saved)
    finally:
        saved.parent.chmod(0o700)
    assert saved.read_bytes() == first
