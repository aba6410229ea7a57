"""Where shipped files lie: inside an installed package, or in the project folder when editable."""

from __future__ import annotations

from pathlib import Path


def folder(name: str) -> Path:
    """Return the folder ``name`` (``assets`` or ``sample_tracks``).

    Raises FileNotFoundError when the installation is incomplete.
    """
    here = Path(__file__).resolve().parent
    for candidate in (here / name, here.parents[1] / name):
        if candidate.is_dir():
            return candidate
    message = f"the installation lacks its {name} folder; install Loopwright again"
    raise FileNotFoundError(message)
