"""The whole setup sheet as a PDF: page one, then a page a reader, each with the job in its head."""

from __future__ import annotations

from collections.abc import Callable

from reportlab.lib.pagesizes import A4, LETTER, landscape
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, NextPageTemplate, PageTemplate
from reportlab.platypus.flowables import Flowable, PageBreak

from setupassist.documents.terms import Known
from setupassist.errors import NoPlan
from setupassist.quantities import Units
from setupassist.sheet import type as face
from setupassist.sheet.content import SheetContent
from setupassist.sheet.documents import Bound, bound, plain_frame, size_of, with_page_numbers
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
    PAPER,
    QUIET,
    REGULAR,
    SEMIBOLD,
    SMALLEST,
    clean,
)
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import ENGLISH, joined, say, words_in

PAPERS = {"a4": landscape(A4), "letter": landscape(LETTER)}
MARGIN = 34.0
HEAD_HIGH, FOOT_HIGH = 46.0, 16.0
HEAD_SIDE = 215.0

Room = Callable[[SheetContent, UnitWords, float], list[Flowable]]
ROOMS: tuple[tuple[str, Room], ...] = (
    ("press", page_one),
    ("screen-room", screen_room),
    ("ink-room", ink_room),
    ("press-crew", press_crew),
    ("office", office),
)


def setup_sheet(content: SheetContent, *, paper: str, units: str, language: str = ENGLISH) -> bytes:
    """A PDF of the setup sheet; ``paper`` is a4 or letter, ``units`` inch or metric, ``language`` has a catalogue.

    Equal input gives equal bytes. Raises NoPlan where the plan is not feasible, ValueError for another paper or unit,
    KeyError for a language without a catalogue.
    """
    if not content.plan.feasible:
        limits = content.plan.clash.limits if content.plan.clash is not None else ()
        told = joined(limits, "; ") if limits else say("sheet.limits-not-told")
        raise NoPlan(say("sheet.no-plan", limits=told))
    size = size_of(paper, PAPERS)
    words = UnitWords(Units(units), words_in(language))
    face.register_fonts()
    page_width, page_height = size
    width = page_width - 2 * MARGIN

    def bind(total: int) -> Bound:
        story: list[Flowable] = []
        templates = []
        for name, room in ROOMS:
            high = page_height - 2 * MARGIN - HEAD_HIGH - FOOT_HIGH + 22
            frame = plain_frame(name, MARGIN, MARGIN + FOOT_HIGH - 10, width, high)
            dressed = _dressed(content, words, name, paper, total)
            templates.append(PageTemplate(id=name, frames=[frame], onPage=dressed))
            if story:
                story += [NextPageTemplate(name), PageBreak()]
            story += room(content, words, width)
        return bound(
            templates, story, size=size, title=content.job.title, subject=words.say("head.subject"),
            version=content.version, words=words, language=language,
        )  # fmt: skip

    return with_page_numbers(bind)


def _dressed(
    content: SheetContent, words: UnitWords, room: str, paper: str, total: int
) -> Callable[[Canvas, BaseDocTemplate], None]:
    """A function that draws head and foot of a page."""
    reader, tested = words.say(f"rooms.{room}"), words.say("head.tested")
    letters = ",  ".join(f"{words.known(known)} {words.say(f'known.{known.value}')}" for known in Known)
    made_by = words.say("foot.made-by", version=clean(content.version, 30))

    def draw(canvas: Canvas, document: BaseDocTemplate) -> None:
        page_width, page_height = PAPERS[paper]
        left, right, top = MARGIN, page_width - MARGIN, page_height - MARGIN + 8
        canvas.saveState()
        canvas.setFillColor(INK)
        beside = words.say("head.page", page=document.page, total=total)
        canvas.setFont(SEMIBOLD, 9)
        canvas.drawRightString(right, top - 12, f"{reader}    {beside}")
        canvas.setFont(REGULAR, 9)
        at = right
        for word in (words.say("head.no"), words.say("head.yes")):
            tick_box(canvas, at - TICK_SIDE, top - 27)
            canvas.drawRightString(at - TICK_SIDE - 4, top - 27, word)
            at -= TICK_SIDE + 16 + face.width_of(word, REGULAR, 9)
        canvas.drawRightString(at, top - 27, tested)
        title_wide = right - left - HEAD_SIDE
        title = clean(content.job.title, 300, BOLD)
        size = next((s for s in (17.0, 14.0, 12.0, 10.5) if face.width_of(title, BOLD, s) <= title_wide), 10.5)
        canvas.setFont(BOLD, size)
        canvas.drawString(left, top - 14, face.shortened(title, BOLD, size, title_wide))
        beside_plan = left
        if content.broken_limits:
            beside_plan = _flag(canvas, left, top - 27, words(plan_name(content))) + 8
        canvas.setFont(REGULAR, 9)
        about = face.shortened(_about(content, words), REGULAR, 9, left + title_wide - beside_plan)
        canvas.drawString(beside_plan, top - 27, about)
        canvas.setLineWidth(0.9)
        canvas.setStrokeColor(INK)
        canvas.line(left, top - 33, right, top - 33)
        canvas.setLineWidth(0.4)
        canvas.setStrokeColor(HAIRLINE)
        canvas.line(left, MARGIN - 2, right, MARGIN - 2)
        canvas.setFillColor(QUIET)
        canvas.setFont(REGULAR, SMALLEST)
        canvas.drawString(left, MARGIN - 12, words.say("foot.test-first"))
        canvas.drawRightString(right, MARGIN - 12, f"{words.say('foot.letters', letters=letters)}    {made_by}")
        canvas.restoreState()

    return draw


def _flag(canvas: Canvas, x: float, y: float, text: str) -> float:
    """White words on black that begin at (x, y); where the black ends."""
    wide = face.width_of(text, BOLD, 10) + 10
    canvas.setFillColor(INK)
    canvas.rect(x, y - 3.4, wide, 13, fill=1, stroke=0)
    canvas.setFillColor(PAPER)
    canvas.setFont(BOLD, 10)
    canvas.drawString(x + 5, y, text)
    canvas.setFillColor(INK)
    return x + wide


def _about(content: SheetContent, words: UnitWords) -> str:
    press = words.say("head.press", press=content.press.name)
    plan = "" if content.broken_limits else words(plan_name(content))
    parts = [words(content.location), content.date, plan, press]
    return "   ·   ".join(clean(part, 120) for part in parts if part)


def plan_name(content: SheetContent) -> str:
    """The strategy in words, and whether anything better is known to exist."""
    if content.hand_made:
        broken = len(content.broken_limits)
        return say("sheet.plan.by-hand-breaks", count=broken) if broken else say("sheet.plan.by-hand")
    name = say(f"sheet.plan.{content.plan.strategy.value}")
    proven = bool(content.plan.wishes) and all(wish.proven for wish in content.plan.wishes)
    return say("sheet.plan.proven", plan=name) if proven else name
