"""How the window shares its room out: left column, map, profile.

Gets a window; gives the column its width and the profile its height. Promises: the map keeps most
of a small window; where a person drew the line between map and profile, it stays.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from loopwright.app.window import Window

COLUMN_PX = 328
"""Narrower, the weeks of a season and rows of two buttons have no room for their words."""
MOST_COLUMN = 0.4
"""The map is never under 60 % of the window's width, at any text size."""
PROFILE_SHARE = 1 / 6
"""Of the window's height the profile takes this, between its least and its usual height."""


def share_out(window: Window) -> None:
    """Give column and profile what they need, as far as the map keeps its share."""
    most = int(MOST_COLUMN * window.width())
    window.left.setFixedWidth(min(window.look.px(COLUMN_PX), most))
    if window.right.count() > 1 and not window.parted:
        least, usual = window.profile.minimumHeight(), window.profile.sizeHint().height()
        high = min(usual, max(least, int(PROFILE_SHARE * window.height())))
        window.right.setSizes([max(1, sum(window.right.sizes()) - high), high])
