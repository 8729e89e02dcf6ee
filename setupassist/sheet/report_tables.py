"""The report's tables: findings with what was measured and what to do, and the plates with their figures."""

from __future__ import annotations

from reportlab.platypus import Paragraph, Table
from reportlab.platypus.flowables import Flowable, Spacer

from setupassist.documents.measure import Choke, Finding, PlateMeasure
from setupassist.documents.terms import Severity
from setupassist.quantities import CM_PER_INCH, inches, per_cm
from setupassist.sheet.finding_figures import figures_of, share
from setupassist.sheet.report_content import Report, colour_of
from setupassist.sheet.report_marks import Badge
from setupassist.sheet.tables import Swatch, boxed, heads, ruled
from setupassist.sheet.type import (
    HEADING,
    NOTE,
    OPEN_HEADING,
    SMALL,
    SMALL_RIGHT,
    paragraph,
    plain,
    safe,
    sentence,
    strong,
)
from setupassist.sheet.unit_words import UnitWords, number
from setupassist.words import say

MOST_FINDINGS = 40
ROOM_TO_WRITE = 15.0


def finding_rows(report: Report, words: UnitWords, width: float) -> list[Flowable]:
    """The findings by number: how much each weighs, what it is, what to do, what was measured and the limit."""
    if not report.findings:
        return []
    told = report.findings[:MOST_FINDINGS]
    columns = [words(say(f"report.column.{name}")) for name in ("number", "weight", "finding", "measured", "limit")]
    rows: list[list[object]] = [list(heads(*columns, right_from=3))]
    rows += [_finding_row(number, finding, words) for number, finding in enumerate(told, 1)]
    if len(report.findings) > len(told):
        more = say("report.more", count=len(report.findings) - len(told))
        rows.append(["", "", plain(words(more), SMALL), "", ""])
    widths = [24.0, 36.0, width - 24 - 36 - 2 * 62, 62.0, 62.0]
    return [plain(words(say("report.findings")), OPEN_HEADING), ruled(rows, widths, pad=3)]


def _finding_row(at: int, finding: Finding, words: UnitWords) -> list[object]:
    severity = words(say(f"terms.severity.{finding.severity.value}"))
    figures = figures_of(finding, words)
    what: list[Paragraph] = [paragraph(sentence(words(finding.text)), SMALL)]
    if finding.remedy is not None:
        what.append(paragraph(f"{strong(words(say('report.to-do')))} {sentence(words(finding.remedy))}", SMALL))
    word = safe(severity) if finding.severity is Severity.NOTE else strong(severity)
    return [
        Badge(at, finding.severity),
        paragraph(word, SMALL),
        what,
        *(plain(figure, SMALL_RIGHT) for figure in figures),
    ]


def plate_rows(report: Report, words: UnitWords, width: float) -> list[Flowable]:
    """What was measured of every plate."""
    unit = "metric" if words.metric else "inch"
    names = ("ink", "kind", f"area-{unit}", "coverage", "ruling", "line", "gap", "specks", f"offset-{unit}", "choke")
    columns = [words(say(f"report.plates.{name}")) for name in names]
    chokes = {choke.base: choke for choke in report.measure.chokes}
    rows: list[list[object]] = [list(heads("", *columns, right_from=3))]
    rows += [_plate_row(plate, chokes.get(plate.name), words) for plate in report.measure.plates]
    fixed = [18.0, 72.0, 38.0, 38.0, 60.0, 42.0, 42.0, 36.0, 58.0, 42.0]
    widths = [fixed[0], width - sum(fixed), *fixed[1:]]
    return [plain(words(say("report.plates.heading")), HEADING), ruled(rows, widths)]


def _plate_row(plate: PlateMeasure, choke: Choke | None, words: UnitWords) -> list[object]:
    area = plate.ink_area_cm2 if words.metric else plate.ink_area_cm2 / CM_PER_INCH**2
    kind = words(say("report.plates.kind-of", kind=say(f"terms.kind.{plate.kind.value}"),
                     role=say(f"terms.role.{plate.role.value}")))  # fmt: skip
    offset = plate.register_offset_mm
    figures = [
        number(area),
        "–" if plate.coverage is None else share(plate.coverage, words),
        "–" if plate.halftone is None else _dots(plate, words),
        *("–" if mm is None else words.fine(mm) for mm in (plate.finest_line_mm, plate.finest_gap_mm)),
        "–" if plate.specks is None else str(plate.specks),
        "–" if offset is None else words(say("report.plates.by", x=_bare(offset[0], words), y=_bare(offset[1], words))),
        "–" if choke is None or choke.median_mm is None else words.fine(choke.median_mm),
    ]
    return [
        Swatch(colour_of(plate), 10, 7),
        plain(plate.name, SMALL),
        plain(kind, NOTE),
        *(plain(figure, SMALL_RIGHT) for figure in figures),
    ]


def _dots(plate: PlateMeasure, words: UnitWords) -> str:
    assert plate.halftone is not None
    lines = plate.halftone.lines_per_inch
    told = number(per_cm(lines) if words.metric else lines)
    return words(say("report.plates.dots", lines=told, angle=number(plate.halftone.angle_deg)))


def _bare(mm: float, words: UnitWords) -> str:
    told = f"{mm:.2f}" if words.metric else f"{inches(mm):.3f}"
    return "0" if float(told) == 0 else told.replace("-", "−")


def sign_off(words: UnitWords, width: float) -> list[Flowable]:
    """Room for who checked the set, when, and whom it went to."""
    names = ("checked-by", "date", "passed-on-to")
    cells = [[plain(words(say(f"report.sign-off.{name}")), NOTE), Spacer(1, ROOM_TO_WRITE)] for name in names]
    shares = (0.38, 0.22, 0.40)
    table: Table = boxed([cells], [share * width for share in shares])
    table.spaceBefore = 8
    return [table]
