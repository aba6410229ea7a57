"""What sessions are for, and which kinds serve.

Gives for each purpose the kinds (names of built-in mixes) to take turns. Promises: every purpose
has at least two kinds, so the same kind is never needed twice running.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum


class Purpose(StrEnum):
    """What a session is for."""

    LONG_EFFORTS = "long steady efforts"
    RACE_EFFORTS = "short race-like efforts"
    ENDURANCE = "endurance"
    SKILLS = "skills"
    STARTS = "starts and sprints"
    RECOVERY = "recovery"
    REST = "rest"
    RACE = "race"


KINDS: Mapping[Purpose, tuple[str, ...]] = {
    Purpose.LONG_EFFORTS: ("steady efforts", "climbing torque"),
    Purpose.RACE_EFFORTS: ("race simulation", "climbing torque", "sprints from corners"),
    Purpose.ENDURANCE: ("every surface", "steady efforts"),
    Purpose.SKILLS: ("cornering", "skills hour", "look-ahead drill"),
    Purpose.STARTS: ("standing starts", "sprints from corners"),
    Purpose.RECOVERY: ("easy spin", "skills hour"),
}
NOTES: Mapping[tuple[Purpose, str], str] = {
    (Purpose.LONG_EFFORTS, "steady efforts"): "on smooth ground, no corner to break the effort",
    (Purpose.LONG_EFFORTS, "climbing torque"): "low cadence, seated, on steep ground",
    (Purpose.ENDURANCE, "every surface"): "long and easy, over every ground race day may bring",
    (Purpose.ENDURANCE, "steady efforts"): "long and even, talking pace",
    (Purpose.SKILLS, "cornering"): "brake before the corner, eyes on the way out",
    (Purpose.SKILLS, "look-ahead drill"): "on known ground, eyes one to three seconds ahead",
    (Purpose.SKILLS, "skills hour"): "pump track or rough ground, slow first, then faster",
    (Purpose.STARTS, "standing starts"): "from one foot down, full rest between",
    (Purpose.STARTS, "sprints from corners"): "brake, turn, sprint; full rest between",
    (Purpose.RECOVERY, "easy spin"): "very easy",
    (Purpose.RECOVERY, "skills hour"): "very easy: balance and look-ahead, no efforts",
}
DRILLS = (
    "standing starts", "sprints from corners", "cornering", "look-ahead drill", "skills hour",
)  # fmt: skip
DRILLS_PER_WEEKS = 4
USUAL_COUNTS: Mapping[str, int] = {
    "standing starts": 1,
    "sprints from corners": 1,
    "cornering": 1,
    "look-ahead drill": 1,
    "skills hour": 1,
}
FAR_BEHIND = 1.0
"""Sessions of each drill in four weeks unless the rider says otherwise: common practice, no
source. A skills hour is the pump-track hour."""


@dataclass(slots=True)
class Turns:
    """Whose turn it is: what each purpose was served with last, how often each kind was ridden."""

    wanted: Mapping[str, int]
    first: date
    last_kind: dict[Purpose, str] = field(default_factory=dict)
    done: dict[str, int] = field(default_factory=dict)

    def take(self, purpose: Purpose, on: date) -> str:
        """Choose the kind for a purpose: never the last one again, else the one most owed."""
        kinds = [kind for kind in KINDS[purpose] if kind != self.last_kind.get(purpose)]
        chosen = max(kinds, key=lambda kind: (self.owed(kind, on), -self._times(kind)))
        self.remember(purpose, chosen)
        return chosen

    def remember(self, purpose: Purpose, kind: str) -> None:
        """Count a session."""
        self.last_kind[purpose] = kind
        self.done[kind] = self._times(kind) + 1

    def owed(self, kind: str, on: date) -> float:
        """How many sessions of a drill are due by ``on`` beyond those planned; 0 for no drill."""
        if kind not in self.wanted:
            return 0.0
        days = (on - self.first).days + 7
        return self.wanted[kind] * days / (7 * DRILLS_PER_WEEKS) - self._times(kind)

    def most_owed(self, on: date, *, long: bool) -> Purpose:
        """Choose between skills, starts and endurance for a day without hard efforts.

        A week's long day is for endurance unless a drill has fallen well behind.
        """
        choices = (Purpose.SKILLS, Purpose.STARTS)
        best = max(choices, key=lambda p: max(self.owed(kind, on) for kind in KINDS[p]))
        due = max(self.owed(kind, on) for kind in KINDS[best])
        return best if due > (FAR_BEHIND if long else 0.0) else Purpose.ENDURANCE

    def _times(self, kind: str) -> int:
        return self.done.get(kind, 0)
