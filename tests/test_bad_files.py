"""Ten thousand bad files, and the few that were built to do harm: one clear line each."""

from __future__ import annotations

import os
import pickle
import random
import zipfile
from pathlib import Path

import numpy as np
import pytest

from io_help import document
from loopwright.errors import WorldError
from loopwright.io import area_zip
from loopwright.io.area_file import area_bytes, load_area
from loopwright.io.built_cache import BuiltCache
from test_io_fuzz import PIECES
from torture_readers import answers, targets, with_array, with_words

TARGETS = targets()
TOTAL = 10_000
TILE = "height tile"
"""Three megabytes each, and every content of that size is an answer: a few will do."""


def _broken(data: bytes, dice: random.Random) -> bytes:
    """Change a file in one to four places: bits, odd pieces, cuts, doublings, random bytes."""
    broken = bytearray(data)
    for _ in range(dice.randint(1, 4)):
        start = dice.randrange(len(broken) + 1)
        end = start + dice.choice((1, 1, 3, 20, 200))
        kind = dice.randrange(6)
        if kind == 0:
            broken[start:end] = bytes(b ^ 1 << dice.randrange(8) for b in broken[start:end])
        elif kind == 1:
            broken[start:start] = dice.choice(PIECES)
        elif kind == 2:
            del broken[start:end]
        elif kind == 3:
            broken[start:start] = broken[start:end]
        elif kind == 4:
            broken[start:end] = dice.randbytes(dice.randrange(12))
        else:
            del broken[start:]
    return bytes(broken)


@pytest.mark.filterwarnings("ignore")  # the optional library for GeoTIFF warns of odd ones
@pytest.mark.parametrize("name", TARGETS)
def test_generated_bad_files_get_an_answer_or_one_line(tmp_path: Path, name: str) -> None:
    target, dice = TARGETS[name], random.Random(name)
    path = tmp_path / target.name
    for _ in range(20 if name == TILE else TOTAL // (len(TARGETS) - 1) + 1):
        target.put(_broken(dice.choice(target.seeds), dice), path)
        answers(target.read, path)


def test_a_small_area_that_swells_is_refused_before_it_is_unpacked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.loopwright"
    path.write_bytes(with_words(b" " * (area_zip.SWELL_FROM + 1)))
    assert path.stat().st_size < area_zip.SWELL_FROM / 100
    monkeypatch.setattr(area_zip, "_manifest", None)
    with pytest.raises(WorldError, match="swells"):
        load_area(path)


def test_an_honest_area_does_not_swell() -> None:
    assert len(area_bytes(document())) * area_zip.SWELL_MOST > 100_000


class _Harm:
    def __init__(self, mark: Path) -> None:
        self.mark = mark

    def __reduce__(self) -> tuple[object, tuple[str]]:
        return os.mkdir, (str(self.mark),)


def test_no_pickle_is_ever_run(tmp_path: Path) -> None:
    mark = tmp_path / "mark"
    array = np.empty(1, dtype=object)
    array[0] = _Harm(mark)
    for name, data in (("a.npy", array), ("plain", pickle.dumps(_Harm(mark)))):
        path = tmp_path / name
        if isinstance(data, bytes):
            path.write_bytes(data)
        else:
            np.save(path, data, allow_pickle=True)
        for target in TARGETS.values():
            answers(target.read, path) if target.name == "in" else None
    np.savez(tmp_path / "k.npz", head=array, points=array, meets=array, allow_pickle=True)
    assert BuiltCache(tmp_path).get("k", ()) is None
    (tmp_path / "b").write_bytes(with_array((tmp_path / "a.npy").read_bytes()))
    with pytest.raises(WorldError, match="does not fit"):
        load_area(tmp_path / "b")
    assert not mark.exists()


@pytest.mark.parametrize("name", ["../out", "/out", "tracks/../../out", "C:\\out", "a\0b"])
def test_no_path_leads_out_of_an_archive(tmp_path: Path, name: str) -> None:
    path = tmp_path / "deep" / "a.loopwright"
    path.parent.mkdir()
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr(name, b"x")
    with pytest.raises(WorldError, match="damaged"):
        load_area(path)
    assert [f.name for f in tmp_path.rglob("*")] == ["deep", "a.loopwright"]
