"""``loopwright desktop``: an entry in the desktop's menu, and areas opened by clicking them.

Gets nothing or ``--remove``; writes four small files below the user's data folder, as the open
specifications of freedesktop.org lay them out (Desktop Entry 1.5, Shared MIME-info 0.21, Icon
Theme 0.13, Base Directory 0.8). Promises: nothing outside the user's own folders; ``--remove``
takes away exactly what was written; a second time changes nothing.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
from pathlib import Path

from platformdirs import user_data_path

from loopwright.errors import WorldError
from loopwright.io.files import worldly, write_bytes
from loopwright.resources import folder

KIND = "application/x-loopwright-area"
ENTRY = """[Desktop Entry]
Version=1.5
Type=Application
Name=Loopwright
GenericName=Practice loop designer
Comment=Practice loops for cross-country racing, from your own rides
Exec={command} %f
Icon=loopwright
Terminal=false
StartupWMClass=loopwright
Categories=Sports;Science;
Keywords=mountain bike;trail;lap;GPX;
MimeType={kind};
"""
TYPES = """<?xml version="1.0" encoding="UTF-8"?>
<mime-info xmlns="http://www.freedesktop.org/standards/shared-mime-info">
  <mime-type type="{kind}">
    <comment>Loopwright area</comment>
    <sub-class-of type="application/zip"/>
    <icon name="loopwright"/>
    <glob pattern="*.loopwright"/>
  </mime-type>
</mime-info>
"""
TOLD = (("update-mime-database", "mime"), ("update-desktop-database", "applications"))
"""Programs that tell the desktop of new files, and the folder each is given."""
_RESERVED = '"`$\\'


def run(options: argparse.Namespace) -> int:
    """Write the entry, or take it away."""
    if not sys.platform.startswith("linux"):
        raise WorldError(
            "desktop", "this system keeps its menu in its own way",
            "choose Loopwright once under 'open with' for a .loopwright file",
        )  # fmt: skip
    data = user_data_path()
    files = pieces()
    for name, content in files.items():
        path = data / name
        if options.remove:
            with worldly(path):
                path.unlink(missing_ok=True)
        else:
            with worldly(path.parent):
                path.parent.mkdir(parents=True, exist_ok=True)
            write_bytes(path, content)
    _tell(data)
    done = "is out of" if options.remove else "is in"
    sys.stdout.write(f"Loopwright {done} the menu of this desktop ({data})\n")
    return 0


def pieces() -> dict[str, bytes]:
    """Give what is written, by path below the data folder."""
    icons = folder("assets") / "icons"
    return {
        "applications/loopwright.desktop": ENTRY.format(command=command(), kind=KIND).encode(),
        "mime/packages/loopwright.xml": TYPES.format(kind=KIND).encode(),
        "icons/hicolor/scalable/apps/loopwright.svg": (icons / "loopwright.svg").read_bytes(),
        "icons/hicolor/256x256/apps/loopwright.png": (icons / "loopwright.png").read_bytes(),
    }


def command() -> str:
    """Give the words that start this very program, quoted as Desktop Entry 1.5 asks."""
    frozen = getattr(sys, "frozen", False)
    beside = Path(sys.executable).with_name("loopwright")
    if frozen or beside.exists():
        return quoted(str(sys.executable if frozen else beside))
    return f"{quoted(sys.executable)} -m loopwright"


def quoted(word: str) -> str:
    """Quote one word of an Exec line; a percent sign is doubled, for it would begin a field."""
    inner = "".join(f"\\{c}" if c in _RESERVED else c for c in word).replace("%", "%%")
    # The value is itself a string in which a backslash is written twice.
    return '"' + inner.replace("\\", "\\\\") + '"'


def _tell(data: Path) -> None:
    for program, name in TOLD:
        found = shutil.which(program)
        if found is not None and (data / name).is_dir():
            subprocess.run(  # noqa: S603 - fixed words: a program found on PATH, a folder of ours
                [found, str(data / name)], check=False, capture_output=True, timeout=60
            )
