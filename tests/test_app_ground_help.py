"""Help in the Ground place: map extracts, what to look at next, ground not ridden yet."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app_help import Answers, found, ladder_document, rested, wait_until, window_on
from loopwright.app.opening import Opened
from loopwright.features.roughness import Suggestion
from loopwright.geo.frame import to_degrees
from loopwright.io.osm import ATTRIBUTION
from loopwright.model.arrays import Floats
from loopwright.model.document import Document
from loopwright.model.network import CorrectionKind


def ready(opened: Opened, qtbot: QtBot) -> None:
    wait_until(qtbot, lambda: found(opened))
    opened.window.go("ground")
    wait_until(qtbot, lambda: rested(opened))


def extract(path: Path, document: Document, *ways: tuple[Floats, str]) -> Path:
    """An invented extract: ways in local metres with their tags as XML."""
    assert document.origin is not None
    nodes, rows, number = [], [], 0
    for xy, tags in ways:
        lat, lon = to_degrees(document.origin, xy)
        refs = []
        for a, b in zip(lat.tolist(), lon.tolist(), strict=True):
            number += 1
            nodes.append(f'<node id="{number}" lat="{a:.7f}" lon="{b:.7f}"/>')
            refs.append(f'<nd ref="{number}"/>')
        rows.append(f'<way id="{number}">{"".join(refs)}{tags}</way>')
    path.write_text(f'<osm version="0.6">{"".join(nodes)}{"".join(rows)}</osm>')
    return path


def tag(key: str, value: str) -> str:
    return f'<tag k="{key}" v="{value}"/>'


def test_a_map_extract_fills_untagged_ground_only_and_is_given_back(
    qtbot: QtBot, tmp_path: Path
) -> None:
    document, answers = ladder_document(), Answers(choice=2)
    with window_on(document, answers=answers) as opened:
        ready(opened, qtbot)
        window, desk = opened.window, opened.desk
        assert desk.terrain is not None
        first, second = desk.terrain.network.stretches[:2]
        desk.select((first.id,))
        QTest.keyClick(window.map_pane.map, Qt.Key.Key_8)
        wait_until(qtbot, lambda: rested(opened))
        far = second.xy[:1] + np.array([[60.0, 90.0], [160.0, 150.0], [260.0, 150.0]])
        answers.file = extract(
            tmp_path / "hill.osm", document,
            (first.xy, tag("highway", "path") + tag("surface", "gravel")),
            (second.xy, tag("highway", "path") + tag("surface", "gravel")),
            (far, tag("highway", "track") + tag("surface", "sand")),
        )  # fmt: skip
        before = desk.document
        window.do("extract")
        wait_until(qtbot, lambda: rested(opened) and desk.document is not before)
        wait_until(qtbot, lambda: rested(opened))
        assert {span.surface for span in desk.terrain.spans[first.id]} == {"rock"}
        assert "gravel" in {s.surface for row in desk.terrain.spans.values() for s in row}
        assert any(s.unridden for s in desk.terrain.network.stretches)
        assert {t.source for t in desk.document.tags} == {"", "osm"}
        assert list(desk.document.settings.attributions) == [ATTRIBUTION]
        assert ATTRIBUTION in window.ground.unfit.borrowed.text()
        window.do("undo")
        assert desk.document.tags is before.tags
        window.do("redo")
        window.do("give_back")
        wait_until(qtbot, lambda: rested(opened))
        assert [t.source for t in desk.document.tags] == [""]
        assert desk.document.corrections == ()
        assert list(desk.document.settings.attributions) == []


def test_an_extract_that_is_none_is_told_in_one_sentence(qtbot: QtBot, tmp_path: Path) -> None:
    bad = tmp_path / "bad.osm"
    bad.write_text("<html/>")
    with window_on(ladder_document(), answers=Answers(choice=2, file=bad)) as opened:
        ready(opened, qtbot)
        before = opened.desk.document
        opened.window.do("extract")
        wait_until(qtbot, lambda: rested(opened))
        assert "bad.osm" in opened.desk.trouble
        assert opened.desk.document is before


def test_a_suggestion_is_shown_and_taken_with_one_key(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        desk, panel = opened.desk, opened.window.ground.next
        panel.ask_suggestions()
        wait_until(qtbot, lambda: rested(opened))
        assert panel.slow_words.text()
        assert not desk.document.tags
        assert desk.terrain is not None
        name = desk.terrain.network.stretches[0].id
        panel._known({name: Suggestion(word="bad", speed_share=0.7, passes=4)})
        assert "70 %" in panel.rough.item(0).text()
        assert not desk.document.tags
        QTest.keyClick(panel.rough, Qt.Key.Key_Return)
        assert [t.roughness for t in desk.document.tags] == ["bad"]
        assert panel.rough.count() == 0
        wait_until(qtbot, lambda: rested(opened))
        assert {s.roughness for s in desk.terrain.spans[name]} == {"bad"}


def test_what_to_tag_next_says_how_much_the_best_loop_could_change(qtbot: QtBot) -> None:
    wishes = ladder_document().wishes
    assert wishes is not None
    rocky = replace(wishes, mix=replace(wishes.mix, targets={"rough_m": 500.0, "corners": 8.0}))
    with window_on(replace(ladder_document(), wishes=rocky)) as opened:
        ready(opened, qtbot)
        panel = opened.window.ground.next
        panel.ask_outlook()
        wait_until(qtbot, lambda: rested(opened))
        assert "could be" in panel.outlook_words.text(), opened.desk.trouble
        assert panel.worth.count() >= 1
        assert "up to" in panel.worth.item(0).text()
        panel.worth.setCurrentRow(0)
        assert opened.desk.selection == (panel.worth.stretch(),)


def test_the_place_counts_loops_and_a_drawn_connector_serves_them_if_allowed(
    qtbot: QtBot,
) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        window, desk = opened.window, opened.desk
        panel = window.ground.unridden
        assert panel.rings is not None
        loops = panel.rings.loops
        assert loops >= 2
        assert str(loops) in panel.holds.text()
        assert desk.terrain is not None
        one = desk.terrain.network.stretches[0]
        other = next(
            s for s in desk.terrain.network.stretches
            if not {s.start, s.end} & {one.start, one.end}
        )  # fmt: skip
        xy = np.vstack((one.xy[len(one.xy) // 2], other.xy[len(other.xy) // 2]))
        window.do("draw")
        tool = window.map_pane.map.tool
        assert tool is not None
        view = window.map_pane.map
        for x, y in xy.tolist():
            tool.press(view.to_px(x, y))
        tool.key(Qt.Key.Key_Return)
        wait_until(qtbot, lambda: bool(desk.document.corrections))
        wait_until(qtbot, lambda: rested(opened))
        assert [c.kind for c in desk.document.corrections] == [CorrectionKind.DRAWN]
        assert any(s.unridden for s in desk.terrain.network.stretches)
        assert "not ridden yet" in panel.there.text()
        assert not desk.wishes.use_unridden
        panel.allow.click()
        assert desk.wishes.use_unridden
        window.do("undo")
        assert not panel.allow.isChecked()
        wait_until(qtbot, lambda: rested(opened))
