"""Page one: the job, the garment with its art, the four numbers, the station line and every press setting to tick."""

from __future__ import annotations

from reportlab.platypus import Table
from reportlab.platypus.flowables import Flowable, KeepTogether, Spacer

from setupassist.documents.job import Garment
from setupassist.documents.plan import Question
from setupassist.documents.terms import Known, Severity
from setupassist.sheet import tables
from setupassist.sheet import type as face
from setupassist.sheet.content import SheetContent, limit_letters
from setupassist.sheet.press_settings import press_settings
from setupassist.sheet.station_line import station_line
from setupassist.sheet.stations import off_the_way, unused_stations
from setupassist.sheet.tables import BARE, Picture, ruled
from setupassist.sheet.type import (
    BODY,
    FIGURE,
    HAIRLINE,
    HEADING,
    HEAVY_HEADING,
    NOTE,
    SMALL,
    known_mark,
    lead,
    paragraph,
    plain,
    safe,
    strong,
)
from setupassist.sheet.unit_words import UnitWords, number, thousands
from setupassist.steps.questions import answer_words as said_answer
from setupassist.steps.questions import name_of
from setupassist.words import say

PICTURE_WIDE, PICTURE_HIGH = 190.0, 124.0
MOST_BESIDE = 700
MOST_URGENT = 24
MOST_GROUPS_ABOVE = 3
MOST_IN_ONE_COLUMN = 4
TITLE_ROOM = 480.0


