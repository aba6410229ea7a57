"""New rides on tagged ground: every word keeps its place, and drawn ground gives way to ridden."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from app_help import found, gpx_files, ladder_document, rested, wait_until, window_on
from loopwright.app.map_tools import Part
from loopwright.app.opening import Opened
from loopwright.features.ground import span_at
from loopwright.geo.frame import to_local
from loopwright.geo.polyline import along, at, project
from loopwright.invented.lines import straight
from loopwright.invented.riders import ride_arcs
from loopwright.model.arrays import Floats
from loopwright.model.ground import GroundSpan, Tag, Terrain
from loopwright.model.ids import Arc, JunctionId, StretchId, Way
from loopwright.model.network import Network, Stretch
from worlds import ladder, rides_over

NEW = StretchId("new")
FROM, TO = (120.0, 0.0), (240.0, 150.0)
KEYS = "23789"
EDGE_M = 15.0
"""Junctions move a little in a rebuild; nearer than this to its end a word may not be seen."""


def with_diagonal() -> Network:
    """The ladder with a diagonal over its middle field, which its own rides do not know."""
    network, line = ladder().network, straight(np.array(FROM), np.array(TO))
    diagonal = Stretch(
        id=NEW, start=JunctionId("low1"), end=JunctionId("high2"), xy=line,
        ele_m=np.full(len(line), 100.0), std_error_m=np.zeros(len(line)),
    )  # fmt: skip
    return replace(network, stretches=(*network.stretches, diagonal))


def taken_in(opened: Opened, qtbot: QtBot, paths: list[Path]) -> Terrain:
    """Import files through the window and wait for the ground they make."""
    desk = opened.desk
    before, rides = desk.terrain, len(desk.document.rides)
    opened.files.import_paths(paths)
    wait_until(qtbot, lambda: len(desk.document.rides) == rides + len(paths))
    wait_until(qtbot, lambda: desk.terrain is not before and rested(opened))
    assert desk.terrain is not None
    return desk.terrain


def ground_along(terrain: Terrain, places: Floats) -> list[GroundSpan]:
    """Ground of the stretch nearest to each place ``(n, 2)``."""
    stretches = terrain.network.stretches
    run, off = np.array([project(s.xy, places) for s in stretches]).transpose(1, 0, 2)
    nearest = np.abs(off).argmin(axis=0)
    return [
        span_at(terrain.spans[stretches[k].id], float(run[k, n])) for n, k in enumerate(nearest)
    ]


def in_place(terrain: Terrain, tag: Tag) -> bool:
    """Tell whether the ground along a tag's line is what the tag says."""
    line = to_local(terrain.network.origin, tag.line[:, 1], tag.line[:, 0])
    run = np.arange(EDGE_M, along(line)[-1] - EDGE_M, 5.0)
    there = ground_along(terrain, at(line, run))
    said = {"surface": tag.surface, "obstacles": tag.obstacles}
    return all(getattr(span, key) == word for span in there for key, word in said.items() if word)


def test_every_tag_is_in_place_after_three_more_rides(qtbot: QtBot, tmp_path: Path) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened))
        desk, place = opened.desk, opened.window.ground
        assert desk.terrain is not None
        opened.window.go("ground")
        names = [s.id for s in desk.terrain.network.stretches]
        for number, key in enumerate(KEYS):
            desk.select(names[number :: len(KEYS)])
            place.press(key)
        desk.select(())
        place.press("G")
        length = desk.terrain.lengths_m[names[0]]
        place.painted((Part(stretch=names[0], from_m=0.3 * length, to_m=0.8 * length),))
        wait_until(qtbot, lambda: rested(opened))
        tags = desk.document.tags
        assert len(tags) == len(names) + 1
        assert all(in_place(desk.terrain, tag) for tag in tags)
        more = rides_over(ladder(), rides=3, error_m=3.0, seed=8)
        terrain = taken_in(opened, qtbot, gpx_files(tmp_path, more))
        assert desk.document.tags is tags
        assert terrain.unfit == ()
        assert [tag for tag in tags if not in_place(terrain, tag)] == []
        assert not in_place(terrain, replace(tags[0], surface="mud"))


def test_the_first_ride_over_a_drawn_connector_takes_its_place(
    qtbot: QtBot, tmp_path: Path
) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened))
        window, desk = opened.window, opened.desk
        window.go("ground")
        window.do("draw")
        view, beside = window.map_pane.map, np.array([4.0, -4.0])
        assert view.tool is not None
        for x, y in (np.array(FROM) + beside, np.array(TO) + beside):
            view.tool.press(view.to_px(x, y))
        view.tool.key(Qt.Key.Key_Return)
        wait_until(qtbot, lambda: bool(desk.document.corrections) and rested(opened))
        assert desk.terrain is not None
        assert [s.passes for s in desk.terrain.network.stretches if s.unridden] == [()]
        assert "1 stretch not ridden yet" in window.ground.unridden.there.text()
        lap: tuple[Arc, ...] = (
            (StretchId("low1"), Way.FORWARD), (NEW, Way.FORWARD), (StretchId("high3"), Way.FORWARD)
        )  # fmt: skip
        ride = ride_arcs(with_diagonal(), lap, error_m=1.0, seed=4, start_s=1_903_000_000.0)
        terrain = taken_in(opened, qtbot, gpx_files(tmp_path, [ride.track]))
        assert not any(s.unridden for s in terrain.network.stretches)
        assert terrain.network.unfit == ()
        middle = (np.array(FROM) + np.array(TO)) / 2
        near = [
            s
            for s in terrain.network.stretches
            if abs(float(project(s.xy, middle[None])[1][0])) < 4
        ]
        assert [len(s.passes) for s in near] == [1]
        assert window.ground.unridden.there.isHidden()


def test_what_is_changed_while_rides_are_read_stays_changed(qtbot: QtBot, tmp_path: Path) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened))
        desk, rides = opened.desk, len(opened.desk.document.rides)
        opened.files.import_paths(gpx_files(tmp_path, rides_over(ladder(), rides=1, error_m=1.5)))
        desk.apply("Call it otherwise", lambda document: replace(document, name="Otherwise"))
        wait_until(qtbot, lambda: len(desk.document.rides) == rides + 1 and rested(opened))
        assert desk.document.name == "Otherwise"
        opened.window.do("undo")
        assert (desk.document.name, len(desk.document.rides)) == ("Otherwise", rides)
        wait_until(qtbot, lambda: rested(opened))
