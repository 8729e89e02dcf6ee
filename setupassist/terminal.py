"""What a terminal shows: readable tables of every document in a language, and progress on long work."""

from __future__ import annotations

import contextlib
import shutil
import sys
import textwrap
import time
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from setupassist.documents.measure import Finding, Measure
from setupassist.documents.plan import Plan, Slot
from setupassist.documents.review import Review
from setupassist.documents.shop import Shop
from setupassist.quantities import CM_PER_INCH, MM_PER_INCH, feet_per_minute
from setupassist.words import Words

SHOW_AFTER_SECONDS = 0.3
REDRAW_SECONDS = 0.1
SHOWN_OFFSET_MM = 0.005


@contextlib.contextmanager
def progress(what: str) -> Iterator[Callable[[float], None]]:
    """A callable that takes the share done; it shows on a terminal only, and only on work that lasts."""
    started = shown = time.monotonic()
    drawn = False

    def report(share: float) -> None:
        nonlocal shown, drawn
        now = time.monotonic()
        if (
            sys.stderr is None
            or not sys.stderr.isatty()
            or now - started < SHOW_AFTER_SECONDS
            or now - shown < REDRAW_SECONDS
        ):
            return
        shown, drawn = now, True
        print(f"\r{what}: {min(max(share, 0.0), 1.0):4.0%}", end="", file=sys.stderr, flush=True)

    try:
        yield report
    finally:
        if drawn:
            print("\r" + " " * (len(what) + 8) + "\r", end="", file=sys.stderr, flush=True)


def table(head: Sequence[str], rows: Sequence[Sequence[str]], *, right: Sequence[int] = ()) -> str:
    """Columns under a ruled head; ``right`` are the columns set flush right."""
    cells = [[str(cell) for cell in row] for row in [head, *rows]]
    widths = [max(len(row[i]) for row in cells) for i in range(len(head))]

    def line(row: Sequence[str]) -> str:
        return "  ".join(
            c.rjust(w) if i in right else c.ljust(w) for i, (c, w) in enumerate(zip(row, widths, strict=True))
        )

    return "\n".join(
        [line(cells[0]).rstrip(), "  ".join("-" * w for w in widths), *(line(r).rstrip() for r in cells[1:])]
    )


def paragraph(text: str, indent: str = "  ") -> str:
    """Text folded to the terminal's width."""
    width = min(max(shutil.get_terminal_size((100, 24)).columns, 40), 110)
    return textwrap.fill(text, width, initial_indent=indent, subsequent_indent=indent + "  ")


def length(mm: float | None, words: Words, *, metric: bool, digits: int = 0) -> str:
    """A length in mm or inches."""
    if mm is None:
        return "-"
    if metric:
        return words.say("terminal.word.mm", value=mm, digits=digits)
    return words.say("terminal.word.inch", value=mm / MM_PER_INCH, digits=digits + 2)


