# ruff: noqa: ARG001 - whoever runs these gives each a report, also those too short to use it
"""What the pipeline may have done in another process: all that is compiled or loads much.

Gets picklable inputs and a report; gives picklable answers. Promises: a room is loaded where its
work is done, so that a window that has it done elsewhere never loads a compiler.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopwright.jobs import Report
from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.ground import Terrain
from loopwright.model.laps import LapSheet
from loopwright.model.network import Network
from loopwright.model.rider import LapPlan, Rider, RiderFit
from loopwright.model.track import CleanTrack

if TYPE_CHECKING:
    from loopwright.loops.rings import Rings


def get_ready(_report: Report) -> None:
    """Load what plans and compares laps, to be there when the first lap is known."""
    from loopwright import laps, pacing  # noqa: F401 - imported to be there


def fit_of(
    tracks: tuple[CleanTrack, ...], terrain: Terrain, rider: Rider, report: Report
) -> RiderFit:
    """Fit a rider to rides."""
    from loopwright.pacing import fit_rider

    return fit_rider(tracks, terrain, rider, report=report)


def plan_of(course: Course, rider: Rider, fit: RiderFit, laps: int, report: Report) -> LapPlan:
    """Predict a lap."""
    from loopwright.pacing import plan_lap

    return plan_lap(course, rider, fit=fit, laps=laps)


def laps_of(track: CleanTrack, course: Course, plan: LapPlan | None, report: Report) -> LapSheet:
    """Find the laps of a ride on a course."""
    from loopwright.laps import sheet_of

    return sheet_of(track, course, plan=plan)


def circuit_of(track: CleanTrack, report: Report) -> Floats | None:
    """Find the circuit a ride repeats, ``(n, 2)`` m; None where it repeats none."""
    from loopwright.laps import find_circuit

    return find_circuit(track)


def rings_of(network: Network, report: Report) -> Rings:
    """Count the loops a network holds."""
    from loopwright.loops import rings

    return rings.rings_of(network)
