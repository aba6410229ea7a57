"""Opening a GeoTIFF by the optional library rasterio: heights and map pictures share it.

Gets a path; gives the library or an open file. Promises: a missing library, a damaged file and one
that lies nowhere are each one sentence, and nothing of the library's own faults gets past.
"""

from __future__ import annotations

from importlib import import_module
from pathlib import Path
from typing import Any

from loopwright.errors import WorldError


def rasterio_for(path: Path, *, part: str, instead: str) -> Any:
    """Return the library with one ``part`` of it; ``instead`` names another kind of file."""
    try:
        import rasterio

        import_module(f"rasterio.{part}")
    except ImportError:
        raise WorldError(
            str(path), "is a GeoTIFF, which needs the optional library rasterio",
            f"install loopwright[heights] or give {instead}",
        ) from None  # fmt: skip
    return rasterio


def faults(library: Any) -> tuple[type[Exception], ...]:
    """Return what the library raises over a file or a frame it cannot use."""
    return (library.errors.RasterioError, library._err.CPLE_BaseError, ValueError)  # noqa: SLF001 - what it raises has no other name


def opened(library: Any, path: Path, *, pick: str) -> Any:
    """Open a file; raises WorldError, with ``pick`` for what to give instead."""
    try:
        return library.open(path)
    except faults(library) as error:
        raise damaged(path, pick=pick) from error


def damaged(path: Path, *, pick: str) -> WorldError:
    """Say that a file is damaged."""
    return WorldError(str(path), "is a damaged GeoTIFF", pick)


def check_place(source: Any, path: Path, *, pick: str) -> None:
    """Raise WorldError unless an open file says where on the globe it lies."""
    crs = source.crs
    on_globe = crs is not None and (crs.is_geographic or crs.is_projected)
    if not on_globe or source.transform.is_degenerate:
        raise WorldError(str(path), "does not say where on the globe it lies", pick)
