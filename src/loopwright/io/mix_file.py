"""Mix files: what a loop should offer, as JSON.

Gets ``{"name": ..., "targets": {kind: amount}, "weights": {kind: weight}}``; gives a Mix, and back.
Promises: an unknown kind, a missing target or a number that makes no sense is named.
"""

from __future__ import annotations

from pathlib import Path

from loopwright.errors import WorldError
from loopwright.io.codec.fields import Json
from loopwright.io.json_file import read_json, write_json
from loopwright.io.plain import plain
from loopwright.model.ground import AMOUNT_KINDS, EXTRA_KINDS, GROUND_PREFIX, SURFACES
from loopwright.model.wishes import Mix

_LIMIT = 1_000_000
_MOST = 1e9
_KINDS = (*AMOUNT_KINDS, *EXTRA_KINDS)
_SHAPE = 'write {"name": "...", "targets": {"climb_gain_m": 60}, "weights": {}}'


def read_mix(path: Path) -> Mix:
    """Return the mix in a file; raises WorldError naming the field that is wrong."""
    value = read_json(path, limit=_LIMIT)
    if not isinstance(value, dict):
        raise WorldError(str(path), "is not a mix", _SHAPE)
    unknown = sorted(set(value) - {"name", "targets", "weights"})
    if unknown:
        raise WorldError(str(path), f"has the unknown field {plain(unknown[0])!r}", _SHAPE)
    try:
        return Mix(
            name=_name(path, value),
            targets=_numbers(path, value, "targets"),
            weights=_numbers(path, value, "weights"),
        )
    except ValueError as error:
        raise WorldError(str(path), plain(str(error)), _SHAPE) from error


def _name(path: Path, value: Json) -> str:
    name = value.get("name", path.stem)
    if not isinstance(name, str) or not plain(name):
        raise WorldError(str(path), "'name' is not text", _SHAPE)
    return plain(name)


def _numbers(path: Path, value: Json, key: str) -> dict[str, float]:
    inner = value.get(key, {})
    if not isinstance(inner, dict):
        raise WorldError(str(path), f"{key!r} is not an object of kinds and numbers", _SHAPE)
    for kind, number in inner.items():
        if not is_kind(kind):
            raise WorldError(
                str(path), f"{key!r} has the unknown kind {plain(kind)!r}",
                f"use {', '.join(_KINDS)} or {GROUND_PREFIX}<surface>",
            )  # fmt: skip
        if isinstance(number, bool) or not isinstance(number, int | float):
            raise WorldError(str(path), f"{key!r} of {kind} is not a number", _SHAPE)
        if abs(number) > _MOST:
            raise WorldError(str(path), f"{key!r} of {kind} is absurdly large", _SHAPE)
    return {kind: float(number) for kind, number in inner.items()}


def is_kind(kind: str) -> bool:
    """Tell whether ``kind`` is an amount that loops are measured by."""
    return kind in _KINDS or (
        kind.startswith(GROUND_PREFIX) and kind.removeprefix(GROUND_PREFIX) in SURFACES
    )


def write_mix(mix: Mix, path: Path | str) -> None:
    """Write a mix so that ``read_mix`` gives it back; ``-`` writes to standard output."""
    write_json(path, {"name": mix.name, "targets": dict(mix.targets), "weights": dict(mix.weights)})
