"""The findings of the job on the desk as a person reads and walks them: rows, the verdict, the places of each."""

from __future__ import annotations

from setupassist.desk.art_facts import findings_known
from setupassist.desk.desk import Desk
from setupassist.desk.grid import Cell, Row
from setupassist.desk.tasks import Stage
from setupassist.documents.measure import Finding
from setupassist.documents.terms import Severity
from setupassist.quantities import inches
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import Words, say

COLUMNS = ("number", "severity", "text")


def finding_rows(desk: Desk, words: Words) -> tuple[Row, ...]:
    """A row a finding, worst first, its cells as in ``COLUMNS``; the key is its place in the list, from 0."""
    rows = []
    for at, finding in enumerate(findings_known(desk)):
        severity = words(say(f"terms.severity.{finding.severity.value}"))
        strong = finding.severity is not Severity.NOTE
        rows.append(Row(str(at), (Cell(str(at + 1)), Cell(severity, strong=strong), Cell(words(finding.told)))))
    return tuple(rows)


def verdict(desk: Desk) -> str | None:
    """What the findings come to in one sentence; None while the plates are not measured."""
    from setupassist.check.findings import verdict as in_one_sentence

    return in_one_sentence(findings_known(desk)) if desk.fresh(Stage.MEASURED) else None


def number_after(count: int, now: int, step: int) -> int:
    """The number, from 1, of the finding ``step`` after that one, round and round; 0 where there is none."""
    if not count:
        return 0
    if not now:
        return 1 if step > 0 else count
    return (now - 1 + step) % count + 1


def place_told(finding: Finding, at: int, words: UnitWords) -> str:
    """Which of its places that is, and where on the plates; what it has no place for is said too."""
    if not finding.places_mm:
        return words(say("place_art_check.places.none"))
    x, y = finding.places_mm[at]
    told = {"left": fine_place(x, words), "top": fine_place(y, words)}
    return words(say("place_art_check.places.one", at=at + 1, count=len(finding.places_mm), **told))


def figures_told(finding: Finding, words: UnitWords) -> str:
    """What was measured and the limit, in a sentence; "" where the finding tells no both."""
    from setupassist.sheet.finding_figures import figures_of

    measured, limit = figures_of(finding, words)
    return words(say("place_art_check.places.figures", measured=measured, limit=limit)) if measured and limit else ""


def fine_place(mm: float, words: UnitWords) -> str:
    """A coordinate on the plates: to a tenth of a mm, or a hundredth of an inch."""
    if words.metric:
        return words.say("units.mm", number=f"{mm:.1f}")
    return words.say("units.inch", number=f"{inches(mm):.2f}")
