"""The season as JSON (``season --json``).

Gets a SeasonPlan; gives plain JSON values: the wishes and one entry a dated session.
"""

from __future__ import annotations

from loopwright.io.codec.season import put_season
from loopwright.model.season import SeasonPlan


def season_json(plan: SeasonPlan) -> dict[str, object]:
    """Return the season: ``schema``, ``wishes`` (races, weeks, days) and ``sessions`` by date."""
    return {"schema": 1, **put_season(plan)}
