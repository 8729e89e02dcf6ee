"""Words and figures as the sheet says them: in its language, in its units, and no finer than they are known."""

from __future__ import annotations

import math
import re
from typing import Any

from setupassist.documents.terms import Known
from setupassist.quantities import (
    GRAMS_PER_OUNCE,
    Units,
    fahrenheit,
    feet_per_minute,
    inches,
    per_cm,
    per_inch,
)
from setupassist.screens.wants import ruling_words
from setupassist.words import ENGLISH, Words, words_in

NO_BREAK = "\u00a0"
_SIZE = re.compile(r"([0-9.]+) × ([0-9.]+)")
_STROKES = {1: "one", 2: "two", 3: "three", 4: "four"}
_PLAIN_UNITS = {"N/cm": "newtons", "degrees": "degrees"}


class UnitWords:
    """Words of one language and one unit system; lengths come in mm, counts per cm, amounts in g, speeds in m/min."""

    def __init__(self, units: Units, language: Words | None = None) -> None:
        self.units = units
        self.metric = units is Units.METRIC
        self._words = language if language is not None else words_in(ENGLISH)

    def __call__(self, text: str) -> str:
        """What was said elsewhere, in this language."""
        return self._words(text)

    def say(self, key: str, /, **values: Any) -> str:
        """The catalogue's text of that id below ``sheet``; markup among the values stays markup."""
        return self._words.say(f"sheet.{key}", **values)

    def choice(self, key: str, known: str, otherwise: str) -> str:
        """The catalogue's text of the id ``key.known``, ``otherwise`` where there is none."""
        full = f"{key}.{known}"
        return self._words.say(full) if self._words.knows(full) else otherwise

    def counted(self, what: str, count: int) -> str:
        """``1 screen``, ``7 screens``; ``what`` is an id below ``sheet.count``."""
        return self.say(f"count.{what}", count=count, number=thousands(count))

    def known(self, known: Known) -> str:
        """The small letter that says how a value is known."""
        return self.say(f"letter.{known.value}")

    def mesh_number(self, mesh_per_cm: float | None, mesh_per_inch: float | None) -> str:
        """The count alone, in the shop's unit; a dash where there is none."""
        cm, inch = _both(mesh_per_cm, mesh_per_inch)
        if cm is None or inch is None:
            return "–"
        return f"{cm if self.metric else inch:.0f}"

    def mesh_units(self, mesh_per_cm: float | None, mesh_per_inch: float | None) -> tuple[str, str]:
        """What stands under the count: its unit, then the other unit's count."""
        cm, inch = _both(mesh_per_cm, mesh_per_inch)
        if cm is None or inch is None:
            return self.say("units.no-stock-fits"), ""
        if self.metric:
            return self.say("units.per-cm"), self.say("units.other-per-inch", number=f"{inch:.0f}")
        return self.say("units.per-inch"), self.say("units.other-per-cm", number=f"{cm:.0f}")

    def mesh(self, mesh_per_cm: float | None, mesh_per_inch: float | None) -> str:
        """``156 per inch (61 per cm)`` or the other way round."""
        unit, other = self.mesh_units(mesh_per_cm, mesh_per_inch)
        if not other:
            return unit
        return self.say("units.mesh", number=self.mesh_number(mesh_per_cm, mesh_per_inch), unit=unit, other=other)

    def length(self, mm: float) -> str:
        """A length on the press: whole mm, or inches to a tenth; short ones finer."""
        if self.metric:
            return self.say("units.mm", number=f"{mm:.1f}" if abs(mm) < 10 else f"{mm:.0f}")
        return self.say("units.inch", number=f"{inches(mm):.2f}" if abs(mm) < 25 else f"{inches(mm):.1f}")

    def fine(self, mm: float) -> str:
        """A length of fine detail: to a hundredth of a mm, or a thousandth of an inch."""
        if self.metric:
            return self.say("units.mm", number=f"{mm:.2f}")
        return self.say("units.inch", number=f"{inches(mm):.3f}")

    def ruling(self, lines_per_inch: float) -> str:
        """Lines of a halftone in the unit's length."""
        return self(ruling_words(lines_per_inch, self.units))

    def size(self, width_mm: float, height_mm: float) -> str:
        """Width × height."""
        if self.metric:
            return self.say("units.size-mm", wide=f"{width_mm:.0f}", high=f"{height_mm:.0f}")
        return self.say("units.size-inch", wide=number(inches(width_mm)), high=number(inches(height_mm)))

    def grams(self, grams: float) -> str:
        """An amount of ink, rounded to 10 g or whole ounces."""
        if self.metric:
            told = thousands(round(grams / 10) * 10)
            return self.say("units.grams", number=told) if grams >= 10 else self.say("units.under-ten-grams")
        ounces = grams / GRAMS_PER_OUNCE
        told = thousands(round(ounces))
        return self.say("units.ounces", number=told) if ounces >= 1 else self.say("units.under-an-ounce")

    def temperature(self, celsius: float) -> str:
        """Whole °C, or °F to the nearest five."""
        return self.say(f"units.{self._degrees}", number=self._temperature(celsius))

    def temperatures(self, low: float, high: float) -> str:
        """A range of temperatures in whole degrees, told once where both ends are equal."""
        if round(low) == round(high):
            return self.temperature(low)
        ends = self._temperature(low), self._temperature(high)
        return self.say(f"units.{self._degrees}-range", low=ends[0], high=ends[1])

    def belt(self, m_per_min: float) -> str:
        """Belt speed."""
        if self.metric:
            return self.say("units.m-per-min", number=f"{m_per_min:.1f}")
        return self.say("units.feet-per-min", number=f"{feet_per_minute(m_per_min):.1f}")

    def setting(self, value: float | int | str, unit: str) -> str:
        """A setting with its unit, mm turned into the shop's; other units as they are in every shop."""
        if isinstance(value, str):
            size = _SIZE.fullmatch(value)
            if size and unit == "mm":
                return self.size(float(size[1]), float(size[2]))
            return self._with_unit(self(value), unit)
        if unit == "mm":
            return self.length(float(value))
        if unit in ("°C", "C"):
            return self.temperature(float(value))
        if unit == "µm":
            return self.say("units.um", number=f"{value:.0f}")
        return self._with_unit(number(value), unit)

    def seconds_from(self, seconds: float | None) -> str:
        """A flash time as a start: ``from 4 s``, to the half second."""
        if seconds is None:
            return self.say("units.time-by-test")
        return self.say("units.from-seconds", seconds=number(math.floor(seconds * 2 + 0.5) / 2))

    def duration(self, minutes: float) -> str:
        """``50 min`` or ``2 h 10 min``, to 5 minutes above half an hour."""
        whole = round(minutes / 5) * 5 if minutes > 30 else max(1, math.ceil(minutes))
        hours, rest = divmod(whole, 60)
        if hours == 0:
            return self.say("units.minutes", minutes=rest)
        if rest:
            return self.say("units.hours-minutes", hours=thousands(hours), minutes=rest)
        return self.say("units.hours", hours=thousands(hours))

    def strokes(self, count: int) -> str:
        """``one stroke``, ``two strokes``."""
        return self.say(f"strokes.{_STROKES.get(count, 'more')}", number=count)

    @property
    def _degrees(self) -> str:
        return "celsius" if self.metric else "fahrenheit"

    def _temperature(self, celsius: float) -> str:
        return f"{celsius:.0f}" if self.metric else f"{round(fahrenheit(celsius) / 5) * 5}"

    def _with_unit(self, told: str, unit: str) -> str:
        if unit in _PLAIN_UNITS:
            return self.say(f"units.{_PLAIN_UNITS[unit]}", number=told)
        gap = "" if unit.startswith("°") else " "
        return f"{told}{gap}{self(unit)}".strip()


def _both(mesh_per_cm: float | None, mesh_per_inch: float | None) -> tuple[float | None, float | None]:
    if mesh_per_cm is None and mesh_per_inch is not None:
        mesh_per_cm = per_cm(mesh_per_inch)
    if mesh_per_inch is None and mesh_per_cm is not None:
        mesh_per_inch = per_inch(mesh_per_cm)
    return mesh_per_cm, mesh_per_inch


def number(value: float) -> str:
    """A number with one decimal at most, none where it is whole."""
    return f"{value:.1f}".removesuffix(".0")


def thousands(value: float) -> str:
    """A whole number with its thousands set apart from ten thousand up."""
    text = f"{value:,.0f}"
    return text.replace(",", NO_BREAK) if abs(value) >= 10_000 else text.replace(",", "")
