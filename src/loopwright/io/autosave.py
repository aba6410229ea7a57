"""Unsaved work kept in the state folder, offered again after a crash.

Gets a document and the path of its area; keeps one autosave an area under ``state_dir``.
Promises: the area file itself is never touched; a saved area has no autosave left.
"""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from pathlib import Path

from loopwright.errors import WorldError
from loopwright.io.area_file import AREA_SUFFIX, load_area, write_area
from loopwright.io.files import world_error, worldly, write_stream
from loopwright.model.document import Document

_FOLDER = "autosave"
_STEM_LIMIT = 40


def autosave_path(area_path: Path | None, state_dir: Path) -> Path:
    """Return where the area's autosave lies; None stands for an area never saved."""
    if area_path is None:
        return state_dir / _FOLDER / f"unsaved{AREA_SUFFIX}"
    where = os.path.realpath(area_path)
    digest = hashlib.sha256(os.fsencode(where)).hexdigest()[:12]
    stem = "".join(c if c.isalnum() else "-" for c in area_path.stem[:_STEM_LIMIT])
    return state_dir / _FOLDER / f"{stem}-{digest}{AREA_SUFFIX}"


def save_autosave(document: Document, area_path: Path | None, state_dir: Path) -> Path:
    """Keep ``document`` as the area's autosave and return where; raises WorldError."""
    path = autosave_path(area_path, state_dir)
    with worldly(path.parent):
        path.parent.mkdir(parents=True, exist_ok=True)
    write_stream(path, lambda sink: write_area(document, sink))
    return path


def find_recoverable(area_path: Path | None, state_dir: Path) -> Path | None:
    """Return the autosave of an area if it can be opened and differs from what is saved."""
    path = autosave_path(area_path, state_dir)
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


def discard_autosave(area_path: Path | None, state_dir: Path) -> None:
    """Drop the area's autosave; harmless when there is none. Raises WorldError if it stays."""
    path = autosave_path(area_path, state_dir)
    try:
        with suppress(FileNotFoundError):
            path.unlink()
    except OSError as error:
        raise world_error(path, error) from error
