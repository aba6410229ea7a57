"""One window an area, and unsaved work kept for later."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import filelock
import pytest

from io_help import document
from loopwright.errors import WorldError
from loopwright.io.area_file import AreaLock, load_area, save_area
from loopwright.io.autosave import (
    autosave_path,
    claim_place,
    discard_autosave,
    find_recoverable,
    save_autosave,
    saved_since,
)
from loopwright.model.document import Document

HOLD = """
import sys, time
from pathlib import Path
from loopwright.io.lock import AreaLock
lock = AreaLock(Path(sys.argv[1]))
lock.acquire()
print("held", flush=True)
time.sleep(20)
"""


def test_a_second_window_is_told_at_once(tmp_path: Path) -> None:
    area = tmp_path / "a.loopwright"
    with AreaLock(area) as first:
        assert first.held
        with pytest.raises(WorldError, match="open in another Loopwright window; close it there"):
            AreaLock(area).acquire()
    assert not first.held
    with AreaLock(area):
        pass


def test_another_name_for_the_area_is_the_same_area(tmp_path: Path) -> None:
    area, link = tmp_path / "a.loopwright", tmp_path / "b.loopwright"
    save_area(Document(name="a"), area)
    link.symlink_to(area)
    with AreaLock(area) as lock, pytest.raises(WorldError, match="another Loopwright window"):
        AreaLock(link).acquire()
    assert lock.is_for(link)
    assert not lock.is_for(tmp_path / "c.loopwright")


def test_a_lock_taken_twice_is_given_back_at_once(tmp_path: Path) -> None:
    area = tmp_path / "a.loopwright"
    lock = AreaLock(area)
    lock.acquire()
    lock.acquire()
    lock.release()
    with AreaLock(area) as other:
        assert other.held


def test_a_killed_window_leaves_nothing_locked(tmp_path: Path) -> None:
    area = tmp_path / "a.loopwright"
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, area], stdout=subprocess.PIPE, text=True
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "held\n"
        with pytest.raises(WorldError, match="another Loopwright window"):
            AreaLock(area).acquire()
        other.kill()
    with AreaLock(area) as lock:
        assert lock.held


def test_a_disk_that_knows_no_locks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(95, "not supported")

    monkeypatch.setattr(filelock.FileLock, "acquire", refuse)
    with pytest.raises(WorldError, match="cannot be locked on this disk"):
        AreaLock(tmp_path / "a.loopwright").acquire()
    place, lock = claim_place(tmp_path, left=False)
    assert (place, lock.held) == (1, False)
    assert lock.is_for(autosave_path(None, tmp_path))
    monkeypatch.setattr("os.access", lambda *_: False)
    AreaLock(tmp_path / "a.loopwright").acquire()


def test_releasing_twice_does_no_harm(tmp_path: Path) -> None:
    lock = AreaLock(tmp_path / "a.loopwright")
    lock.acquire()
    lock.release()
    lock.release()
    assert not lock.held


def test_unsaved_work_is_found_again(tmp_path: Path) -> None:
    area, state = tmp_path / "a.loopwright", tmp_path / "state"
    save_area(Document(name="saved"), area)
    assert find_recoverable(area, state) is None
    kept = save_autosave(document(), area, state)
    assert kept == autosave_path(area, state)
    assert find_recoverable(area, state) == kept
    assert load_area(kept).name == document().name
    assert load_area(area).name == "saved"
    discard_autosave(area, state)
    discard_autosave(area, state)
    assert find_recoverable(area, state) is None


def test_nothing_to_recover_when_all_is_saved(tmp_path: Path) -> None:
    area, state = tmp_path / "a.loopwright", tmp_path / "state"
    save_autosave(document(), area, state)
    assert find_recoverable(area, state) is not None
    save_area(document(), area)
    assert find_recoverable(area, state) is None


def test_a_damaged_autosave_is_not_offered(tmp_path: Path) -> None:
    area = tmp_path / "a.loopwright"
    save_autosave(document(), area, tmp_path).write_bytes(b"half")
    assert find_recoverable(area, tmp_path) is None


def test_each_area_has_its_own_autosave(tmp_path: Path) -> None:
    areas = [tmp_path / "x" / "a.loopwright", tmp_path / "y" / "a.loopwright", None]
    assert len({autosave_path(area, tmp_path) for area in areas}) == 3
    save_autosave(document(), None, tmp_path)
    assert find_recoverable(None, tmp_path) is not None
    odd = autosave_path(tmp_path / ("é/../b" * 30 + ".loopwright"), tmp_path)
    assert odd.parent == tmp_path / "autosave"


def test_windows_keep_areas_never_saved_apart_and_find_what_a_crash_left(tmp_path: Path) -> None:
    first, lock = claim_place(tmp_path, left=False)
    second, other = claim_place(tmp_path, left=False)
    assert (first, second) == (1, 2)
    for place in (first, second):
        save_autosave(Document(name=f"window {place}"), None, tmp_path, place=place)
    other.release()  # that window ended without a word
    third, held = claim_place(tmp_path, left=False)
    assert third == 3
    assert find_recoverable(None, tmp_path, place=third) is None
    left, again = claim_place(tmp_path, left=True)
    assert left == second
    kept = find_recoverable(None, tmp_path, place=left)
    assert kept is not None
    assert load_area(kept).name == "window 2"
    discard_autosave(None, tmp_path, place=left)
    assert autosave_path(None, tmp_path).exists()
    for one in (lock, held, again):
        one.release()


def test_it_is_known_which_was_written_last(tmp_path: Path) -> None:
    area = tmp_path / "a.loopwright"
    save_area(Document(name="saved"), area)
    kept = save_autosave(document(), area, tmp_path)
    os.utime(area, (1e9, 1e9))
    assert not saved_since(kept, area)
    os.utime(kept, (0.9e9, 0.9e9))
    assert saved_since(kept, area)
    assert not saved_since(kept, tmp_path / "gone")


def test_a_state_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "state").write_bytes(b"")
    with pytest.raises(WorldError):
        save_autosave(document(), None, tmp_path / "state")
    blocked = autosave_path(None, tmp_path)
    blocked.mkdir(parents=True)
    with pytest.raises(WorldError):
        discard_autosave(None, tmp_path)


SAVE = """
import sys
from dataclasses import replace
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from io_help import document, ride
from loopwright.io.area_file import save_area
doc, path, number = document(), Path(sys.argv[1]), 0
while True:
    rides = tuple(ride(4000 + number % 7, name=f"{number}-{i}") for i in range(3))
    save_area(replace(doc, name=str(number), rides=rides), path)
    print(number, flush=True)
    number += 1
