"""The sheet's typeface, sizes and styles, and text made safe to set.

One family, tabular figures by nature (every digit of a weight is equally wide). Nothing is smaller than SMALLEST.
"""

from __future__ import annotations

from functools import cache
from io import BytesIO
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color
from reportlab.lib.enums import TA_CENTER, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import Paragraph

from setupassist.errors import one_line
from setupassist.resource_files import read_bytes

REGULAR, SEMIBOLD, BOLD, ITALIC = "Sheet-Regular", "Sheet-Semibold", "Sheet-Bold", "Sheet-Italic"
_FILES = {
    REGULAR: "SourceSansPro-Regular.ttf",
    SEMIBOLD: "SourceSansPro-Semibold.ttf",
    BOLD: "SourceSansPro-Bold.ttf",
    ITALIC: "SourceSansPro-It.ttf",
}
SMALLEST = 7.5
COLUMN_SIZE = 8.0
NOT_IN_FONT = "?"
MOST_TEXT = 600

INK = Color(0.10, 0.10, 0.10)
QUIET = Color(0.30, 0.30, 0.30)
HAIRLINE = Color(0.62, 0.62, 0.60)
IDLE = Color(0.92, 0.92, 0.90)
PAPER = Color(1, 1, 1)


@cache
def register_fonts() -> None:
    """Make the family known to the document maker, once."""
    for name, file in _FILES.items():
        pdfmetrics.registerFont(TTFont(name, BytesIO(read_bytes(f"fonts/{file}"))))
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=SEMIBOLD, italic=ITALIC, boldItalic=SEMIBOLD)


def clean(text: str, most: int = MOST_TEXT, font: str = REGULAR) -> str:
    """Text on one line in characters that the font has; others become a question mark."""
    register_fonts()
    glyphs = pdfmetrics.getFont(font).face.charToGlyph
    return "".join(c if ord(c) in glyphs else NOT_IN_FONT for c in one_line(text, most))


def safe(text: str, most: int = MOST_TEXT, font: str = REGULAR) -> str:
    """Clean text with markup characters escaped, to stand inside a paragraph's markup."""
    return escape(clean(text, most, font))


def sentence(text: str, most: int = MOST_TEXT) -> str:
    """Text as a sentence, safe: a capital first, a full stop at its end."""
    text = clean(text, most)
    ended = text if text.endswith((".", "?", ":", ";", "…")) else f"{text}."
    return escape(ended[:1].upper() + ended[1:])


def lead(text: str) -> str:
    """Markup of a line's first words in semibold, set off from what follows."""
    return f"{strong(text)}\u2002"


def strong(text: str) -> str:
    """Markup of text in semibold."""
    return f'<font name="{SEMIBOLD}">{safe(text, font=SEMIBOLD)}</font>'


def slanted(text: str) -> str:
    """Markup of text in italic."""
    return f'<font name="{ITALIC}">{safe(text, font=ITALIC)}</font>'


def known_mark(letter: str) -> str:
    """Markup of the small letter that says how a value is known."""
    return f'<super rise="2.2" size="{SMALLEST}"><font name="{ITALIC}"> {letter}</font></super>'


def width_of(text: str, font: str, size: float) -> float:
    """Width in points of text set in one line."""
    register_fonts()
    return float(pdfmetrics.stringWidth(text, font, size))


def broken_lines(text: str, font: str, size: float, width: float) -> tuple[list[str], bool]:
    """Lines of clean text no wider than ``width`` points, and whether a word had to be broken."""
    lines: list[str] = []
    line, cut = "", False
    for given in text.split():
        word = given
        longer = f"{line} {word}" if line else word
        if width_of(longer, font, size) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        while width_of(word, font, size) > width and len(word) > 1:
            cut = True
            fits = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or width_of(word[:n], font, size) <= width)
            lines.append(word[:fits])
            word = word[fits:]
        line = word
    if line:
        lines.append(line)
    return lines, cut


def fitted(text: str, font: str, sizes: tuple[float, ...], width: float, most_lines: int) -> tuple[float, list[str]]:
    """The largest of ``sizes`` that sets text unbroken in ``most_lines``, else the smallest with as many as needed."""
    for size in sizes:
        lines, cut = broken_lines(text, font, size, width)
        if not cut and len(lines) <= most_lines:
            return size, lines
    return sizes[-1], broken_lines(text, font, sizes[-1], width)[0]


def shortened(text: str, font: str, size: float, width: float) -> str:
    """Text on one line of ``width`` points, ended with an ellipsis where it is longer."""
    if width_of(text, font, size) <= width:
        return text
    while text and width_of(text + "…", font, size) > width:
        text = text[:-1]
    return text.rstrip() + "…"


def _style(name: str, size: float, leading: float, font: str = REGULAR, **more: object) -> ParagraphStyle:
    return ParagraphStyle(name, fontName=font, fontSize=size, leading=leading, textColor=INK, **more)


BODY = _style("body", 9, 11.5)
LEAD = _style("lead", 10, 13)
SMALL = _style("small", 8, 10)
SMALL_RIGHT = _style("small right", 8, 10, alignment=TA_RIGHT)
SMALL_CENTRE = _style("small centre", 8, 10, alignment=TA_CENTER)
BODY_RIGHT = _style("body right", 9, 11.5, alignment=TA_RIGHT)
NOTE = _style("note", SMALLEST, 9.5)
HEADING = _style("heading", 11.5, 14, SEMIBOLD, spaceBefore=8, spaceAfter=2, keepWithNext=1)
HEAVY_HEADING = _style("heading of what must be seen", 11.5, 14, BOLD)
OPEN_HEADING = _style("heading of what may go on over a page", 11.5, 14, SEMIBOLD, spaceBefore=8, spaceAfter=2)
COLUMN = _style("column", COLUMN_SIZE, 9.5, SEMIBOLD)
COLUMN_RIGHT = _style("column right", COLUMN_SIZE, 9.5, SEMIBOLD, alignment=TA_RIGHT)
FIGURE = _style("figure", 24, 26, BOLD)
FIGURE_MIDDLE = _style("figure, middle", 17, 26, BOLD)
MESH = _style("mesh", 12, 15, SEMIBOLD)


def paragraph(markup: str, style: ParagraphStyle = BODY) -> Paragraph:
    """A paragraph of markup that is already safe."""
    register_fonts()
    return Paragraph(markup, style)


def plain(text: str, style: ParagraphStyle = BODY, most: int = MOST_TEXT) -> Paragraph:
    """A paragraph of plain text."""
    return paragraph(safe(text, most, str(getattr(style, "fontName", REGULAR))), style)
