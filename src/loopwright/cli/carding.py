"""``loopwright card``: one loop on paper."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright.cli.common import named_loop, open_area, pipeline_with_cache, the_day, the_moment
from loopwright.errors import NoAnswerError, UsageError
from loopwright.units import Units

if TYPE_CHECKING:
    from loopwright.model.document import Document
    from loopwright.model.season import Session


def run(options: argparse.Namespace) -> int:
    """Lay out the card and write it as PDF or PNG, by the ending of the file."""
    out: Path = options.out
    if out.suffix.lower() not in {".pdf", ".png"}:
        message = f"{out}: a card is written as .pdf or .png; choose one of these endings"
        raise UsageError(message)
    from loopwright.card import card_pages
    from loopwright.cards import card_input
    from loopwright.model.picture import side_by_side
    from loopwright.render.pdf import write_pdf
    from loopwright.render.png import write_png

    document, now = open_area(options.area), the_moment(options.now)
    loop = named_loop(document, options.loop)
    session = session_of(options, document, loop.wishes.mix.name, now.date())
    sheet = card_input(
        pipeline_with_cache(),
        document,
        loop,
        on=now.date(),
        units=Units(options.units),
        session=session,
    )
    pages = card_pages(sheet, paper=options.paper)
    if out.suffix.lower() == ".pdf":
        write_pdf(pages, out, now=now)
    else:
        write_png(side_by_side(pages, gap_mm=4.0), out)
    print(out)
    return 0


def session_of(
    options: argparse.Namespace, document: Document, kind: str, on: date
) -> Session | None:
    """Find or make the session the card is for, None when nothing was said of one."""
    from loopwright.model.season import DayLabel, Session

    if options.session is not None:
        return planned(options, document)

    if options.laps < 1 or options.rest < 0:
        message = "loopwright card: --laps must be 1 or more, --rest not below 0"
        raise UsageError(message)
    if options.label is None and options.laps == 1:
        return None
    return Session(
        on=on,
        label=DayLabel(options.label or "open"),
        kind=kind,
        purpose="",
        minutes=0.0,
        effort_minutes=0.0,
        laps=options.laps,
        rest_minutes=options.rest,
        hard=False,
    )


def planned(options: argparse.Namespace, document: Document) -> Session:
    """Take the session of a day from the season plan."""
    from loopwright.season.changes import session_on

    if options.label is not None or options.laps != 1 or options.rest:
        message = "loopwright card: --session brings its own label, laps and rest; leave those out"
        raise UsageError(message)
    day = the_day(options.session, "--session")
    if document.season is None:
        raise NoAnswerError(
            str(options.area), "no season is planned", "plan it first: loopwright season AREA"
        )
    return session_on(document.season, day)
