"""The container of an area file: one zip with a manifest.

Gets and gives members by name as bytes, one at a time. Promises: the same members make the same
bytes; a member that is extra, too large or misnamed is refused before anything is unpacked, one
that has changed when it is read.
"""

from __future__ import annotations

import errno
import hashlib
import json
import re
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO

from loopwright.errors import DamagedError
from loopwright.io.files import backup_path
from loopwright.io.plain import plain

FORMAT = "loopwright area"
MANIFEST = "manifest.json"
MEMBER_LIMIT = 20_000
UNPACKED_LIMIT = 4_000_000_000
SWELL_FROM, SWELL_MOST = 50_000_000, 40
"""Above so many bytes unpacked, an archive may be that many times its size on disk. Recorded
numbers shrink to between a half and a twentieth; what swells more was made to fill memory."""
_MANIFEST_LIMIT = 16_000_000
_NAME = re.compile(r"(document\.json|tracks/[0-9a-f]{64}\.npy)")
_MOMENT = (1980, 1, 1, 0, 0, 0)
"""Zip files must carry a time; a fixed one keeps the bytes the same."""
_LEVEL = 1
"""Recorded numbers hardly shrink further at higher levels, which take several times as long."""


def damaged(path: Path, what: str) -> DamagedError:
    """Make the error for a damaged area, pointing at the backup if there is one."""
    spare = backup_path(path)
    remedy = f"open the backup {spare.name} beside it" if spare.exists() else "restore a copy of it"
    return DamagedError(str(path), f"the area is damaged ({plain(what)})", remedy)


def pack(sink: BinaryIO, members: Iterable[tuple[str, bytes]], *, schema: int) -> None:
    """Write a zip of ``members``, one after another, and a manifest of them at its end.

    A name met again is written once. Only one member is held in memory at a time.
    """
    listed: dict[str, dict[str, object]] = {}
    with zipfile.ZipFile(sink, "w") as archive:
        for name, data in members:
            if name not in listed:
                digest = hashlib.sha256(data).hexdigest()
                listed[name] = {"bytes": len(data), "sha256": digest}
                _add(archive, name, data)
        manifest = {"format": FORMAT, "schema": schema, "members": listed}
        _add(archive, MANIFEST, json.dumps(manifest, indent=1).encode())


def _add(archive: zipfile.ZipFile, name: str, data: bytes) -> None:
    info = zipfile.ZipInfo(name, date_time=_MOMENT)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.create_system = 3
    info.external_attr = 0o600 << 16
    archive.writestr(info, data, compresslevel=_LEVEL)


class Members:
    """The members of an open area file; each is verified when it is read."""

    def __init__(self, path: Path, archive: zipfile.ZipFile, manifest: dict[str, Any]) -> None:
        """Check names and sizes against the manifest; raises DamagedError."""
        self._path, self._archive = path, archive
        self.schema = _schema(path, manifest)
        self._listed = _listed(path, archive, manifest)
        self._unread = set(self._listed)

    def read(self, name: str) -> bytes:
        """Return the bytes of a member; ValueError if there is none, DamagedError if changed."""
        if name not in self._listed:
            message = f"{name} is missing"
            raise ValueError(message)
        data = _read(self._archive, name, limit=UNPACKED_LIMIT)
        if hashlib.sha256(data).hexdigest() != self._listed[name].get("sha256"):
            raise damaged(self._path, f"{name} has changed since it was saved")
        self._unread.discard(name)
        return data

    def check_all_read(self) -> None:
        """Refuse a file with members that its document does not name."""
        if self._unread:
            raise damaged(self._path, f"{min(self._unread)} belongs to nothing in it")


@contextmanager
def open_members(path: Path) -> Iterator[Members]:
    """Open the zip at ``path`` for reading.

    What the zip library raises inside the block becomes DamagedError; an OSError of the disk is
    left to the caller.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            _check_limits(path, archive)
            yield Members(path, archive, _manifest(path, archive))
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as error:
        raise damaged(path, _zip_words(error)) from error
    except (RuntimeError, ValueError, UnicodeError) as error:  # encrypted, odd names, odd sizes
        raise damaged(path, _zip_words(error)) from error
    except OSError as error:
        if error.errno == errno.EINVAL:  # an offset that leads out of the file
            raise damaged(path, "unreadable archive") from error
        raise


def _zip_words(error: Exception) -> str:
    if "not a zip" in str(error):
        return "it is not an area file or was cut short"
    return f"unreadable archive: {error}"


def _check_limits(path: Path, archive: zipfile.ZipFile) -> None:
    infos = archive.infolist()
    if len(infos) > MEMBER_LIMIT:
        raise damaged(path, f"{len(infos)} members where {MEMBER_LIMIT} is the most")
    if sum(info.file_size for info in infos) > UNPACKED_LIMIT:
        raise damaged(path, f"unpacked it would pass {UNPACKED_LIMIT / 1e9:.0f} GB")
    unpacked = sum(info.file_size for info in infos)
    if unpacked > max(SWELL_FROM, SWELL_MOST * path.stat().st_size):
        raise damaged(path, f"it swells to {unpacked / 1e6:.0f} MB")
    names = [info.filename for info in infos]
    if len(set(names)) != len(names):
        raise damaged(path, "a member is there twice")


def _read(archive: zipfile.ZipFile, name: str, *, limit: int) -> bytes:
    with archive.open(name) as source:
        return source.read(limit)


def _manifest(path: Path, archive: zipfile.ZipFile) -> dict[str, Any]:
    if MANIFEST not in archive.namelist():
        raise damaged(path, "it is a zip but has no manifest")
    try:
        manifest = json.loads(_read(archive, MANIFEST, limit=_MANIFEST_LIMIT))
    except (ValueError, RecursionError) as error:
        raise damaged(path, "its manifest is no JSON") from error
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise damaged(path, "its manifest is not that of an area")
    return manifest


def _schema(path: Path, manifest: dict[str, Any]) -> int:
    schema = manifest.get("schema")
    if not isinstance(schema, int) or isinstance(schema, bool) or schema < 1:
        raise damaged(path, "its manifest has no schema number")
    return schema


def _listed(
    path: Path, archive: zipfile.ZipFile, manifest: dict[str, Any]
) -> dict[str, dict[str, Any]]:
    listed = manifest.get("members")
    names = set(archive.namelist()) - {MANIFEST}
    if not isinstance(listed, dict) or set(listed) != names:
        raise damaged(path, "its members are not those of its manifest")
    for name, entry in listed.items():
        if not _NAME.fullmatch(name):
            raise damaged(path, f"a member has the strange name {name!r}")
        size = archive.getinfo(name).file_size
        if not isinstance(entry, dict) or size != entry.get("bytes"):
            raise damaged(path, f"{name} has the wrong size")
    return listed
