"""Findings on fine detail: lines, gaps and specks that no screen holds, hairlines between two inks."""

from __future__ import annotations

from collections.abc import Iterator

from setupassist.check.ground import Ground
from setupassist.documents.measure import SPECK_STEP_MM, Finding, PlateMeasure
from setupassist.documents.terms import UNDER_ROLES, Severity
from setupassist.quantities import UM_PER_MM
from setupassist.words import say

WIDTH_READ = 1.03  # a mean width is read off pixels to so much


def detail_findings(ground: Ground) -> Iterator[Finding]:
    """What is finer than the finest screen in stock holds, and what two inks leave open between them."""
    yield from _hairlines(ground)
    yield from _too_fine(ground)
    yield from _specks(ground)


def _hairlines(ground: Ground) -> Iterator[Finding]:
    policies = ground.policies
    under = {plate.name for plate in ground.measure.plates if plate.role in UNDER_ROLES}
    over = {plate.name for plate in ground.printed()} - under
    for contact in ground.measure.contacts:
        run_mm, width = contact.hairline_cm * 10, contact.hairline_mm
        if width is None or not over.issuperset(contact.plates):
            continue
        if run_mm >= policies.hairline_run_mm and width <= policies.hairline_mm * WIDTH_READ:
            one, two = contact.plates
            told = {"width": ground.length(width), "run": ground.size(run_mm)}
            yield Finding(
                code="colours-gap",
                severity=Severity.WARN,
                plates=contact.plates,
                text=say("check.colours-gap", one=one, two=two, **told),
                remedy=say("check.remedy.colours-gap"),
                measured=width,
                limit=policies.hairline_mm,
                places_mm=contact.hairline_places_mm,
            )


def _too_fine(ground: Ground) -> Iterator[Finding]:
    cloth, policies = ground.finest, ground.policies
    if cloth is None:
        return
    limits = {
        "line": cloth.finest_line_um(policies.line_threads) / UM_PER_MM,
        "gap": cloth.finest_gap_um(policies.gap_threads) / UM_PER_MM,
    }
    for plate in ground.printed():
        found = {
            "line": (plate.finest_line_mm, plate.finest_line_places_mm),
            "gap": (plate.finest_gap_mm, plate.finest_gap_places_mm),
        }
        for what, least in limits.items():
            width, places = found[what]
            if width is not None and 0 < width < least:
                told = {"width": ground.length(width), "least": ground.length(least)}
                yield Finding(
                    code=f"{what}-too-fine",
                    severity=Severity.WARN,
                    plates=(plate.name,),
                    text=say(f"check.{what}-too-fine", plate=plate.name, **told),
                    remedy=say(f"check.remedy.{what}-too-fine"),
                    measured=width,
                    limit=least,
                    places_mm=places,
                )


def _specks(ground: Ground) -> Iterator[Finding]:
    for plate in ground.printed():
        specks = _count(plate, ground)
        if specks:
            yield Finding(
                code="specks",
                severity=Severity.NOTE,
                plates=(plate.name,),
                text=say("check.specks", plate=plate.name, count=specks),
                remedy=say("check.remedy.specks"),
                measured=specks,
                limit=0,
                places_mm=plate.speck_places_mm,
            )


def _count(plate: PlateMeasure, ground: Ground) -> int:
    """Islands that the finest screen in stock does not hold."""
    if plate.speck_counts is None or ground.finest is None:
        return plate.specks or 0
    most_mm = ground.least_island_mm(ground.finest)
    return sum(plate.speck_counts[: int(most_mm / SPECK_STEP_MM + 1e-9)])
