"""Where columns and laps lie on the canvas, in pixels."""

from __future__ import annotations

from dataclasses import dataclass

from setupassist.app.theme import Look
from setupassist.desk.line import Place

GUTTER = 8
LEAST_COLUMN, MOST_COLUMN = 56, 150
NUMBER_HIGH = 28
STACKED = 60


@dataclass(frozen=True)
class Row:
    """One lap: the top of its numbers, of its cards, of what lies below them, and its end."""

    top: int
    cards: int
    below: int
    end: int


@dataclass(frozen=True)
class Geometry:
    """Columns in travel order, rows by lap; ``band`` is the room above the cards for what they break."""

    stations: tuple[int, ...]
    column: int
    gutter: int
    rows: tuple[Row, ...]
    band: int
    stacked: int

    @property
    def wide(self) -> int:
        """Width of the whole line."""
        return self.column * len(self.stations)

    @property
    def high(self) -> int:
        """Height of the whole line."""
        return self.rows[-1].end if self.rows else 0

    @property
    def card_wide(self) -> int:
        """Width of a card."""
        return self.column - self.gutter

    def left(self, at: int) -> int:
        """Left edge of the cards of a column."""
        return at * self.column + self.gutter // 2

    def middle(self, station: int) -> int:
        """The middle of a station's column."""
        return self.left(self.stations.index(station)) + self.card_wide // 2

    def card(self, place: Place, at: int = 0, *, high: int) -> tuple[int, int, int, int]:
        """x, y, width and height of a card with its band; ``at`` is its turn among several of one place."""
        lap, station = place
        y = self.rows[lap - 1].cards - self.band + at * self.stacked
        return self.left(self.stations.index(station)), y, self.card_wide, high + self.band

    def spot(self, place: Place, *, high: int) -> tuple[int, int, int, int]:
        """x, y, width and height of a place on which nothing stands."""
        lap, station = place
        return self.left(self.stations.index(station)), self.rows[lap - 1].cards, self.card_wide, high

    def place_at(self, x: int, y: int, *, reach: int) -> Place | None:
        """The place under a point; points up to ``reach`` above or below the line count too."""
        at = x // self.column
        if not 0 <= at < len(self.stations) or not -reach <= y <= self.high + reach:
            return None
        lap = next((lap for lap, row in enumerate(self.rows, start=1) if y < row.end), len(self.rows))
        return lap, self.stations[at]


def column_of(look: Look, count: int, width: int, *, word: float) -> int:
    """Width of a column: as wide as the room allows, no narrower than can be read, no wider than looks well.

    ``word`` is the width of the longest word that every line has.
    """
    least = max(look.px(LEAST_COLUMN), int(word) + look.px(GUTTER + 9))
    return max(least, min(look.px(MOST_COLUMN), width // max(1, count)))


def laid_out(
    look: Look, stations: tuple[int, ...], *, column: int, card: int, band: int, below: list[int], stacks: list[int]
) -> Geometry:
    """The line laid out: ``card`` is the height of every card, ``below`` the room under each lap's cards.

    ``stacks`` tells for each lap how many things share its fullest place.
    """
    rows, top, stacked = [], 0, band + look.px(STACKED)
    for under, fullest in zip(below, stacks, strict=True):
        cards = top + look.px(NUMBER_HIGH) + band
        foot = cards + card + (fullest - 1) * stacked
        rows.append(Row(top, cards, foot, foot + under))
        top = foot + under
    return Geometry(stations, column, look.px(GUTTER), tuple(rows), band, stacked)
