"""Names for arrays of row numbers and of yes and no."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Rows: TypeAlias = NDArray[np.signedinteger[Any]]
"""Row numbers of any integer width."""
Bools: TypeAlias = NDArray[np.bool_]
