"""Tables, boxes and pictures as the sheet sets them: hairlines, a heavier line under the head, room to write."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, Table
from reportlab.platypus.flowables import Flowable

from setupassist.colour import parse_colour, to_hex
from setupassist.sheet.type import COLUMN, COLUMN_RIGHT, HAIRLINE, INK, REGULAR, SMALL, paragraph, plain

Cell = Any
Command = tuple[Any, ...]
TICK_SIDE = 6.5
PICTURE_DPI = 300
BARE: list[Command] = [
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 0),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("FONTNAME", (0, 0), (-1, -1), REGULAR),
]


def ruled(
    rows: Sequence[Sequence[Cell]],
    widths: Sequence[float],
    *,
    head_rows: int = 1,
    pad: float = 2.2,
    middle: bool = False,
    lined: bool = True,
    more: Sequence[Command] = (),
    high: float | None = None,
) -> Table:
    """A table with hairlines between its rows; the head is repeated where it goes on over a page.

    ``high`` gives every row below the head at least that height, as room to write.
    """  # fmt: skip
    commands: list[Command] = [
        ("FONTNAME", (0, 0), (-1, -1), REGULAR),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE" if middle else "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 7),
        ("TOPPADDING", (0, 0), (-1, -1), pad),
        ("BOTTOMPADDING", (0, 0), (-1, -1), pad + 0.6),
    ]
    if lined:
        commands.append(("LINEBELOW", (0, head_rows), (-1, -1), 0.4, HAIRLINE))
    if head_rows:
        commands.append(("LINEBELOW", (0, head_rows - 1), (-1, head_rows - 1), 0.9, INK))
        commands.append(("VALIGN", (0, 0), (-1, head_rows - 1), "BOTTOM"))
    if high is not None and len(rows) > head_rows:
        slack = max(0.0, high - 10 - 2 * pad) / 2
        commands += [
            ("TOPPADDING", (0, head_rows), (-1, -1), pad + slack),
            ("BOTTOMPADDING", (0, head_rows), (-1, -1), pad + slack),
        ]
    return Table(
        [list(row) for row in rows], colWidths=list(widths), repeatRows=head_rows, hAlign="LEFT",
        style=[*commands, *more],
    )  # fmt: skip


def boxed(
    cells: Sequence[Sequence[Cell]],
    widths: Sequence[float],
    *,
    heavy_left: bool = False,
    more: Sequence[Command] = (),
) -> Table:
    """Cells each in a hairline box; with ``heavy_left`` one heavy rule at the left instead, for what must be seen."""
    commands: list[Command] = [
        ("FONTNAME", (0, 0), (-1, -1), REGULAR),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 7),
        ("RIGHTPADDING", (0, 0), (-1, -1), 7),
        ("TOPPADDING", (0, 0), (-1, -1), 4),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 5),
    ]
    if heavy_left:
        commands += [
            ("LINEBEFORE", (0, 0), (0, -1), 3, INK),
            ("TOPPADDING", (0, 0), (-1, -1), 1),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
        ]
    else:
        commands += [
            ("BOX", (column, row), (column, row), 0.6, INK)
            for row, cells_of_row in enumerate(cells)
            for column, cell in enumerate(cells_of_row)
            if cell != ""
        ]
    return Table([list(row) for row in cells], colWidths=list(widths), hAlign="LEFT", style=[*commands, *more])


def heads(*names: str, right_from: int | None = None) -> list[Paragraph]:
    """Column heads; from column ``right_from`` on they stand over right-aligned figures."""
    return [
        plain(name, COLUMN_RIGHT if right_from is not None and at >= right_from else COLUMN)
        for at, name in enumerate(names)
    ]


Part = Callable[[float], list[Flowable]]


def beside(left: Part, right: Part, width: float, *, gap: float = 24.0, most_high: float = 420.0) -> list[Flowable]:
    """Two parts side by side where both are short enough for one page, else one below the other.

    A part makes its flowables for a width.
    """
    half = (width - gap) / 2
    columns = left(half), right(half)
    if max(_height(part, half) for part in columns) > most_high:
        return [*left(width), *right(width)]
    table = Table([[columns[0], "", columns[1]]], colWidths=[half, gap, half], style=BARE, hAlign="LEFT")
    table.spaceBefore = 8
    return [table]


def _height(part: list[Flowable], width: float) -> float:
    return sum(
        float(flowable.wrap(width, 10_000)[1]) + float(flowable.getSpaceBefore()) + float(flowable.getSpaceAfter())
        for flowable in part
    )


class Drawn(Flowable):
    """Something of a known size that draws itself at the origin."""

    def __init__(self, wide: float, high: float) -> None:
        Flowable.__init__(self)
        self.wide, self.high = wide, high

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Width and height in points."""
        return self.wide, self.high


class Swatch(Drawn):
    """A patch of ink with a solid outline."""

    def __init__(self, colour: str, wide: float = 16, high: float = 9) -> None:
        super().__init__(wide, high)
        self.colour = to_hex(parse_colour(colour))

    def draw(self) -> None:
        """Draw the patch at the origin."""
        canvas: Canvas = self.canv
        canvas.setLineWidth(0.6)
        canvas.setStrokeColor(INK)
        canvas.setFillColor(self.colour)
        canvas.rect(0, 0, self.wide, self.high, fill=1)


class Picture(Drawn):
    """A picture (rows, columns, 3) uint8 at the greatest size that fits a box, with a hairline around it."""

    def __init__(
        self, pixels: npt.NDArray[np.uint8], most_wide: float, most_high: float, *, align: str = "LEFT"
    ) -> None:
        rows, columns = pixels.shape[:2]
        scale = min(most_wide / columns, most_high / rows)
        super().__init__(columns * scale, rows * scale)
        self.pixels = np.ascontiguousarray(pixels)
        self.hAlign = align

    def draw(self) -> None:
        """Draw the picture at the origin."""
        from PIL import Image

        canvas: Canvas = self.canv
        image = Image.fromarray(self.pixels)
        if (self.pixels == self.pixels[:, :, :1]).all():
            image = image.convert("L")
        image = image.reduce(max(1, int(image.width / (self.wide / 72 * PICTURE_DPI))))
        canvas.drawImage(ImageReader(image), 0, 0, self.wide, self.high)
        canvas.setLineWidth(0.4)
        canvas.setStrokeColor(HAIRLINE)
        canvas.rect(0, 0, self.wide, self.high)


class Ticked(Drawn):
    """A box to tick with words beside it."""

    def __init__(self, words: Paragraph) -> None:
        super().__init__(0.0, 0.0)
        self.words = words

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Width and height in points, as the words need them."""
        beside = available_width - TICK_SIDE - 4
        _, high = self.words.wrap(beside, available_height)
        self.wide, self.high = available_width, max(high, TICK_SIDE + 2)
        return self.wide, self.high

    def draw(self) -> None:
        """Draw box and words at the origin."""
        leading = float(getattr(self.words.style, "leading", 10.0))
        tick_box(self.canv, 0.5, self.high - leading / 2 - TICK_SIDE / 2 - 0.8)
        self.words.drawOn(self.canv, TICK_SIDE + 4, self.high - self.words.height)


def tick_box(canvas: Canvas, x: float, y: float) -> None:
    """An empty box with its lower left corner at (x, y)."""
    canvas.setLineWidth(0.7)
    canvas.setStrokeColor(INK)
    canvas.rect(x, y, TICK_SIDE, TICK_SIDE)


def ticked(markup: str, style: ParagraphStyle = SMALL) -> Ticked:
    """A box to tick with markup that is already safe beside it."""
    return Ticked(paragraph(markup, style))
