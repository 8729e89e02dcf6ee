"""Resolution as files tell it, in dots per inch."""

from __future__ import annotations

from setupassist.art.files import LEAST_DPI, MOST_DPI
from setupassist.errors import InputFault
from setupassist.words import say

MOST_DIFFERENCE = 0.005
CM_PER_INCH = 2.54
USUAL_STEP = 25
USUAL_OTHERS = (72, 96, 144, 360, 720, 1440, 2540, 5080)


def plain_dpi(dpi: float, step: float) -> float:
    """``dpi`` as it was meant: the usual figure within half a ``step`` of the file's own unit, else a whole one."""
    reach = max(step / 2, 2e-4 * dpi)
    usual = [round(dpi / USUAL_STEP) * USUAL_STEP, *USUAL_OTHERS, round(dpi)]
    near = next((figure for figure in usual if figure > 0 and abs(figure - dpi) <= reach), None)
    return float(near) if near is not None else round(dpi, 2)


def file_dpi(file: str, across: float, down: float, *, units_per_inch: float | None, step: float = 0.0) -> float | None:
    """Dots per inch, or None where the file gives none or a placeholder.

    ``across`` and ``down`` are dots per unit, ``step`` is the file's own rounding in the same unit;
    ``units_per_inch`` is None where the file tells a ratio of sides only. Raises InputFault where the two differ
    by more than 0.5 %.
    """
    if not (across > 0 and down > 0):
        return None
    if abs(across - down) > MOST_DIFFERENCE * max(across, down):
        scale = units_per_inch or 1.0
        key = "art.resolution.not-square-dpi" if units_per_inch else "art.resolution.not-square"
        told = say(key, across=across * scale, down=down * scale)
        raise InputFault(file, told, say("art.resolution.one-both-ways"))
    if units_per_inch is None or not LEAST_DPI <= across * units_per_inch <= MOST_DPI:
        return None
    return plain_dpi(across * units_per_inch, step * units_per_inch)
