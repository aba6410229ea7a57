"""How the window looks: tones, text sizes, spacing, fonts.

Gets a theme name, a text scale (1.0 to 2.0) and units; gives colours, pixel sizes on an 8-pixel
grid and the style sheet. Promises: three text sizes; every text colour reads at 4.5:1 or better on
its ground (measured in the tests).
"""

from __future__ import annotations

from dataclasses import dataclass
from string import Template

from PySide6.QtGui import QColor, QFont, QPalette
from PySide6.QtWidgets import QApplication

from loopwright.card.themes import DARK, LIGHT, Theme, text_on
from loopwright.render.application import FAMILIES, load_fonts
from loopwright.units import Units

BASE_PT = 10.0
SMALL_PT = 9.0
LARGE_PT = 13.0
GRID_PX = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One appearance. ``scale`` multiplies text and everything that must hold text."""

    theme: Theme
    scale: float = 1.0
    units: Units = Units.METRIC

    @property
    def dark(self) -> bool:
        """Tell whether ink is lighter than paper."""
        return self.theme is DARK

    def px(self, pixels: float) -> int:
        """Scale a length that holds text."""
        return round(pixels * self.scale)

    def font(self, points: float = BASE_PT, *, bold: bool = False) -> QFont:
        """Give the program's font, figures all of one width, at ``points`` before scaling."""
        font = QFont(QApplication.font())
        font.setPointSizeF(points * self.scale)
        font.setBold(bold)
        return font

    def colour(self, name: str, alpha: int = 255) -> QColor:
        """Give a tone of the theme by name."""
        colour = QColor(getattr(self.theme, name))
        colour.setAlpha(alpha)
        return colour


def make_look(name: str, *, scale: float = 1.0, units: Units = Units.METRIC) -> Look:
    """Give the look for ``light`` or ``dark`` and a text scale, held to 1.0 .. 2.0."""
    theme = DARK if name == "dark" else LIGHT
    return Look(theme=theme, scale=min(2.0, max(1.0, scale)), units=units)


def dress(application: QApplication, look: Look) -> None:
    """Put the look on the whole program. The shipped font's figures are all of one width."""
    load_fonts(application)
    application.setStyle("Fusion")
    font = QFont(list(FAMILIES))
    font.setPointSizeF(BASE_PT * look.scale)
    application.setFont(font)
    application.setPalette(qt_palette(look.theme))
    application.setStyleSheet(style_sheet(look))


def qt_palette(theme: Theme) -> QPalette:
    """Give the theme as Qt's own palette, so that plain controls follow it."""
    palette = QPalette()
    role = QPalette.ColorRole
    for where, colour in (
        (role.Window, theme.panel), (role.WindowText, theme.ink), (role.Base, theme.paper),
        (role.AlternateBase, theme.panel), (role.Text, theme.ink), (role.Button, theme.panel),
        (role.ButtonText, theme.ink), (role.Highlight, theme.accent),
        (role.HighlightedText, text_on(theme.accent)), (role.ToolTipBase, theme.paper),
        (role.ToolTipText, theme.ink), (role.PlaceholderText, theme.faint_ink),
        (role.Link, theme.accent), (role.Mid, theme.rule), (role.Dark, theme.rule),
        (role.Light, theme.paper), (role.Midlight, theme.panel), (role.BrightText, theme.warning),
    ):  # fmt: skip
        palette.setColor(where, QColor(colour))
    for where in (role.Text, role.WindowText, role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, where, QColor(theme.faint_ink))
    return palette


