"""What the desk asks of the rooms: two protocols, so that tests can put others in their place.

Gets nothing; gives types. Promises: the pipeline has all of it.
"""

from __future__ import annotations

from datetime import date
from typing import Protocol

from loopwright.jobs import Report
from loopwright.model.course import Course
from loopwright.model.document import Document
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc
from loopwright.model.laps import LapSheet
from loopwright.model.loops import SavedLoop, SearchResult
from loopwright.model.rider import LapPlan
from loopwright.model.season import GroundMet
from loopwright.model.track import CleanTrack, Ride
from loopwright.model.wishes import Question, Wishes


class Rooms(Protocol):
    """The stages the window asks for; the pipeline has them all."""

    def clean(self, document: Document, report: Report = ...) -> tuple[CleanTrack, ...]:
        """Clean the rides."""

    def terrain(self, document: Document, report: Report = ...) -> Terrain:
        """Build network, ground and features."""

    def asked(
        self, document: Document, wishes: Wishes, report: Report = ...
    ) -> tuple[Terrain, Question]:
        """Resolve wishes to a terrain and a question."""

    def arcs(self, document: Document, loop: SavedLoop) -> tuple[tuple[Arc, ...], float]:
        """Match a loop to today's network."""

    def course(self, document: Document, loop: SavedLoop) -> Course:
        """One lap of a loop."""

    def plan(self, document: Document, course: Course, laps: int = ...) -> LapPlan:
        """Predicted lap."""

    def what_if(
        self, document: Document, course: Course, *, bike_kg: float = ..., wheel_kg: float = ...
    ) -> float:
        """Seconds a lap that more mass costs."""

    def race_course(self, document: Document, ride: Ride) -> Course | None:
        """One lap of a ridden circuit."""

    def ground_met(
        self, document: Document, since: date, until: date, report: Report = ...
    ) -> GroundMet:
        """Ground ridden between two days."""

    def lap_sheet(self, document: Document, ride: Ride, loop: SavedLoop) -> LapSheet:
        """Laps of a ride."""


class Finder(Protocol):
    """Searches a terrain; runs here or in a process of its own."""

    def __call__(self, terrain: Terrain, question: Question, report: Report) -> SearchResult:
        """Find loops."""
