"""What the sheet would say of the desk's job as far as it is known, for the places that say the same."""

from __future__ import annotations

from typing import TYPE_CHECKING

from setupassist.desk.desk import Desk
from setupassist.desk.tasks import Stage
from setupassist.documents.terms import StrategyName
from setupassist.words import joined, say

if TYPE_CHECKING:
    from setupassist.sheet.content import SheetContent


def content_of(desk: Desk) -> SheetContent | None:
    """The content of the sheet without its pictures and date; None while there is no plan to print.

    The plan may be of an older state of the job (see ``Desk.fresh``).
    """
    found: SheetContent | None = desk.once(("content",), lambda: _content(desk))
    return found


def _content(desk: Desk) -> SheetContent | None:
    from setupassist.sheet.content import SheetContent

    results, press = desk.results, desk.press
    if results.made is None or results.measured is None or press is None or not results.made.plan.feasible:
        return None
    return SheetContent(
        job=desk.job,
        plan=results.made.plan,
        steps=results.made.steps,
        press=press,
        shop=desk.shop,
        measure=results.measured.measure,
        date="",
        version="",
        findings=results.made.findings,
    )


def why_no_plan(desk: Desk) -> tuple[str, ...]:
    """Why there is no plan of the job as it is now, a sentence each; () where there is one or it is being made."""
    for stage in (Stage.PLATES, Stage.MEASURED):
        if told := desk.trouble(stage):
            return told
    if told := desk.trouble(Stage.PLANS, desk.job.strategy) or desk.trouble(Stage.MADE):
        return told
    made = desk.results.made
    if made is None or not clashes(desk):
        return ()
    limits = made.plan.clash.limits if made.plan.clash is not None else ()
    return (say("pipeline.no-plan.clash", limits=joined(limits, "; ")),)


def why_no_sheet(desk: Desk) -> tuple[str, ...]:
    """Why there is no sheet of the job as it is now, a sentence each; () where there is one or it is being set."""
    return why_no_plan(desk) or desk.trouble(Stage.SHEET)


def clashes(desk: Desk) -> bool:
    """Whether the limits of the job as it is now clash, so that trying again is of no use."""
    made = desk.results.made
    return made is not None and desk.fresh(Stage.MADE) and not made.plan.feasible


def try_again(desk: Desk) -> None:
    """Lets everything be tried again that failed or was stopped."""
    for stage in Stage:
        for part in StrategyName if stage is Stage.PLANS else ("",):
            desk.again(stage, part)