def measure_tables(measure: Measure, *, metric: bool, words: Words) -> str:
    """The measure document as tables."""
    art, say = measure.art, _saying(words, "measure")
    size = {
        "source": art.source,
        "width": length(art.width_mm, words, metric=metric),
        "height": length(art.height_mm, words, metric=metric),
    }
    if art.pixels_per_cm:
        lines = [say("size-and-resolution", resolution=art.pixels_per_cm * CM_PER_INCH, **size)]
    else:
        lines = [say("size", **size)]
    if art.art_box_mm:
        x, y, width, height = (length(v, words, metric=metric, digits=1) for v in art.art_box_mm)
        lines.append(say("art-box", x=x, y=y, width=width, height=height))
    rows = []
    for plate in measure.plates:
        dots = "-"
        if plate.halftone:
            ruling = plate.halftone.lines_per_inch / (CM_PER_INCH if metric else 1)
            dots = say(f"dots-per-{'cm' if metric else 'inch'}", ruling=ruling, angle=plate.halftone.angle_deg)
        coverage = "-" if plate.coverage is None else f"{plate.coverage:.1%}"
        named = words.say(f"terms.role.{plate.role.value}"), words.say(f"terms.kind.{plate.kind.value}")
        rows.append([plate.name, *named, f"{plate.ink_area_cm2:.1f}", coverage, dots])
    head = [say(column) for column in ("plate", "role", "kind", "ink-area", "coverage", "dots")]
    lines += ["", table(head, rows, right=(3, 4))]
    lines += ["", _details(measure, metric=metric, words=words)]
    met = [c for c in measure.contacts if c.overlap_cm2 >= 0.05 or c.shared_edge_cm >= 0.5]
    if met:
        met.sort(key=lambda c: -c.overlap_cm2)
        rows = [[*c.plates, f"{c.overlap_cm2:.2f}", f"{c.shared_edge_cm:.1f}"] for c in met]
        lines += ["", table([say("meet"), "", say("overlap"), say("shared-edge")], rows, right=(2, 3))]
    if measure.chokes:
        lines += ["", _bases(measure, metric=metric, words=words)]
    if measure.findings:
        lines.append("")
    for finding in measure.findings:
        severity = words.say(f"terms.severity.{finding.severity.value}")
        lines.append(paragraph(say("finding", severity=severity, text=finding.told), ""))
    return "\n".join(lines)


def _details(measure: Measure, *, metric: bool, words: Words) -> str:
    """Finest line and gap, specks and offset of every plate."""
    say = _saying(words, "measure")

    def told(value: float | None) -> str:
        return length(value, words, metric=metric, digits=2 if metric else 1)

    rows = []
    for plate in measure.plates:
        offset = "-"
        if plate.register_offset_mm is not None:
            right, down = plate.register_offset_mm
            still = max(abs(right), abs(down)) < SHOWN_OFFSET_MM
            offset = "0" if still else say("offset-by", right=told(right), down=told(down))
        specks = "-" if plate.specks is None else str(plate.specks)
        rows.append([plate.name, told(plate.finest_line_mm), told(plate.finest_gap_mm), specks, offset])
    head = [say(column) for column in ("plate", "finest-line", "finest-gap", "specks", "offset")]
    return table(head, rows, right=(1, 2, 3))


def _bases(measure: Measure, *, metric: bool, words: Words) -> str:
    """How each base lies under its inks."""
    say = _saying(words, "measure")
    rows = []
    for choke in measure.chokes:
        drawn_in = (choke.median_mm, choke.p5_mm)
        sizes = [length(value, words, metric=metric, digits=2 if metric else 1) for value in drawn_in]
        rows.append([choke.base, *sizes, f"{choke.peek_out_mm2:.2f}"])
    return table([say(c) for c in ("base", "choke", "choke-least", "peek-out")], rows, right=(1, 2, 3))


def findings_table(findings: Sequence[Finding], *, words: Words) -> str:
    """What the findings come to, and a table of them with what to do, folded to the terminal's width."""
    from setupassist.check.findings import verdict

    lines = [words(verdict(findings))]
    if not findings:
        return lines[0]
    say = _saying(words, "check")
    rows = [
        [str(number), words.say(f"terms.severity.{finding.severity.value}"), ", ".join(finding.plates)]
        for number, finding in enumerate(findings, 1)
    ]
    rows = [[number, severity, textwrap.shorten(plates, 30, placeholder=" …")] for number, severity, plates in rows]
    head = [say("number"), say("severity"), say("plates")]
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(3)]
    taken = sum(widths) + 2 * len(widths)
    width = max(30, min(shutil.get_terminal_size((100, 24)).columns, 120) - taken)
    cells = [[*head, say("finding")]]
    for row, finding in zip(rows, findings, strict=True):
        for at, line in enumerate(textwrap.wrap(words(finding.told), width)):
            cells.append([*(row if at == 0 else ["", "", ""]), line])
    return "\n".join([*lines, "", table(cells[0], cells[1:], right=(0,))])


