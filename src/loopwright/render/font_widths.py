"""Make the table of glyph advances that lets layouts measure text without Qt.

Gets the shipped fonts; gives ``assets/fonts/widths.json``. Run ``python -m
loopwright.render.font_widths`` after changing a font. Promises: the same fonts give the same bytes.
"""

from __future__ import annotations

import json
from pathlib import Path

from PySide6.QtGui import QFont, QRawFont

from loopwright.render.application import ensure_application
from loopwright.resources import folder

EM = 1000
BLOCKS = ((0x20, 0x24F), (0x370, 0x52F), (0x590, 0x6FF), (0x1E00, 0x1EFF), (0x2000, 0x22FF))
STYLES = {
    "regular": ("NotoSans-Regular", "NotoSansHebrew-Regular", "NotoSansArabic-Regular"),
    "bold": ("NotoSans-Bold", "NotoSansHebrew-Bold", "NotoSansArabic-Bold"),
}


def main() -> None:
    """Write the table beside the fonts."""
    ensure_application()
    path = folder("assets") / "fonts" / "widths.json"
    path.write_text(table_text(path.parent), encoding="utf-8")


def table_text(fonts: Path) -> str:
    """Give the table as JSON: style -> list of [first code point, [advances in 1/1000 em]]."""
    table = {style: _runs(_advances(fonts, names)) for style, names in STYLES.items()}
    return json.dumps(table, separators=(",", ":")) + "\n"


def _advances(fonts: Path, names: tuple[str, ...]) -> dict[int, int]:
    found: dict[int, int] = {}
    for name in names:
        hinting = QFont.HintingPreference.PreferNoHinting
        font = QRawFont(str(fonts / f"{name}.ttf"), float(EM), hinting)
        for first, last in BLOCKS:
            for code in range(first, last + 1):
                if code not in found and font.supportsCharacter(code):
                    glyphs = font.glyphIndexesForString(chr(code))
                    found[code] = round(font.advancesForGlyphIndexes(glyphs)[0].x())
    return found


def _runs(advances: dict[int, int]) -> list[list[int | list[int]]]:
    runs: list[list[int | list[int]]] = []
    last = -2
    for code in sorted(advances):
        if code != last + 1:
            runs.append([code, []])
        values = runs[-1][1]
        assert isinstance(values, list)  # noqa: S101 - built two lines above
        values.append(advances[code])
        last = code
    return runs


if __name__ == "__main__":
    main()
