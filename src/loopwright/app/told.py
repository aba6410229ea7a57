"""Sentences that the rooms say in English, ready for translation.

Gets a sentence as a room made it; finds the sentence with gaps that it was made from and gives that
in the chosen language. Promises: words that no sentence here fits come back as they are; the
sentences a plan, a lap and a season are told in are all here (held by a test).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache, lru_cache

from loopwright.app.words import say
from loopwright.model.ground import FeatureKind
from loopwright.season.nudges import CAUTION, EVIDENCE
from loopwright.season.purposes import NOTES, Purpose

GAP = re.compile(r"\\{(\w+)\\}")
FEATURES = (
    *(f"{{n}} {kind.value.replace('_', ' ')}" for kind in FeatureKind),
    "{n} corner left", "{n} corner right", "{n} left", "{n} right",
)  # fmt: skip
BETWEEN = ("start to finish", "start to {n}", "{n} to finish", "{n} to {m}")
SEASON = (
    EVIDENCE, CAUTION,
    *(purpose.value for purpose in Purpose), *dict.fromkeys(NOTES.values()), "race: {name}",
    "Training or recovery? This day is neither yet.",
    "Hard day {n} in a row; you allowed {most}.", "This week holds {h} h; you gave {hours}.",
    "Enter the ground of race day, or measure it from a race lap, to see the gaps.",
    "No gap: the ground of race day was met in its share.",
    "heavier bike, {kg} kg, about {s} s a lap",
)  # fmt: skip
LOWEST = (
    "W' falls to between {low} and {high} kJ at the lowest: an indication, since the forms in use "
    "disagree; below 0 means uncertain, not impossible."
)
TARGETS = (
    "Effort is on the CR-10 scale, 0 rest to 10 the most you can.",
    "A flying lap in {time}, 90 % between {low} and {high}; the first lap, from standing, {all}.",
    f"Over 1 lap, {LOWEST}",
    f"Over {{n}} laps, {LOWEST}",
    "At the same effort, {kg} kg on the frame costs {s} s a lap, {more} kg at the rims {rims} s.",
)
SENTENCES = (*BETWEEN, *FEATURES, *SEASON, *TARGETS)
NUMBERS = frozenset({"n", "m"})
"""Gaps that hold a whole number: ``3 to 5`` is ground between features, ``a to b`` is not."""
GOES_ON = ", cont."


def told(words: str) -> str:
    """Give a room's sentence in the chosen language."""
    if words.endswith(GOES_ON):
        return say("{what}, cont.", what=told(words.removesuffix(GOES_ON)))
    sentence, gaps = _made_from(words)
    return say(sentence, **dict(gaps)) if sentence else words


def told_each(words: str) -> str:
    """Give a sentence, or several joined by semicolons, in the chosen language."""
    whole = told(words)
    return whole if whole != words else "; ".join(told(part) for part in words.split("; "))


@lru_cache(maxsize=2048)
def _made_from(words: str) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Find the sentence and what fills its gaps, empty where none fits; names come again."""
    for sentence, shape in _shapes():
        found = shape.fullmatch(words)
        if found is not None:
            return sentence, tuple(found.groupdict().items())
    return "", ()


@cache
def _shapes() -> tuple[tuple[str, re.Pattern[str]], ...]:
    return tuple((sentence, re.compile("".join(_pattern(sentence)))) for sentence in SENTENCES)


def _pattern(sentence: str) -> Iterator[str]:
    parts = GAP.split(re.escape(sentence))
    for place, part in enumerate(parts):
        if place % 2 == 0:
            yield part
        else:
            yield rf"(?P<{part}>\d+)" if part in NUMBERS else rf"(?P<{part}>.+?)"
