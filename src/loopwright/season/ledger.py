"""The ground ledger: ground met this season against what race day may bring.

Gets metres by surface, ridden and expected; gives a line a surface, with the gaps named.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

GAP_BELOW = 0.5
"""A gap is ground met at less than half the share race day brings: our choice."""
OFFER_KIND = "every surface"
UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerLine:
    """One surface: metres met this season and on race day; shares are of the known metres."""

    surface: str
    met_m: float
    race_m: float
    met_share: float
    race_share: float
    gap: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """All surfaces, race day's first; ``words`` says what is missing and what to ride for it."""

    lines: tuple[LedgerLine, ...]
    untagged_m: float
    words: str

    @property
    def gaps(self) -> tuple[str, ...]:
        """Names of the ground met too seldom."""
        return tuple(line.surface for line in self.lines if line.gap)


def added_up(parts: Iterable[Mapping[str, float]]) -> dict[str, float]:
    """Add metres by surface over rides or races."""
    out: dict[str, float] = {}
    for part in parts:
        for surface, metres in part.items():
            out[surface] = out.get(surface, 0.0) + metres
    return out


def ground_ledger(met_m: Mapping[str, float], race_m: Mapping[str, float]) -> Ledger:
    """Compare ground met this season with what race day may bring, metres by surface."""
    known = sorted({*met_m, *race_m} - {UNKNOWN})
    met_all = sum(met_m.get(surface, 0.0) for surface in known)
    race_all = sum(race_m.get(surface, 0.0) for surface in known)
    lines = [
        _line(surface, (met_m.get(surface, 0.0), race_m.get(surface, 0.0)), (met_all, race_all))
        for surface in known
    ]
    lines.sort(key=lambda line: (-line.race_m, -line.met_m, line.surface))
    gaps = [line.surface for line in lines if line.gap]
    return Ledger(
        lines=tuple(lines), untagged_m=met_m.get(UNKNOWN, 0.0), words=_words(gaps, race_all)
    )


def _line(surface: str, metres: tuple[float, float], all_m: tuple[float, float]) -> LedgerLine:
    met_share, race_share = (
        m / whole if whole else 0.0 for m, whole in zip(metres, all_m, strict=True)
    )
    return LedgerLine(
        surface=surface,
        met_m=metres[0],
        race_m=metres[1],
        met_share=met_share,
        race_share=race_share,
        gap=race_share > 0.0 and met_share < GAP_BELOW * race_share,
    )


def _words(gaps: list[str], race_all: float) -> str:
    if race_all == 0.0:
        return "Enter the ground of race day, or measure it from a race lap, to see the gaps."
    if not gaps:
        return "No gap: the ground of race day was met in its share."
    return f"Met too seldom: {', '.join(gaps)}. Ride a loop of the mix '{OFFER_KIND}'."
