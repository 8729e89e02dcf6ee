"""Figures as a person reads them, in the units that the shop chose and no finer than they are known."""

from __future__ import annotations

import math
import re

from setupassist.quantities import (
    GRAMS_PER_OUNCE,
    Units,
    fahrenheit,
    feet_per_minute,
    inches,
    per_cm,
    per_inch,
)

NO_BREAK = "\u00a0"
_SIZE = re.compile(r"([0-9.]+) × ([0-9.]+)")


class UnitWords:
    """Words for one unit system; lengths come in mm, counts per cm, amounts in g, speeds in m/min."""

    def __init__(self, units: Units) -> None:
        self.units = units
        self.metric = units is Units.METRIC

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
            return "no stock fits", ""
        return ("per cm", f"{inch:.0f} per inch") if self.metric else ("per inch", f"{cm:.0f} per cm")

    def mesh(self, mesh_per_cm: float | None, mesh_per_inch: float | None) -> str:
        """``156 per inch (61 per cm)`` or the other way round."""
        unit, other = self.mesh_units(mesh_per_cm, mesh_per_inch)
        if not other:
            return unit
        return f"{self.mesh_number(mesh_per_cm, mesh_per_inch)} {unit} ({other})"

    def length(self, mm: float) -> str:
        """A length on the press: whole mm, or inches to a tenth; short ones finer."""
        if self.metric:
            return f"{mm:.1f} mm" if abs(mm) < 10 else f"{mm:.0f} mm"
        return f"{inches(mm):.2f} in" if abs(mm) < 25 else f"{inches(mm):.1f} in"

    def size(self, width_mm: float, height_mm: float) -> str:
        """Width × height."""
        if self.metric:
            return f"{width_mm:.0f} × {height_mm:.0f} mm"
        return f"{number(inches(width_mm))} × {number(inches(height_mm))} in"

    def grams(self, grams: float) -> str:
        """An amount of ink, rounded to 10 g or whole ounces."""
        if self.metric:
            return f"{thousands(round(grams / 10) * 10)} g" if grams >= 10 else "under 10 g"
        ounces = grams / GRAMS_PER_OUNCE
        return f"{thousands(round(ounces))} oz" if ounces >= 1 else "under 1 oz"

    def temperature(self, celsius: float) -> str:
        """Whole °C, or °F to the nearest five."""
        return f"{celsius:.0f} °C" if self.metric else f"{round(fahrenheit(celsius) / 5) * 5} °F"

    def temperatures(self, low: float, high: float) -> str:
        """A range of temperatures in whole degrees, told once where both ends are equal."""
        if round(low) == round(high):
            return self.temperature(low)
        return f"{self.temperature(low).split()[0]} to {self.temperature(high)}"

    def belt(self, m_per_min: float) -> str:
        """Belt speed."""
        return f"{m_per_min:.1f} m/min" if self.metric else f"{feet_per_minute(m_per_min):.1f} ft/min"

    def setting(self, value: float | int | str, unit: str) -> str:
        """A setting with its unit, mm turned into the shop's; other units as they are in every shop."""
        if isinstance(value, str):
            size = _SIZE.fullmatch(value)
            if size and unit == "mm":
                return self.size(float(size[1]), float(size[2]))
            return f"{value} {unit}".strip()
        if unit == "mm":
            return self.length(float(value))
        if unit in ("°C", "C"):
            return self.temperature(float(value))
        if unit == "µm":
            return f"{value:.0f} µm"
        gap = "" if unit.startswith("°") else " "
        return f"{number(value)}{gap}{unit}".strip()


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


def seconds_from(seconds: float | None) -> str:
    """A flash time as a start: ``from 4 s``, to the half second."""
    if seconds is None:
        return "time by test"
    return f"from {number(math.floor(seconds * 2 + 0.5) / 2)} s"


def duration(minutes: float) -> str:
    """``50 min`` or ``2 h 10 min``, to 5 minutes above half an hour."""
    whole = round(minutes / 5) * 5 if minutes > 30 else max(1, math.ceil(minutes))
    hours, rest = divmod(whole, 60)
    if hours == 0:
        return f"{rest} min"
    return f"{thousands(hours)} h {rest:02d} min" if rest else f"{thousands(hours)} h"


def strokes(count: int) -> str:
    """``one stroke``, ``two strokes``."""
    words = {1: "one stroke", 2: "two strokes", 3: "three strokes", 4: "four strokes"}
    return words.get(count, f"{count} strokes")


def counted(count: int, one: str, many: str | None = None) -> str:
    """``1 screen``, ``7 screens``."""
    return f"{thousands(count)} {one if count == 1 else many or one + 's'}"
