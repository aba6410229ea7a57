"""Measure and fit text without a window system.

Gets words and an em size in millimetres; gives widths, shortened words and wrapped lines, from the
table of advances that ships beside the fonts. Promises: widths equal those painted (no kerning);
letters the shipped fonts lack count as a full em, so that a layout errs on the roomy side.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Mapping
from functools import lru_cache
from itertools import accumulate

from loopwright.resources import folder

EM = 1000
PLAIN_EXTENT = (0.77, 0.25)
"""Ink above and below the baseline in em: plain letters, figures and signs (measured)."""
ACCENT_EXTENT = (0.96, 0.27)
"""Western letters with accents, capitals too."""
SCRIPT_EXTENT = (1.07, 0.48)
"""Stacked accents and other scripts."""
LEAST_STEP = 1.18
LAST_WESTERN = 0x17F
SIGNS = frozenset("…·–°×±’”“")  # noqa: RUF001 - typographic signs of plain height
ELLIPSIS = "…"


def width_mm(words: str, size_mm: float, *, bold: bool = False) -> float:
    """Width in millimetres of one line of ``words`` at em height ``size_mm``."""
    table = advances(bold)
    return sum(_advance(table, letter) for letter in words) * size_mm / EM


def _advance(table: Mapping[str, int], letter: str) -> int:
    known = table.get(letter)
    if known is not None:
        return known
    return 0 if unicodedata.category(letter) in {"Mn", "Me", "Cf", "Cc"} else EM


@lru_cache(maxsize=2)
def advances(bold: bool) -> Mapping[str, int]:  # noqa: FBT001 - a cache key
    """Advance of each known letter in thousandths of an em."""
    path = folder("assets") / "fonts" / "widths.json"
    runs = json.loads(path.read_text(encoding="utf-8"))["bold" if bold else "regular"]
    return {chr(first + i): value for first, values in runs for i, value in enumerate(values)}


def extent(words: str) -> tuple[float, float]:
    """Room above and below the baseline that the letters of ``words`` may need, in em."""
    last = max((ord(letter) for letter in words if letter not in SIGNS), default=0)
    if last < 0x80:
        return PLAIN_EXTENT
    return ACCENT_EXTENT if last <= LAST_WESTERN else SCRIPT_EXTENT


def line_step(above: str, below: str) -> float:
    """Distance in em of two baselines at which two lines do not touch."""
    return max(LEAST_STEP, extent(above)[1] + extent(below)[0] + 0.02)


def fit(words: str, size_mm: float, room_mm: float, *, bold: bool = False) -> str:
    """Give ``words`` cut with an ellipsis to at most ``room_mm``; empty if nothing fits."""
    words = " ".join(words.split())
    if width_mm(words, size_mm, bold=bold) <= room_mm:
        return words
    table, free = advances(bold), room_mm * EM / size_mm - advances(bold)[ELLIPSIS]
    ends = accumulate(_advance(table, letter) for letter in words)
    kept = words[: sum(1 for end in ends if end <= free)].rstrip()
    return kept + ELLIPSIS if kept else ""


def wrap(
    words: str, size_mm: float, room_mm: float, *, bold: bool = False, most: int = 99
) -> tuple[str, ...]:
    """Break ``words`` into lines of at most ``room_mm``, the last cut if more than ``most``."""
    lines: list[str] = []
    pending = ""
    for word in words.split():
        longer = f"{pending} {word}".strip()
        if pending and width_mm(longer, size_mm, bold=bold) > room_mm:
            lines.append(pending)
            longer = word
        pending = longer
    if pending:
        lines.append(pending)
    kept = [*lines[: most - 1], " ".join(lines[most - 1 :])] if len(lines) > most else lines
    return tuple(fit(line, size_mm, room_mm, bold=bold) for line in kept)


def largest(words: str, room_mm: float, *, most_mm: float, least_mm: float, bold: bool) -> float:
    """Largest em height between ``least_mm`` and ``most_mm`` at which ``words`` fit the room."""
    have = width_mm(words, most_mm, bold=bold)
    return most_mm if have <= room_mm else max(least_mm, most_mm * room_mm / have)
