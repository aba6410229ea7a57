"""Built networks and rider fits kept on disk, so that the next command need not build again.

Gets what a network was built from, gives the network or None. Promises: the key covers every
input, so a stale answer is impossible; a damaged or foreign file counts as absent; nothing here is
truth, the folder may be deleted at any time.
"""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
import zlib
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from loopwright import __version__
from loopwright.errors import WorldError
from loopwright.io.codec.rider import put_rider
from loopwright.io.files import write_bytes
from loopwright.model.arrays import Floats
from loopwright.model.document import PrivateCircle
from loopwright.model.frame import Origin
from loopwright.model.ground import Tag
from loopwright.model.ids import JunctionId, RideId, StretchId, Way, Ways
from loopwright.model.network import Aside, Correction, Junction, Network, Pass, Stretch
from loopwright.model.rider import FitValue, Rider, RiderFit
from loopwright.model.track import Ride

KEEP = 12
"""Networks kept, newest first: a handful of areas and their last few states."""
LIMIT_BYTES = 256 * 2**20
_DAMAGE = (
    OSError, EOFError, ValueError, LookupError, TypeError, AttributeError, RuntimeError,
    MemoryError, zipfile.BadZipFile, zlib.error,
)  # fmt: skip
"""What a file that is not whole, or not ours, makes the libraries raise."""


class BuiltCache:
    """A folder of built networks."""

    def __init__(self, folder: Path, code_mark: str = "") -> None:
        self._folder = folder
        self._mark = code_mark

    def key(
        self,
        rides: Iterable[Ride],
        origin: Origin,
        corrections: Sequence[Correction],
        private: PrivateCircle | None,
    ) -> str:
        """Give a name that changes with every input and with the program's version."""
        digest = hashlib.sha256(f"{__version__} {self._mark} {origin} {private}".encode())
        for ride in rides:
            digest.update(f"{ride.id} {ride.role} {ride.hidden}".encode())
        for correction in corrections:
            digest.update(f"{correction.kind} {correction.value!r}".encode())
            digest.update(np.ascontiguousarray(correction.line).tobytes())
        return digest.hexdigest()[:32]

    def fit_key(self, key: str, tags: Sequence[Tag], rider: Rider, plan_for: date | None) -> str:
        """Give a name for the rider's fit on the network called ``key``."""
        digest = hashlib.sha256(f"{key} {put_rider(rider)} {plan_for}".encode())
        for tag in tags:
            digest.update(f"{tag.surface} {tag.roughness} {tag.width} {tag.banked}".encode())
            digest.update(f"{tag.roots} {tag.obstacles} {tag.on} {tag.source}".encode())
            digest.update(np.ascontiguousarray(tag.line).tobytes())
        return digest.hexdigest()[:32]

    def get_fit(self, key: str) -> RiderFit | None:
        """Read a rider's fit back, or None when it is not there or not whole."""
        try:
            said = json.loads((self._folder / f"{key}.json").read_text("utf-8"))
            values = {name: FitValue(**value) for name, value in said.pop("values").items()}
            rows = tuple(tuple(row) for row in said.pop("spread_rows"))
            keys = tuple(said.pop("spread_keys"))
            trails = {
                arc: tuple(FitValue(**value) for value in parts)
                for arc, parts in said.pop("trails").items()
            }
            return RiderFit(
                values=values, spread_keys=keys, spread_rows=rows, trails=trails, **said
            )
        except _DAMAGE:
            return None

    def put_fit(self, key: str, fit: RiderFit) -> None:
        """Keep a rider's fit."""
        self._write(f"{key}.json", json.dumps(asdict(fit)).encode())

    def get(self, key: str, corrections: Sequence[Correction]) -> Network | None:
        """Read a network back, or None when it is not there or not whole."""
        path = self._folder / f"{key}.npz"
        try:
            if not path.is_file() or path.stat().st_size > LIMIT_BYTES:
                return None
            data = io.BytesIO(path.read_bytes())
            with np.load(data, allow_pickle=False) as kept:
                return _unpacked({name: kept[name] for name in kept.files}, corrections)
        except _DAMAGE:
            return None

    def put(self, key: str, network: Network, corrections: Sequence[Correction]) -> None:
        """Keep a network; a full disk or a read-only folder is no trouble."""
        buffer = io.BytesIO()
        packed = _packed(network, corrections)
        np.savez_compressed(
            buffer, head=packed["head"], points=packed["points"], meets=packed["meets"]
        )
        self._write(f"{key}.npz", buffer.getvalue())

    def _write(self, name: str, data: bytes) -> None:
        with suppress(WorldError, OSError):
            self._folder.mkdir(parents=True, exist_ok=True)
            write_bytes(self._folder / name, data)
            same = sorted(self._folder.glob(f"*{name[-4:]}"), key=lambda p: -p.stat().st_mtime)
            for old in same[KEEP:]:
                old.unlink(missing_ok=True)


