"""Sentences that the rooms say in English, ready for translation.

Gets a sentence as a room made it; finds the sentence with gaps that it was made from and gives that
in the chosen language. Promises: words that no sentence here fits come back as they are; the
sentences a plan, a lap and a season are told in are all here (held by a test).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache, lru_cache

from loopwright.app.told_recordings import RECORDINGS
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
KNOWN = "Effort from {said}; the W' balance is an indication with a wide range"
UNKNOWN = "No critical power known: times and perceived effort only"
FITTED = "Speeds fitted to your own rides"
BASIS = (
    ("An estimate, not a promise: no wind, no drafting, no tiredness beyond W', dry ground as "
     "tagged"),
    FITTED, f"{FITTED} (off by {{share}} on rides left out of the fit)",
    "Speeds from general values, not yet fitted to your rides",
    UNKNOWN, f"{UNKNOWN} ({{said}})",
    KNOWN, f"{KNOWN}; beyond 30 minutes the critical-power model promises too much",
    "the critical power you entered and a usual W'", "the critical power and W' you entered",
    "critical power and W' from your all-out efforts", "critical power must be above 0 W",
    "two all-out efforts of different length are needed, such as 3 and 12 minutes",
    "these efforts do not fit together: the longer one must be the easier, yet not by so much",
    "No heights are known, so the ground is taken as level",
    "{share} of the lap has no ground tag and is taken as average ground",
)  # fmt: skip
SENTENCES = (*BETWEEN, *FEATURES, *SEASON, *TARGETS, *BASIS, *RECORDINGS)
NUMBERS = frozenset({"n", "m"})
"""Gaps that hold a whole number: ``3 to 5`` is ground between features, ``a to b`` is not."""
SAID = "said"
"""The gap that holds a sentence of its own."""
GOES_ON = ", cont."


def told(words: str) -> str:
    """Give a room's sentence in the chosen language."""
    if words.endswith(GOES_ON):
        return say("{what}, cont.", what=told(words.removesuffix(GOES_ON)))
    sentence, gaps = _made_from(words)
    filled = {gap: told(what) if gap == SAID else what for gap, what in gaps}
    return say(sentence, **filled) if sentence else words


def in_table(words: str) -> bool:
    """Tell whether a room's sentence can be told in another language."""
    return bool(_made_from(words)[0])


def told_all(words: str) -> str:
    """Give several sentences, each with its full stop, in the chosen language."""
    return ". ".join(told(part) for part in words.removesuffix(".").split(". ")) + "."


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
