"""The ground ledger: time on each ground this season against what race day may bring.

Gets ground met (seconds and metres by surface) and the metres of each surface in a race; gives a
line a surface, with the gaps named. Promises: time is compared with time. Metres of a race become
seconds at the rider's own speed on that ground, at the mean speed where it was hardly ridden.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from loopwright.model.season import GroundMet

GAP_BELOW = 0.5
"""A gap is ground met for less than half the share race day brings: our choice."""
ENOUGH_S = 120.0
"""Less time on a ground than this says little of the speed there: our choice."""
USUAL_MPS = 5.0
"""Speed while nothing was ridden; shares do not depend on it."""
OFFER_KIND = "every surface"
UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerLine:
    """One surface: seconds met this season and on race day; shares are of the known seconds."""

    surface: str
    met_s: float
    race_m: float
    race_s: float
    met_share: float
    race_share: float
    gap: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """All surfaces, race day's first; ``words`` says what is missing and what to ride for it."""

    lines: tuple[LedgerLine, ...]
    untagged_s: float
    words: str

    @property
    def gaps(self) -> tuple[str, ...]:
        """Names of the ground met too seldom."""
        return tuple(line.surface for line in self.lines if line.gap)

    @property
    def met_s(self) -> float:
        """Seconds met on ground with a name."""
        return sum(line.met_s for line in self.lines)


def added_up(parts: Iterable[Mapping[str, float]]) -> dict[str, float]:
    """Add metres by surface over races."""
    out: dict[str, float] = {}
    for part in parts:
        for surface, metres in part.items():
            out[surface] = out.get(surface, 0.0) + metres
    return out


def ground_ledger(met: GroundMet, race_m: Mapping[str, float]) -> Ledger:
    """Compare ground met this season with what race day may bring, metres by surface."""
    known = sorted({*met.time_s, *race_m} - {UNKNOWN})
    race_s = {surface: race_m.get(surface, 0.0) / speed_on(met, surface) for surface in known}
    met_all = sum(met.time_s.get(surface, 0.0) for surface in known)
    race_all = sum(race_s.values())
    lines = [_line(met, race_m, surface, race_s, (met_all, race_all)) for surface in known]
    lines.sort(key=lambda line: (-line.race_s, -line.met_s, line.surface))
    gaps = [line.surface for line in lines if line.gap]
    return Ledger(
        lines=tuple(lines), untagged_s=met.time_s.get(UNKNOWN, 0.0), words=_words(gaps, race_all)
    )


def speed_on(met: GroundMet, surface: str) -> float:
    """Speed of the rider on a surface, m/s: own where ridden enough, else the mean of all."""
    if met.time_s.get(surface, 0.0) >= ENOUGH_S:
        return met.length_m[surface] / met.time_s[surface]
    seconds = sum(met.time_s.values())
    return sum(met.length_m.values()) / seconds if seconds >= ENOUGH_S else USUAL_MPS


def _line(
    met: GroundMet,
    race_m: Mapping[str, float],
    surface: str,
    race_s: Mapping[str, float],
    all_s: tuple[float, float],
) -> LedgerLine:
    seconds = met.time_s.get(surface, 0.0), race_s[surface]
    met_share, race_share = (
        s / whole if whole else 0.0 for s, whole in zip(seconds, all_s, strict=True)
    )
    return LedgerLine(
        surface=surface,
        met_s=seconds[0],
        race_m=race_m.get(surface, 0.0),
        race_s=seconds[1],
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
