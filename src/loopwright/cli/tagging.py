"""``loopwright tag``: ground words along the lines of a GeoJSON file."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from loopwright.cli.common import open_area, pipeline_with_cache, the_day
from loopwright.edits import add_tags
from loopwright.errors import NoAnswerError, UsageError

if TYPE_CHECKING:
    from loopwright.model.ground import Tag


def run(options: argparse.Namespace) -> int:
    """Tag the area; words not given on the command are taken from each line's properties."""
    from loopwright.io.area_file import AreaLock, save_area

    check_words(options)
    tags = tags_of(options)
    with AreaLock(options.area):
        document = add_tags(open_area(options.area), tags)
        terrain = pipeline_with_cache().terrain(document)
        lost = sum(tag in terrain.unfit for tag in tags)
        if lost == len(tags):
            raise NoAnswerError(
                str(options.line), "lies on no trail of this area", "draw it along the trails"
            )
        save_area(document, options.area)
    note = f"; {lost} lie on no trail and wait in the list of what does not fit" if lost else ""
    print(f"{options.area}: {len(tags) - lost} lines tagged{note}")
    return 0


def check_words(options: argparse.Namespace) -> None:
    """Refuse words that are no OpenStreetMap value; raises UsageError."""
    from loopwright.model.ground import ROUGHNESSES, SURFACES, WIDTHS

    for name, words in (("surface", SURFACES), ("roughness", ROUGHNESSES), ("width", WIDTHS)):
        value = getattr(options, name)
        if value is not None and value not in words:
            message = f"--{name}: {value!r} is not known; use one of {', '.join(words)}"
            raise UsageError(message)


def tags_of(options: argparse.Namespace) -> list[Tag]:
    """Make a tag of each line; the words of the command win over the file's."""
    from loopwright.io.ground_file import WORDS, read_tags

    day = the_day(options.on, "--on") if options.on else None
    said = {name: getattr(options, name) for name in WORDS if getattr(options, name)}
    tags = read_tags(options.line, said=said, on=day)
    if not tags:
        raise NoAnswerError(
            str(options.line),
            "no words about the ground, neither in the command nor in the file",
            "give for example --surface gravel",
        )
    return tags
