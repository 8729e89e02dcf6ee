"""What every part of the line needs to show itself: the look, the language, the units."""

from __future__ import annotations

from dataclasses import dataclass

from setupassist.app.model import DeskModel
from setupassist.app.theme import Look
from setupassist.desk.line import Line, Place
from setupassist.quantities import Units
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import Words


@dataclass(frozen=True)
class Voice:
    """Look, words and units; ``voice(text)`` words what was said elsewhere."""

    look: Look
    words: Words
    units: UnitWords

    def __call__(self, text: str) -> str:
        return self.words(text)

    def say(self, key: str, **values: object) -> str:
        """A text of the place of stations."""
        return self.words.say(f"place_stations.{key}", **values)

    def place(self, place: Place, *, laps: int) -> str:
        """``station 6``, with its lap where there are several."""
        lap, station = place
        key = "line.station" if laps == 1 else "line.station-lap"
        return self.say(key, station=station, lap=lap)

    def thing(self, screen: str | None) -> str:
        """A screen's name, or the flash."""
        return self.say("line.flash") if screen is None else screen

    def where(self, line: Line, place: Place) -> str:
        """A place of that line."""
        return self.place(place, laps=line.laps)


def voice_of(model: DeskModel, look: Look) -> Voice:
    """The window's voice as it is now."""
    return Voice(look, model.words, UnitWords(Units(model.units), model.words))
