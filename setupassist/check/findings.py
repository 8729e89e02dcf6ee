"""Findings put together from all that is known: the plates, the shop, the chosen screens and the press."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

from setupassist.check.bare_inks import bare_findings
from setupassist.check.bases import base_findings
from setupassist.check.detail import detail_findings
from setupassist.check.dots import dot_findings
from setupassist.check.ground import Ground, ground_of_job, ground_of_plates
from setupassist.check.press_room import press_findings
from setupassist.documents.measure import Finding, Measure
from setupassist.documents.plan import ScreenChoice
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.documents.terms import Severity
from setupassist.inspection.register import LENGTH
from setupassist.steps.needs import Steps
from setupassist.words import Joined, Said, say

WORST_FIRST = (Severity.STOP, Severity.WARN, Severity.NOTE)


def findings_of_plates(measure: Measure, *, shop: Shop) -> tuple[Finding, ...]:
    """What the plates and the stock tell without a garment or a press, worst first."""
    return worst_first(_of_plates(ground_of_plates(measure, shop)))


def findings_of_job(
    measure: Measure,
    steps: Steps,
    screens: Sequence[ScreenChoice],
    *,
    press: Press,
    shop: Shop,
    keep_empty: Collection[int] = (),
) -> tuple[Finding, ...]:
    """All that is known before the first screen is burned, worst first; stations that are to stay empty take none."""
    ground = ground_of_job(measure, shop, steps, screens)
    return worst_first(
        [*_of_plates(ground), *press_findings(ground, steps, screens, press=press, keep_empty=keep_empty)]
    )


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Stops, then warnings, then notes, each in the order given."""
    return tuple(sorted(findings, key=lambda finding: WORST_FIRST.index(finding.severity)))


def verdict(findings: Iterable[Finding]) -> Said:
    """What the findings come to, in a sentence."""
    severities = [finding.severity for finding in findings]
    stops, warnings = severities.count(Severity.STOP), severities.count(Severity.WARN)
    if stops:
        return say("check.verdict.stops", count=stops)
    if warnings:
        return say("check.verdict.care", count=warnings)
    return say("check.verdict.clean")


def _in_units(text: str, ground: Ground) -> str:
    """A text of the inspection with its lengths in the shop's unit."""
    if not isinstance(text, Said) or isinstance(text, Joined):
        return text
    if text.key == LENGTH:
        return ground.length(text.values["mm"])
    return say(text.key, **{name: _in_units(value, ground) for name, value in text.values.items()})


def _measured(ground: Ground) -> Iterator[Finding]:
    for finding in ground.measure.findings:
        remedy = None if finding.remedy is None else _in_units(finding.remedy, ground)
        yield finding.model_copy(update={"text": _in_units(finding.text, ground), "remedy": remedy})


def _of_plates(ground: Ground) -> list[Finding]:
    return [
        *_measured(ground),
        *base_findings(ground),
        *bare_findings(ground),
        *detail_findings(ground),
        *dot_findings(ground),
    ]
