"""How the window looks: paper and ink, one type family, hairlines; the only saturated colours are inks and art."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontDatabase, QGuiApplication, QIcon, QPalette, QPixmap
from PySide6.QtWidgets import QApplication

from setupassist.resource_files import read_bytes

FAMILY = "Source Sans Pro"
FONTS = ("Regular", "It", "Semibold", "Bold")
SMALL, BODY, HEADING, TITLE, FIGURE = 12.0, 13.5, 15.0, 20.0, 19.0
"""Sizes in pixels at 100 % text; nothing else is used."""


@dataclass(frozen=True)
class Theme:
    """The colours of one theme, as ``#rrggbb``.

    ``paper`` carries content, ``ground`` lies beside it, ``art_ground`` is the neutral grey around art; ``ink`` and
    ``quiet`` are type, ``hairline`` parts things, ``idle`` fills what cannot be used, ``mark`` marks a selection.
    """

    name: str
    paper: str
    ground: str
    ink: str
    quiet: str
    hairline: str
    idle: str
    art_ground: str
    mark: str


LIGHT = Theme("light", "#ffffff", "#f6f5f1", "#1d1d1f", "#5a5955", "#cbc9c1", "#ebeae5", "#8b8b88", "#1d1d1f")
DARK = Theme("dark", "#1f1f1e", "#282826", "#ecebe6", "#aba9a1", "#4b4a45", "#363532", "#6f6f6d", "#ecebe6")


def current(preferred: str | None) -> Theme:
    """The theme that the person chose, else the system's."""
    if preferred is None:
        dark = QGuiApplication.styleHints().colorScheme() is Qt.ColorScheme.Dark
        preferred = "dark" if dark else "light"
    return DARK if preferred == "dark" else LIGHT


@cache
def load_fonts() -> None:
    """Makes the shipped faces known to Qt, once."""
    for name in FONTS:
        QFontDatabase.addApplicationFontFromData(read_bytes(f"fonts/SourceSansPro-{name}.ttf"))


def icon() -> QIcon:
    """The program's own icon."""
    made = QIcon()
    for size in (32, 64, 128, 256):
        pixmap = QPixmap()
        pixmap.loadFromData(read_bytes(f"icons/setupassist-{size}.png"))
        made.addPixmap(pixmap)
    return made


@dataclass(frozen=True)
class Look:
    """A theme at a text size: what widgets ask for colours and fonts."""

    theme: Theme
    percent: int = 100

    def px(self, size: float) -> int:
        """A length or a size of type, scaled with the text."""
        return max(1, round(size * self.percent / 100))

    def font(self, size: float = BODY, *, weight: int = 400, italic: bool = False) -> QFont:
        """The window's face; figures of one width."""
        return QFont(_face(self.px(size), weight, italic))

    def colour(self, name: str) -> QColor:
        """A colour of the theme by its name."""
        return QColor(getattr(self.theme, name))


@cache
def _face(size_px: int, weight: int, italic: bool) -> QFont:
    """A face of the family, made once: painting asks for it thousands of times."""
    font = QFont(FAMILY)
    font.setPixelSize(size_px)
    font.setWeight(QFont.Weight(weight))
    font.setItalic(italic)
    font.setFeature(QFont.Tag("tnum"), 1)
    return font


def apply(app: QApplication, look: Look) -> None:
    """Dresses the whole application."""
    app.setStyle("Fusion")
    app.setFont(look.font())
    app.setPalette(_palette(look.theme))
    app.setStyleSheet(_style(look))


def _palette(theme: Theme) -> QPalette:
    palette = QPalette()
    role = QPalette.ColorRole
    for at, name in {
        role.Window: theme.paper, role.WindowText: theme.ink, role.Base: theme.paper, role.Text: theme.ink,
        role.AlternateBase: theme.ground, role.Button: theme.ground, role.ButtonText: theme.ink,
        role.ToolTipBase: theme.ground, role.ToolTipText: theme.ink, role.Highlight: theme.ink,
        role.HighlightedText: theme.paper, role.PlaceholderText: theme.quiet, role.Link: theme.ink,
        role.Mid: theme.hairline, role.Dark: theme.hairline, role.Light: theme.ground, role.Shadow: theme.hairline,
        role.Midlight: theme.ground, role.BrightText: theme.ink, role.LinkVisited: theme.ink,
        role.Accent: theme.ink,
    }.items():  # fmt: skip
        palette.setColor(at, QColor(name))
    for at in (role.WindowText, role.Text, role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, at, QColor(theme.quiet))
    return palette


