"""The station line: stations in travel order, one column each, laps as rows, and what is wet together below.

A screen is a solid-outlined card with its ink on top, a flash is hatched, cooling is dashed, a head out of service is
grey with words, load and unload are open ends, a place that breaks a limit has a black band with the limit's letter:
nothing rests on colour.
"""

from __future__ import annotations

from dataclasses import dataclass

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus.flowables import Flowable

from setupassist.colour import parse_colour, to_hex
from setupassist.sheet import type as face
from setupassist.sheet.brackets import Bracket, brackets_by_row
from setupassist.sheet.content import SheetContent, role_said, strokes_of
from setupassist.sheet.stations import Cell, Stands, station_rows
from setupassist.sheet.tables import Drawn
from setupassist.sheet.type import HAIRLINE, IDLE, INK, ITALIC, PAPER, REGULAR, SEMIBOLD, SMALLEST
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import say

MOST_COLUMNS = 12
GUTTER = 6.0
PAD = 2.0
NUMBER_HIGH = 19.0
SWATCH_HIGH = 21.0
LABEL_LEADING = 9.5
BRACKET_HIGH = 9.0
NAME_SIZES = (10.5, 9.0, 8.0)
BAND_SIZE, BAND_LEADING = 9.0, 10.5
HEAVY = 2.6


@dataclass(frozen=True)
class Line:
    """One line of text in a card."""

    text: str
    font: str
    size: float
    leading: float


