"""Tiles from an address a person typed, kept on disk: the one way out of the machine.

Gets a checked address; gives tiles as they come. Promises: nothing is asked before a tile is
wanted; answers are kept in a folder of limited size and used before the network is; a redirect to
anything but http or https is refused, and one from https to http too; an answer that is too large
or late is dropped; a tile that failed is not asked for again for a while. Imported only when an
address is in use: without one, no network code is loaded.
"""

from __future__ import annotations

import time
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QUrl, Signal
from PySide6.QtNetwork import (
    QNetworkAccessManager,
    QNetworkDiskCache,
    QNetworkReply,
    QNetworkRequest,
)

from loopwright import __version__
from loopwright.geo.tiles import TileName
from loopwright.io.tile_address import TileAddress

DISK_BYTES = 200 * 2**20
TILE_BYTES = 2_000_000
WAIT_MS = 10_000
AT_ONCE = 6
AGAIN_S = 60.0
"""A tile that failed is left alone for so long."""
COARSEST = 9
"""Where fine tiles are missing, coarser ones are asked for down to this zoom, about 40 km wide."""
HELD = 512
"""Tiles kept in memory."""
NOT_THERE = {
    QNetworkReply.NetworkError.ContentNotFoundError,
    QNetworkReply.NetworkError.ContentGoneError,
}


class TileWeb(QObject):
    """Asks one address for tiles."""

    came = Signal()
    """One tile more is here."""
    failed = Signal(str)
    """What went wrong, in a few words; told once until a tile comes again."""

    def __init__(self, address: TileAddress, folder: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.address = address
        self._tiles: dict[TileName, bytes] = {}
        self._left_alone: dict[TileName, float] = {}
        self._wanted: list[TileName] = []
        self._open: dict[TileName, QNetworkReply] = {}
        self._told = False
        self._manager = QNetworkAccessManager(self)
        self._manager.setRedirectPolicy(QNetworkRequest.RedirectPolicy.NoLessSafeRedirectPolicy)
        cache = QNetworkDiskCache(self._manager)
        cache.setCacheDirectory(str(folder))
        cache.setMaximumCacheSize(DISK_BYTES)
        self._manager.setCache(cache)

    def held(self) -> dict[TileName, bytes]:
        """Tiles that are here; a copy, safe to read on any thread."""
        return dict(self._tiles)

    @property
    def busy(self) -> bool:
        """Tell whether a tile is under way."""
        return bool(self._open)

    def want(self, tiles: tuple[TileName, ...]) -> None:
        """Ask for tiles, the first the most; what was wanted before and is not now is let go."""
        now = time.monotonic()
        missing = [
            tile for tile in tiles
            if tile not in self._tiles and self._left_alone.get(tile, 0.0) <= now
        ]  # fmt: skip
        for tile in [t for t in self._open if t not in missing]:
            self._open.pop(tile).abort()
        self._wanted = [tile for tile in missing if tile not in self._open]
        self._ask_next()

    def close(self) -> None:
        """Let go of everything under way."""
        self.want(())

    def _ask_next(self) -> None:
        while self._wanted and len(self._open) < AT_ONCE:
            tile = self._wanted.pop(0)
            reply = self._manager.get(self._request(tile))
            self._open[tile] = reply
            reply.setReadBufferSize(2 * TILE_BYTES)
            reply.readyRead.connect(partial(_hold_size, reply))
            reply.finished.connect(partial(self._ended, tile, reply))

    def _request(self, tile: TileName) -> QNetworkRequest:
        request = QNetworkRequest(QUrl(self.address.of(tile.zoom, tile.column, tile.row)))
        kinds = QNetworkRequest.KnownHeaders
        request.setHeader(kinds.UserAgentHeader, f"Loopwright/{__version__}")
        attributes = QNetworkRequest.Attribute
        request.setAttribute(
            attributes.CacheLoadControlAttribute, QNetworkRequest.CacheLoadControl.PreferCache
        )
        request.setAttribute(
            attributes.CookieLoadControlAttribute, QNetworkRequest.LoadControl.Manual
        )
        request.setAttribute(
            attributes.CookieSaveControlAttribute, QNetworkRequest.LoadControl.Manual
        )
        request.setMaximumRedirectsAllowed(3)
        request.setDecompressedSafetyCheckThreshold(TILE_BYTES)
        request.setTransferTimeout(WAIT_MS)
        return request

    def _ended(self, tile: TileName, reply: QNetworkReply) -> None:
        reply.deleteLater()
        if self._open.get(tile) is not reply:
            return
        del self._open[tile]
        data = bytes(reply.readAll().data())
        fine = reply.error() == QNetworkReply.NetworkError.NoError
        if fine and 0 < len(data) <= TILE_BYTES:
            self._keep(tile, data)
        else:
            self._leave_alone(tile, reply)
        self._ask_next()

    def _keep(self, tile: TileName, data: bytes) -> None:
        self._told = False
        while len(self._tiles) >= HELD:
            del self._tiles[next(iter(self._tiles))]
        self._tiles[tile] = data
        self.came.emit()

    def _leave_alone(self, tile: TileName, reply: QNetworkReply) -> None:
        self._left_alone[tile] = time.monotonic() + AGAIN_S
        if reply.error() in NOT_THERE:
            self._want_parent(tile)
        elif not self._told:
            self._told = True
            self.failed.emit(reply.errorString())

    def _want_parent(self, tile: TileName) -> None:
        """Ask for a coarser tile where a fine one is not there."""
        parent = tile.parent()
        known = parent in self._tiles or parent in self._open or parent in self._left_alone
        if tile.zoom > COARSEST and not known and parent not in self._wanted:
            self._wanted.append(parent)


def _hold_size(reply: QNetworkReply) -> None:
    if reply.bytesAvailable() > TILE_BYTES:
        reply.abort()
