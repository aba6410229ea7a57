"""The workspace: named steps, identical objects back, honest notices."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edits_help import EDITS, START, found
from io_help import season
from loopwright import edits
from loopwright.history import DEPTH
from loopwright.io.area_file import area_bytes
from loopwright.model.document import Document
from loopwright.model.rider import Rider
from loopwright.model.wishes import Mix, Wishes
from loopwright.workspace import Workspace

MIX = Mix(name="corners", targets={"corners": 10})


def test_undo_gives_the_identical_document_back() -> None:
    first = Document(name="a")
    workspace = Workspace(first)
    workspace.apply("rename", lambda d: edits.set_name(d, "b"))
    second = workspace.document
    assert workspace.undo_label == "rename"
    assert workspace.undo() == "rename"
    assert workspace.document is first
    assert workspace.redo_label == "rename"
    assert workspace.redo() == "rename"
    assert workspace.document is second


def test_nothing_to_undo_or_redo() -> None:
    workspace = Workspace(Document(name="a"))
    assert (workspace.undo(), workspace.redo()) == (None, None)
    assert (workspace.undo_label, workspace.redo_label) == (None, None)


def test_an_edit_that_changes_nothing_leaves_no_step() -> None:
    workspace = Workspace(Document(name="a"))
    workspace.apply("rename", lambda d: edits.set_name(d, "a"))
    assert workspace.undo_label is None
    assert not workspace.dirty


def test_a_new_step_forgets_the_future() -> None:
    workspace = Workspace(Document(name="a"))
    workspace.apply("rename", lambda d: edits.set_name(d, "b"))
    workspace.undo()
    workspace.apply("rename again", lambda d: edits.set_name(d, "c"))
    assert workspace.redo() is None


def test_a_failing_edit_leaves_the_document_whole() -> None:
    workspace = Workspace(Document(name="a"))
    before = workspace.document

    def fails(document: Document) -> Document:
        raise ValueError(document.name)

    with pytest.raises(ValueError, match="a"):
        workspace.apply("fail", fails)
    assert workspace.document is before
    assert workspace.undo_label is None


def test_notices_name_the_changed_fields() -> None:
    workspace = Workspace(Document(name="a"))
    heard: list[frozenset[str]] = []
    stop = workspace.subscribe(heard.append)
    workspace.apply("rider", lambda d: edits.set_rider(d, Rider(mass_kg=61)))
    workspace.undo()
    stop()
    workspace.redo()
    assert heard == [frozenset({"rider"}), frozenset({"rider"})]


def test_dirty_follows_what_is_on_disk() -> None:
    workspace = Workspace(Document(name="a"))
    workspace.apply("rename", lambda d: edits.set_name(d, "b"))
    assert workspace.dirty
    workspace.mark_saved(workspace.document, Path("b.loopwright"))
    assert not workspace.dirty
    workspace.undo()
    assert workspace.dirty


def test_a_note_is_no_step_and_does_not_make_a_clean_document_dirty() -> None:
    workspace = Workspace(Document(name="a"))
    workspace.note(lambda d: replace(d, found=()))
    assert workspace.undo_label is None
    assert not workspace.dirty


def test_a_note_while_a_save_is_under_way_leaves_nothing_to_save() -> None:
    workspace = Workspace(Document(name="a"))
    workspace.apply("rename", lambda d: edits.set_name(d, "b"))
    written = workspace.document
    workspace.note(lambda d: replace(d, found=(*d.found,)[:0]))
    workspace.note(lambda d: replace(d, found=tuple(found(2))))
    workspace.mark_saved(written, Path("b.loopwright"))
    assert not workspace.dirty


def test_the_last_five_hundred_steps_can_be_taken_back() -> None:
    workspace = Workspace(Document(name="0"))
    for number in range(1, 621):
        workspace.apply("rename", lambda d, n=number: edits.set_name(d, str(n)))  # type: ignore[misc]
    taken = 0
    while workspace.undo() is not None:
        taken += 1
    assert taken == DEPTH == 500
    assert workspace.document.name == "120"


@pytest.mark.parametrize("name", sorted(EDITS))
def test_an_edit_made_twice_the_same_gives_the_document_itself(name: str) -> None:
    """Edits that set something; those that add one more of a thing are asked elsewhere."""
    once = edits.set_season(START, season())
    for number in range(12):
        once = EDITS[name].make(once, number)
        again = EDITS[name].make(once, number)
        assert (area_bytes(again) == area_bytes(once)) is (again is once)


NAMES = st.sampled_from(["a", "b", "c"])


def _window(km: float) -> Callable[[Document], Document]:
    wishes = Wishes(mix=MIX, min_length_m=km * 1000, max_length_m=9000)
    return lambda d: edits.set_wishes(d, wishes)


STEPS = st.one_of(
    NAMES.map(lambda name: lambda d: edits.set_name(d, name)),
    st.floats(40, 120).map(lambda kg: lambda d: edits.set_rider(d, Rider(mass_kg=kg))),
    NAMES.map(lambda name: lambda d: edits.keep_mix(d, replace(MIX, name=name))),
    st.floats(1, 9).map(_window),
)  # fmt: skip


@given(st.lists(st.one_of(STEPS, st.sampled_from(["undo", "redo"])), max_size=200))
def test_any_mix_of_steps_undone_gives_the_first_document(steps: list[object]) -> None:
    first = Document(name="a")
    workspace = Workspace(first)
    for step in steps:
        if step == "undo":
            workspace.undo()
        elif step == "redo":
            workspace.redo()
        else:
            assert callable(step)
            workspace.apply("step", step)
    last = workspace.document
    taken = 0
    while workspace.undo() is not None:
        taken += 1
    assert workspace.document is first
    for _ in range(taken):
        workspace.redo()
    assert workspace.document is last