def station_line(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """The line as rows that fit ``width`` points; long presses go on in a further row of columns, and say so."""
    rows = station_rows(content)
    count = len(rows[0])
    parts = -(-count // MOST_COLUMNS)
    wide = -(-count // parts)
    brackets = brackets_by_row(content, rows)
    line: list[Flowable] = []
    for start in range(0, count, wide):
        for row, marks in zip(rows, brackets, strict=True):
            stop = min(start + wide, count)
            here = [_clipped(mark, start, stop, wide) for mark in marks if mark.last >= start and mark.first < stop]
            line.append(
                StationRow(
                    content, words, row[start:stop], here, columns=wide, width=width,
                    laps=len(rows), goes_on=stop < count, goes_before=start > 0,
                )
            )  # fmt: skip
    return line


class StationRow(Drawn):
    """One lap of some stations, drawn."""

    def __init__(
        self, content: SheetContent, words: UnitWords, cells: tuple[Cell, ...], brackets: list[Bracket], *,
        columns: int, width: float, laps: int, goes_on: bool, goes_before: bool,
    ) -> None:  # fmt: skip
        super().__init__(width, 0.0)
        self.content, self.words, self.cells, self.brackets = content, words, cells, brackets
        self.column = width / columns
        self.laps, self.goes_on, self.goes_before = laps, goes_on, goes_before
        inner = self.column - GUTTER - 2 * PAD
        self.tops = [self._top_lines(cell, inner) for cell in cells]
        self.feet = [self._foot_lines(cell, inner) for cell in cells]
        carded = [
            SWATCH_HIGH + 1 + _high(top) + 5 + _high(foot) + 4 if self._has_swatch(cell) else _high(top) + 24
            for cell, top, foot in zip(cells, self.tops, self.feet, strict=True)
        ]
        self.card_high = max(*carded, 86.0)
        self.bands = [self._band_lines(cell) for cell in cells]
        deepest = max(len(lines) for lines in self.bands)
        self.band_high = deepest * BAND_LEADING + 4 if deepest else 0.0
        self.labels = [self._label(at) for at in range(len(brackets))]
        lines = max((len(lines) for _, _, lines in self.labels), default=0)
        self.label_high = BRACKET_HIGH + 2 + lines * LABEL_LEADING if brackets else 0.0
        self.high = NUMBER_HIGH + self.band_high + self.card_high + self.label_high + 7

    def draw(self) -> None:
        """Draw the row, its lower left corner at the origin."""
        canvas: Canvas = self.canv
        bottom = self.label_high + 7
        number = bottom + self.card_high + self.band_high
        canvas.setLineWidth(0.5)
        canvas.setFillColor(INK)
        canvas.setFont(REGULAR, 10)
        if self.goes_before:
            canvas.drawString(GUTTER / 2, number + 6, "→")
        if self.goes_on:
            canvas.drawRightString(len(self.cells) * self.column - GUTTER / 2, number + 6, "→")
        for at, cell in enumerate(self.cells):
            x = at * self.column + GUTTER / 2
            self._number(canvas, cell, x, number)
            self._cell(canvas, cell, at, x, bottom)
            if self.bands[at]:
                self._band(canvas, self.bands[at], x, bottom)
        for mark, label in zip(self.brackets, self.labels, strict=True):
            self._bracket(canvas, mark, label, bottom)

    @staticmethod
    def _has_swatch(cell: Cell) -> bool:
        return cell.stands is Stands.SCREEN

    def _top_lines(self, cell: Cell, width: float) -> list[Line]:
        if cell.stands in (Stands.SCREEN, Stands.SCREEN_RESTS) and cell.screen is not None:
            name = face.clean(cell.screen.name, font=SEMIBOLD)
            size, broken = face.fitted(name, SEMIBOLD, NAME_SIZES, width, 3)
            lines = [Line(text, SEMIBOLD, size, size + 1) for text in broken]
            if cell.stands is Stands.SCREEN_RESTS:
                return lines + _set(self.words(cell.words), ITALIC, 8, width)
            lines = [Line(to_hex(parse_colour(cell.screen.colour)), REGULAR, SMALLEST, 10.5), *lines]
            lines += _set(self.words(role_said(cell.screen.role)), ITALIC, 8, width)
            return lines + _set(self.words(cell.fault), SEMIBOLD, 8, width)
        if cell.stands is Stands.FLASH and cell.slot is not None:
            size, broken = face.fitted(self.words(cell.words), SEMIBOLD, NAME_SIZES, width - 6, 1)
            lines = [Line(text, SEMIBOLD, size, size + 2.5) for text in broken]
            lines += _set(self.words.seconds_from(cell.slot.seconds), REGULAR, 8.5, width - 6)
            return lines + _set(self.words(cell.fault), SEMIBOLD, 8, width - 6)
        on_hatch = cell.stands is Stands.FLASH_RESTS
        return _set(self.words(cell.words), ITALIC, 9 if width > 44 else 8, width - 6 if on_hatch else width)

    def _foot_lines(self, cell: Cell, width: float) -> list[Line]:
        if cell.stands is not Stands.SCREEN or cell.screen is None or cell.slot is None:
            return []
        screen = cell.screen
        number = self.words.mesh_number(screen.mesh_per_cm, screen.mesh_per_inch)
        lines = [Line(number, SEMIBOLD, 15, 15)]
        for text in self.words.mesh_units(screen.mesh_per_cm, screen.mesh_per_inch):
            lines += _set(text, REGULAR, SMALLEST, width)
        blade = screen.setting("squeegee hardness")
        if blade is not None:
            said = self.words.say("station.blade", hardness=blade.value)
            lines += _set(said, REGULAR, SMALLEST, width, above=2)
        return lines + _set(self.words.strokes(strokes_of(cell.slot, screen.choice)), REGULAR, 8, width, above=0)

    def _band_lines(self, cell: Cell) -> list[str]:
        """The letters of the limits that are broken here, in words."""
        letters = self.content.broken_at(cell.lap, cell.station)
        if not letters:
            return []
        said = face.clean(self.words.say("station.breaks", letters=", ".join(letters)), font=SEMIBOLD)
        return face.broken_lines(said, SEMIBOLD, BAND_SIZE, self.column - GUTTER - 2 * PAD)[0]

    def _band(self, canvas: Canvas, lines: list[str], x: float, y: float) -> None:
        """A black band on top of a card with what is broken there, and a heavy outline round it."""
        wide, top = self.column - GUTTER, y + self.card_high
        canvas.setFillColor(INK)
        canvas.rect(x, top, wide, self.band_high, fill=1)
        canvas.setLineWidth(HEAVY)
        canvas.rect(x, y, wide, self.card_high)
        canvas.setLineWidth(0.5)
        canvas.setFillColor(PAPER)
        canvas.setFont(SEMIBOLD, BAND_SIZE)
        foot = top + self.band_high - 1
        for line in lines:
            foot -= BAND_LEADING
            canvas.drawCentredString(x + wide / 2, foot + 1.5, line)
        canvas.setFillColor(INK)

    def _number(self, canvas: Canvas, cell: Cell, x: float, y: float) -> None:
        canvas.setFillColor(INK)
        canvas.setFont(SEMIBOLD, 12)
        canvas.drawCentredString(x + (self.column - GUTTER) / 2, y + 6, str(cell.station))

    def _cell(self, canvas: Canvas, cell: Cell, at: int, x: float, y: float) -> None:
        wide, high = self.column - GUTTER, self.card_high
        canvas.setStrokeColor(INK)
        if cell.stands in (Stands.LOAD, Stands.UNLOAD):
            edge = x if cell.stands is Stands.LOAD else x + wide
            canvas.line(edge, y, edge, y + high)
            self._travel(canvas, cell, x, y)
        elif cell.stands is Stands.SCREEN:
            self._card(canvas, cell, at, x, y)
            return
        elif cell.stands in (Stands.FLASH, Stands.FLASH_RESTS):
            self._hatched(canvas, x, y, light=cell.stands is Stands.FLASH_RESTS)
        elif cell.stands is Stands.OUT_OF_SERVICE:
            canvas.setFillColor(IDLE)
            canvas.setStrokeColor(HAIRLINE)
            canvas.rect(x, y, wide, high, fill=1)
        elif cell.stands is Stands.COOLING:
            canvas.setDash(2.5, 2.5)
            canvas.rect(x, y, wide, high)
            canvas.setDash()
        else:
            canvas.setStrokeColor(HAIRLINE)
            canvas.setDash(0.6, 2.4)
            canvas.rect(x, y, wide, high)
            canvas.setDash()
        self._middle(canvas, self.tops[at], x, y, on_hatch=cell.stands in (Stands.FLASH, Stands.FLASH_RESTS))

    def _card(self, canvas: Canvas, cell: Cell, at: int, x: float, y: float) -> None:
        wide, high = self.column - GUTTER, self.card_high
        assert cell.screen is not None
        colour = to_hex(parse_colour(cell.screen.colour))
        canvas.setFillColor(HexColor(colour))
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.9)
        canvas.rect(x, y + high - SWATCH_HIGH, wide, SWATCH_HIGH, fill=1)
        canvas.rect(x, y, wide, high)
        canvas.setLineWidth(0.5)
        canvas.setFillColor(INK)
        _stack(canvas, self.tops[at], x + wide / 2, y + high - SWATCH_HIGH - 1)
        _stack(canvas, self.feet[at], x + wide / 2, y + 4 + _high(self.feet[at]))

    def _hatched(self, canvas: Canvas, x: float, y: float, *, light: bool) -> None:
        wide, high = self.column - GUTTER, self.card_high
        canvas.saveState()
        path = canvas.beginPath()
        path.rect(x, y, wide, high)
        canvas.clipPath(path, stroke=0, fill=0)
        canvas.setStrokeColor(HAIRLINE if light else INK)
        canvas.setLineWidth(0.45)
        step = 12.0 if light else 5.5
        reach = y - wide
        while reach < y + high:
            canvas.line(x, reach, x + wide, reach + wide)
            reach += step
        canvas.restoreState()
        canvas.setStrokeColor(HAIRLINE if light else INK)
        canvas.setLineWidth(0.9)
        canvas.rect(x, y, wide, high)
        canvas.setLineWidth(0.5)

    def _middle(self, canvas: Canvas, lines: list[Line], x: float, y: float, *, on_hatch: bool) -> None:
        wide, high = self.column - GUTTER, self.card_high
        tall = _high(lines)
        top = y + high / 2 + tall / 2
        if on_hatch and lines:
            broad = max(face.width_of(line.text, line.font, line.size) for line in lines)
            canvas.setFillColor(PAPER)
            canvas.rect(x + (wide - broad) / 2 - 3, top - tall - 4, broad + 6, tall + 7, fill=1, stroke=0)
        canvas.setFillColor(INK)
        _stack(canvas, lines, x + wide / 2, top)

    def _travel(self, canvas: Canvas, cell: Cell, x: float, y: float) -> None:
        """An arrow with the lap's number at the foot of the open ends."""
        wide = self.column - GUTTER
        canvas.setFillColor(INK)
        canvas.setFont(REGULAR, 8)
        text = self.words.say("station.travel") if cell.stands is Stands.LOAD else "→"
        if self.laps > 1 and cell.stands is Stands.LOAD:
            text = self.words.say("station.lap", lap=cell.lap)
        canvas.drawCentredString(x + wide / 2, y + 5, text)

    def _label(self, at: int) -> tuple[float, bool, list[str]]:
        """Where the words of a bracket stand (x, centred or not) and their lines, clear of the neighbours' words."""
        left, right = self._span(self.brackets[at])
        floor = (self._span(self.brackets[at - 1])[1] + left) / 2 + 3 if at > 0 else 0.0
        last = at + 1 == len(self.brackets)
        ceiling = len(self.cells) * self.column if last else (self._span(self.brackets[at + 1])[0] + right) / 2 - 3
        text = face.clean(self.words(self.brackets[at].text))
        middle = (left + right) / 2
        room = 2 * min(middle - floor, ceiling - middle)
        if face.width_of(text, REGULAR, 8.5) <= room or room >= 150:
            return middle, True, face.broken_lines(text, REGULAR, 8.5, room)[0]
        return floor, False, face.broken_lines(text, REGULAR, 8.5, ceiling - floor)[0]

    def _span(self, mark: Bracket) -> tuple[float, float]:
        return mark.first * self.column + GUTTER / 2 + 1, (mark.last + 1) * self.column - GUTTER / 2 - 1

    def _bracket(self, canvas: Canvas, mark: Bracket, label: tuple[float, bool, list[str]], y: float) -> None:
        left, right = self._span(mark)
        top, foot = y - 3, y - BRACKET_HIGH + 1
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.9)
        canvas.line(left, foot, right, foot)
        if not mark.open_left:
            canvas.line(left, foot, left, top)
        if not mark.open_right:
            canvas.line(right, foot, right, top)
        canvas.setLineWidth(0.5)
        canvas.setFillColor(INK)
        canvas.setFont(REGULAR, 8.5)
        x, centred, lines = label
        for line in lines:
            foot -= LABEL_LEADING
            if centred:
                canvas.drawCentredString(x, foot, line)
            else:
                canvas.drawString(x, foot, line)


def _clipped(mark: Bracket, start: int, stop: int, wide: int) -> Bracket:
    """The part of a mark in columns ``start`` to ``stop``; its widest part carries its words."""
    before, after = mark.first < start, mark.last >= stop
    parts = range(mark.first // wide * wide, mark.last + 1, wide)
    widest = max(parts, key=lambda at: min(mark.last, at + wide - 1) - max(mark.first, at))
    text = mark.text
    if start != widest:
        text = say("sheet.wet.goes-on") if before else say("sheet.wet.and-on")
    return Bracket(
        max(mark.first, start) - start, min(mark.last, stop - 1) - start, text,
        open_left=mark.open_left or before, open_right=mark.open_right or after,
    )  # fmt: skip


def _set(text: str, font: str, size: float, width: float, *, above: float = 0.0) -> list[Line]:
    if not text:
        return []
    lines = face.broken_lines(face.clean(text, font=font), font, size, width)[0]
    return [Line(line, font, size, size + 1.2 + (above if at == 0 else 0)) for at, line in enumerate(lines)]


def _high(lines: list[Line]) -> float:
    return sum(line.leading for line in lines)


def _stack(canvas: Canvas, lines: list[Line], middle: float, top: float) -> None:
    """Centred lines downward from ``top``."""
    for line in lines:
        top -= line.leading
        canvas.setFont(line.font, line.size)
        canvas.drawCentredString(middle, top + 0.22 * line.size, line.text)
