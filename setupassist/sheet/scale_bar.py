"""The bar that a loupe measures by."""

from __future__ import annotations

from setupassist.quantities import MM_PER_INCH
from setupassist.sheet.unit_words import UnitWords

STEPS_MM = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)
STEPS_INCH = (0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5)
BAR_SHARE = 0.4


def scale_bar(shown_mm: float, words: UnitWords) -> tuple[float, str]:
    """A round length of at most two fifths of what is shown, in mm, and how it is called.

    Where not even the shortest fits, it is that.
    """
    steps, unit_mm = (STEPS_MM, 1.0) if words.metric else (STEPS_INCH, MM_PER_INCH)
    length = max((step for step in steps if step * unit_mm <= BAR_SHARE * shown_mm), default=steps[0])
    return length * unit_mm, words.say("units.mm" if words.metric else "units.inch", number=f"{length:g}")
