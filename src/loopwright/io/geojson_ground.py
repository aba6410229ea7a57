"""What the ground of a whole stretch is called.

Gets spans of ground; gives the word that covers the most metres, ``unknown`` if nothing is tagged.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from loopwright.model.ground import GroundSpan

_KEYS = ("surface", "roughness", "width")


def dominating(spans: Sequence[GroundSpan]) -> dict[str, object]:
    """Return each ground word by the most metres; a tie goes by name."""
    words: dict[str, object] = {key: _most(spans, key) for key in _KEYS}
    words["banked"] = _covers_half(spans, "banked")
    words["roots"] = _covers_half(spans, "roots")
    words["obstacles"] = _covers_half(spans, "obstacles")
    return words


def _most(spans: Sequence[GroundSpan], key: str) -> str:
    metres: Counter[str] = Counter()
    for span in spans:
        metres[str(getattr(span, key))] += max(0.0, span.to_m - span.from_m)  # type: ignore[assignment]  # a Counter may count metres
    return min(metres, key=lambda word: (-metres[word], word)) if metres else "unknown"


def _covers_half(spans: Sequence[GroundSpan], key: str) -> bool:
    total = sum(span.to_m - span.from_m for span in spans)
    held = sum(span.to_m - span.from_m for span in spans if getattr(span, key))
    return held > total / 2