def review_tables(review: Review, *, words: Words) -> str:
    """What an arrangement made by hand breaks, its wishes against the best, and what would mend it."""
    say = _saying(words, "review")
    lines = [say("broken", count=len(review.broken)) if review.broken else say("sound")]
    lines += [paragraph(say("item", text=limit.text)) for limit in review.broken]
    rows = [[words.say(f"planner.wish.{wish.name}"), f"{wish.value:g}", f"{wish.best:g}"] for wish in review.wishes]
    lines += ["", table([say("wish"), say("here"), say("best")], rows, right=(1, 2))]
    if review.mend:
        lines += ["", say("mend"), *(paragraph(say("item", text=each.text)) for each in review.mend)]
    elif review.broken:
        lines += ["", say("none")]
    return "\n".join(lines)


def plan_tables(plan: Plan, *, metric: bool, words: Words) -> str:
    """The plan as a table of stations with what it takes, or the clash in words."""
    say = _saying(words, "plan")
    strategy = words.say(f"terms.strategy.{plan.strategy.value}")
    if not plan.feasible:
        lines = [say("none", strategy=strategy)]
        clash = plan.clash
        if clash is not None:
            lines += [paragraph(say("item", text=limit)) for limit in clash.limits]
            ways = [way for way in clash.ways_out if way.works]
            if ways:
                lines += ["", say("would-work"), *(paragraph(say("item", text=way.text)) for way in ways)]
        return "\n".join(lines)
    proven = say("proven" if all(wish.proven for wish in plan.wishes) else "not-proven")
    lines = [say("head", press=plan.press, strategy=strategy, proven=proven), ""]
    rows = [_slot_row(slot, words, metric=metric) for slot in plan.slots]
    head = [say(column) for column in ("lap", "station", "holds", "mesh", "strokes", "why")]
    lines.append(table(head, rows, right=(0, 1)))
    lines += ["", *_wish_lines(plan, words), *_estimate_lines(plan, words, metric=metric)]
    for group in plan.groups:
        resting = ", ".join(words(thing) for thing in group.rest)
        if resting:
            lines.append(say("rests", garment=group.garment, rest=resting))
        else:
            lines.append(say("nothing-rests", garment=group.garment))
    if plan.assumed:
        lines.append(paragraph(say("assumed", questions=", ".join(plan.assumed)), ""))
    lines += [paragraph(words(note), "") for note in plan.notes]
    return "\n".join(lines)


def _saying(words: Words, topic: str) -> Callable[..., str]:
    def say(key: str, **values: Any) -> str:
        return words.say(f"terminal.{topic}.{key}", **values)

    return say


def _slot_row(slot: Slot, words: Words, *, metric: bool) -> list[str]:
    say = _saying(words, "plan")
    why = words(slot.reasons[0].text) if slot.reasons else ""
    why = textwrap.shorten(why, 60, placeholder=" …")
    if slot.holds == "flash":
        return [str(slot.lap), str(slot.station), say("flash", seconds=slot.seconds), "", "", why]
    mesh = slot.mesh_per_cm if metric else slot.mesh_per_inch
    unit = "per-cm" if metric else "per-inch"
    count = say("no-mesh") if mesh is None else words.say(f"terminal.word.{unit}", count=mesh)
    return [str(slot.lap), str(slot.station), slot.ink or "", count, str(slot.strokes or 1), why]


def _wish_lines(plan: Plan, words: Words) -> list[str]:
    rows = [
        [
            words.say(f"terminal.wish.{wish.name}"),
            f"{wish.value:g}",
            f"{wish.bound:g}",
            words.say(f"terminal.word.{'yes' if wish.proven else 'no'}"),
        ]
        for wish in plan.wishes
    ]
    say = _saying(words, "plan")
    return [table([say(column) for column in ("wish", "value", "best", "is-proven")], rows, right=(1, 2)), ""]


