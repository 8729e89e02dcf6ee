"""Page one: the job, the garment with its art, the four numbers, the station line and every press setting to tick."""

from __future__ import annotations

from reportlab.platypus import Table
from reportlab.platypus.flowables import Flowable, KeepTogether, Spacer

from setupassist.documents.plan import Question
from setupassist.documents.terms import Known, Severity
from setupassist.sheet import tables
from setupassist.sheet import type as face
from setupassist.sheet.content import SheetContent
from setupassist.sheet.press_settings import press_settings
from setupassist.sheet.station_line import station_line
from setupassist.sheet.stations import off_the_way, unused_stations
from setupassist.sheet.tables import BARE, Picture, ruled
from setupassist.sheet.type import (
    BODY,
    FIGURE,
    HAIRLINE,
    HEADING,
    NOTE,
    SMALL,
    known_mark,
    lead,
    paragraph,
    plain,
    safe,
    strong,
)
from setupassist.sheet.unit_words import UnitWords, counted, duration, number, seconds_from, thousands

PICTURE_WIDE, PICTURE_HIGH = 190.0, 124.0
MOST_BESIDE = 700
MOST_URGENT = 24
MOST_GROUPS_ABOVE = 3
TITLE_ROOM = 480.0


def page_one(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """What the press needs at arm's length, top to bottom."""
    return [
        *_top(content, words, width),
        *_urgent(content, width),
        Spacer(1, 5),
        *station_line(content, words, width),
        *_beside_the_line(content),
        *press_settings(content, words, width),
        *_groups(content, width),
    ]


def _top(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """Numbers, facts and what must be known beside the picture; below it where they are long."""
    picture = content.pictures.garment
    art = [] if picture is None else [Picture(picture, PICTURE_WIDE, PICTURE_HIGH, align="RIGHT")]
    side = art[0].wide + 16 if art else 0.0
    known = _known_first(content, words)
    left: list[Flowable] = [_numbers(content, width - side), Spacer(1, 3), *_facts(content)]
    long = sum(len(line) for line in known) > MOST_BESIDE
    told: list[Flowable] = [paragraph(line, BODY) for line in known]
    if not long:
        left += told
    cells: list[object] = [left, *art]
    table = Table(
        [cells],
        colWidths=[width - side, side] if art else [width],
        style=[*BARE, ("ALIGN", (-1, 0), (-1, 0), "RIGHT")],
        hAlign="LEFT",
    )
    return [table, Spacer(1, 3), *told] if long else [table]


def _numbers(content: SheetContent, width: float) -> Table:
    """The four numbers that people ask for, each with its unit and how it is known."""
    screens, estimate = content.screens(), content.plan.estimate
    flashes = len(content.flash_stations())
    per_piece = sum(screen.strokes_per_piece for screen in screens)
    beside = counted(flashes, "flash unit") if flashes else "no flash"
    told: list[tuple[str, str, str, Known | None]] = [
        (str(len(screens)), "screen" if len(screens) == 1 else "screens", beside, None),
        (str(per_piece), "stroke a piece" if per_piece == 1 else "strokes a piece", _total_strokes(content), None),
    ]
    if estimate is None:
        told += [("–", "pieces an hour", "not estimated", None), ("–", "running time", "not estimated", None)]
    else:
        likely = estimate.likely_pieces_per_hour
        likely_said = f"by the machine; likely {round(likely, -1):.0f}" if likely else "by the machine"
        apart = f"set-up about {duration(estimate.setup_minutes)}" if estimate.setup_minutes else "set-up apart"
        told += [
            (f"{estimate.pieces_per_hour:.0f}", "pieces an hour", likely_said, Known.ESTIMATED),
            (duration(estimate.run_minutes), "running time", apart, Known.ESTIMATED),
        ]
    cells = [
        [
            plain(number, FIGURE),
            paragraph(strong(unit) + (known_mark(known) if known else ""), BODY),
            plain(beside, SMALL),
        ]
        for number, unit, beside, known in told
    ]
    shares = (0.2, 0.22, 0.27, 0.31)
    rules: list[tables.Command] = [
        *BARE,
        ("LINEBEFORE", (1, 0), (-1, 0), 0.5, HAIRLINE),
        ("LEFTPADDING", (1, 0), (-1, 0), 10),
        ("RIGHTPADDING", (0, 0), (-1, -1), 4),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
    ]
    return Table([cells], colWidths=[share * width for share in shares], style=rules, hAlign="LEFT")


def _total_strokes(content: SheetContent) -> str:
    estimate = content.plan.estimate
    if estimate is None or not estimate.strokes:
        return ""
    return f"{thousands(sum(s.total for s in estimate.strokes.values()))} in all"


def _facts(content: SheetContent) -> list[Flowable]:
    job = content.job
    groups = content.steps.groups
    garment = groups[content.steps.neediest].garment if groups else job.groups[0]
    pieces = f"{thousands(content.pieces)} pieces" if content.pieces is not None else "pieces not told"
    cloth = f"{garment.name}, {garment.colour}, {garment.fibre.value} {garment.fabric}"
    systems = ", ".join(dict.fromkeys(need.ink_system.value for need in content.steps.screens))
    on = f"in {len(job.groups)} garment groups, planned for" if len(job.groups) > 1 else "on"
    facts = f"{strong(pieces)} {on} {safe(cloth, 240)};  {safe(systems or 'ink system not told')}"
    lines = []
    if face.width_of(face.clean(job.title), face.BOLD, 10.5) > TITLE_ROOM or len(content.press.name) > 40:
        lines.append(f"{lead('Job')}{safe(job.title, 400)};  press {safe(content.press.name)}")
    lines.append(facts)
    place = f"{lead('Place')}{safe(job.location, 120)}"
    if job.placement:
        place += f", {safe(job.placement, 300)}"
    lines.append(place)
    lines.append(f"{lead('Counts')}{safe(counts_by_size(content))}")
    told = _rests(content)
    if told and len(told) <= MOST_GROUPS_ABOVE:
        counts = {g.name: f", {thousands(g.pieces)}" if g.pieces is not None else "" for g in job.groups}
        each = [f"{safe(name)}{counts[name]}: {safe(rests)}" for name, rests in told.items()]
        lines.append(f"{lead('Rests by garment')}{';  '.join(each)}")
    return [paragraph(line, BODY) for line in lines]


def counts_by_size(content: SheetContent) -> str:
    """``288 in all, 12 spares there, 6 test pieces:  S 48, M 96, …``."""
    job = content.job
    total = [f"{thousands(content.pieces)} in all"] if content.pieces is not None else []
    spares = f"{counted(job.spares, 'spare')} there" if job.spares is not None else "spares not told"
    line = ", ".join([*total, spares, counted(content.tests, "test piece")])
    if not job.sizes:
        return f"{line}; no sizes told"
    return f"{line}:  " + ",  ".join(f"{size} {thousands(count)}" for size, count in job.sizes.items())


def _urgent(content: SheetContent, width: float) -> list[Flowable]:
    """Broken limits and stops, behind a heavy rule."""
    urgent = [("Breaks a limit", text) for text in content.plan.broken]
    for slot in off_the_way(content):
        what = f"{slot.ink or 'flash'} at station {slot.station}, lap {slot.lap}"
        urgent.append(("Stands off the way", f"{what}: no garment passes there"))
    urgent += [("Stop", finding.text) for finding in content.findings if finding.severity is Severity.STOP]
    if not urgent:
        return []
    if len(urgent) > MOST_URGENT:
        urgent = [*urgent[:MOST_URGENT], ("And", f"{len(urgent) - MOST_URGENT} more")]
    rows = [[paragraph(f"{lead(first)}{safe(text)}", BODY)] for first, text in urgent]
    return [Spacer(1, 5), tables.boxed(rows, [width], heavy_left=True)]


def _known_first(content: SheetContent, words: UnitWords) -> list[str]:
    """Markup lines on what was assumed, what was set by hand, and how many warnings the art has."""
    lines = []
    assumed = [_asked(content, question) for question in content.plan.assumed]
    if assumed:
        lines.append(f"{lead('Assumed, nobody answered')}{safe(';  '.join(assumed), 1500)}")
    by_hand = set_by_hand(content, words)
    if by_hand:
        lines.append(f"{lead('Set by hand')}{safe(';  '.join(by_hand), 2500)}")
    warnings = sum(finding.severity is Severity.WARN for finding in content.findings)
    if warnings:
        lines.append(f"{strong(counted(warnings, 'warning'))}  on the art: see the screen room's page")
    return lines


def _asked(content: SheetContent, question: str) -> str:
    asked = [*content.plan.questions, *content.steps.questions]
    given = next((answer_words(q) for q in asked if q.id == question), None)
    name = question.replace("-", " ")
    return f"{name}: {given}" if given is not None else name


def answer_words(question: Question) -> str:
    """The answer in force as a person says it."""
    if question.id == "spoilage":
        return f"{number(100 * float(question.given))}%"
    return question.given.replace("-", " ")


_OVERRULED = {
    "mesh_per_inch": "mesh", "thread_um": "thread", "strokes": "strokes", "squeegee_shore": "blade",
    "squeegee_width_mm": "blade width", "squeegee_angle_deg": "blade angle", "stroke_length_mm": "stroke length",
    "off_contact_mm": "off-contact", "stencil_um": "stencil", "tension_n_per_cm": "tension",
}  # fmt: skip


def set_by_hand(content: SheetContent, words: UnitWords) -> list[str]:
    """Each value, pin and empty station that a person has set, in words."""
    job = content.job
    said = []
    for ink, override in job.overrides.items():
        for field, value in override.model_dump(exclude_none=True).items():
            if field == "mesh_per_inch":
                shown = f"{words.mesh_number(None, value)} {words.mesh_units(None, value)[0]}"
            else:
                unit = {"mm": "mm", "um": "µm", "deg": "degrees", "cm": "N/cm"}.get(field.rsplit("_", 1)[-1], "")
                shown = words.setting(value, unit)
            said.append(f"{ink}, {_OVERRULED.get(field, field)} {shown}")
    said += [f"flash at {station}, {seconds_from(s)}" for station, s in job.flash_seconds.items()]
    said += [f"{ink} pinned at {station}" for ink, station in job.pins.items()]
    said += [f"flash pinned at {station}" for station in job.flash_pins]
    said += [f"{station} kept empty" for station in job.keep_empty]
    return [*(["all stations"] if content.hand_made else []), *said]


def _beside_the_line(content: SheetContent) -> list[Flowable]:
    unused = unused_stations(content)
    if not unused:
        return []
    listed = ", ".join(map(str, unused))
    return [
        plain(f"Not on the way from load to unload: {'station' if len(unused) == 1 else 'stations'} {listed}.", NOTE)
    ]


def _rests(content: SheetContent) -> dict[str, str]:
    """What rests for each garment group of an order that has several, in words."""
    if len(content.job.groups) < 2:
        return {}
    stations = {screen.name: screen.station for screen in content.screens()}
    rest = {group.garment: group.rest for group in content.plan.groups}
    planned = content.steps.groups[content.steps.neediest].garment.name if content.steps.groups else ""
    told = {}
    for garment in content.job.groups:
        rests = [
            f"{name} (station {stations[name]})" if name in stations else name for name in rest.get(garment.name, ())
        ]
        told[garment.name] = ", ".join(rests) or "nothing rests"
        if garment.name == planned:
            told[garment.name] += " (planned for it)"
    return told


def _groups(content: SheetContent, width: float) -> list[Flowable]:
    """What rests on the press for every garment group, where there are too many to stand among the facts."""
    told = _rests(content)
    if len(told) <= MOST_GROUPS_ABOVE:
        return []
    rows: list[list[object]] = [list(tables.heads("garment", "", "pieces", "rests on the press"))]
    for garment in content.job.groups:
        pieces = thousands(garment.pieces) if garment.pieces is not None else "not told"
        name = paragraph(f"{lead(garment.name)}{safe(garment.fibre.value)} {safe(garment.fabric, 60)}", SMALL)
        rows.append([tables.Swatch(garment.colour), name, plain(pieces, SMALL), plain(told[garment.name], SMALL)])
    table = ruled(rows, [30, 0.34 * width - 30, 0.1 * width, 0.56 * width], more=[("SPAN", (0, 0), (1, 0))])
    head = plain("Garment groups", HEADING)
    return [KeepTogether([head, table])] if len(rows) < 16 else [head, table]
