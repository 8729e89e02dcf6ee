"""The report of an art check as a PDF: verdict, art with its findings, the worst under the loupe, the plates."""

from __future__ import annotations

from collections.abc import Callable

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, PageTemplate, Table
from reportlab.platypus.flowables import Flowable

from setupassist.check.findings import verdict
from setupassist.documents.terms import Severity
from setupassist.quantities import Units
from setupassist.sheet import type as face
from setupassist.sheet.documents import Bound, bound, plain_frame, size_of, with_page_numbers
from setupassist.sheet.report_content import Report
from setupassist.sheet.report_loupes import loupe_rows
from setupassist.sheet.report_marks import BADGE, Badge, MarkedArt
from setupassist.sheet.report_tables import finding_rows, plate_rows, sign_off
from setupassist.sheet.tables import BARE, boxed
from setupassist.sheet.type import (
    BOLD,
    HAIRLINE,
    INK,
    NOTE,
    QUIET,
    REGULAR,
    SEMIBOLD,
    SMALL,
    SMALLEST,
    clean,
    paragraph,
    plain,
    strong,
)
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import ENGLISH, say, words_in

PAPERS = {"a4": A4, "letter": LETTER}
MARGIN = 38.0
HEAD_HIGH, FOOT_HIGH = 44.0, 14.0
ART_SHARE = 0.45  # of a page's height
VERDICT_SIZE, VERDICT_LEADING = 16.0, 20.0


def check_report(report: Report, *, paper: str, units: str, language: str = ENGLISH) -> bytes:
    """A PDF of the report; ``paper`` is a4 or letter, ``units`` inch or metric, ``language`` has a catalogue.

    Equal input gives equal bytes. Raises ValueError for another paper or unit, KeyError for a language without a
    catalogue.
    """
    size = size_of(paper, PAPERS)
    words = UnitWords(Units(units), words_in(language))
    face.register_fonts()
    page_width, page_height = size
    width = page_width - 2 * MARGIN

    def bind(total: int) -> Bound:
        high = page_height - 2 * MARGIN - HEAD_HIGH - FOOT_HIGH + 20
        frame = plain_frame("report", MARGIN, MARGIN + FOOT_HIGH - 8, width, high)
        template = PageTemplate(id="report", frames=[frame], onPage=_dressed(report, words, paper, total))
        story = _story(report, words, width, ART_SHARE * page_height)
        return bound(
            [template], story, size=size, title=report.title, subject=words(say("report.subject")),
            version=report.version, words=words, language=language,
        )  # fmt: skip

    return with_page_numbers(bind)


def _story(report: Report, words: UnitWords, width: float, most_art_high: float) -> list[Flowable]:
    story: list[Flowable] = [_verdict(report, words, width)]
    if report.art is not None:
        story.append(MarkedArt(report.art, report.findings, width, most_art_high))
        if any(finding.places_mm for finding in report.findings):
            story.append(_key(report, words, width))
    story += sign_off(words, width)
    story += finding_rows(report, words, width)
    story += loupe_rows(report.loupes, report.measure, words, width)
    return [*story, *plate_rows(report, words, width)]


def _verdict(report: Report, words: UnitWords, width: float) -> Table:
    style = face.BODY.clone("verdict", fontName=BOLD, fontSize=VERDICT_SIZE, leading=VERDICT_LEADING)
    told = paragraph(face.safe(words(verdict(report.findings)), font=BOLD), style)
    about = "   ·   ".join(words(part) for part in report.about)
    table: Table = boxed([[[told, plain(about, SMALL)]]], [width], heavy_left=True)
    table.spaceAfter = 4
    return table


def _key(report: Report, words: UnitWords, width: float) -> Table:
    """What the marks' shapes mean, and what the art lies on."""
    cells: list[object] = []
    for severity in Severity:
        cells += [Badge(None, severity), paragraph(strong(words(say(f"report.weight.{severity.value}"))), NOTE)]
    ground = say("report.on-cloth") if report.cloth is not None else say("report.on-grey")
    cells.append(plain(words(ground), NOTE))
    mark_wide, word_wide = BADGE + 6, 96.0
    widths = [mark_wide, word_wide] * 3
    table = Table(
        [cells],
        colWidths=[*widths, width - sum(widths)],
        style=[*BARE, ("VALIGN", (0, 0), (-1, -1), "MIDDLE")],
        hAlign="LEFT",
    )
    table.spaceAfter = 2
    return table


def _dressed(report: Report, words: UnitWords, paper: str, total: int) -> Callable[[Canvas, BaseDocTemplate], None]:
    """A function that draws head and foot of a page."""
    what, limits = words(say("report.what")), words(say("report.limits", shop=clean(report.shop, 60)))
    made_by = words.say("foot.made-by", version=clean(report.version, 30))

    def draw(canvas: Canvas, document: BaseDocTemplate) -> None:
        page_width, page_height = PAPERS[paper]
        left, right, top = MARGIN, page_width - MARGIN, page_height - MARGIN + 8
        canvas.saveState()
        canvas.setFillColor(INK)
        beside = words.say("head.page", page=document.page, total=total)
        canvas.setFont(SEMIBOLD, 9)
        canvas.drawRightString(right, top - 12, what)
        canvas.setFont(REGULAR, 9)
        canvas.drawRightString(right, top - 25, f"{clean(report.date, 60)}    {beside}")
        room = right - left - max(130.0, face.width_of(what, SEMIBOLD, 9) + 20)
        title = clean(report.title, 300, BOLD)
        size = next((s for s in (17.0, 14.0, 12.0, 10.5) if face.width_of(title, BOLD, s) <= room), 10.5)
        canvas.setFont(BOLD, size)
        canvas.drawString(left, top - 16, face.shortened(title, BOLD, size, room))
        canvas.setLineWidth(0.9)
        canvas.setStrokeColor(INK)
        canvas.line(left, top - 31, right, top - 31)
        canvas.setLineWidth(0.4)
        canvas.setStrokeColor(HAIRLINE)
        canvas.line(left, MARGIN - 2, right, MARGIN - 2)
        canvas.setFillColor(QUIET)
        canvas.setFont(REGULAR, SMALLEST)
        canvas.drawString(left, MARGIN - 12, limits)
        canvas.drawRightString(right, MARGIN - 12, made_by)
        canvas.restoreState()

    return draw