def _estimate_lines(plan: Plan, words: Words, *, metric: bool) -> list[str]:
    estimate, say = plan.estimate, _saying(words, "estimate")
    if estimate is None:
        return []
    cycle = {"seconds": estimate.cycle_seconds, "by": estimate.paced_by}
    if estimate.hand_paced:
        paced = say("paced-by-hand", **cycle)
    elif estimate.extra_dwell_seconds:
        paced = say("paced-with-dwell", dwell=estimate.extra_dwell_seconds, **cycle)
    else:
        paced = say("paced", **cycle)
    if estimate.setup_minutes is None:
        running = say("running", minutes=estimate.run_minutes)
    else:
        running = say("running-and-set-up", minutes=estimate.run_minutes, setup=estimate.setup_minutes)
    strokes = [say("strokes-of", ink=ink, total=s.total) for ink, s in estimate.strokes.items()]
    grams = [say("grams-of", ink=ink, grams=round(g, -1)) for ink, g in estimate.ink_grams.items()]
    lines = [
        say("pace", pieces=estimate.pieces_per_hour, dozens=estimate.dozens_per_hour, paced=paced),
        running,
        say("strokes", strokes=", ".join(strokes)),
        say("ink", grams=", ".join(grams)),
    ]
    dryer = estimate.dryer
    if dryer is not None:
        speed = dryer.needed_m_per_min
        told = say("metres", speed=speed) if metric else say("feet", speed=feet_per_minute(speed))
        lines.append(say("belt-limits" if dryer.limits_pace else "belt", speed=told))
    return [paragraph(line, "") for line in lines]


def shop_tables(shop: Shop, *, words: Words) -> str:
    """The shop book as tables."""
    metric, say = shop.policies.units == "metric", _saying(words, "shop")

    def head(*columns: str) -> list[str]:
        return [say(column) for column in columns]

    def seconds(count: float) -> str:
        return words.say("terminal.word.seconds", seconds=count)

    presses = [
        [
            p.name,
            str(p.stations),
            str(len(p.heads)),
            ", ".join(map(str, p.flash_slots)),
            str(p.flash_units),
            str(p.max_laps),
        ]
        for p in shop.presses
    ]
    screens = []
    for s in sorted(shop.screens, key=lambda s: s.mesh_per_cm):
        count = say("mesh", per_cm=s.mesh_per_cm, per_inch=s.mesh_per_cm * CM_PER_INCH)
        width, height = (length(v, words, metric=metric) for v in s.frame_mm)
        frame = words.say("terminal.word.by", width=width, height=height)
        screens.append([count, words.say("terminal.word.micrometres", um=s.thread_um), frame, str(s.quantity)])
    inks = [
        [
            i.name,
            words.say(f"terms.ink_system.{i.system.value}"),
            i.colour or "-",
            "-" if i.contrast_ratio is None else f"{i.contrast_ratio:g}",
        ]
        for i in shop.inks
    ]
    flashes = [[f.name, str(f.quantity), seconds(f.start_seconds)] for f in shop.flash_units]
    dryers = [[d.name, length(d.heated_length_mm, words, metric=metric), str(d.lanes)] for d in shop.dryers]
    policies = [
        [words.say(f"terminal.policy.{name}"), _policy(name, value, words)]
        for name, value in shop.policies
        if name != "sources"
    ]
    parts = [
        shop.name,
        table(head("press", "stations", "heads", "flash-slots", "units", "laps"), presses, right=(1, 2, 4, 5)),
        table(head("screens", "thread", "frame", "in-stock"), screens, right=(1, 3)),
        table(head("ink", "system", "colour", "contrast-ratio"), inks, right=(3,)),
        table(head("flash-unit", "in-the-shop", "start"), flashes),
        table(head("dryer", "heated-length", "lanes"), dryers),
        table(head("policy", "value"), policies),
    ]
    return "\n\n".join(parts)


def _policy(name: str, value: object, words: Words) -> str:
    if isinstance(value, bool):
        return words.say(f"terminal.word.{'yes' if value else 'no'}")
    if isinstance(value, tuple):
        return ", ".join(map(str, value)) or "-"
    return words.say(f"terms.{name}.{value}") if isinstance(value, str) else str(value)
