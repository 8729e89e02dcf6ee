"""Tables as plain data: what stands in each cell, how it is known, and what may be entered there."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Choice:
    """One of the values offered for a cell: what a person reads, and what is entered for it."""

    text: str
    value: str


@dataclass(frozen=True)
class Entry:
    """What a cell lets a person overrule: whose value, which one, and the text that editing begins with.

    ``by_hand`` says that it is overruled now and can be taken back.
    """

    owner: str
    field: str
    now: str = ""
    by_hand: bool = False
    choices: tuple[Choice, ...] = ()


@dataclass(frozen=True)
class Cell:
    """A cell, worded: ``text``, then ``small`` in small type, then ``mark`` (a letter or words: how it is known).

    ``told`` is the whole of it for a tooltip or a reader; ``colour`` is that of a swatch before the text.
    """

    text: str = ""
    small: str = ""
    mark: str = ""
    strong: bool = False
    colour: str | None = None
    told: str = ""
    entry: Entry | None = None

    @property
    def whole(self) -> str:
        """All that a reader hears."""
        return self.told or ", ".join(part for part in (self.text, self.small, self.mark) if part)


@dataclass(frozen=True)
class Row:
    """A row; ``key`` tells it from the others, whatever its place."""

    key: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Head:
    """A column: its name, and how it takes room.

    ``fit`` takes what its cells need, ``stretch`` all that is left on one line, ``wrap`` all that is left on as many
    lines as it takes. The lowest ``rank`` stays longest where the room is short. What is wider than ``most`` pixels (at
    100 % text) is elided; 0 knows no most.
    """

    text: str
    room: str = "fit"
    right: bool = False
    rank: int = 0
    told: str = ""
    most: int = 0
