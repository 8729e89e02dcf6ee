"""Lines of type that fit a width: broken at words, set smaller where they do not fit, cut with an ellipsis at last."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter

from setupassist.app.theme import Look

ELLIPSIS = "…"


@dataclass(frozen=True)
class Lettering:
    """Lines of one face, set one below the other; ``cut`` says that not all of the text is there."""

    lines: tuple[str, ...]
    font: QFont
    colour: str = "ink"
    cut: bool = False

    @property
    def leading(self) -> float:
        """From line to line."""
        return QFontMetricsF(self.font).height()

    @property
    def high(self) -> float:
        """Height of all lines."""
        return self.leading * len(self.lines)

    @property
    def wide(self) -> float:
        """Width of the widest line."""
        metrics = QFontMetricsF(self.font)
        return max((metrics.horizontalAdvance(line) for line in self.lines), default=0.0)


def fitted(
    text: str,
    look: Look,
    sizes: Sequence[float],
    width: float,
    *,
    most: int = 3,
    weight: int = 400,
    italic: bool = False,
    colour: str = "ink",
) -> Lettering:
    """The text in the greatest of these sizes in which it takes ``most`` lines and no word is cut."""
    for size in sizes:
        font = look.font(size, weight=weight, italic=italic)
        lines = broken(text, font, width)
        metrics = QFontMetricsF(font)
        if len(lines) <= most and all(metrics.horizontalAdvance(line) <= width for line in lines):
            return Lettering(tuple(lines), font, colour)
    last = lines[most - 1 :]
    lines = [*lines[: most - 1], " ".join(last)] if last else lines
    cut = tuple(metrics.elidedText(line, Qt.TextElideMode.ElideRight, width) for line in lines)
    return Lettering(cut, font, colour, cut != tuple(lines))


def broken(text: str, font: QFont, width: float) -> list[str]:
    """The text in lines that fit, broken between words; a word that is too wide stands alone."""
    metrics, lines = QFontMetricsF(font), list[str]()
    for word in text.split(" "):
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and metrics.horizontalAdvance(joined) <= width:
            lines[-1] = joined
        else:
            lines.append(word)
    return lines


def balanced(text: str, font: QFont, width: float) -> list[str]:
    """The text in as few lines as fit, all of them about as long."""
    lines = broken(text, font, width)
    narrow, wide = width / max(1, len(lines)), width
    while wide - narrow > 2:
        middle = (narrow + wide) / 2
        if len(broken(text, font, middle)) > len(lines):
            narrow = middle
        else:
            wide = middle
    return broken(text, font, wide)


def high(parts: Iterable[Lettering]) -> float:
    """Height of several, one below the other."""
    return sum(part.high for part in parts)


def set_centred(painter: QPainter, parts: Iterable[Lettering], middle: float, top: float, look: Look) -> None:
    """Sets them one below the other, each line centred, downward from ``top``."""
    for part in parts:
        painter.setFont(part.font)
        painter.setPen(look.colour(part.colour))
        metrics = QFontMetricsF(part.font)
        for line in part.lines:
            x = middle - metrics.horizontalAdvance(line) / 2
            painter.drawText(QPointF(round(x), top + metrics.ascent()), line)
            top += metrics.height()


def block(parts: Iterable[Lettering], middle: float, centre: float, pad: float) -> QRectF:
    """The rectangle that these take, centred at a point, with room around."""
    told = list(parts)
    wide, tall = max((part.wide for part in told), default=0.0), high(told)
    return QRectF(middle - wide / 2 - pad, centre - tall / 2 - pad, wide + 2 * pad, tall + 2 * pad)


def set_left(painter: QPainter, part: Lettering, left: float, top: float, look: Look) -> None:
    """Sets its lines one below the other from a left edge, downward from ``top``."""
    painter.setFont(part.font)
    painter.setPen(look.colour(part.colour))
    metrics = QFontMetricsF(part.font)
    for line in part.lines:
        painter.drawText(QPointF(left, top + metrics.ascent()), line)
        top += metrics.height()
