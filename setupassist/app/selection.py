"""What the person has selected: the panel of reasons follows it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Of(StrEnum):
    """Kinds of things that can be selected."""

    NOTHING = "nothing"
    INK = "ink"
    SCREEN = "screen"
    STATION = "station"
    QUESTION = "question"
    FINDING = "finding"
    RUN = "run"


@dataclass(frozen=True)
class Selection:
    """One thing: an ink or screen by name, a station by number (with its lap), a question by id, a finding by place."""

    of: Of = Of.NOTHING
    name: str = ""
    station: int = 0
    lap: int = 1
