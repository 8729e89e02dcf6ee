"""The run of a plan as figures, tables and sentences: what people ask for first, what paces it, what stops it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from setupassist.desk import edits, entering
from setupassist.desk.edits import Edit
from setupassist.desk.grid import Cell, Entry, Row
from setupassist.documents.job import Job
from setupassist.documents.plan import Estimate
from setupassist.documents.terms import Known, Severity
from setupassist.sheet.unit_words import UnitWords, number, thousands
from setupassist.words import say

if TYPE_CHECKING:
    from setupassist.sheet.content import SheetContent

FACTS = ("what", "value")
COUNTS = ("what", "value")


@dataclass(frozen=True)
class Figure:
    """A large number, what it counts, how it is known, and what goes with it; all worded."""

    number: str
    what: str
    mark: str = ""
    beside: str = ""


@dataclass(frozen=True)
class Notice:
    """Sentences under a heading; ``strong`` where they stop the job."""

    heading: str
    texts: tuple[str, ...]
    strong: bool = False


def figures(content: SheetContent, words: UnitWords) -> tuple[Figure, ...]:
    """Screens, strokes a piece, pieces an hour by the machine and likely, running time and set-up time."""
    screens, estimate = content.screens(), content.plan.estimate
    flashes, per_piece = len(content.flash_stations()), sum(screen.strokes_per_piece for screen in screens)
    beside = words.counted("flash-units", flashes) if flashes else words.say("page-one.no-flash")
    told = [Figure(str(len(screens)), words.say("page-one.screens", count=len(screens)), beside=beside)]
    strokes = words.say("page-one.strokes-a-piece", count=per_piece)
    if estimate is None:
        return (*told, Figure(str(per_piece), strokes))
    total = thousands(sum(each.total for each in estimate.strokes.values()))
    guess, pace = words.known(Known.ESTIMATED), words.say("page-one.pieces-an-hour")
    likely = estimate.likely_pieces_per_hour
    dozens = words(say("place_run.dozens", count=round(estimate.dozens_per_hour)))
    told += [
        Figure(str(per_piece), strokes, beside=words.say("page-one.strokes-in-all", number=total)),
        Figure(f"{estimate.pieces_per_hour:.0f}", pace, guess, words(say("place_run.by-machine", dozens=dozens))),
    ]
    if likely:
        told.append(Figure(f"{round(likely, -1):.0f}", pace, guess, words(say("place_run.likely"))))
    told.append(
        Figure(
            words.duration(estimate.run_minutes),
            words.say("page-one.running-time"),
            guess,
            _for_pieces(estimate, words),
        )
    )
    if estimate.setup_minutes is not None:
        told.append(Figure(words.duration(estimate.setup_minutes), words(say("place_run.set-up")), guess))
    return tuple(told)


def _for_pieces(estimate: Estimate, words: UnitWords) -> str:
    if estimate.pieces_to_print is None:
        return ""
    return words(
        say("place_run.for-pieces", count=estimate.pieces_to_print, number=thousands(estimate.pieces_to_print))
    )


def fact_rows(content: SheetContent, words: UnitWords) -> tuple[Row, ...]:
    """What paces the run, dwell, cycle, dryer: a row each as in ``FACTS``."""
    estimate = content.plan.estimate
    if estimate is None:
        return ()
    cycles = estimate.lap_cycles_seconds
    cycle = words.say("units.seconds", number=number(estimate.cycle_seconds))
    if len(cycles) > 1:
        laps = ", ".join(number(lap) for lap in cycles)
        cycle = words.say("office.cycle-by-lap", cycle=number(estimate.cycle_seconds), laps=laps)
    rows = [("paced-by", words(estimate.paced_by)), ("cycle", cycle)]
    if estimate.hand_paced:
        rows.append(("dwell", words(say("place_run.hand-paced"))))
    elif estimate.extra_dwell_seconds > 0:
        seconds = words.say("units.seconds", number=number(estimate.extra_dwell_seconds))
        rows.append(("dwell", words(say("place_run.dwell-for-crew", seconds=seconds))))
    else:
        rows.append(("dwell", words(say("place_run.no-dwell"))))
    dryer = estimate.dryer
    if dryer is None:
        rows.append(("dryer", words(say("place_run.no-dryer"))))
    else:
        key, belts = "belt", {"needed": words.belt(dryer.needed_m_per_min)}
        if dryer.fastest_m_per_min is not None:
            key, belts = "belt-of", belts | {"most": words.belt(dryer.fastest_m_per_min)}
        rows.append(("dryer", words.say(f"office.{key}-{'limits' if dryer.limits_pace else 'keeps-up'}", **belts)))
    return tuple(Row(key, (Cell(words(say(f"place_run.fact.{key}"))), Cell(value))) for key, value in rows)


def count_rows(content: SheetContent, words: UnitWords) -> tuple[Row, ...]:
    """Pieces, tests, spoilage, spares and the crew's time, as in ``COUNTS``; all but pieces may be overruled."""
    job, plan = content.job, content.plan
    pieces = words(say("place_run.not-told")) if content.pieces is None else thousands(content.pieces)
    rows = [Row("pieces", (Cell(words(say("place_run.count.pieces"))), Cell(pieces)))]
    shares = {"share": number(100 * content.spoilage)}
    crew = job.crew_seconds
    if crew is None:
        answer = content.steps.answer("crew-seconds")
        crew = content.press.crew_seconds if answer is None else float(answer)
    values: tuple[tuple[str, float | None, str], ...] = (
        ("tests", content.tests, thousands(content.tests)),
        ("spoilage", content.spoilage, words(say("place_run.percent", **shares))),
        ("spares", job.spares, words(say("place_run.not-told")) if job.spares is None else thousands(job.spares)),
        ("crew_seconds", crew, words.say("units.seconds", number=number(crew))),
    )
    for field, value, shown in values:
        own = getattr(job, field) is not None
        now = "" if value is None else entering.shown(field, value, metric=words.metric)
        known = "by-hand" if own else _from(field, content)
        name = words(say(f"place_run.count.{field.replace('_', '-')}"))
        told = words(say(f"place_run.from.{known}")) if known else ""
        entry = Entry("", field, now, own)
        mark, small = (told, "") if own else ("", told)
        rows.append(Row(field, (Cell(name), Cell(shown, small=small, mark=mark, strong=own, entry=entry))))
    if plan.estimate is not None and plan.estimate.pieces_to_print is not None:
        total = thousands(plan.estimate.pieces_to_print)
        known = words(say("terms.known.computed"))
        name = words(say("place_run.count.total"))
        rows.append(Row("total", (Cell(name, strong=True), Cell(total, small=known, strong=True))))
    return tuple(rows)