def _style(look: Look) -> str:
    t, px = look.theme, look.px
    return f"""
    QWidget {{ color: {t.ink}; }}
    QMainWindow, QDialog {{ background: {t.paper}; }}
    QToolTip {{ background: {t.ground}; color: {t.ink}; border: 1px solid {t.hairline}; padding: 4px; }}
    QLabel[voice="title"] {{ font-size: {px(TITLE)}px; font-weight: 600; }}
    QLabel[voice="heading"] {{ font-size: {px(HEADING)}px; font-weight: 600; }}
    QLabel[voice="strong"] {{ font-weight: 600; }}
    QLabel[voice="quiet"] {{ color: {t.quiet}; }}
    QLabel[voice="small"] {{ color: {t.quiet}; font-size: {px(SMALL)}px; }}
    QLabel[voice="figure"] {{ font-size: {px(FIGURE)}px; font-weight: 600; }}
    #ground {{ background: {t.ground}; }}
    QFrame[rule="true"] {{ background: {t.hairline}; border: none; max-height: 1px; min-height: 1px; }}
    QPushButton, QToolButton {{
        background: {t.paper}; border: 1px solid {t.hairline}; border-radius: 2px;
        padding: {px(4)}px {px(10)}px; min-height: {px(18)}px;
    }}
    QPushButton:hover, QToolButton:hover {{ border-color: {t.ink}; }}
    QPushButton:pressed, QToolButton:pressed {{ background: {t.idle}; }}
    QPushButton:checked, QToolButton:checked {{ background: {t.ink}; color: {t.paper}; border-color: {t.ink}; }}
    QPushButton:disabled, QToolButton:disabled {{ color: {t.quiet}; border-style: dashed; }}
    QPushButton:focus, QToolButton:focus, QLineEdit:focus, QComboBox:focus, QAbstractSpinBox:focus,
    QPlainTextEdit:focus, QAbstractItemView:focus {{ border: 2px solid {t.ink}; }}
    QLineEdit, QComboBox, QAbstractSpinBox, QPlainTextEdit {{
        background: {t.paper}; border: 1px solid {t.hairline}; border-radius: 2px; padding: {px(3)}px {px(6)}px;
        min-height: {px(18)}px; selection-background-color: {t.ink}; selection-color: {t.paper};
    }}
    QComboBox::drop-down {{ border: none; width: {px(20)}px; }}
    QComboBox::down-arrow {{ width: 0; height: 0; margin-right: {px(8)}px; border-left: {px(4)}px solid {t.paper};
        border-right: {px(4)}px solid {t.paper}; border-top: {px(5)}px solid {t.ink}; }}
    QAbstractSpinBox {{ padding-right: {px(18)}px; }}
    QAbstractItemView {{ background: {t.paper}; border: none; selection-background-color: {t.idle};
        selection-color: {t.ink}; gridline-color: {t.hairline}; outline: none; }}
    QHeaderView::section {{ background: {t.paper}; border: none; border-bottom: 1px solid {t.ink};
        padding: {px(4)}px {px(6)}px; font-weight: 600; }}
    QTableView::item {{ border-bottom: 1px solid {t.hairline}; padding: {px(2)}px {px(6)}px; }}
    QScrollArea, QScrollArea > QWidget > QWidget {{ background: transparent; border: none; }}
    QScrollBar:vertical {{ width: {px(10)}px; background: transparent; }}
    QScrollBar:horizontal {{ height: {px(10)}px; background: transparent; }}
    QScrollBar::handle {{ background: {t.hairline}; border-radius: {px(4)}px; min-height: 24px; min-width: 24px; }}
    QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
    QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
    QMenuBar, QMenu {{ background: {t.ground}; }}
    QMenuBar::item:selected, QMenu::item:selected {{ background: {t.ink}; color: {t.paper}; }}
    QMenu::item:disabled {{ color: {t.quiet}; }}
    QMenu::separator {{ height: 1px; background: {t.hairline}; margin: 4px 8px; }}
    QProgressBar {{ border: 1px solid {t.hairline}; background: {t.paper}; max-height: {px(8)}px; border-radius: 2px; }}
    QProgressBar::chunk {{ background: {t.quiet}; }}
    QSplitter::handle {{ background: {t.hairline}; }}
    QCheckBox::indicator, QRadioButton::indicator {{
        width: {px(12)}px; height: {px(12)}px; border: 1px solid {t.quiet}; background: {t.paper};
    }}
    QRadioButton::indicator {{ border-radius: {px(12) // 2 + 1}px; }}
    QCheckBox::indicator:checked {{ background: {t.ink}; border-color: {t.ink}; }}
    QRadioButton::indicator:checked {{
        width: {px(12) - 6}px; height: {px(12) - 6}px; border: 4px solid {t.ink}; background: {t.paper};
    }}
    QRadioButton, QCheckBox {{ border: 1px solid transparent; padding: 1px {px(3)}px; }}
    QRadioButton:focus, QCheckBox:focus {{ border: 1px solid {t.ink}; border-radius: 2px; }}
    """
