"""What the desk asks of the rooms: two protocols, so that tests can put others in their place.

Gets nothing; gives types. Promises: the pipeline has all of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Protocol

from loopwright.jobs import Report
from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.document import Document
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc
from loopwright.model.laps import LapSheet
from loopwright.model.loops import FoundLoop, SavedLoop
from loopwright.model.network import Network
from loopwright.model.rider import LapPlan
from loopwright.model.season import GroundMet
from loopwright.model.track import CleanTrack, Ride
from loopwright.model.wishes import Question, Wishes

if TYPE_CHECKING:
    from loopwright.loops.further import Further
    from loopwright.loops.rings import Rings


class Rooms(Protocol):
    """The stages the window asks for; the pipeline has them all."""

    def clean(self, document: Document, report: Report = ...) -> tuple[CleanTrack, ...]:
        """Clean the rides."""

    def reports(self, document: Document, report: Report = ...) -> tuple[CleanTrack, ...]:
        """Clean the rides, with all that a ride's report tells."""

    def terrain(self, document: Document, report: Report = ...) -> Terrain:
        """Build network, ground and features."""

    def asked(
        self, document: Document, wishes: Wishes, report: Report = ...
    ) -> tuple[Terrain, Question]:
        """Resolve wishes to a terrain and a question."""

    def further(
        self, document: Document, terrain: Terrain, wishes: Wishes, report: Report = ...
    ) -> Further:
        """Work out what wishes ask beyond lengths."""

    def saved(
        self, terrain: Terrain, wishes: Wishes, loops: Sequence[FoundLoop]
    ) -> tuple[SavedLoop, ...]:
        """Give found loops as they are kept in a document."""

    def arcs(self, document: Document, loop: SavedLoop) -> tuple[tuple[Arc, ...], float]:
        """Match a loop to today's network."""

    def course(self, document: Document, loop: SavedLoop, report: Report = ...) -> Course:
        """One lap of a loop."""

    def plan(self, document: Document, course: Course, laps: int = ...) -> LapPlan:
        """Predicted lap."""

    def what_if(
        self, document: Document, course: Course, *, bike_kg: float = ..., wheel_kg: float = ...
    ) -> float:
        """Seconds a lap that more mass costs."""

    def race_course(self, document: Document, ride: Ride) -> Course | None:
        """One lap of a ridden circuit."""

    def circuit(self, document: Document, ride: Ride, report: Report = ...) -> Floats | None:
        """Circuit that a ride repeats."""

    def rings(self, network: Network, report: Report = ...) -> Rings:
        """Loops a network holds."""

    def ground_met(
        self, document: Document, since: date, until: date, report: Report = ...
    ) -> GroundMet:
        """Ground ridden between two days."""

    def lap_sheet(self, document: Document, ride: Ride, loop: SavedLoop) -> LapSheet:
        """Laps of a ride."""


def asked_of(
    rooms: Rooms, document: Document, wishes: Wishes, report: Report
) -> tuple[Terrain, Question, Further]:
    """Give all that a search is asked for: ground, question and what goes beyond."""
    terrain, question = rooms.asked(document, wishes, report)
    return terrain, question, rooms.further(document, terrain, wishes, report)
