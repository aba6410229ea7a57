"""``make run``: the window on the sample area, or without a display the main job into ``out/``."""

from __future__ import annotations

import os
import sys
from datetime import UTC, datetime
from pathlib import Path

from loopwright.cli.common import Progress
from loopwright.cli.finding import described
from loopwright.errors import LoopwrightError
from loopwright.units import duration

OUT = Path("out")


def has_display() -> bool:
    """Tell whether a window can be opened."""
    if sys.platform in {"win32", "darwin"}:
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def headless(out: Path) -> None:
    """Do the whole job on the sample area and write what comes of it."""
    from loopwright.card import card_pages
    from loopwright.cards import card_input
    from loopwright.edits import set_found, set_wishes
    from loopwright.io.area_file import save_area
    from loopwright.io.files import write_bytes
    from loopwright.io.gpx_write import loop_gpx
    from loopwright.loops.mixes import built_in_mixes
    from loopwright.model.wishes import Wishes
    from loopwright.pipeline import Pipeline
    from loopwright.render.pdf import write_pdf
    from loopwright.render.png import write_png
    from loopwright.reporting import facts_of
    from loopwright.sample import sample_document

    out.mkdir(exist_ok=True)
    now = datetime.now(UTC)
    pipeline, progress = Pipeline(), Progress()
    document = sample_document()
    wishes = Wishes(mix=built_in_mixes()[0])
    result, loops = pipeline.search(document, wishes, progress)
    progress.done()
    document = set_found(set_wishes(document, wishes), loops)
    facts = [facts_of(pipeline, document, loop) for loop in loops]
    print(f"{document.name}: {len(document.rides)} recordings, mix {wishes.mix.name!r}")
    print(described(result, facts))
    print(f"Search took {duration(result.seconds, tenths=True)}. Everything here is made up.")
    pages = card_pages(card_input(pipeline, document, loops[0], on=now.date()), paper="A4")
    write_pdf(pages, out / "loop-card.pdf", now=now)
    write_png(pages[0], out / "loop-card.png")
    course = pipeline.course(document, loops[0])
    write_bytes(out / "loop.gpx", loop_gpx(course, invented=True))
    save_area(document, out / "sample.loopwright")
    from loopwright.app.picture import save_window_picture

    save_window_picture(document, out / "window.png")
    print(*(str(path) for path in sorted(out.iterdir())), sep="\n")


def main() -> int:
    """Open the window when there is a display, else work headless."""
    if has_display():
        from loopwright.app.main import run

        return run(None)
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    try:
        headless(OUT)
    except LoopwrightError as error:
        sys.stderr.write(f"{error}\n")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