_SHEET = Template("""
QWidget { color: $ink; }
QMainWindow, QDialog { background: $panel; }
QMenuBar { background: $panel; color: $ink; }
QMenuBar::item { padding: ${p1}px ${p2}px; background: transparent; }
QMenuBar::item:selected { background: $soft; color: $ink; }
QMenu { background: $paper; color: $ink; border: 1px solid $rule; }
QMenu::item { padding: ${p1}px ${p5}px ${p1}px ${p3}px; }
QMenu::item:selected { background: $soft; color: $ink; }
QMenu::item:disabled { color: $faint; }
QMenu::separator { height: 1px; background: $rule; margin: ${p1}px 0; }
QToolTip { background: $paper; color: $ink; border: 1px solid $rule; padding: ${p1}px; }
QPushButton, QToolButton { background: $paper; border: 1px solid $rule; border-radius: 4px;
  padding: ${p1}px ${p2}px; color: $ink; }
QPushButton:hover, QToolButton:hover { background: $soft; }
QPushButton:focus, QToolButton:focus, QListWidget:focus, QTableWidget:focus,
QTreeWidget:focus { border: 2px solid $accent; }
QPushButton:disabled, QToolButton:disabled { color: $faint; background: $panel; }
QPushButton[main="true"] { background: $accent; color: $onaccent; border: 1px solid $accent;
  font-weight: bold; }
QPushButton[main="true"]:hover { background: $accent; }
QPushButton[main="true"]:focus { border: 2px solid $ink; }
QPushButton[main="true"]:disabled { background: $panel; color: $faint; border-color: $rule; }
QPushButton[slim="true"] { padding: 2px ${p2}px; }
QToolButton[slim="true"] { background: transparent; border: 2px solid transparent;
  padding: 1px ${p1}px; }
QToolButton[slim="true"]:hover { background: $soft; }
QToolButton[slim="true"]:focus { border: 2px solid $accent; }
QToolButton[place="true"] { background: transparent; border: 0; border-radius: 0;
  border-bottom: 3px solid transparent; padding: 3px ${p1}px; font-size: ${large}pt; }
QToolButton[place="true"]:checked { border-bottom: 3px solid $accent; font-weight: bold; }
QToolButton[place="true"]:focus { background: $soft; }
QToolButton[fold="true"] { background: transparent; border: 0; text-align: left;
  font-weight: bold; padding: ${p1}px 0; }
QToolButton[fold="true"]:focus { background: $soft; }
QComboBox QAbstractItemView { background: $paper; color: $ink; border: 1px solid $rule;
  selection-background-color: $soft; selection-color: $ink; }
QListWidget, QTableWidget, QTreeWidget, QTextBrowser { background: $paper;
  border: 1px solid $rule; border-radius: 4px; }
QListWidget::item, QTreeWidget::item { padding: 3px 0; color: $ink; }
QListWidget::item:selected, QTreeWidget::item:selected, QTableWidget::item:selected {
  background: $soft; color: $ink; }
QHeaderView::section { background: $panel; color: $soft_ink; border: 0;
  border-bottom: 1px solid $rule; padding: 3px; }
QScrollArea { border: 0; background: transparent; }
QScrollBar:vertical { background: transparent; width: 10px; margin: 0; }
QScrollBar::handle:vertical { background: $rule; border-radius: 4px; min-height: 32px;
  margin: 1px; }
QScrollBar:horizontal { background: transparent; height: 10px; margin: 0; }
QScrollBar::handle:horizontal { background: $rule; border-radius: 4px; min-width: 32px;
  margin: 1px; }
QScrollBar::add-line, QScrollBar::sub-line { width: 0; height: 0; }
QScrollBar::add-page, QScrollBar::sub-page { background: transparent; }
QSplitter::handle { background: $rule; }
QLabel[role="soft"] { color: $soft_ink; }
QLabel[role="faint"] { color: $faint; font-size: ${small}pt; }
QLabel[role="head"] { font-size: ${large}pt; font-weight: bold; }
QToolButton[quiet="true"] { background: transparent; border: 0; padding: 0 ${p1}px;
  color: $faint; }
QToolButton[quiet="true"]:hover, QToolButton[quiet="true"]:focus { background: $soft; color: $ink; }
QLabel[role="warning"] { color: $warning; }
QFrame[role="column"] { background: $panel; border: 0; border-right: 1px solid $rule; }
QFrame[role="bar"] { background: $panel; border: 0; border-bottom: 1px solid $rule; }
QFrame[role="words"] { background: $panel; border: 0; border-top: 1px solid $rule; }
QFrame[role="floating"] { background: $paper; border: 1px solid $rule; border-radius: 4px; }
QProgressBar { background: $paper; border: 1px solid $rule; border-radius: 4px; height: 8px; }
QProgressBar::chunk { background: $accent; border-radius: 3px; }
QCheckBox:focus, QRadioButton:focus { background: $soft; }
QCheckBox::indicator { width: ${p3}px; height: ${p3}px; border: 1px solid $soft_ink;
  border-radius: 3px; background: $paper; padding: 2px; }
QCheckBox::indicator:checked { background: $accent; background-clip: content;
  background-origin: content; }
QCheckBox::indicator:disabled { border: 1px solid $faint; }
""")


def style_sheet(look: Look) -> str:
    """Give the style sheet of one look."""
    theme = look.theme
    steps = {f"p{n}": look.px(n * GRID_PX / 2) for n in range(1, 6)}
    return _SHEET.substitute(
        steps, ink=theme.ink, soft_ink=theme.soft_ink, faint=theme.faint_ink, rule=theme.rule,
        paper=theme.paper, panel=theme.panel, accent=theme.accent, soft=theme.accent_soft,
        onaccent=text_on(theme.accent), warning=theme.warning,
        large=LARGE_PT * look.scale, small=SMALL_PT * look.scale,
    )  # fmt: skip
