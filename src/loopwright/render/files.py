"""Put finished bytes on disk, whole or not at all.

Gets bytes; gives a file. Promises: an older file of that name stays as it was until the new one is
complete, and every failure of the disk is one clear sentence.
"""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from loopwright.errors import WorldError


def write_whole(path: Path, content: bytes) -> None:
    """Write beside, flush to disk, then replace; raises WorldError naming ``path``."""
    beside = path.with_name(f".{path.name}.part")
    try:
        with beside.open("wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        beside.replace(path)
    except OSError as error:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
        why = error.strerror or "the disk refused"
        remedy = "choose a folder that can be written to and has room"
        raise WorldError(str(path), f"cannot be written ({why.lower()})", remedy) from error
