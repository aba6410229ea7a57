"""Invented map tiles: plain squares whose colour tells which tile they are."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QColor, QImage, QImageWriter


def square(colour: str, side: int = 256, *, kind: str = "PNG") -> bytes:
    """A picture of one colour."""
    image = QImage(side, side, QImage.Format.Format_RGB32)
    image.fill(QColor(colour))
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, QByteArray(kind.encode())).write(image)
    return bytes(data.data())


def tile_file(path: Path, tiles: dict[tuple[int, int, int], bytes], **said: str) -> Path:
    """Write an MBTiles file as its specification 1.3 lays it out: rows counted from the south."""
    with closing(sqlite3.connect(path)) as link, link:
        link.execute("CREATE TABLE metadata (name text, value text)")
        link.execute(
            "CREATE TABLE tiles (zoom_level integer, tile_column integer, tile_row integer, "
            "tile_data blob)"
        )
        link.executemany("INSERT INTO metadata VALUES (?, ?)", said.items())
        link.executemany(
            "INSERT INTO tiles VALUES (?, ?, ?, ?)",
            [(z, x, 2**z - 1 - y, data) for (z, x, y), data in tiles.items()],
        )
    return path


@dataclass
class Server:
    """A tile server on the loopback address that notes what it was asked."""

    address: str = ""
    asked: list[str] = field(default_factory=list)
    agents: list[str] = field(default_factory=list)
    body: bytes = b""
    status: int = 200
    to: str = ""
    keep_s: int = 3600


@contextmanager
def tile_server(body: bytes) -> Iterator[Server]:
    """Serve one picture for every tile until the block ends."""
    told = Server(body=body)

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            told.asked.append(self.path)
            told.agents.append(self.headers.get("User-Agent", ""))
            self.send_response(told.status)
            if told.to:
                self.send_header("Location", told.to)
            self.send_header("Content-Type", "image/png")
            self.send_header("Cache-Control", f"max-age={told.keep_s}")
            self.send_header("Content-Length", str(len(told.body)))
            self.end_headers()
            self.wfile.write(told.body)

        def log_message(self, *_args: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    told.address = f"http://127.0.0.1:{server.server_address[1]}/{{z}}/{{x}}/{{y}}.png"
    try:
        yield told
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
