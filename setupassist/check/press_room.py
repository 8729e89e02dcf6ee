"""Findings on the press and the rack: art too large, screens too many, no screen that fits."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from setupassist.check.ground import Ground
from setupassist.documents.measure import Finding, Measure
from setupassist.documents.plan import ScreenChoice
from setupassist.documents.press import Press
from setupassist.documents.terms import Severity
from setupassist.steps.needs import Steps
from setupassist.words import say


def press_findings(
    ground: Ground, steps: Steps, screens: Sequence[ScreenChoice], *, press: Press, keep_empty: Collection[int]
) -> Iterator[Finding]:
    """What does not fit the press, and screens that the stock lacks."""
    yield from _art_too_large(ground, press)
    yield from _too_many_screens(steps, press, frozenset(keep_empty))
    yield from _no_stock_screen(screens)


def art_fits(measure: Measure, press: Press) -> bool:
    """Whether the press prints art of that size."""
    return not _too_large(measure, press)


def _too_large(measure: Measure, press: Press) -> list[tuple[str, float, float]]:
    """Each side that is too long, its length and the most that the press prints."""
    if measure.art.art_box_mm is None:
        return []
    sides = zip(("wide", "high"), measure.art.art_box_mm[2:], press.max_print_mm, strict=True)
    return [(side, size, most) for side, size, most in sides if size > most]


def _art_too_large(ground: Ground, press: Press) -> Iterator[Finding]:
    for side, size, most in _too_large(ground.measure, press):
        told = {"size": ground.size(size), "most": ground.size(most)}
        yield Finding(
            code="art-too-large",
            severity=Severity.STOP,
            text=say(f"check.art-too-{side}", press=press.name, **told),
            remedy=say("check.remedy.art-too-large"),
            measured=size,
            limit=most,
        )


def _too_many_screens(steps: Steps, press: Press, empty: frozenset[int]) -> Iterator[Finding]:
    in_service = set(press.heads) - set(press.out_of_service)
    heads = len(in_service - empty)
    needed = len(steps.screens)
    # A unit that stands on a slot without a head takes no head away.
    headless_slots = len(set(press.flash_slots) - set(press.heads) - empty)
    units = 1 if steps.limits.flash_between else 0
    taken = max(0, units - headless_slots)
    if needed + taken <= heads:
        return
    told = "too-many-screens-with-a-flash" if taken else "too-many-screens"
    yield Finding(
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
        remedy=say("check.remedy.too-many-screens"),
        measured=needed + taken,
        limit=heads,
    )


def _no_stock_screen(screens: Sequence[ScreenChoice]) -> Iterator[Finding]:
    for screen in screens:
        if screen.mesh_per_cm is None:
            yield Finding(
                code="no-stock-screen",
                severity=Severity.WARN,
                plates=(screen.ink,),
                text=say("check.no-stock-screen", ink=screen.ink, nearest=screen.nearest or ""),
                remedy=say("check.remedy.no-stock-screen"),
            )