"""


@pytest.mark.parametrize("seed", range(10))
def test_killed_while_saving_the_old_or_the_new_state_is_there(tmp_path: Path, seed: int) -> None:
    area = tmp_path / "a.loopwright"
    tests = str(Path(__file__).parent)
    with subprocess.Popen(
        [sys.executable, "-c", SAVE, area, tests], stdout=subprocess.PIPE, text=True
    ) as saver:
        assert saver.stdout is not None
        last = int(saver.stdout.readline())
        time.sleep(0.004 + 0.0037 * seed)
        saver.kill()
        last = max([last, *(int(line) for line in saver.stdout)])
    back = load_area(area)
    assert int(back.name) in (last, last + 1)
    assert {each.track.name for each in back.rides} == {f"{back.name}-{i}" for i in range(3)}
    backup = area.with_name(area.name + ".bak")
    assert not backup.exists() or int(load_area(backup).name) <= last
    save_area(Document(name="after"), area)
    assert not list(tmp_path.glob(".*.part"))


def test_autosave_makes_its_folders_and_replaces_itself(tmp_path: Path) -> None:
    state = tmp_path / "deep" / "state"
    first = save_autosave(Document(name="one"), None, state)
    second = save_autosave(Document(name="two"), None, state)
    assert first == second
    assert load_area(second).name == "two"
    assert [each.name for each in second.parent.iterdir()] == [second.name]
