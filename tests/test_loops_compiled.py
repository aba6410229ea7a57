"""What compiling promises the search: no error for 0, no lock, no arrays in the innermost loops."""

from __future__ import annotations

import importlib.util
import math
from pathlib import Path
from types import ModuleType

import numba
import pytest

from loopwright.loops.dive import dive

SOURCE = """
import numpy as np
from loopwright.loops.compiled import compiled, inlined, lean

@compiled
def share(part, whole):
    return part / whole

@lean
def share_lean(part, whole):
    return part / whole

@inlined
def share_inlined(part, whole):
    return part / whole

@lean
def caller(part, whole):
    return share_inlined(part, whole)

@compiled
def makes(size):
    return np.empty(size).size

@lean
def makes_lean(size):
    return np.empty(size).size
"""

pytestmark = pytest.mark.skipif(not hasattr(dive, "signatures"), reason="compiling is switched off")


@pytest.fixture
def tiny(tmp_path: Path) -> ModuleType:
    """A module of a few functions in a folder of its own, so that nothing is kept from before."""
    file = tmp_path / "tiny_kernels.py"
    file.write_text(SOURCE, encoding="utf-8")
    spec = importlib.util.spec_from_file_location("tiny_kernels", file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("name", ["share", "share_lean", "share_inlined", "caller"])
def test_a_part_of_nothing_is_infinite_and_the_lock_is_let_go(tiny: ModuleType, name: str) -> None:
    kernel = getattr(tiny, name)
    assert kernel(1.0, 0.0) == math.inf
    assert kernel(1.0, 4.0) == 0.25
    assert kernel.targetoptions["nogil"] is True
    assert (kernel.targetoptions.get("inline") == "always") is (name == "share_inlined")
    assert kernel.stats.cache_path == str(Path(tiny.__file__ or "").parent / "__pycache__")


def test_only_a_lean_kernel_may_not_make_arrays(tiny: ModuleType) -> None:
    assert tiny.makes(3) == 3
    with pytest.raises(numba.TypingError, match="Only accept returning of array passed"):
        tiny.makes_lean(3)
