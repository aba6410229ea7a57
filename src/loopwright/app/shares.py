"""How the window shares its room out: left column, map, profile.

Gets a window; gives the column its width and the profile its height. Promises: at the usual text
size the map has 60 % of a window of 1280 by 720 or larger (at 200 % text a third); where a person
drew the line between map and profile, it stays.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from loopwright.app.window import Window

COLUMN_PX, LEAST_COLUMN_PX = 328, 308
"""With less, the weeks of a season and the sliders of a mix have no room for their words."""
COLUMN_SHARE = 0.24
"""Of the window's width the column takes this, between its least and its usual width."""
MOST_COLUMN = 0.4
"""The map is never under 60 % of the window's width, at any text size."""
PROFILE_SHARE = 1 / 8
"""Of the window's height the profile takes this, between its least and its usual height."""


def share_out(window: Window) -> None:
    """Give column and profile what they need, as far as the map keeps its share."""
    least, usual = (window.look.px(px) for px in (LEAST_COLUMN_PX, COLUMN_PX))
    wide = min(usual, max(least, int(COLUMN_SHARE * window.width())))
    window.left.setFixedWidth(min(wide, int(MOST_COLUMN * window.width())))
    if window.right.count() > 1 and not window.parted:
        least, usual = window.profile.minimumHeight(), window.profile.sizeHint().height()
        high = min(usual, max(least, int(PROFILE_SHARE * window.height())))
        window.right.setSizes([max(1, sum(window.right.sizes()) - high), high])


def fold(window: Window) -> None:
    """Fold the left column away, or bring it back; the places stay in reach above the map."""
    folding = window.left.isVisible()
    window.left.setVisible(not folding)
    if folding:
        window.lines.insertWidget(1, window.tabs)
    else:
        window.column_lines.insertWidget(0, window.tabs)
    window.actions_by_id["fold"].setChecked(not folding)
