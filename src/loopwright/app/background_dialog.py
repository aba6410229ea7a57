"""The map's background: nothing, a file of one's own, or tiles from a typed address.

Gets a window and what is remembered; changes the area's file as a named step and the address as a
preference. Promises: the address is off until it is saved here; an address that cannot work is
told before anything is asked; the area file never carries an address, so that opening somebody's
area asks nobody for anything.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from platformdirs import user_cache_path
from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QDialog,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from loopwright import edits
from loopwright.app.parts import Choice, add_field, button, form, label, row, save_or_cancel
from loopwright.app.remembered import Remembered
from loopwright.app.sheet import Scrolled, fit_screen
from loopwright.app.window import Window
from loopwright.app.words import say
from loopwright.errors import WorldError

FILES = "Map pictures (*.mbtiles *.tif *.tiff);;All files (*)"
NOTHING, OWN_FILE, ADDRESS = range(3)


WIDE_PX, FOOT_PX = 560, 72
"""Width, and what the buttons below take."""


class BackgroundDialog(QDialog):
    """The form."""

    def __init__(self, window: Window, remembered: Remembered) -> None:
        super().__init__(window)
        self._window, self._remembered = window, remembered
        self.setWindowTitle(say("Map background"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.form = form()
        self._make_fields()
        self.trouble = label("", "warning")
        self.trouble.setTextFormat(Qt.TextFormat.PlainText)
        body = QWidget()
        inner = QVBoxLayout(body)
        inner.addLayout(self.form)
        inner.addWidget(label(hint(), "faint"))
        inner.addWidget(self.trouble)
        self.body = Scrolled(body, say("Map background"))
        lines = QVBoxLayout(self)
        lines.addWidget(self.body, 1)
        lines.addWidget(save_or_cancel(self.keep, self.close))
        self._show_kind()

    def _make_fields(self) -> None:
        kept, area = self._remembered.preferences, self._window.desk.document.settings
        self.kind = Choice()
        self.kind.addItems(
            [say("None"), say("A file of my own"), say("Tiles from an address I type")]
        )
        file_or_none = OWN_FILE if area.background_file else NOTHING
        self.kind.setCurrentIndex(ADDRESS if kept.tiles_on else file_or_none)
        self.kind.currentIndexChanged.connect(lambda _place: self._show_kind())
        add_field(self.form, say("Background"), self.kind)
        self.file = QLineEdit(area.background_file)
        self.file.setAccessibleName(say("File"))
        self.choose = button(say("Choose…"), self._choose, name=say("Choose a file"))
        self.file_row = QWidget()
        line = row(self.file, self.choose, stretch=0)
        line.setContentsMargins(0, 0, 0, 0)
        self.file_row.setLayout(line)
        self.form.addRow(label(say("File")), self.file_row)
        self.address = QLineEdit(kept.tile_address)
        self.address.setPlaceholderText("https://tiles.example/{z}/{x}/{y}.png")
        add_field(self.form, say("Address"), self.address)
        self.credit = QLineEdit(kept.tile_credit)
        self.credit.setPlaceholderText(say("Whom the map must name, as its terms ask"))
        add_field(self.form, say("Credit"), self.credit)

    def _show_kind(self) -> None:
        kind = self.kind.currentIndex()
        self.form.setRowVisible(self.file_row, kind == OWN_FILE)
        for field in (self.address, self.credit):
            self.form.setRowVisible(field, kind == ADDRESS)
        self.trouble.setText("")
        self._fit()

    def _fit(self) -> None:
        """Be as high as what shows now."""
        wide = self._window.look.px(WIDE_PX)
        fit_screen(self, QSize(wide, self.body.high_at(wide) + self._window.look.px(FOOT_PX)))

    def _choose(self) -> None:
        path = self._window.dialogs.open_file(say("Map picture"), FILES)
        if path is not None:
            self.file.setText(str(path))

    def keep(self) -> None:
        """Take what was entered, or say what is wrong with it."""
        kind = self.kind.currentIndex()
        try:
            if kind == ADDRESS:
                from loopwright.io.tile_address import tile_address

                tile_address(self.address.text())
            elif kind == OWN_FILE:
                self._check_file()
        except WorldError as error:
            self.trouble.setText(str(error))
            self._fit()
            return
        self._remember(kind)
        self._set_file(self.file.text().strip() if kind == OWN_FILE else "")
        use(self._window, self._remembered)
        self.close()

    def _check_file(self) -> None:
        from pathlib import Path

        from loopwright.io.background_file import open_background

        if not self.file.text().strip():
            raise WorldError(say("file"), say("none is chosen"), say("choose one"))
        open_background(Path(self.file.text().strip()))

    def _remember(self, kind: int) -> None:
        fields: dict[str, object] = {"tiles_on": kind == ADDRESS}
        if kind == ADDRESS:
            fields["tile_address"] = self.address.text().strip()
            fields["tile_credit"] = self.credit.text().strip()
        self._remembered.change(**fields)

    def _set_file(self, name: str) -> None:
        settings = self._window.desk.document.settings
        if name != settings.background_file:
            changed = replace(settings, background_file=name)
            words = say("Use a map background") if name else say("Use no map background")
            self._window.desk.apply(words, lambda d: edits.set_settings(d, changed))


def hint() -> str:
    """Say what each choice means."""
    return say(
        "A file is a GeoTIFF or an MBTiles picture on this machine and is never sent anywhere. "
        "An address is asked for the squares in view, so whoever runs it can see where you look; "
        "prefer https. Squares are kept on this machine and shown again without a connection. "
        "Nothing else in this program uses the network."
    )


def use(window: Window, remembered: Remembered) -> None:
    """Show the background that is remembered; an address that makes no sense is told."""
    from loopwright.io.tile_address import tile_address

    kept = remembered.preferences
    folder = user_cache_path("loopwright", appauthor=False) / "tiles"
    address = None
    if kept.tiles_on:
        try:
            address = tile_address(kept.tile_address)
        except WorldError as error:
            window.desk.warn(str(error))
    window.map_pane.map.background.use_address(address, folder, kept.tile_credit)


def doings(window: Window, remembered: Remembered) -> dict[str, Callable[[], object]]:
    """Say what the action does, and show what is remembered."""
    if remembered.preferences.tiles_on:
        use(window, remembered)
    return {"background": lambda: BackgroundDialog(window, remembered).show()}
