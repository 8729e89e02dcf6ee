"""What was measured of a finding, and its limit, in the units of what they count."""

from __future__ import annotations

from collections.abc import Callable

from setupassist.documents.measure import Finding
from setupassist.sheet.unit_words import UnitWords, number
from setupassist.words import say

Quantity = Callable[[float, UnitWords], str]


def figures_of(finding: Finding, words: UnitWords) -> tuple[str, str]:
    """What was measured and the limit, worded; "" for what the finding does not tell."""
    quantity = QUANTITIES.get(finding.code, _plain)
    measured, limit = ("" if value is None else quantity(value, words) for value in (finding.measured, finding.limit))
    return measured, limit


def _fine(mm: float, words: UnitWords) -> str:
    return words.fine(mm)


def _length(mm: float, words: UnitWords) -> str:
    return words.length(mm)


def share(part: float, words: UnitWords) -> str:
    """A share of one in percent."""
    told = 100 * part
    return words(say("report.unit.percent", number=number(told) if told < 10 else f"{told:.0f}"))


def _resolution(dpi: float, words: UnitWords) -> str:
    return words(say("report.unit.dpi", number=number(dpi)))


def _ruling(lines_per_inch: float, words: UnitWords) -> str:
    return words.ruling(lines_per_inch)


def _plain(value: float, words: UnitWords) -> str:
    return number(value)


QUANTITIES: dict[str, Quantity] = {
    "base-peeks-out": _fine,
    "base-not-choked": _fine,
    "colours-gap": _fine,
    "line-too-fine": _fine,
    "gap-too-fine": _fine,
    "off-register": _fine,
    "marks-spread": _fine,
    "art-too-large": _length,
    "base-missing-under": share,
    "base-leaves-bare": share,
    "dots-lost": share,
    "shadows-fill": share,
    "looks-reversed": share,
    "paper-not-clear": share,
    "resolutions-differ": _resolution,
    "ruling-too-fine": _ruling,
}
"""What the figures of a finding count, by its code; a plain number where nothing is said."""
