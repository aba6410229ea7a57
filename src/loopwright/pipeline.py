"""The order of the rooms: the only file that knows it.

Gets documents, gives clean tracks, networks, terrains, courses, plans. Each stage is remembered by
its inputs' identity: a change of the rider rebuilds no network, and undo finds the old one ready.
Promises: nothing derived is written into the document here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING, TypeAlias

from loopwright import elsewhere
from loopwright.errors import NoAnswerError
from loopwright.geo.frame import origin_for
from loopwright.io.built_cache import BuiltCache
from loopwright.jobs import Report, Runner, Silent, run_here
from loopwright.memo import Memo
from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.document import Document, PrivateCircle
from loopwright.model.frame import Origin
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc, JunctionId, Way
from loopwright.model.laps import LapSheet
from loopwright.model.loops import FoundLoop, SavedLoop, SearchResult
from loopwright.model.network import Network
from loopwright.model.rider import LapPlan, RiderFit
from loopwright.model.season import GroundMet
from loopwright.model.track import CleanTrack, Ride, RideRole
from loopwright.model.wishes import Question, Wishes
from loopwright.places import arcs_of_line, resolve, saved_loops, with_start
from loopwright.race import ring_network, whole_line, with_heights
from loopwright.relief import filled

if TYPE_CHECKING:
    from loopwright.features import Assessed
    from loopwright.loops.further import Further
    from loopwright.loops.rings import Rings
    from loopwright.network import Memory

QUIET: Report = Silent()
Laid: TypeAlias = tuple[Origin, PrivateCircle | None]
Matched: TypeAlias = tuple[tuple[Arc, ...], float]
"""Arcs of a loop, and metres from the first arc's start to the gate."""


