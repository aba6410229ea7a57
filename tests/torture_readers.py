"""What the fuzzer feeds: each reader, a whole file to start from, and how bytes become a file."""

from __future__ import annotations

import io
import json
import os
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
from fitdecode.utils import compute_crc

from io_help import document, packed, terrain
from loopwright.app.background_paint import MOST_TILE_PX, decoded
from loopwright.errors import WorldError
from loopwright.io.area_file import area_bytes, load_area
from loopwright.io.area_zip import MANIFEST
from loopwright.io.background_file import open_background
from loopwright.io.built_cache import BuiltCache
from loopwright.io.geojson import read_ground
from loopwright.io.gpx_read import read_gpx
from loopwright.io.ground_file import read_tags
from loopwright.io.heights import open_heights
from loopwright.io.mix_file import read_mix
from loopwright.io.osm import read_osm
from loopwright.io.preferences import load_preferences
from loopwright.io.tile_address import tile_address
from loopwright.io.tracks import read_tracks
from loopwright.model.rider import FitValue, RiderFit
from test_io_fit import fit_bytes
from test_io_fuzz import GPX, LINES, MIX, OSM, PREFERENCES
from tiles_help import square, tile_file

Make = Callable[[bytes], bytes]
TILE_KINDS = ("PNG", "JPG", "WEBP")


@dataclass(frozen=True, kw_only=True)
class Target:
    """One reader: ``make`` turns the fuzzer's bytes into the file ``name`` that ``read`` opens."""

    read: Callable[[Path], object]
    seeds: tuple[bytes, ...]
    make: Make = bytes
    name: str = "in"
    longest: int = 4096
    size: int = 0
    """If set, the file is filled up or cut to so many bytes."""

    def put(self, data: bytes, path: Path) -> None:
        """Write the file."""
        path.write_bytes(self.make(data))
        if self.size:
            os.truncate(path, self.size)


def answers(read: Callable[[Path], object], path: Path) -> None:
    """Read and accept nothing but an answer or one clear line."""
    try:
        read(path)
    except WorldError as error:
        words = str(error)
        if not (words.isprintable() and words.startswith(f"{path}: ") and len(words) < 700):
            message = f"not one clear line: {words[:900]!r}"
            raise AssertionError(message) from error


def _whole() -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(area_bytes(document()))) as archive:
        return {name: archive.read(name) for name in archive.namelist() if name != MANIFEST}


WHOLE = _whole()
ARRAY = next(name for name in sorted(WHOLE) if name.endswith(".npy"))


def with_words(data: bytes) -> bytes:
    """Make an honest archive around a document gone wrong."""
    return packed(WHOLE | {"document.json": data})


def with_array(data: bytes) -> bytes:
    """Make an honest archive around an array gone wrong."""
    return packed(WHOLE | {ARRAY: data})


def with_sums(data: bytes) -> bytes:
    """Mend the length and both checksums of a FIT file, so that its content is looked at."""
    if len(data) < 15:
        return data
    body = data[14:-2]
    head = bytes([14]) + data[1:4] + struct.pack("<I", len(body)) + b".FIT"
    whole = head + struct.pack("<H", compute_crc(head)) + body
    return whole + struct.pack("<H", compute_crc(whole))


def use_heights(path: Path) -> None:
    """Open and ask, as the program does."""
    open_heights(path).at(np.array([46.5, -89.9]), np.array([13.2, 179.9]))


def use_tags(path: Path) -> None:
    """Read lines as ground words and as plain lines."""
    with suppress(WorldError):
        read_ground(path)
    read_tags(path)


def use_cache(path: Path) -> None:
    """Read a kept network and a kept fit; both may only answer or give None."""
    cache = BuiltCache(path.parent)
    cache.get(path.stem, ())


def use_kept_fit(path: Path) -> None:
    """Read a kept rider fit."""
    BuiltCache(path.parent).get_fit(path.stem)


def use_background(path: Path) -> None:
    """Open a background and take tiles of it, as the map does."""
    source = open_background(path)
    for zoom, column, row in ((0, 0, 0), (1, 1, 0), (12, 2198, 1446)):
        decoded(source.tile(zoom, column, row))


def use_tile_picture(path: Path) -> None:
    """Unpack one tile, from wherever it came."""
    image = decoded(path.read_bytes())
    assert image is None or max(image.width(), image.height()) <= MOST_TILE_PX


def use_address(path: Path) -> None:
    """Take what a person typed for the address of a tile server."""
    try:
        address = tile_address(path.read_text("latin-1"))
    except WorldError as error:
        raise WorldError(str(path), str(error), "type it again") from error
    assert address.of(1, 2, 3).lower().startswith(("http://", "https://"))
    assert address.host


def tile_bytes() -> bytes:
    """A small MBTiles file: small pages, so that the fuzzer meets every part of it."""
    import sqlite3
    import tempfile
    from contextlib import closing

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "t.mbtiles"
        tile_file(
            path, {(0, 0, 0): square("#123456", 4), (1, 1, 0): square("#654321", 4)},
            name="Invented", format="png", attribution="<b>Nobody</b>",
        )  # fmt: skip
        with closing(sqlite3.connect(path)) as link:
            link.execute("PRAGMA page_size = 512")
            link.execute("VACUUM")
        return path.read_bytes()


