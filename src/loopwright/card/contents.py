"""Which targets a card shows for which kind of session.

Gets what a card is made from; gives the columns of the feature table in order of worth, and which
features matter most. Promises: an easy day shows no times to chase.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from loopwright.card.sheet import CardInput
from loopwright.card.words import WANTED_BY
from loopwright.model.course import CourseFeature
from loopwright.model.ground import GROUND_PREFIX, FeatureKind
from loopwright.model.season import DayLabel

ColumnName: TypeAlias = Literal["clock", "split", "range", "target", "effort", "drive", "look"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """Columns beside number, place and name: the first is the last to be left out."""

    columns: tuple[ColumnName, ...]
    head: str


RACE = Content(columns=("split", "target", "range", "clock", "drive"), head="Targets")
CORNERS = Content(columns=("target", "look", "split", "range", "clock"), head="Corner targets")
TORQUE = Content(columns=("drive", "effort", "split", "range", "clock"), head="Torque targets")
SPRINTS = Content(columns=("split", "target", "range", "clock"), head="Sprint targets")
STEADY = Content(columns=("effort", "split", "range", "clock", "drive"), head="Steady targets")
AHEAD = Content(columns=("look", "target", "split", "clock"), head="Look-ahead targets")
EASY = Content(columns=("effort",), head="Features, nothing to chase today")

LEAST_ROWS = 12
BY_WORD: tuple[tuple[str, Content], ...] = (
    ("easy", EASY),
    ("recovery", EASY),
    ("look", AHEAD),
    ("torque", TORQUE),
    ("sprint", SPRINTS),
    ("start", SPRINTS),
    ("corner", CORNERS),
    ("skill", CORNERS),
    ("pump", CORNERS),
    ("steady", STEADY),
)


def content_for(sheet: CardInput) -> Content:
    """Choose by the session's label and kind, else by the name of the mix."""
    session = sheet.session
    if session is not None and session.label is DayLabel.RECOVERY:
        return EASY
    name = (session.kind if session is not None and session.kind else sheet.mix_name).lower()
    return next((content for word, content in BY_WORD if word in name), RACE)


def wanted_kinds(sheet: CardInput) -> frozenset[FeatureKind]:
    """Collect the kinds of features that the mix asks for; empty when it asks for ground only."""
    found: set[FeatureKind] = set()
    for ask in sheet.asks:
        if not ask.kind.startswith(GROUND_PREFIX):
            found.update(WANTED_BY.get(ask.kind, ()))
    return frozenset(found)


def is_wanted(feature: CourseFeature, sheet: CardInput) -> bool:
    """Tell whether the mix asks for this feature, or for a part it holds."""
    kinds = wanted_kinds(sheet)
    if any(part.kind in kinds for part in sheet.parts_of(feature)):
        return True
    if feature.kind not in kinds:
        return False
    asked = {ask.kind for ask in sheet.asks}
    only_tight = "tight_corners" in asked and "corners" not in asked
    return feature.tight or not (only_tight and feature.kind is FeatureKind.CORNER)


def rows_worth_listing(sheet: CardInput, content: Content, most: int) -> int:
    """Tell how many features to list: in a session of its own kind hardly more than it asks for.

    A race lap and an easy day list what fits.
    """
    wanted = sum(is_wanted(feature, sheet) for feature in sheet.course.features)
    if content in {RACE, EASY} or not wanted:
        return most
    return min(most, max(wanted, LEAST_ROWS))


def by_worth(feature: CourseFeature, sheet: CardInput) -> tuple[int, float]:
    """Give the order for leaving out: the least worth sorts last."""
    size = feature.gain_m * 3 + abs(feature.turn_deg) / 3 + (feature.to_m - feature.from_m) / 10
    return (0 if is_wanted(feature, sheet) else 1, -size)
