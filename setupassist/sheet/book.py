"""The whole setup sheet as a PDF: page one, then a page a reader, each with the job in its head."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO

from reportlab.lib.pagesizes import A4, LETTER, landscape
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Frame, NextPageTemplate, PageTemplate
from reportlab.platypus.flowables import Flowable, PageBreak

from setupassist.errors import NoPlan
from setupassist.quantities import Units
from setupassist.sheet import type as face
from setupassist.sheet.content import SheetContent
from setupassist.sheet.ink_room import ink_room
from setupassist.sheet.office import office
from setupassist.sheet.page_one import page_one
from setupassist.sheet.press_crew import press_crew
from setupassist.sheet.screen_room import screen_room
from setupassist.sheet.tables import TICK_SIDE, tick_box
from setupassist.sheet.type import (
    BOLD,
    HAIRLINE,
    INK,
    KNOWN_MARKS,
    KNOWN_WORDS,
    QUIET,
    REGULAR,
    SEMIBOLD,
    SMALLEST,
    clean,
)
from setupassist.sheet.unit_words import UnitWords

PAPERS = {"a4": landscape(A4), "letter": landscape(LETTER)}
MARGIN = 34.0
HEAD_HIGH, FOOT_HIGH = 46.0, 16.0
FOOT = "Typical and estimated values: test before the run. Local codes, makers' manuals and ink data sheets come first."

LEGEND = "Small letters:  " + ",  ".join(f"{mark} {KNOWN_WORDS[known]}" for known, mark in KNOWN_MARKS.items())

Room = Callable[[SheetContent, UnitWords, float], list[Flowable]]
ROOMS: tuple[tuple[str, Room], ...] = (
    ("for the press", page_one),
    ("for the screen room", screen_room),
    ("for the ink room", ink_room),
    ("for the press crew", press_crew),
    ("for the office", office),
)


def setup_sheet(content: SheetContent, *, paper: str, units: str) -> bytes:
    """A PDF of the setup sheet; ``paper`` is a4 or letter, ``units`` inch or metric.

    Equal input gives equal bytes. Raises NoPlan where the plan is not feasible, ValueError for another paper or unit.
    """
    if not content.plan.feasible:
        limits = content.plan.clash.limits if content.plan.clash is not None else ()
        raise NoPlan("there is no plan to print; these limits clash: " + ("; ".join(limits) or "not told"))
    if paper not in PAPERS:
        raise ValueError(f"paper is a4 or letter, not '{paper}'")
    words = UnitWords(Units(units))
    _, pages = _bound(content, words, paper, total=0)
    return _bound(content, words, paper, total=pages)[0]


def _bound(content: SheetContent, words: UnitWords, paper: str, *, total: int) -> tuple[bytes, int]:
    """The PDF and its pages; the heads say ``of total``."""
    face.register_fonts()
    page_width, page_height = PAPERS[paper]
    width = page_width - 2 * MARGIN
    target = BytesIO()
    document = BaseDocTemplate(
        target, pagesize=(page_width, page_height), invariant=1, pageCompression=1, initialFontName=face.REGULAR,
        title=clean(content.job.title, 200), author="", subject="setup sheet",
        creator=f"Setup Assist {content.version}", lang="en",
    )  # fmt: skip
    story: list[Flowable] = []
    for name, room in ROOMS:
        frame = Frame(
            MARGIN, MARGIN + FOOT_HIGH - 10, width, page_height - 2 * MARGIN - HEAD_HIGH - FOOT_HIGH + 22,
            leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0, id=name,
        )  # fmt: skip
        document.addPageTemplates(PageTemplate(id=name, frames=[frame], onPage=_dressed(content, name, paper, total)))
        if story:
            story += [NextPageTemplate(name), PageBreak()]
        story += room(content, words, width)
    document.build(story)
    return target.getvalue(), document.page


def _dressed(content: SheetContent, room: str, paper: str, total: int) -> Callable[[Canvas, BaseDocTemplate], None]:
    """A function that draws head and foot of a page."""

    def draw(canvas: Canvas, document: BaseDocTemplate) -> None:
        page_width, page_height = PAPERS[paper]
        left, right, top = MARGIN, page_width - MARGIN, page_height - MARGIN + 8
        canvas.saveState()
        canvas.setFillColor(INK)
        beside = f"page {document.page} of {total}"
        canvas.setFont(SEMIBOLD, 9)
        canvas.drawRightString(right, top - 12, f"{room}    {beside}")
        canvas.setFont(REGULAR, 9)
        at = right
        for word in ("no", "yes"):
            tick_box(canvas, at - TICK_SIDE, top - 27)
            canvas.drawRightString(at - TICK_SIDE - 4, top - 27, word)
            at -= TICK_SIDE + 16 + face.width_of(word, REGULAR, 9)
        canvas.drawRightString(at, top - 27, "tested on press:")
        title_wide = right - left - 215
        title = clean(content.job.title, 300, BOLD)
        size = next((s for s in (17.0, 14.0, 12.0, 10.5) if face.width_of(title, BOLD, s) <= title_wide), 10.5)
        canvas.setFont(BOLD, size)
        canvas.drawString(left, top - 14, face.shortened(title, BOLD, size, title_wide))
        canvas.setFont(REGULAR, 9)
        canvas.drawString(left, top - 27, face.shortened(_about(content), REGULAR, 9, title_wide))
        canvas.setLineWidth(0.9)
        canvas.setStrokeColor(INK)
        canvas.line(left, top - 33, right, top - 33)
        canvas.setLineWidth(0.4)
        canvas.setStrokeColor(HAIRLINE)
        canvas.line(left, MARGIN - 2, right, MARGIN - 2)
        canvas.setFillColor(QUIET)
        canvas.setFont(REGULAR, SMALLEST)
        canvas.drawString(left, MARGIN - 12, FOOT)
        canvas.drawRightString(right, MARGIN - 12, f"{LEGEND}    Setup Assist {clean(content.version, 30)}")
        canvas.restoreState()

    return draw


def _about(content: SheetContent) -> str:
    parts = [content.job.location, content.date, plan_name(content), f"press: {content.press.name}"]
    return "   ·   ".join(clean(part, 120) for part in parts if part)


def plan_name(content: SheetContent) -> str:
    """The strategy in words, and whether anything better is known to exist."""
    if content.hand_made:
        return "arranged by hand"
    name = f"{content.plan.strategy.value.replace('-', ' ')} plan"
    proven = bool(content.plan.wishes) and all(wish.proven for wish in content.plan.wishes)
    return f"{name}, nothing better within these limits" if proven else name