def _from(field: str, content: SheetContent) -> str:
    """Where a count comes from that the job does not overrule."""
    if field == "spares":
        return ""
    question = next((q for q in content.steps.questions if q.id == field.replace("_", "-")), None)
    if question is not None and question.answer is not None:
        return "answered"
    return "press" if field == "crew_seconds" else "shop"


def notices(content: SheetContent, words: UnitWords) -> tuple[Notice, ...]:
    """What stops the job or speaks against it, then what the plan notes."""
    broken = tuple(words(limit.text) for limit in content.broken_limits)
    stops = tuple(words(f.told) for f in content.findings if f.severity is Severity.STOP)
    warnings = tuple(words(f.told) for f in content.findings if f.severity is Severity.WARN)
    notes = tuple(dict.fromkeys(words(note) for note in (*content.plan.notes, *content.steps.notes)))
    told = (
        Notice(words(say("place_run.notice.broken", count=len(broken))), broken, strong=True),
        Notice(words(say("place_run.notice.stop")), stops, strong=True),
        Notice(words(say("place_run.notice.warn")), warnings),
        Notice(words(say("place_run.notice.note")), notes),
    )
    return tuple(notice for notice in told if notice.texts)


def edit_of(job: Job, entry: Entry, text: str, *, metric: bool) -> Edit:
    """The job with a count overruled as the person typed it; InputFault where it cannot be."""
    value = entering.entered(entry.field, text, metric=metric)[entry.field]
    assert not isinstance(value, str)
    return edits.run_field(job, entry.field, value)


def taken_back(job: Job, entry: Entry) -> Edit:
    """The job with a count back to what holds without it."""
    return edits.run_field(job, entry.field, None)
