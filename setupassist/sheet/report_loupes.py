"""The worst places as a loupe on the film shows them, with a scale to measure by."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, Table
from reportlab.platypus.flowables import Flowable

from setupassist.documents.measure import Measure
from setupassist.sheet.report_content import AS_FILM, Loupe, colour_of
from setupassist.sheet.report_marks import Badge
from setupassist.sheet.scale_bar import scale_bar
from setupassist.sheet.tables import BARE, Drawn, Swatch
from setupassist.sheet.type import (
    HAIRLINE,
    HEADING,
    INK,
    NOTE,
    PAPER,
    SEMIBOLD,
    SMALL,
    SMALLEST,
    clean,
    paragraph,
    plain,
    safe,
    strong,
    width_of,
)
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import joined, say

A_ROW, GAP = 3, 14.0
RING_SHARE = 0.16
MOST_INKS_TOLD = 4


class LoupePicture(Drawn):
    """A loupe's picture as a square of that side in points, a ring around the place and a bar to measure by."""

    def __init__(self, loupe: Loupe, side: float, words: UnitWords) -> None:
        super().__init__(side, side)
        self.loupe, self.words = loupe, words
        _, _, wide, high = loupe.box_mm
        self.scale = side / max(wide, high)

    def draw(self) -> None:
        """Draw the picture at the origin."""
        from PIL import Image

        canvas: Canvas = self.canv
        x, y, wide, high = self.loupe.box_mm
        left, low = (self.wide - wide * self.scale) / 2, (self.high - high * self.scale) / 2
        image = Image.fromarray(self.loupe.picture)
        if (self.loupe.picture == self.loupe.picture[:, :, :1]).all():
            image = image.convert("L")
        canvas.drawImage(ImageReader(image), left, low, wide * self.scale, high * self.scale)
        canvas.setLineWidth(0.4)
        canvas.setStrokeColor(HAIRLINE)
        canvas.rect(left, low, wide * self.scale, high * self.scale)
        across = left + (self.loupe.place_mm[0] - x) * self.scale
        up = low + (high - (self.loupe.place_mm[1] - y)) * self.scale
        for colour, thick in ((PAPER, 2.6), (INK, 0.9)):
            canvas.setStrokeColor(colour)
            canvas.setLineWidth(thick)
            canvas.circle(across, up, RING_SHARE * self.wide)
        self._bar(canvas, left + 6, low + 6)

    def _bar(self, canvas: Canvas, x: float, y: float) -> None:
        length, told = scale_bar(max(self.loupe.box_mm[2:]), self.words)
        wide = length * self.scale
        label = clean(told)
        room = max(wide, width_of(label, SEMIBOLD, SMALLEST)) + 8
        canvas.setFillColor(PAPER)
        canvas.rect(x - 4, y - 3, room, 17, stroke=0, fill=1)
        canvas.setFillColor(INK)
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(1.2)
        canvas.line(x, y, x + wide, y)
        for end in (x, x + wide):
            canvas.line(end, y - 2, end, y + 2)
        canvas.setFont(SEMIBOLD, SMALLEST)
        canvas.drawString(x, y + 5, label)


def loupe_rows(loupes: Sequence[Loupe], measure: Measure, words: UnitWords, width: float) -> list[Flowable]:
    """The loupes under their heading, some side by side; none where there are no loupes."""
    if not loupes:
        return []
    side = (width - (A_ROW - 1) * GAP) / A_ROW
    cells: list[list[Flowable]] = [_cell(loupe, measure, words, side) for loupe in loupes]
    tables: list[Flowable] = [plain(words(say("report.loupes.heading")), HEADING)]
    for first in range(0, len(cells), A_ROW):
        row: list[object] = []
        for cell in cells[first : first + A_ROW]:
            row += [cell, ""]
        row += ["", ""] * (A_ROW - len(cells[first : first + A_ROW]))
        table = Table([row[:-1]], colWidths=([side, GAP] * A_ROW)[:-1], style=BARE, hAlign="LEFT")
        table.spaceBefore, table.spaceAfter = 4, 8
        tables.append(table)
    return tables


def _cell(loupe: Loupe, measure: Measure, words: UnitWords, side: float) -> list[Flowable]:
    head = Table(
        [[Badge(loupe.number, loupe.finding.severity), _head(loupe, words)]],
        colWidths=[20, side - 20],
        style=[*BARE, ("VALIGN", (0, 0), (-1, -1), "MIDDLE"), ("BOTTOMPADDING", (0, 0), (-1, -1), 4)],
        hAlign="LEFT",
    )
    return [head, LoupePicture(loupe, side, words), *_inks(loupe, measure, words, side)]


def _head(loupe: Loupe, words: UnitWords) -> Paragraph:
    code = words.choice("report.code", loupe.finding.code, loupe.finding.code)
    return paragraph(strong(code), SMALL)


def _inks(loupe: Loupe, measure: Measure, words: UnitWords, side: float) -> list[Flowable]:
    """Where it is, and the inks that the loupe shows with their colours."""
    x, y = loupe.place_mm
    place = words(say("report.loupes.place", x=words.length(x), y=words.length(y)))
    told: list[Flowable] = [plain(place, NOTE)]
    if loupe.finding.code in AS_FILM:
        film = say("report.loupes.film", plates=joined(loupe.inks))
        return [plain(words(film), NOTE), *told]
    rows: list[list[object]] = []
    for name in loupe.inks[:MOST_INKS_TOLD]:
        weight = strong(name) if name in loupe.finding.plates else safe(name)
        rows.append([Swatch(colour_of(measure.plate(name)), 10, 7), paragraph(weight, NOTE)])
    if len(loupe.inks) > MOST_INKS_TOLD:
        rows.append(["", plain(words(say("report.more", count=len(loupe.inks) - MOST_INKS_TOLD)), NOTE)])
    if not rows:
        return told
    table = Table(
        rows,
        colWidths=[15, side - 15],
        style=[*BARE, ("TOPPADDING", (0, 0), (0, -1), 2.2)],
        hAlign="LEFT",
    )
    table.spaceBefore = 3
    return [table, *told]
