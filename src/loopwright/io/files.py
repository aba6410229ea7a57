"""Reading and writing whole files safely.

Gets paths and bytes; gives bytes, or a file that is either the old one or the new one, never a mix.
Promises: whatever the operating system refuses becomes one WorldError with a remedy.
"""

from __future__ import annotations

import errno
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Lock
from typing import BinaryIO, TypeAlias

from loopwright.errors import WorldError

BACKUP_SUFFIX = ".bak"
Writer: TypeAlias = Callable[[BinaryIO], None]
"""Puts the whole content of a file into an open sink."""
_ONE_AT_A_TIME = Lock()
"""Two threads that replace one file would write into the same new content beside it."""
_READ_AGAIN = "check the name and try again"
_REASONS = {
    errno.ENOENT: ("does not exist", _READ_AGAIN),
    errno.ENOTDIR: ("lies under something that is not a folder", _READ_AGAIN),
    errno.EISDIR: ("is a folder where a file is needed", "name a file"),
    errno.EACCES: ("access is denied", "change its permissions or choose another folder"),
    errno.EPERM: ("access is denied", "change its permissions or choose another folder"),
    errno.EROFS: ("the folder is read-only", "choose another folder"),
    errno.ENOSPC: ("the disk is full, the old file is unchanged", "free some space and try again"),
    errno.EDQUOT: ("your share of the disk is full", "free some space and try again"),
    errno.EFBIG: ("the file would be too large for this disk", "choose another disk"),
    errno.ENAMETOOLONG: ("the name is too long", "choose a shorter name"),
}


@contextmanager
def worldly(path: Path) -> Iterator[None]:
    """Turn an OSError inside the block into a WorldError about ``path``."""
    try:
        yield
    except OSError as error:
        raise world_error(path, error) from error


def world_error(path: Path, error: OSError) -> WorldError:
    """Say in plain words what the operating system refused."""
    what, remedy = _REASONS.get(
        error.errno or 0,
        (f"the system refused it ({error.strerror or type(error).__name__})", _READ_AGAIN),
    )
    return WorldError(str(path), what, remedy)


def read_bytes(path: Path, *, limit: int) -> bytes:
    """Return the content of a regular file; refuses more than ``limit`` bytes and devices."""
    check_regular(path, limit=limit)
    with worldly(path), path.open("rb") as source:
        data = source.read(limit + 1)
    if len(data) > limit:
        raise _too_large(path, limit)
    return data


def read_text(path: Path, *, limit: int) -> str:
    """Return the content as text in UTF-8, with or without a byte order mark."""
    try:
        return read_bytes(path, limit=limit).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise WorldError(
            str(path), f"is not text in UTF-8 (byte {error.start + 1})", "save it as UTF-8"
        ) from error


def check_regular(path: Path, *, limit: int) -> int:
    """Return the size in bytes; refuses folders, devices, and more than ``limit`` bytes."""
    with worldly(path):
        size = path.stat().st_size
    if path.is_dir():
        raise world_error(path, IsADirectoryError(errno.EISDIR, "is a directory"))
    if not path.is_file():
        raise WorldError(str(path), "is not a regular file", "name a file on disk")
    if size > limit:
        raise _too_large(path, limit)
    return size


def _too_large(path: Path, limit: int) -> WorldError:
    return WorldError(
        str(path),
        f"is larger than {limit / 1e6:.0f} MB, the most read from such a file",
        "split it or check that it is the right file",
    )


def write_bytes(path: Path, data: bytes, *, backup: bool = False) -> None:
    """Write ``data`` as write_stream does."""
    write_stream(path, lambda sink: _put(sink, data), backup=backup)


def _put(sink: BinaryIO, data: bytes) -> None:
    sink.write(data)


def write_stream(path: Path, write: Writer, *, backup: bool = False) -> None:
    """Write a file so that a crash at any moment leaves the old content or the new.

    The new content goes to a hidden file beside the target, is flushed to disk, and then takes
    the target's name in one step. With ``backup`` the old content stays as ``NAME.bak``. A
    target that is no regular file (a pipe, a terminal) is written straight.
    """
    with worldly(path):
        target = Path(os.path.realpath(path))
        if target.exists() and not target.is_file() and not target.is_dir():
            with target.open("wb") as sink:
                write(sink)
            return
        with _ONE_AT_A_TIME:
            _replace(target, write, backup=backup)


def _replace(target: Path, write: Writer, *, backup: bool) -> None:
    if target.is_dir():
        raise IsADirectoryError(errno.EISDIR, "is a directory")
    part = target.with_name(f".{target.name}.part")
    try:
        _write_through(part, write)
        if target.exists():
            shutil.copymode(target, part)
            if backup:
                _keep_backup(target)
        part.replace(target)
    except BaseException:
        with suppress(OSError):
            part.unlink()
        raise
    _sync_folder(target.parent)


def _write_through(part: Path, write: Writer) -> None:
    flags = os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_NOFOLLOW", 0)
    flags |= getattr(os, "O_BINARY", 0)
    with os.fdopen(os.open(part, flags, 0o666), "wb") as sink:
        write(sink)
        sink.flush()
        os.fsync(sink.fileno())


def _keep_backup(target: Path) -> None:
    """Give the old content its second name without a moment in which the first is missing."""
    spare = target.with_name(f".{target.name}{BACKUP_SUFFIX}.part")
    with suppress(FileNotFoundError):
        spare.unlink()
    try:
        os.link(target, spare)
    except OSError:  # some disks know no hard links
        shutil.copy2(target, spare)
    spare.replace(backup_path(target))
    with suppress(FileNotFoundError):
        spare.unlink()  # two names of one file: the system leaves both, so drop the spare one


def backup_path(path: Path) -> Path:
    """Name of the one backup kept beside ``path``."""
    return path.with_name(path.name + BACKUP_SUFFIX)


def _sync_folder(folder: Path) -> None:
    """Make the new name itself durable, where the system lets a folder be opened."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_out(path: Path | str, data: bytes) -> None:
    """Write to a file, or to standard output when ``path`` is ``-``."""
    if str(path) == "-":
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    write_bytes(Path(path), data)
