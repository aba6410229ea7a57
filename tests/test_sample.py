"""The invented sample area as a newcomer gets it."""

from __future__ import annotations

import pytest

from loopwright.app.ridden import loop_of
from loopwright.jobs import Silent
from loopwright.laps import find_circuit
from loopwright.model.track import RideRole
from loopwright.pipeline import Pipeline
from loopwright.sample import sample_document

TRUE_LAPS_S = (966.5, 975.0, 984.8, 1014.3, 1037.7, 1049.0)
"""From sample_tracks/README.md: the times the invented rider's laps truly took."""


def test_the_six_laps_are_found_on_the_training_lap() -> None:
    document, pipeline = sample_document(), Pipeline()
    assert document.settings.invented
    (lap,) = document.kept
    six = next(r for r in document.rides if "six timed laps" in r.track.name)
    sheet = pipeline.lap_sheet(document, six, lap)
    times = [found.elapsed_s for found in sheet.laps if found.complete]
    assert times == pytest.approx(TRUE_LAPS_S, abs=1.5)
    assert sheet.fade_per_lap_s is not None
    assert sheet.fade_per_lap_s > 10
    line = find_circuit(next(t for t in pipeline.clean(document, Silent()) if t.ride == six.id))
    assert line is not None
    assert document.origin is not None
    circuit = loop_of(line, document.origin, six, wishes=lap.wishes)
    assert len(pipeline.lap_sheet(document, six, circuit).laps) == len(TRUE_LAPS_S)
    races = [r for r in document.rides if r.role is RideRole.RACE]
    assert [pipeline.race_course(document, r) is not None for r in races] == [True]
