"""The found loops as JSON (``find --json``).

Gets what the search said and what is known of each loop; gives plain JSON values in the published
shape (docs/formats.md). Promises: loops in rank order, ``bound`` never rounded below the truth.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from loopwright.geo.ascent import LEAST_RISE_M
from loopwright.io.codec.wishes import put_wishes
from loopwright.io.json_file import metres
from loopwright.io.trim import parts_outside
from loopwright.io.wgs import line_string
from loopwright.model.arrays import Floats
from loopwright.model.document import PrivateCircle
from loopwright.model.loops import FoundLoop, SearchResult
from loopwright.model.wishes import Wishes

_BOUND_STEP = 1e6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoopEntry:
    """One found loop and what the search does not know of it.

    ``line`` ``(n, 3)`` lon, lat, ele; ``density_per_km`` wanted features a km in all and
    ``density_by_kind`` by kind; ``inside_share`` 0..1 of the lap inside a wanted feature;
    ``lap_time_s`` None without a prediction.
    """

    found: FoundLoop
    name: str
    line: Floats
    density_per_km: float
    inside_share: float
    lap_time_s: float | None = None
    density_by_kind: Mapping[str, float] = field(default_factory=dict)


def loops_json(
    result: SearchResult,
    entries: Sequence[LoopEntry],
    wishes: Wishes,
    *,
    plan_for: date | None = None,
    private: PrivateCircle | None = None,
    attributions: Sequence[str] = (),
) -> dict[str, object]:
    """Return the answer of a search in the published shape."""
    return {
        "schema": 1,
        "attributions": list(attributions),
        "ascent_least_rise_m": LEAST_RISE_M,
        "plan_for": None if plan_for is None else plan_for.isoformat(),
        "wishes": put_wishes(wishes),
        "bound": math.ceil(result.bound * _BOUND_STEP) / _BOUND_STEP,
        "proven": result.proven,
        "seconds": metres(result.seconds),
        "most": {kind: metres(result.most[kind]) for kind in sorted(result.most)},
        "loops": [_loop(entry, private) for entry in entries],
    }


def _loop(entry: LoopEntry, private: PrivateCircle | None) -> dict[str, object]:
    found = entry.found
    parts = parts_outside(entry.line, private)
    return {
        "rank": found.rank,
        "name": entry.name,
        "score": round(found.score, 6),
        "match": round(found.match, 6),
        "length_m": metres(found.length_m),
        "ascent_m": metres(found.ascent_m),
        "density_per_km": metres(entry.density_per_km),
        "density_by_kind": {
            kind: metres(entry.density_by_kind[kind]) for kind in sorted(entry.density_by_kind)
        },
        "inside_share": metres(entry.inside_share),
        "lap_time_s": metres(entry.lap_time_s),
        "amounts": {kind: metres(found.amounts[kind]) for kind in sorted(found.amounts)},
        "stretches": [[str(stretch), way.value] for stretch, way in found.arcs],
        "geometry": line_string(max(parts, key=len)) if parts else None,
    }
