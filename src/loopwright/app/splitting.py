"""Rides of another place: one area cannot hold both, so it is asked, and they get their own.

Gets rides too far from the area in hand; saves each place they lie in as an area where the person
says. Promises: nothing is left out without a word; the area in hand stays as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright.app.words import count, say
from loopwright.jobs import Report
from loopwright.model.document import Document
from loopwright.model.track import Ride

if TYPE_CHECKING:
    from loopwright.app.files import Files


def split_off(files: Files, far: Sequence[Ride], said: str) -> None:
    """Ask of each place what shall become of its rides; ``said`` tells of those taken in."""
    from loopwright.gather import apart

    desk = files.desk
    wanted: list[tuple[Document, Path]] = []
    left = 0
    for area in apart(desk.document, far):
        path = _where(files, area)
        if path is None or path in {taken for _area, taken in wanted}:
            left += len(area.rides)
        else:
            wanted.append((area, path))
    if left:
        words = count(left, "1 lies too far away, left out", "{n} lie too far away, left out")
        said = f"{said}. {words}"
        desk.warn(said)
    if wanted:
        desk.jobs.start(
            "split", partial(_save_each, wanted),
            on_done=lambda _answer: _told(files, wanted, said), on_failed=desk.failed,
        )  # fmt: skip


def _where(files: Files, area: Document) -> Path | None:
    words = count(
        len(area.rides),
        "1 ride lies over 150 km away: one map cannot hold both places. What shall become of it?",
        "{n} rides lie over 150 km away: one map cannot hold both places. What shall become of "
        "them?",
    )
    answers = [say("Save an area of their own…"), say("Leave them out")]
    choice = files.window.dialogs.pick(say("Another place"), words, answers)
    return files.ask_where(area) if choice == 0 else None


def _save_each(wanted: Sequence[tuple[Document, Path]], report: Report) -> None:
    from loopwright.io.area_file import AreaLock, save_area

    for number, (area, path) in enumerate(wanted):
        report.step(number / len(wanted), path.name)
        with AreaLock(path):
            save_area(area, path)


def _told(files: Files, wanted: Sequence[tuple[Document, Path]], said: str) -> None:
    for _area, path in reversed(wanted):
        files.remembered.opened(path)
    current = files.desk.workspace.path
    if current is not None:
        files.remembered.opened(current)
    names = ", ".join(path.name for _area, path in wanted)
    files.desk.tell(f"{said}. {say('Another place is saved as {names}', names=names)}")