class Pipeline:
    """All stages, each remembering its last few results. Safe from several threads."""

    def __init__(self, built: BuiltCache | None = None, *, run: Runner = run_here) -> None:
        """``run`` does what is compiled (fit, plan, laps); it may do so in another process."""
        self._built, self._run = built, run
        self._clean: Memo[tuple[CleanTrack, ...]] = Memo()
        self._reports: Memo[tuple[CleanTrack, ...]] = Memo()
        self._network: Memo[Network] = Memo()
        self._memories: Memo[Memory] = Memo(keep=3)
        self._latest: tuple[Memory | None, Laid | None] = (None, None)
        self._terrain: Memo[Terrain] = Memo(keep=12)
        self._assessments: Memo[Assessed] = Memo(keep=3)
        self._starts: Memo[tuple[Network, JunctionId]] = Memo()
        self._split: Memo[tuple[Terrain, Question]] = Memo()
        self._arcs: Memo[Matched] = Memo(keep=120)
        self._courses: Memo[Course] = Memo(keep=40)
        self._plans: Memo[LapPlan] = Memo(keep=40)
        self._fits: Memo[RiderFit] = Memo()
        self._races: Memo[Course | None] = Memo()

    def clean(self, document: Document, report: Report = QUIET) -> tuple[CleanTrack, ...]:
        """Clean the rides that build the network, one entry per ride in document order."""

        def make() -> tuple[CleanTrack, ...]:
            from loopwright.clean import clean_rides

            return clean_rides(
                builders(document),
                _origin(document),
                private=document.settings.private,
                report=report,
            )

        return self._clean.get((document.rides, document.settings.private), make)

    def network(self, document: Document, report: Report = QUIET) -> Network:
        """Build the trail network. Raises NoAnswerError when there is no usable track."""
        settings = document.settings
        inputs = (document.rides, document.corrections, settings.private, settings.height_file)
        network = self._network.get(
            inputs, lambda: filled(self._network_built(document, report), settings.height_file)
        )
        if not network.stretches:
            raise NoAnswerError(
                document.name,
                "no usable track in this area, so there is no trail network",
                "import rides recorded with positions a few seconds apart",
            )
        return network

    def reports(self, document: Document, report: Report = QUIET) -> tuple[CleanTrack, ...]:
        """Clean rides whose reports also tell what of them the network does not show."""
        from loopwright.network import with_asides

        tracks, network = self.clean(document, report), self.network(document, report)
        return self._reports.get((tracks, network), lambda: with_asides(tracks, network))

    def _network_built(self, document: Document, report: Report) -> Network:
        if self._built is None:
            return self._build(document, report)
        key, corrections = self._key(document), document.corrections
        kept = self._built.get(key, corrections)
        if kept is None:
            kept = self._build(document, report)
            self._built.put(key, kept, corrections)
        return kept

    def _key(self, document: Document) -> str:
        assert self._built is not None  # noqa: S101 - asked only where a cache is there
        return self._built.key(
            builders(document),
            _origin(document),
            document.corrections,
            document.settings.private,
        )

    def _build(self, document: Document, report: Report) -> Network:
        from loopwright.network import recall

        memory = self._remembered(document, report)
        return recall(memory, _origin(document), corrections=document.corrections)

    def _remembered(self, document: Document, report: Report) -> Memory:
        """Do the costly part once for the same tracks; rides only added cost little."""
        from loopwright.network import remember

        tracks = self.clean(document, report)
        laid = (_origin(document), document.settings.private)

        def make() -> Memory:
            # In another frame, or trimmed elsewhere, the same rides lie elsewhere.
            known, laid_as = self._latest
            previous = known if laid_as == laid else None
            made = remember(tracks, previous=previous, report=report)
            self._latest = (made, laid)
            return made

        return self._memories.get((tracks,), make)

    def terrain(self, document: Document, report: Report = QUIET) -> Terrain:
        """Network with ground, features and amounts."""
        return self._assessed(self.network(document, report), document, report)

    def _assessed(self, network: Network, document: Document, report: Report) -> Terrain:
        """Assess a network; after a change of tags only what they change is worked out anew."""
        tags, plan_for = document.tags, document.settings.plan_for

        def make() -> Terrain:
            from loopwright.features import assess_again

            before = self._assessments.last((network,))
            now = assess_again(network, tags, plan_for=plan_for, before=before, report=report)
            self._assessments.put((network,), now)
            return now.terrain

        return self._terrain.get((network, tags, plan_for), make)

    def asked(
        self, document: Document, wishes: Wishes, report: Report = QUIET
    ) -> tuple[Terrain, Question]:
        """Resolve wishes on the terrain; a start away from junctions splits its stretch."""
        terrain = self.terrain(document, report)

        def make() -> tuple[Terrain, Question]:
            whole, start = terrain.network, wishes.start
            if start is None:
                return terrain, resolve(terrain, wishes, None)
            network, gate = self._starts.get((whole, start), partial(with_start, whole, start))
            split = self._assessed(network, document, report)
            return split, resolve(split, wishes, gate)

        return self._split.get((terrain, wishes), make)

    def search(
        self, document: Document, wishes: Wishes, report: Report = QUIET
    ) -> tuple[SearchResult, tuple[SavedLoop, ...]]:
        """Find loops, and give them as they are kept in a document."""
        from loopwright.loops import find_loops

        terrain, question = self.asked(document, wishes, report)
        further = self.further(document, terrain, wishes, report)
        result = find_loops(terrain, question, report=report, further=further)
        return result, self.saved(terrain, wishes, result.loops)

    def saved(
        self, terrain: Terrain, wishes: Wishes, loops: Sequence[FoundLoop]
    ) -> tuple[SavedLoop, ...]:
        """Give found loops as they are kept in a document; their arcs need not be looked for."""
        lined = saved_loops(terrain, wishes, loops)
        for found, loop in zip(loops, lined, strict=True):
            self._arcs.put((terrain.network, loop.line), (found.arcs, 0.0))
        return lined

    def _matched(self, terrain: Terrain, loop: SavedLoop, report: Report) -> Matched:
        def make() -> Matched:
            return arcs_of_line(terrain, loop, report)

        return self._arcs.get((terrain.network, loop.line), make)

    def further(
        self, document: Document, terrain: Terrain, wishes: Wishes, report: Report = QUIET
    ) -> Further:
        """Work out what wishes ask beyond lengths: predicted times, passes kept apart."""
        from loopwright.loops.further import Further, LapTimes
        from loopwright.loops.head_on import head_on_pairs
        from loopwright.pacing import arc_seconds

        times = None
        if wishes.lap_s is not None:
            seconds = arc_seconds(terrain, document.rider, self.fit(document, report))
            low_s, high_s = wishes.lap_s
            times = LapTimes(seconds=seconds, low_s=low_s, high_s=high_s)
        if wishes.head_on_m > 0:
            return Further(times=times, apart=head_on_pairs(terrain, within_m=wishes.head_on_m))
        return Further(times=times)

    def arcs(self, document: Document, loop: SavedLoop) -> Matched:
        """Match a saved loop to today's network: arcs, and where the gate lies on the first.

        Raises NoAnswerError when the loop no longer fits.
        """
        return self._matched(self.terrain(document), loop, QUIET)

    def course(self, document: Document, loop: SavedLoop, report: Report = QUIET) -> Course:
        """One lap of a saved loop, unrolled on today's network.

        Its features are numbered here, once for the map, the card, laps and files.
        """
        terrain = self.terrain(document, report)

        def make() -> Course:
            from loopwright.features import named_as_one, unroll

            arcs, start_m = self._matched(terrain, loop, report)
            report.check()
            return named_as_one(unroll(terrain, arcs, name=loop.name, start_m=start_m))

        return self._courses.get((terrain, loop), make)

    def fit(self, document: Document, report: Report = QUIET) -> RiderFit:
        """Fit the rider to the area's own rides."""
        terrain = self.terrain(document, report)
        inputs = (terrain, document.rides, document.rider)
        return self._fits.get(inputs, lambda: self._fit_kept(document, terrain, report))

    def _fit_kept(self, document: Document, terrain: Terrain, report: Report) -> RiderFit:
        if self._built is None:
            return self._fit(document, terrain, report)
        key = self._built.fit_key(
            self._key(document), document.tags, document.rider, document.settings.plan_for
        )
        kept = self._built.get_fit(key)
        if kept is None:
            kept = self._fit(document, terrain, report)
            self._built.put_fit(key, kept)
        return kept

    def _fit(self, document: Document, terrain: Terrain, report: Report) -> RiderFit:
        tracks = self.clean(document, report)
        return self._run(elsewhere.fit_of, (tracks, terrain, document.rider), report)

    def plan(self, document: Document, course: Course, laps: int = 1) -> LapPlan:
        """Predicted lap with targets for the rider of this area."""
        fit = self.fit(document)

        def make() -> LapPlan:
            return self._run(elsewhere.plan_of, (course, document.rider, fit, laps), QUIET)

        return self._plans.get((course, document.rider, fit, laps), make)

    def what_if(
        self, document: Document, course: Course, *, bike_kg: float = 0.0, wheel_kg: float = 0.0
    ) -> float:
        """Seconds a lap that more mass costs the rider of this area."""
        from loopwright.pacing import what_if

        return what_if(
            course, document.rider, bike_kg=bike_kg, wheel_kg=wheel_kg, fit=self.fit(document)
        )

    def lap_sheet(self, document: Document, ride: Ride, loop: SavedLoop) -> LapSheet:
        """Laps of one ride on one loop, against the plan."""
        course = self.course(document, loop)
        plan = self.plan(document, course)
        track = _cleaned(document, ride, _origin(document))
        with _named_by_file(ride):
            return self._run(elsewhere.laps_of, (track, course, plan), QUIET)

    def circuit(self, document: Document, ride: Ride, report: Report = QUIET) -> Floats | None:
        """Circuit ``(n, 2)`` m that a ride of the network repeats, None where there is none."""
        for track in self.clean(document, report):
            if track.ride == ride.id:
                return self._run(elsewhere.circuit_of, (track,), report)
        return None

    def rings(self, network: Network, report: Report = QUIET) -> Rings:
        """Count the loops a network holds, and find a connector worth making."""
        return self._run(elsewhere.rings_of, (network,), report)

    def ground_met(
        self, document: Document, since: date, until: date, report: Report = QUIET
    ) -> GroundMet:
        """Ground ridden from the day ``since`` to the day ``until``, both included, UTC."""
        from loopwright.features.met import ground_met

        begin = datetime(since.year, since.month, since.day, tzinfo=UTC)
        end = datetime(until.year, until.month, until.day, tzinfo=UTC) + timedelta(days=1)
        return ground_met(
            self.terrain(document, report),
            builders(document),
            begin_s=begin.timestamp(),
            end_s=end.timestamp(),
            report=report,
        )

    def circuit_sheet(self, document: Document, ride: Ride) -> LapSheet:
        """Laps of the circuit a ride repeats, in the ride's own frame; no targets.

        Raises NoAnswerError when it neither repeats a circuit nor closes on itself.
        """
        course = self.race_course(document, ride)
        if course is None:
            raise NoAnswerError(
                ride.track.source,
                "repeats no circuit and does not close on itself",
                "name the loop to look for: --loop NAME",
            )
        track = _cleaned(document, ride, course.origin)
        with _named_by_file(ride):
            return self._run(elsewhere.laps_of, (track, course, None), QUIET)

    def race_course(self, document: Document, ride: Ride) -> Course | None:
        """Unroll a race lap as a course of its own, built from that recording alone.

        Gives None when the recording neither repeats a circuit nor closes on itself.
        """
        plan_for = document.settings.plan_for

        def make() -> Course | None:
            from loopwright.features import assess, named_as_one, unroll

            # A race lies elsewhere: it gets a metre frame of its own.
            origin = origin_for(ride.track.lat, ride.track.lon)
            track = _cleaned(document, ride, origin)
            line = self._run(elsewhere.circuit_of, (track,), QUIET)
            lap = whole_line(track) if line is None else with_heights(line, track)
            network = ring_network(lap, origin)
            if network is None:
                return None
            terrain = assess(network, document.tags, plan_for=plan_for)
            arcs = ((network.stretches[0].id, Way.FORWARD),)
            return named_as_one(unroll(terrain, arcs, name=ride.track.name))

        return self._races.get((ride, document.tags, plan_for), make)


def builders(document: Document) -> list[Ride]:
    """List the rides that build the network, in document order."""
    return [r for r in document.rides if r.role is RideRole.RIDE and not r.hidden]


def _origin(document: Document) -> Origin:
    if document.origin is None:
        raise NoAnswerError(
            document.name, "this area holds no rides yet", "import a folder of recorded rides"
        )
    return document.origin


def _cleaned(document: Document, ride: Ride, origin: Origin) -> CleanTrack:
    from loopwright.clean import clean_rides

    (track,) = clean_rides([ride], origin, private=document.settings.private)
    if not track.used:
        words = "; ".join(fault.words for fault in track.faults) or "nothing usable in it"
        raise NoAnswerError(ride.track.source, words, "give another recording")
    return track


@contextmanager
def _named_by_file(ride: Ride) -> Iterator[None]:
    """Name a ride in what goes wrong by its file, as people know it, not by its id."""
    try:
        yield
    except NoAnswerError as error:
        raise NoAnswerError(ride.track.source, error.what, error.remedy) from error
