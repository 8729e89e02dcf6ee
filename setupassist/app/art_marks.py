"""Marks of findings on the picture: where their labels lie, and how they are drawn, readable without any colour."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from setupassist.app.theme import SMALL, Look
from setupassist.appearance.marks import Wanted, labelled, labels_apart
from setupassist.documents.terms import Severity

HALF, STANDS, SPOT = 10, 26, 3
"""Half a label, how far it stands from its place, and the ring around the place, in pixels at 100 % text."""

PAPER, INK = "#ffffff", "#1d1d1f"
"""The marks' own white and black: they lie on art, whatever the theme."""


@dataclass(frozen=True)
class Mark:
    """A place of a finding: its number in the list, and where on the plates it is, as shares of width and height.

    ``place`` counts the finding's places from 0; ``told`` is the finding in words.
    """

    number: int
    x_share: float
    y_share: float
    severity: Severity = Severity.NOTE
    place: int = 0
    told: str = ""


@dataclass(frozen=True)
class Laid:
    """A mark in the view: its place, and the box of its label where it has one."""

    mark: Mark
    at: QPointF
    label: QRectF | None


def lay_out(
    marks: Sequence[Mark], at: Callable[[Mark], QPointF], room: QRectF, look: Look, chosen: int
) -> tuple[Laid, ...]:
    """The marks whose places lie in the room, those with a label last, the most important on top."""
    seen = [(mark, spot) for mark in marks if room.contains(spot := at(mark))]
    order = labelled([Wanted(mark.number, (spot.x(), spot.y())) for mark, spot in seen], chosen=chosen)
    rest = [index for index in range(len(seen)) if index not in set(order)]
    half = look.px(HALF)
    labels = labels_apart(
        [(seen[index][1].x(), seen[index][1].y()) for index in order],
        half=half,
        reach=look.px(STANDS),
        within=(room.x(), room.y(), room.width(), room.height()),
        others=[(seen[index][1].x(), seen[index][1].y()) for index in rest],
    )
    boxes = [
        None if middle is None else QRectF(middle[0] - half, middle[1] - half, 2 * half, 2 * half) for middle in labels
    ]
    laid = [Laid(*seen[index], None) for index in rest]
    return (*laid, *(Laid(*seen[index], box) for index, box in reversed(list(zip(order, boxes, strict=True)))))


def hit(laid: Sequence[Laid], point: QPointF) -> Mark | None:
    """The mark under a point, by its label, else by its place."""
    for one in reversed(laid):
        if one.label is not None and one.label.adjusted(-3, -3, 3, 3).contains(point):
            return one.mark
    for one in reversed(laid):
        if (one.at - point).manhattanLength() <= SPOT * 2:
            return one.mark
    return None


def paint(painter: QPainter, laid: Sequence[Laid], look: Look, chosen: int, place: int) -> None:
    """Draws the marks; those of the chosen finding have a second outline, its place in hand a second ring."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    spot = float(look.px(SPOT))
    for one in laid:
        for colour, width in ((PAPER, 3.5), (INK, 1.25)):
            painter.setPen(QPen(QColor(colour), width))
            painter.setBrush(QColor(INK) if one.mark.number == chosen and colour == INK else Qt.BrushStyle.NoBrush)
            if one.label is not None:
                painter.drawLine(one.at, one.label.center())
            painter.drawEllipse(one.at, spot, spot)
            if one.mark.number == chosen and one.mark.place == place:
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawEllipse(one.at, 2.6 * spot, 2.6 * spot)
    for one in laid:
        if one.label is not None:
            _label(painter, one.label, one.mark, look, chosen=one.mark.number == chosen)


def _label(painter: QPainter, box: QRectF, mark: Mark, look: Look, *, chosen: bool) -> None:
    """White on a black square stops, in a heavy ring warns, bare on white is a note; a second outline is chosen."""
    paper, ink = QColor(PAPER), QColor(INK)
    draw = painter.drawRect if mark.severity is Severity.STOP else painter.drawEllipse
    layers = [(QPen(paper, 4.0), paper)]
    if chosen:
        layers = [(QPen(paper, 10.0), paper), (QPen(ink, 7.0), ink), (QPen(paper, 3.0), paper)]
    if mark.severity is Severity.STOP:
        layers.append((QPen(ink, 1.0), ink))
    elif mark.severity is Severity.WARN:
        layers.append((QPen(ink, 2.4), paper))
    inside = box.adjusted(1.5, 1.5, -1.5, -1.5)
    for pen, brush in layers:
        painter.setPen(pen)
        painter.setBrush(brush)
        draw(inside)
    painter.setPen(paper if mark.severity is Severity.STOP else ink)
    painter.setFont(look.font(SMALL, weight=600 if mark.severity is Severity.NOTE else 700))
    painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), str(mark.number))
