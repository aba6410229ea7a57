"""How the window shares its room out: left column, map, profile.

Gets a window; gives the column its width and the profile its height. Promises: the map keeps most
of a small window; where a person drew the line between map and profile, it stays.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from loopwright.app.window import Window

LEAST_COLUMN_PX, COLUMN_PX = 296, 328
COLUMN_SHARE = 0.235
"""Of a small window's width the left column takes this, down to what its words need."""
MOST_COLUMN = 0.4
"""The map is never under 60 % of the window's width, at any text size."""
PROFILE_SHARE = 1 / 6
"""Of the window's height the profile takes this, between its least and its usual height."""


def share_out(window: Window) -> None:
    """Give column and profile what they need, as far as the map keeps its share."""
    px, wide = window.look.px, window.width()
    column = max(px(LEAST_COLUMN_PX), int(COLUMN_SHARE * wide))
    window.left.setFixedWidth(min(px(COLUMN_PX), column, int(MOST_COLUMN * wide)))
    if window.right.count() > 1 and not window.parted:
        least, usual = window.profile.minimumHeight(), window.profile.sizeHint().height()
        high = min(usual, max(least, int(PROFILE_SHARE * window.height())))
        window.right.setSizes([max(1, sum(window.right.sizes()) - high), high])
