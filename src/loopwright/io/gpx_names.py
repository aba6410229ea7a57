"""Names of what devices record beside position, height and time, whatever their namespace."""

from __future__ import annotations

_EXTRAS = {
    "power": "power_w", "powerinwatts": "power_w", "watts": "power_w",
    "hr": "heart_rate_bpm", "heartrate": "heart_rate_bpm",
    "cad": "cadence_rpm", "cadence": "cadence_rpm",
}  # fmt: skip


def extra_key(name: str) -> str | None:
    """Return the key of RecordedTrack.extras for an element's local name, None for others."""
    return _EXTRAS.get(name.lower())
