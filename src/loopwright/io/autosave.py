"""Unsaved work kept in the state folder, offered again after a crash.

Gets a document and the path of its area; keeps one autosave an area under ``state_dir``, and one
for each window whose area was never saved. Promises: the area file itself is never touched; a
saved area has no autosave left; a window never writes over what another one keeps.
"""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from pathlib import Path

from loopwright.errors import WorldError
from loopwright.io.area_file import AREA_SUFFIX, load_area, write_area
from loopwright.io.files import world_error, worldly, write_stream
from loopwright.io.lock import AreaLock
from loopwright.model.document import Document

_FOLDER = "autosave"
_STEM_LIMIT = 40
_PLACES = 50
"""Windows with an area never saved that each have a place of their own; then they share one."""


def autosave_path(area_path: Path | None, state_dir: Path, *, place: int = 1) -> Path:
    """Return where the area's autosave lies.

    None stands for an area never saved; ``place`` then is the window's own, from ``claim_place``.
    """
    if area_path is None:
        number = "" if place == 1 else f"-{place}"
        return state_dir / _FOLDER / f"unsaved{number}{AREA_SUFFIX}"
    where = os.path.realpath(area_path)
    digest = hashlib.sha256(os.fsencode(where)).hexdigest()[:12]
    stem = "".join(c if c.isalnum() else "-" for c in area_path.stem[:_STEM_LIMIT])
    return state_dir / _FOLDER / f"{stem}-{digest}{AREA_SUFFIX}"


def claim_place(state_dir: Path, *, left: bool) -> tuple[int, AreaLock]:
    """Find a window a place for areas never saved, and hold it until the lock is released.

    With ``left`` a place where work lies that no window holds any more comes first (there was a
    crash), else an empty one. Raises WorldError where the folder cannot be made.
    """
    with worldly(state_dir / _FOLDER):
        (state_dir / _FOLDER).mkdir(parents=True, exist_ok=True)
    paths = {n: autosave_path(None, state_dir, place=n) for n in range(1, _PLACES + 1)}
    for number in sorted(paths, key=lambda n: (paths[n].exists() is not left, n)):
        lock = AreaLock(paths[number])
        with suppress(WorldError):
            lock.acquire()
            return number, lock
    return 1, AreaLock(paths[1])


def save_autosave(
    document: Document, area_path: Path | None, state_dir: Path, *, place: int = 1
) -> Path:
    """Keep ``document`` as the area's autosave and return where; raises WorldError."""
    path = autosave_path(area_path, state_dir, place=place)
    with worldly(path.parent):
        path.parent.mkdir(parents=True, exist_ok=True)
    write_stream(path, lambda sink: write_area(document, sink))
    return path


def find_recoverable(area_path: Path | None, state_dir: Path, *, place: int = 1) -> Path | None:
    """Return the autosave of an area if it can be opened and differs from what is saved."""
    path = autosave_path(area_path, state_dir, place=place)
    if not path.is_file() or (area_path is not None and _same(path, area_path)):
        return None
    try:
        load_area(path)
    except WorldError:
        return None
    return path


def _same(first: Path, second: Path) -> bool:
    try:
        return first.stat().st_size == second.stat().st_size and (
            first.read_bytes() == second.read_bytes()
        )
    except OSError:
        return False


def saved_since(kept: Path, area_path: Path) -> bool:
    """Tell whether the area was written after ``kept``: by another program or machine."""
    try:
        return area_path.stat().st_mtime_ns > kept.stat().st_mtime_ns
    except OSError:
        return False


def discard_autosave(area_path: Path | None, state_dir: Path, *, place: int = 1) -> None:
    """Drop the area's autosave; harmless when there is none. Raises WorldError if it stays."""
    path = autosave_path(area_path, state_dir, place=place)
    try:
        with suppress(FileNotFoundError):
            path.unlink()
    except OSError as error:
        raise world_error(path, error) from error