def _packed(network: Network, corrections: Sequence[Correction]) -> dict[str, Floats]:
    heads = [
        {
            "id": s.id,
            "ends": [s.start, s.end],
            "ways": s.ways.value,
            "suggested": s.suggested.value,
            "name": s.name,
            "unridden": s.unridden,
            "points": len(s.xy),
            "passes": [
                [p.ride, p.way.value, None if np.isnan(p.time_s) else p.time_s, p.first, p.last]
                for p in s.passes
            ],
        }
        for s in network.stretches
    ]
    places = {id(c): k for k, c in enumerate(corrections)}
    head = {
        "origin": [network.origin.lat, network.origin.lon],
        "stretches": heads,
        "junctions": [[j.id, j.degree] for j in network.junctions],
        "unfit": [places[id(c)] for c in network.unfit],
        "asides": [asdict(aside) for aside in network.asides],
    }
    points = [np.column_stack((s.xy, s.ele_m, s.std_error_m)) for s in network.stretches]
    meets = [[*j.xy, j.ele_m] for j in network.junctions]
    return {
        "head": np.frombuffer(json.dumps(head).encode(), dtype=np.uint8).astype(np.float64),
        "points": np.vstack(points) if points else np.zeros((0, 4)),
        "meets": np.array(meets, dtype=np.float64).reshape(-1, 3),
    }


def _unpacked(kept: dict[str, Floats], corrections: Sequence[Correction]) -> Network:
    head = json.loads(kept["head"].astype(np.uint8).tobytes())
    cuts = np.cumsum([s["points"] for s in head["stretches"]])[:-1]
    parts = np.split(kept["points"], cuts)
    return Network(
        origin=Origin(lat=head["origin"][0], lon=head["origin"][1]),
        stretches=tuple(
            _stretch(s, part) for s, part in zip(head["stretches"], parts, strict=False)
        ),
        junctions=tuple(
            Junction(id=JunctionId(name), degree=degree, xy=row[:2], ele_m=float(row[2]))
            for (name, degree), row in zip(head["junctions"], kept["meets"], strict=True)
        ),
        unfit=tuple(corrections[k] for k in head["unfit"]),
        asides=tuple(Aside(**said) for said in head["asides"]),
    )


def _stretch(said: dict[str, Any], part: Floats) -> Stretch:
    return Stretch(
        id=StretchId(said["id"]),
        start=JunctionId(said["ends"][0]),
        end=JunctionId(said["ends"][1]),
        xy=part[:, :2],
        ele_m=part[:, 2],
        std_error_m=part[:, 3],
        passes=tuple(
            Pass(
                ride=RideId(ride),
                way=Way(way),
                time_s=np.nan if time_s is None else time_s,
                first=first,
                last=last,
            )
            for ride, way, time_s, first, last in said["passes"]
        ),
        ways=Ways(said["ways"]),
        suggested=Ways(said["suggested"]),
        name=said["name"],
        unridden=said["unridden"],
    )
