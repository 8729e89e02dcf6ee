"""Findings put together from all that is known: the plates, the shop, the chosen screens and the press."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from setupassist.documents.measure import Finding, Measure
from setupassist.documents.plan import ScreenChoice
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.documents.terms import Severity
from setupassist.quantities import per_inch
from setupassist.steps.needs import Steps
from setupassist.words import say

WORST_FIRST = (Severity.STOP, Severity.WARN, Severity.NOTE)


def findings_of_plates(measure: Measure, *, shop: Shop) -> tuple[Finding, ...]:
    """What the plates and the stock tell without a garment or a press, worst first."""
    return _worst_first([*measure.findings, *_rulings_too_fine(measure, shop)])


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
    return _worst_first(
        [
            *findings_of_plates(measure, shop=shop),
            *_art_too_large(measure, press),
            *_too_many_screens(steps, press, frozenset(keep_empty)),
            *_no_stock_screen(screens),
        ]
    )


def _worst_first(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    return tuple(sorted(findings, key=lambda finding: WORST_FIRST.index(finding.severity)))


def _rulings_too_fine(measure: Measure, shop: Shop) -> list[Finding]:
    counts = [screen.mesh_per_cm for screen in shop.screens if screen.quantity]
    if not counts:
        return []
    limit = per_inch(max(counts)) / shop.policies.least_mesh_per_ruling
    return [
        Finding(
            code="ruling-too-fine",
            severity=Severity.WARN,
            plates=(plate.name,),
            text=say("check.ruling-too-fine", plate=plate.name, ruling=plate.halftone.lines_per_inch, limit=limit),
            measured=plate.halftone.lines_per_inch,
            limit=limit,
        )
        for plate in measure.plates
        if plate.halftone is not None and plate.halftone.lines_per_inch > limit
    ]


def art_fits(measure: Measure, press: Press) -> bool:
    """Whether the press prints art of that size."""
    return not _art_too_large(measure, press)


def _art_too_large(measure: Measure, press: Press) -> list[Finding]:
    if measure.art.art_box_mm is None:
        return []
    found = []
    for side, size, most in zip(("wide", "high"), measure.art.art_box_mm[2:], press.max_print_mm, strict=True):
        if size > most:
            found.append(
                Finding(
                    code="art-too-large",
                    severity=Severity.STOP,
                    text=say(f"check.art-too-{side}", size=size, press=press.name, most=most),
                    measured=size,
                    limit=most,
                )
            )
    return found


def _too_many_screens(steps: Steps, press: Press, empty: frozenset[int]) -> list[Finding]:
    in_service = set(press.heads) - set(press.out_of_service)
    heads = len(in_service - empty)
    needed = len(steps.screens)
    # A unit that stands on a slot without a head takes no head away.
    headless_slots = len(set(press.flash_slots) - set(press.heads) - empty)
    units = 1 if steps.limits.flash_between else 0
    taken = max(0, units - headless_slots)
    if needed + taken <= heads:
        return []
    told = "too-many-screens-with-a-flash" if taken else "too-many-screens"
    return [
        Finding(
            code="too-many-screens",
            severity=Severity.STOP,
            plates=tuple(screen.ink for screen in steps.screens),
            text=say(
                f"check.{told}",
                count=needed,
                needed=say("check.heads", count=needed + taken),
                press=press.name,
                heads=say("check.in-use" if in_service & empty else "check.in-service", heads=heads),
            ),
            measured=needed + taken,
            limit=heads,
        )
    ]


def _no_stock_screen(screens: Sequence[ScreenChoice]) -> list[Finding]:
    return [
        Finding(
            code="no-stock-screen",
            severity=Severity.WARN,
            plates=(screen.ink,),
            text=say("check.no-stock-screen", ink=screen.ink, nearest=screen.nearest or ""),
        )
        for screen in screens
        if screen.mesh_per_cm is None
    ]
