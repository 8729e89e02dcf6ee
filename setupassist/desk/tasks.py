"""Work that takes long, as frozen records: what is to be worked out, from what, and the function that does it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

Progress = Callable[[float], None]
Stop = Callable[[], bool]


class Stage(StrEnum):
    """What is worked out of a job, in the order in which one needs the other."""

    PLATES = "plates"
    PICTURES = "pictures"
    MEASURED = "measured"
    PLANS = "plans"
    MADE = "made"
    SHEET = "sheet"


class Lane(StrEnum):
    """Tasks of one lane run one after another."""

    ART = "art"
    PLAN = "plan"
    SHEET = "sheet"
    DISK = "disk"
    DRAW = "draw"
    LOUPE = "loupe"
    OUT = "out"
    PAGES = "pages"
    PRINT = "print"
    AHEAD = "ahead"


LANE_OF = {
    Stage.PLATES: Lane.ART,
    Stage.PICTURES: Lane.ART,
    Stage.MEASURED: Lane.ART,
    Stage.PLANS: Lane.PLAN,
    Stage.MADE: Lane.PLAN,
    Stage.SHEET: Lane.SHEET,
}


@dataclass(frozen=True, eq=False)
class Task:
    """One thing to work out. ``key`` holds all that the answer depends on; ``part`` tells parts of a stage apart."""

    stage: Stage
    key: tuple[Any, ...] = field(repr=False)
    run: Callable[[Progress, Stop], Any] = field(repr=False)
    part: str = ""

    @property
    def lane(self) -> Lane:
        """The lane that it runs in."""
        return LANE_OF[self.stage]
