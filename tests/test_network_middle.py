"""The median without a copy, against numpy's."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from loopwright.network.middle import Small, middle


@given(
    values=arrays.arrays(
        np.float32,
        st.integers(1, 60),
        elements=st.floats(0.0, 45.0, width=32, allow_subnormal=False),
    )
)
def test_the_median_is_numpys(values: Small) -> None:
    assert middle(values) == np.median(values)


@pytest.mark.parametrize("count", [1, 2, 999, 1000, 100_001])
def test_many_and_unevenly_spread(count: int) -> None:
    rng = np.random.default_rng(count)
    gaps = np.abs(rng.standard_normal(count)).astype(np.float32)
    gaps[-1] = 45.0  # one far off puts nearly all into few parts
    assert middle(gaps) == np.median(gaps)
    assert middle(np.zeros_like(gaps)) == 0.0


def test_nothing_has_no_median() -> None:
    with pytest.raises(ValueError, match="no numbers"):
        middle(np.zeros(0, dtype=np.float32))
