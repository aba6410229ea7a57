"""``loopwright card``: one loop on paper."""

from __future__ import annotations

import argparse
from pathlib import Path

from loopwright.cli.common import named_loop, open_area, pipeline_with_cache, the_moment
from loopwright.errors import UsageError
from loopwright.units import Units


def run(options: argparse.Namespace) -> int:
    """Lay out the card and write it as PDF or PNG, by the ending of the file."""
    out: Path = options.out
    if out.suffix.lower() not in {".pdf", ".png"}:
        message = f"{out}: a card is written as .pdf or .png; choose one of these endings"
        raise UsageError(message)
    from loopwright.card import card_picture
    from loopwright.cards import card_input
    from loopwright.render.pdf import write_pdf
    from loopwright.render.png import write_png

    document, now = open_area(options.area), the_moment(options.now)
    loop = named_loop(document, options.loop)
    sheet = card_input(
        pipeline_with_cache(), document, loop, on=now.date(), units=Units(options.units)
    )
    picture = card_picture(sheet, paper=options.paper)
    if out.suffix.lower() == ".pdf":
        write_pdf(picture, out, now=now)
    else:
        write_png(picture, out)
    print(out)
    return 0
