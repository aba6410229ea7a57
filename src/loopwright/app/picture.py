"""The window as a picture, without a screen: for the headless main job and the guide.

Gets a document; gives a PNG. Promises: works with no display; ends every job it started.
``python -m loopwright.app.picture FOLDER`` writes the pictures of the guide.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright.app.look import Look, dress, make_look
from loopwright.app.opening import Opened, open_window
from loopwright.app.screen import ensure_widgets
from loopwright.errors import WorldError
from loopwright.model.document import Document

if TYPE_CHECKING:
    from loopwright.pipeline import Pipeline

WAIT_S = 300.0
STEP_S = 0.02


def save_window_picture(
    document: Document,
    path: Path,
    *,
    size: tuple[int, int] = (1400, 900),
    place: str = "loops",
    theme: str = "light",
    scale: float = 1.0,
    pipeline: Pipeline | None = None,
) -> None:
    """Open the window on a document, let its jobs end, and save what it shows.

    ``size`` is in pixels. Raises WorldError when the picture cannot be written.
    """
    look = make_look(theme, scale=scale)
    with window_shown(document, look, size=size, pipeline=pipeline) as opened:
        opened.window.go(place)
        settle(opened)
        if not opened.window.grab().save(str(path), "PNG"):
            raise WorldError(str(path), "cannot be written", "choose another place for it")


@contextmanager
def window_shown(
    document: Document,
    look: Look,
    *,
    size: tuple[int, int] = (1400, 900),
    pipeline: Pipeline | None = None,
) -> Iterator[Opened]:
    """Show a window without a screen, its first jobs ended; everything ends with the block."""
    application = ensure_widgets()
    dress(application, look)
    opened = open_window(document, look, pipeline=pipeline)
    try:
        opened.window.resize(*size)
        opened.window.show()
        settle(opened)
        yield opened
    finally:
        opened.close()
        opened.window.hide()
        opened.window.deleteLater()
        application.processEvents()


def settle(opened: Opened, *, wait_s: float = WAIT_S) -> None:
    """Let events and jobs run until nothing is under way; raises WorldError after ``wait_s``."""
    application = ensure_widgets()
    until = time.monotonic() + wait_s
    calm = 0
    while calm < 5:
        application.processEvents()
        calm = calm + 1 if opened.desk.at_rest else 0
        if time.monotonic() > until:
            raise WorldError("window", "its jobs did not end", "try a smaller area")
        time.sleep(STEP_S)


def main(arguments: list[str]) -> int:
    """Write the guide's pictures into the folder named first."""
    from loopwright.app.guide_pictures import write_pictures

    folder = Path(arguments[0] if arguments else "docs/pictures")
    for path in write_pictures(folder):
        sys.stdout.write(f"{path}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
