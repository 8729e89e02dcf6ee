"""Units in one place: the code counts in mm, cm², per cm, g, °C and pieces; faces show what the shop chose."""

from __future__ import annotations

from enum import StrEnum

MM_PER_INCH = 25.4
UM_PER_INCH = 25_400.0
UM_PER_MM = 1000.0
CM_PER_INCH = 2.54
GRAMS_PER_OUNCE = 28.349523125
LITRES_PER_US_GALLON = 3.785411784


class Units(StrEnum):
    """How lengths, counts and temperatures are shown."""

    INCH = "inch"
    METRIC = "metric"


def per_cm(per_inch: float) -> float:
    """Count per cm from a count per inch."""
    return per_inch / CM_PER_INCH


def per_inch(per_cm: float) -> float:
    """Count per inch from a count per cm."""
    return per_cm * CM_PER_INCH


def pixels_per_cm(dots_per_inch: float) -> float:
    """Resolution per cm from dots per inch."""
    return dots_per_inch / CM_PER_INCH


def fahrenheit(celsius: float) -> float:
    """Degrees Fahrenheit."""
    return celsius * 9 / 5 + 32


def inches(mm: float) -> float:
    """Inches from mm."""
    return mm / MM_PER_INCH


def feet_per_minute(metres_per_minute: float) -> float:
    """Belt speed in feet a minute from metres a minute."""
    return metres_per_minute / 0.3048


def dozens(pieces: float) -> float:
    """Dozens from pieces."""
    return pieces / 12