def page_one(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """What the press needs at arm's length, top to bottom."""
    return [
        *_top(content, words, width),
        *_urgent(content, words, width),
        Spacer(1, 5),
        *station_line(content, words, width),
        *_beside_the_line(content, words),
        *press_settings(content, words, width),
        *_groups(content, words, width),
    ]


def _top(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """Numbers, facts and what must be known beside the picture; below it where they are long."""
    picture = content.pictures.garment
    art = [] if picture is None else [Picture(picture, PICTURE_WIDE, PICTURE_HIGH, align="RIGHT")]
    side = art[0].wide + 16 if art else 0.0
    known = _known_first(content, words)
    left: list[Flowable] = [_numbers(content, words, width - side), Spacer(1, 3), *_facts(content, words)]
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


def _numbers(content: SheetContent, words: UnitWords, width: float) -> Table:
    """The four numbers that people ask for, each with its unit and how it is known."""
    screens, estimate = content.screens(), content.plan.estimate
    flashes = len(content.flash_stations())
    per_piece = sum(screen.strokes_per_piece for screen in screens)
    beside = words.counted("flash-units", flashes) if flashes else words.say("page-one.no-flash")
    screens_said = words.say("page-one.screens", count=len(screens))
    strokes_said = words.say("page-one.strokes-a-piece", count=per_piece)
    pace_said, time_said = words.say("page-one.pieces-an-hour"), words.say("page-one.running-time")
    told: list[tuple[str, str, str, Known | None]] = [
        (str(len(screens)), screens_said, beside, None),
        (str(per_piece), strokes_said, _total_strokes(content, words), None),
    ]
    if estimate is None:
        unknown = words.say("page-one.not-estimated")
        told += [("–", pace_said, unknown, None), ("–", time_said, unknown, None)]
    else:
        likely, setup = estimate.likely_pieces_per_hour, estimate.setup_minutes
        likely_said = words.say("page-one.by-the-machine")
        if likely:
            likely_said = words.say("page-one.by-the-machine-likely", number=f"{round(likely, -1):.0f}")
        apart = words.say("page-one.set-up-about", time=words.duration(setup)) if setup else ""
        told += [
            (f"{estimate.pieces_per_hour:.0f}", pace_said, likely_said, Known.ESTIMATED),
            (
                words.duration(estimate.run_minutes), time_said, apart or words.say("page-one.set-up-apart"),
                Known.ESTIMATED,
            ),
        ]  # fmt: skip
    cells = [
        [
            plain(number, FIGURE),
            paragraph(strong(unit) + (known_mark(words.known(known)) if known else ""), BODY),
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


def _total_strokes(content: SheetContent, words: UnitWords) -> str:
    estimate = content.plan.estimate
    if estimate is None or not estimate.strokes:
        return ""
    total = thousands(sum(s.total for s in estimate.strokes.values()))
    return words.say("page-one.strokes-in-all", number=total)


def _facts(content: SheetContent, words: UnitWords) -> list[Flowable]:
    job = content.job
    groups = content.steps.groups
    garment = groups[content.steps.neediest].garment if groups else job.groups[0]
    pieces = words.say("page-one.pieces-not-told")
    if content.pieces is not None:
        pieces = words.say("page-one.pieces-told", number=thousands(content.pieces))
    cloth = words.say("page-one.cloth", garment=garment.name, colour=garment.colour, **_cloth(garment, words))
    systems = dict.fromkeys(need.ink_system.value for need in content.steps.screens)
    inks = ", ".join(words(say(f"terms.ink_system.{s}")) for s in systems) or words.say("page-one.system-not-told")
    told = {"pieces": strong(pieces), "cloth": safe(cloth, 240), "systems": safe(inks)}
    facts = words.say("page-one.on-cloth", **told)
    if len(job.groups) > 1:
        facts = words.say("page-one.on-groups", groups=len(job.groups), **told)
    lines = []
    if face.width_of(face.clean(job.title), face.BOLD, 10.5) > TITLE_ROOM or len(content.press.name) > 40:
        said = words.say("page-one.job-on-press", title=safe(job.title, 400), press=safe(content.press.name))
        lines.append(lead(words.say("page-one.job")) + said)
    lines.append(facts)
    place = lead(words.say("page-one.place")) + safe(words(content.location), 120)
    if job.placement:
        place += f", {safe(job.placement, 300)}"
    lines.append(place)
    lines.append(lead(words.say("page-one.counts")) + safe(counts_by_size(content, words)))
    rests = _rests(content, words)
    if rests and len(rests) <= MOST_GROUPS_ABOVE:
        counts = {g.name: f", {thousands(g.pieces)}" if g.pieces is not None else "" for g in job.groups}
        each = [f"{safe(name)}{counts[name]}: {safe(resting)}" for name, resting in rests.items()]
        lines.append(lead(words.say("page-one.rests-by-garment")) + ";  ".join(each))
    return [paragraph(line, BODY) for line in lines]


def _cloth(garment: Garment, words: UnitWords) -> dict[str, str]:
    """Fibre and fabric in words; a fabric that the shop has named itself stays as it is."""
    fabric = words.choice("sheet.fabric", garment.fabric.replace(" ", "-"), garment.fabric)
    return {"fibre": words(say(f"terms.fibre.{garment.fibre.value}")), "fabric": fabric}


def counts_by_size(content: SheetContent, words: UnitWords) -> str:
    """``288 in all, 12 spares there, 6 test pieces:  S 48, M 96, …``."""
    job = content.job
    pieces = content.pieces
    total = [words.say("page-one.in-all", number=thousands(pieces))] if pieces is not None else []
    told = words.counted("spares-there", job.spares) if job.spares is not None else ""
    spares = told or words.say("page-one.spares-not-told")
    line = ", ".join([*total, spares, words.counted("test-pieces", content.tests)])
    if not job.sizes:
        return words.say("page-one.no-sizes", counts=line)
    sizes = ",  ".join(f"{size} {thousands(count)}" for size, count in job.sizes.items())
    return words.say("page-one.by-size", counts=line, sizes=sizes)


def _urgent(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """Broken limits, each with the letter that stands at its places, and stops, behind a heavy rule."""
    broken = [
        (letter if limit.slots else "", words(limit.text))
        for letter, limit in zip(limit_letters(), content.broken_limits, strict=False)
    ]
    others = []
    for slot in off_the_way(content):
        thing = slot.ink or words.say("page-one.flash")
        told = words.say("page-one.no-garment-passes", thing=thing, station=slot.station, lap=slot.lap)
        others.append((words.say("page-one.off-the-way"), told))
    stops = [finding.told for finding in content.findings if finding.severity is Severity.STOP]
    others += [(words.say("page-one.stop"), words(text)) for text in stops]
    if not broken and not others:
        return []
    left_out = len(broken) + len(others) - MOST_URGENT
    if left_out > 0:
        broken = broken[:MOST_URGENT]
        others = [
            *others[: MOST_URGENT - len(broken)],
            (words.say("page-one.and"), words.say("page-one.more", count=left_out)),
        ]
    rows: list[list[object]] = []
    if broken:
        told = words.say("page-one.breaks", count=len(content.broken_limits))
        rows += [[plain(told, HEAVY_HEADING), ""], *_in_columns(broken, width)]
    rows += [[_urgent_line(entry), ""] for entry in others]
    spans = [("SPAN", (0, at), (1, at)) for at, row in enumerate(rows) if row[1] == ""]
    return [Spacer(1, 5), tables.boxed(rows, [width / 2, width / 2], heavy_left=True, more=spans)]


def _in_columns(entries: list[tuple[str, str]], width: float) -> list[list[object]]:
    """Rows of entries, two side by side and read downwards where there are many and all are short."""
    room = width / 2 - 50
    if len(entries) <= MOST_IN_ONE_COLUMN or any(face.width_of(text, face.REGULAR, 9) > room for _, text in entries):
        return [[_urgent_line(entry), ""] for entry in entries]
    half = -(-len(entries) // 2)
    right = [_urgent_line(entry) for entry in entries[half:]]
    right += [plain("", BODY)] * (half - len(right))
    return [[_urgent_line(entry), beside] for entry, beside in zip(entries[:half], right, strict=True)]


def _urgent_line(entry: tuple[str, str]) -> Flowable:
    first, text = entry
    return paragraph((lead(first) if first else "") + safe(text), BODY)


def _known_first(content: SheetContent, words: UnitWords) -> list[str]:
    """Markup lines on what was assumed, what was set by hand, and how many warnings the art has."""
    lines = []
    assumed = [_asked(content, words, question) for question in content.plan.assumed]
    if assumed:
        lines.append(lead(words.say("page-one.assumed")) + safe(";  ".join(assumed), 1500))
    by_hand = set_by_hand(content, words)
    if by_hand:
        lines.append(lead(words.say("page-one.by-hand")) + safe(";  ".join(by_hand), 2500))
    warnings = sum(finding.severity is Severity.WARN for finding in content.findings)
    if warnings:
        lines.append(words.say("page-one.warnings", warnings=strong(words.counted("warnings", warnings))))
    return lines


def _asked(content: SheetContent, words: UnitWords, question: str) -> str:
    asked = [*content.plan.questions, *content.steps.questions]
    given = next((answer_words(q, words) for q in asked if q.id == question), None)
    name = words(name_of(question))
    return name if given is None else words.say("page-one.answered", question=name, answer=given)


def answer_words(question: Question, words: UnitWords) -> str:
    """The answer in force as a person says it."""
    if question.id == "spoilage":
        return f"{number(100 * float(question.given))}%"
    if question.given not in question.answers:
        return question.given
    return words(said_answer(question.given))


_OVERRULED = {
    "mesh_per_inch": "mesh", "thread_um": "thread", "strokes": "strokes", "squeegee_shore": "blade",
    "squeegee_width_mm": "blade-width", "squeegee_angle_deg": "blade-angle", "stroke_length_mm": "stroke-length",
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
            what = words.say(f"overruled.{_OVERRULED[field]}")
            said.append(words.say("page-one.overruled", ink=ink, what=what, value=shown))
    for station, seconds in job.flash_seconds.items():
        said.append(words.say("page-one.flash-at", station=station, seconds=words.seconds_from(seconds)))
    said += [words.say("page-one.pinned", ink=ink, station=station) for ink, station in job.pins.items()]
    said += [words.say("page-one.flash-pinned", station=station) for station in job.flash_pins]
    said += [words.say("page-one.kept-empty", station=station) for station in job.keep_empty]
    return [*([words.say("page-one.all-stations")] if content.hand_made else []), *said]


def _beside_the_line(content: SheetContent, words: UnitWords) -> list[Flowable]:
    unused = unused_stations(content)
    if not unused:
        return []
    listed = ", ".join(map(str, unused))
    return [plain(words.say("page-one.not-on-the-way", count=len(unused), stations=listed), NOTE)]


def _rests(content: SheetContent, words: UnitWords) -> dict[str, str]:
    """What rests for each garment group of an order that has several, in words."""
    if len(content.job.groups) < 2:
        return {}
    stations = {screen.name: screen.station for screen in content.screens()}
    rest = {group.garment: group.rest for group in content.plan.groups}
    planned = content.steps.groups[content.steps.neediest].garment.name if content.steps.groups else ""
    told = {}
    for garment in content.job.groups:
        rests = [
            words.say("page-one.rests-at", screen=name, station=stations[name]) if name in stations else words(name)
            for name in rest.get(garment.name, ())
        ]
        said = ", ".join(rests) or words.say("page-one.nothing-rests")
        told[garment.name] = words.say("page-one.planned-for-it", rests=said) if garment.name == planned else said
    return told


def _groups(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """What rests on the press for every garment group, where there are too many to stand among the facts."""
    told = _rests(content, words)
    if len(told) <= MOST_GROUPS_ABOVE:
        return []
    columns = words.say("page-one.group"), "", words.say("page-one.group-pieces"), words.say("page-one.group-rests")
    rows: list[list[object]] = [list(tables.heads(*columns))]
    for garment in content.job.groups:
        pieces = thousands(garment.pieces) if garment.pieces is not None else words.say("page-one.not-told")
        cloth = words.say("page-one.fabric", **_cloth(garment, words))
        name = paragraph(lead(garment.name) + safe(cloth, 90), SMALL)
        rows.append([tables.Swatch(garment.colour), name, plain(pieces, SMALL), plain(told[garment.name], SMALL)])
    table = ruled(rows, [30, 0.34 * width - 30, 0.1 * width, 0.56 * width], more=[("SPAN", (0, 0), (1, 0))])
    head = plain(words.say("page-one.groups"), HEADING)
    return [KeepTogether([head, table])] if len(rows) < 16 else [head, table]