def kept_network() -> bytes:
    """Bytes of a network as the cache keeps it."""
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        BuiltCache(Path(folder)).put("in", terrain().network, ())
        return (Path(folder) / "in.npz").read_bytes()


def kept_fit() -> bytes:
    """Bytes of a rider fit as the cache keeps it."""
    value = FitValue(value=250.0, low=240.0, high=260.0, observations=3)
    fit = RiderFit(
        values={"sustain_power_w": value}, error_share=0.03, words="from three rides",
        spread_keys=("sustain_power_w",), spread_rows=((0.01,),),
    )  # fmt: skip
    return json.dumps(asdict(fit)).encode()


def _blob(kind: bytes, raw: bytes) -> bytes:
    """One block of a PBF extract: a header, then its content packed with zlib."""
    packed_raw = zlib.compress(raw)
    blob = _field(2, len(raw)) + _bytes_field(3, packed_raw)
    head = _bytes_field(1, kind) + _field(3, len(blob))
    return struct.pack(">I", len(head)) + head + blob


def _varint(value: int) -> bytes:
    out = bytearray()
    while value > 127:
        out.append(value & 127 | 128)
        value >>= 7
    return bytes([*out, value])


def _field(number: int, value: int) -> bytes:
    return _varint(number << 3) + _varint(value)


def _bytes_field(number: int, value: bytes) -> bytes:
    return _varint(number << 3 | 2) + _varint(len(value)) + value


def as_pbf(data: bytes) -> bytes:
    """Make an extract whose data block holds ``data``, with an honest header."""
    head = _bytes_field(4, b"OsmSchema-V0.6") + _bytes_field(4, b"DenseNodes")
    return _blob(b"OSMHeader", head) + _blob(b"OSMData", data)


def pbf_content() -> bytes:
    """One data block with two nodes and a path between them."""
    words = b"".join(_bytes_field(1, word) for word in (b"", b"highway", b"path"))
    nodes = b"".join(
        _bytes_field(1, _field(1, 2 * k) + _field(8, 930000000 + k) + _field(9, 264000000 + k))
        for k in (1, 2)
    )
    way = _field(1, 3) + _bytes_field(2, b"\1") + _bytes_field(3, b"\2") + _bytes_field(8, b"\2\2")
    return _bytes_field(1, words) + _bytes_field(2, nodes) + _bytes_field(2, _bytes_field(3, way))


def tiff(bands: int, kind: str) -> bytes:
    """A small GeoTIFF if the optional library is there, else only its first bytes."""
    try:
        from rasterio.io import MemoryFile
        from rasterio.transform import Affine
    except ImportError:
        return b"II*\0" + bytes(50)
    with MemoryFile() as file:
        with file.open(
            driver="GTiff", width=4, height=3, count=bands, dtype=kind, crs="EPSG:4326",
            transform=Affine(0.25, 0.0, 13.0, 0.0, -0.25, 47.0),
        ) as sink:  # fmt: skip
            sink.write(np.arange(12 * bands, dtype=kind).reshape(bands, 3, 4))
        return bytes(file.read())


def _gpx() -> Iterator[bytes]:
    yield GPX.encode()
    yield GPX.replace("<ele>", "<ele> ").encode()
    yield GPX.replace("UTF-8", "UTF-16").encode("utf-16")


def targets() -> dict[str, Target]:
    """Every reader by name."""
    fit = fit_bytes(6)
    lines = LINES.encode()
    return {
        "gpx": Target(read=read_gpx, seeds=tuple(_gpx()), longest=8192),
        "fit": Target(read=read_tracks, seeds=(fit,)),
        "fit content": Target(read=read_tracks, seeds=(fit,), make=with_sums),
        "area": Target(read=load_area, seeds=(area_bytes(document()),), longest=16384),
        "area document": Target(
            read=load_area, seeds=(WHOLE["document.json"],), make=with_words, longest=16384
        ),
        "area array": Target(read=load_area, seeds=(WHOLE[ARRAY],), make=with_array),
        "ground lines": Target(read=use_tags, seeds=(lines,)),
        "mix": Target(read=read_mix, seeds=(MIX.encode(),)),
        "osm xml": Target(read=read_osm, seeds=(OSM.encode(),)),
        "osm pbf": Target(read=read_osm, seeds=(pbf_content(),), make=as_pbf),
        "osm pbf raw": Target(read=read_osm, seeds=(as_pbf(pbf_content()),)),
        "height tile": Target(
            read=use_heights, seeds=(bytes(64),), size=2 * 1201**2, name="N46E013.hgt", longest=256
        ),
        "height tiff": Target(read=use_heights, seeds=(tiff(1, "float32"),)),
        "tile file": Target(read=use_background, seeds=(tile_bytes(),), longest=8192),
        "tile picture": Target(
            read=use_tile_picture, seeds=tuple(square("#a05", 8, kind=k) for k in TILE_KINDS)
        ),
        "tile tiff": Target(read=use_background, seeds=(tiff(3, "uint8"),)),
        "tile address": Target(
            read=use_address,
            seeds=(b"https://tiles.example:8080/{z}/{x}/{y}.png?k=1",),
            longest=600,
        ),
        "preferences": Target(read=load_preferences, seeds=(PREFERENCES.encode(),)),
        "kept network": Target(read=use_cache, seeds=(kept_network(),), name="in.npz"),
        "kept fit": Target(read=use_kept_fit, seeds=(kept_fit(),), name="in.json"),
    }
