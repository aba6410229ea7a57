"""Writing whole files: the old one or the new one, never a mix, and one clear line on refusal."""

from __future__ import annotations

import errno
import os
import shutil
import stat
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import BinaryIO

import pytest

from loopwright.errors import WorldError
from loopwright.io import files
from loopwright.io.files import (
    backup_path,
    check_regular,
    read_bytes,
    read_text,
    world_error,
    write_bytes,
    write_out,
    write_stream,
)


def names(folder: Path) -> list[str]:
    return sorted(each.name for each in folder.iterdir())


def test_a_new_file_and_a_second_writing(tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    write_bytes(path, b"one")
    write_bytes(path, b"two")
    assert path.read_bytes() == b"two"
    assert names(tmp_path) == ["a.json"]


def test_the_backup_holds_the_content_before(tmp_path: Path) -> None:
    path = tmp_path / "a"
    write_bytes(path, b"one", backup=True)
    assert names(tmp_path) == ["a"]
    for text in (b"two", b"three"):
        write_bytes(path, text, backup=True)
    assert (path.read_bytes(), backup_path(path).read_bytes()) == (b"three", b"two")


def test_a_disk_without_hard_links_still_gets_its_backup(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*_: object) -> None:
        raise OSError(errno.EPERM, "no links here")

    monkeypatch.setattr(os, "link", no_links)
    path = tmp_path / "a"
    for text in (b"one", b"two"):
        write_bytes(path, text, backup=True)
    assert backup_path(path).read_bytes() == b"one"


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS, errno.EACCES, errno.EIO])
@pytest.mark.parametrize("step", ["fsync", "link"])
def test_a_refusal_at_any_step_keeps_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int, step: str
) -> None:
    path = tmp_path / "a"
    write_bytes(path, b"old")

    def refuse(*_: object) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(os, step, refuse)
    monkeypatch.setattr(shutil, "copy2", refuse)
    with pytest.raises(WorldError) as caught:
        write_bytes(path, b"new", backup=True)
    assert str(caught.value).startswith(f"{path}: ")
    assert path.read_bytes() == b"old"
    assert names(tmp_path) == ["a"]


def test_the_disk_full_device_gives_one_sentence() -> None:
    with pytest.raises(WorldError, match="the disk is full"):
        write_bytes(Path("/dev/full"), b"x" * 100_000)


def test_a_device_is_written_straight() -> None:
    write_bytes(Path("/dev/null"), b"x")
    assert stat.S_ISCHR(Path("/dev/null").stat().st_mode)


def test_a_link_keeps_pointing_at_what_it_names(tmp_path: Path) -> None:
    real, link = tmp_path / "real", tmp_path / "link"
    real.write_bytes(b"one")
    link.symlink_to(real)
    write_bytes(link, b"two")
    assert link.is_symlink()
    assert real.read_bytes() == b"two"


def test_a_planted_link_at_the_hidden_name_is_not_followed(tmp_path: Path) -> None:
    victim = tmp_path / "victim"
    victim.write_bytes(b"safe")
    (tmp_path / ".a.part").symlink_to(victim)
    with pytest.raises(WorldError):
        write_bytes(tmp_path / "a", b"x")
    assert victim.read_bytes() == b"safe"


def test_permissions_of_the_old_file_stay(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"one")
    path.chmod(0o640)
    write_bytes(path, b"two")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


@pytest.mark.parametrize(
    ("name", "words"),
    [("", "is a folder"), ("none/a", "does not exist"), ("x" * 300, "name is too long")],
)
def test_places_that_cannot_be_written(tmp_path: Path, name: str, words: str) -> None:
    with pytest.raises(WorldError, match=words):
        write_bytes(tmp_path / name, b"x")


def test_a_file_where_a_folder_is_needed(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"")
    with pytest.raises(WorldError, match="not a folder"):
        write_bytes(tmp_path / "a" / "b", b"x")


def test_a_dash_means_standard_output(capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    write_out("-", b"words\n")
    assert capfdbinary.readouterr().out == b"words\n"


def test_a_path_means_a_file(tmp_path: Path) -> None:
    write_out(tmp_path / "a", b"x")
    assert (tmp_path / "a").read_bytes() == b"x"


def test_reading_has_limits(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"12345")
    assert read_bytes(path, limit=5) == b"12345"
    assert check_regular(path, limit=5) == 5
    with pytest.raises(WorldError, match="is larger than"):
        read_bytes(path, limit=4)
    with pytest.raises(WorldError, match="not a regular file"):
        check_regular(Path("/dev/zero"), limit=5)
    with pytest.raises(WorldError, match="is a folder"):
        check_regular(tmp_path, limit=10**9)


def test_a_file_that_grows_while_it_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"12345")
    monkeypatch.setattr(files, "check_regular", lambda *_, **__: 1)
    with pytest.raises(WorldError, match="is larger than"):
        read_bytes(path, limit=1)


def test_text_is_utf_8_with_or_without_a_mark(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"\xef\xbb\xbfhi")
    assert read_text(path, limit=10) == "hi"
    path.write_bytes(b"ab\xff")
    with pytest.raises(WorldError, match=r"not text in UTF-8 \(byte 3\)"):
        read_text(path, limit=10)


def test_an_unknown_refusal_is_told_as_the_system_says_it() -> None:
    words = str(world_error(Path("a\nb"), OSError(errno.EXDEV, "Invalid cross-device link")))
    assert (
        words
        == "a b: the system refused it (Invalid cross-device link); check the name and try again"
    )


def test_systems_that_cannot_open_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(os, "O_DIRECTORY")
    write_bytes(tmp_path / "a", b"x")
    assert names(tmp_path) == ["a"]


def test_two_threads_that_save_one_file_never_mix(tmp_path: Path) -> None:
    path = tmp_path / "a"

    def save(letter: bytes) -> None:
        def write(sink: BinaryIO) -> None:
            for _ in range(40):
                sink.write(letter * 1000)
                sink.flush()
                time.sleep(0.0005)

        write_stream(path, write)

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(save, [b"a", b"b", b"a", b"b"]))
    assert path.read_bytes() in (b"a" * 40_000, b"b" * 40_000)
    assert names(tmp_path) == ["a"]
