"""The address of a tile server, as a person types it.

Gets words; gives a checked address or one sentence saying what is wrong. Promises: only http and
https are ever asked, and every address names zoom, column and row.
"""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlsplit

from loopwright.errors import WorldError

LIMIT = 500
_PARTS = ("{z}", "{x}", "{y}")
_SAMPLE = "for example https://tiles.example/{z}/{x}/{y}.png"


@dataclass(frozen=True, slots=True)
class TileAddress:
    """An address with ``{z}``, ``{x}`` and ``{y}`` in it."""

    words: str

    @property
    def host(self) -> str:
        """The machine that is asked."""
        return urlsplit(self.words).hostname or ""

    @property
    def safe(self) -> bool:
        """Tell whether nobody on the way can read what is asked."""
        return urlsplit(self.words).scheme == "https"

    def of(self, zoom: int, column: int, row: int) -> str:
        """Return the address of one tile."""
        filled = self.words
        for part, value in zip(_PARTS, (zoom, column, row), strict=True):
            filled = filled.replace(part, str(value))
        return filled


def tile_address(words: str) -> TileAddress:
    """Check an address; raises WorldError."""
    words = words.strip()
    if len(words) > LIMIT or not words.isascii() or not words.isprintable() or " " in words:
        raise WorldError("tile address", "is no address", _SAMPLE)
    try:
        parts = urlsplit(words)
        port, host = parts.port, parts.hostname
    except ValueError as error:
        raise WorldError("tile address", "is no address", _SAMPLE) from error
    if parts.scheme not in {"http", "https"}:
        raise WorldError("tile address", "must begin with https:// or http://", _SAMPLE)
    if not host or port == 0 or "{" in parts.netloc:
        raise WorldError("tile address", "names no machine to ask", _SAMPLE)
    if parts.username or parts.password:
        raise WorldError("tile address", "holds a password", "leave the name and password out")
    missing = [part for part in _PARTS if part not in words]
    if missing:
        raise WorldError("tile address", f"lacks {' and '.join(missing)}", _SAMPLE)
    return TileAddress(words)
