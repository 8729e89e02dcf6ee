"""The report of the check of the job on the desk: what it is made of, ready to be set in a thread."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from setupassist.desk.art_facts import findings_in
from setupassist.desk.desk import Desk, SheetWish
from setupassist.desk.sound_plates import SoundPlates, without_missing
from setupassist.desk.tasks import Stage


def can_be_made(desk: Desk) -> bool:
    """Whether the plates, or the figures, are known as they are now."""
    return desk.work is not None and desk.fresh(Stage.MEASURED)


def report_of(desk: Desk, wish: SheetWish) -> Callable[[], bytes]:
    """The function that sets the report as a PDF, from what the desk knows now; it reads the plates once more.

    Call it only where ``can_be_made``.
    """
    from setupassist.checking import Checked, make_report

    work, measured, results = desk.work, desk.results.measured, desk.results
    assert work is not None
    assert measured is not None
    shop = desk.shop.in_units(wish.units)
    if results.plates is not None:
        work = without_missing(work, SoundPlates(results.plates, results.unread))
    checked = Checked(measured, findings_in(desk, wish.units), replace(work, shop=shop), shop)
    return lambda: make_report(checked, date=wish.date, paper=wish.paper, units=wish.units, language=wish.language)
