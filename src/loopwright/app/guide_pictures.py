"""The pictures of the guide: every place in both themes, on the invented sample area.

Gets a folder; writes PNG files packed as small as they go. Promises: the same steps a
visitor takes, so that a picture shows what a visitor sees.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from PySide6.QtGui import QImage, QImageWriter, QPixmap
from PySide6.QtWidgets import QWidget

from loopwright.app.card_dialog import CardDialog
from loopwright.app.help import CommandSearch
from loopwright.app.late import late_pipeline, plain
from loopwright.app.look import make_look
from loopwright.app.opening import Opened
from loopwright.app.picture import settle, window_shown
from loopwright.errors import WorldError
from loopwright.sample import sample_document

SIZE = (1280, 800)
SMALLEST = 0
"""For PNG a low quality means the strongest lossless packing."""


def write_pictures(folder: Path) -> Iterator[Path]:
    """Write all pictures; gives their paths one by one."""
    folder.mkdir(parents=True, exist_ok=True)
    document, pipeline = sample_document(), late_pipeline(plain)
    for theme in ("light", "dark"):
        look = make_look(theme)
        with window_shown(document, look, size=SIZE, pipeline=pipeline) as opened:
            for name, step in STEPS.items():
                step(opened)
                settle(opened)
                _check(opened)
                yield _save(opened.window.grab(), folder / f"{name}-{theme}.png")
            if theme == "light":
                yield from _dialogs(opened, folder)


def _check(opened: Opened) -> None:
    """Take no picture of trouble."""
    if opened.desk.trouble:
        raise WorldError("pictures", opened.desk.trouble, "mend it first")


def _save(picture: QPixmap, path: Path) -> Path:
    writer = QImageWriter(str(path))
    writer.setQuality(SMALLEST)
    writer.write(picture.toImage().convertToFormat(QImage.Format.Format_RGB888))
    return path


def _ground(opened: Opened) -> None:
    opened.window.go("ground")


def _loops(opened: Opened) -> None:
    opened.window.go("loops")


def _laps(opened: Opened) -> None:
    """Keep the circuit of the timed laps and read them."""
    window = opened.window
    ride = next(r for r in opened.desk.document.rides if "six" in r.track.name)
    window.go("laps")
    window.laps.choose(ride)
    settle(opened)
    window.do("keep_circuit")
    settle(opened)
    window.laps.choose(ride)


def _season(opened: Opened) -> None:
    opened.window.go("season")
    opened.window.season.form.race_name.setText("Invented Cup")
    opened.window.do("plan_season")


STEPS: dict[str, Callable[[Opened], None]] = {
    "ground": _ground,
    "loops": _loops,
    "laps": _laps,
    "season": _season,
}


def _dialogs(opened: Opened, folder: Path) -> Iterator[Path]:
    card = CardDialog(opened.window, opened.files)
    yield _shown(opened, card, folder / "card.png")
    search = CommandSearch(opened.window)
    search.field.setText("loop")
    yield _shown(opened, search, folder / "commands.png")


def _shown(opened: Opened, dialog: QWidget, path: Path) -> Path:
    dialog.show()
    settle(opened)
    _check(opened)
    saved = _save(dialog.grab(), path)
    dialog.close()
    return saved
