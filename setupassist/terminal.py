"""What a terminal shows: readable tables of every document, and progress on long work."""

from __future__ import annotations

import contextlib
import shutil
import sys
import textwrap
import time
from collections.abc import Callable, Iterator, Sequence

from setupassist.documents.measure import Measure
from setupassist.documents.plan import Plan, Slot
from setupassist.documents.shop import Shop
from setupassist.quantities import CM_PER_INCH, MM_PER_INCH, feet_per_minute

SHOW_AFTER_SECONDS = 0.3
REDRAW_SECONDS = 0.1


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


def length(mm: float | None, *, metric: bool, digits: int = 0) -> str:
    """A length in mm or inches."""
    if mm is None:
        return "-"
    return f"{mm:.{digits}f} mm" if metric else f"{mm / MM_PER_INCH:.{digits + 2}f} in"


def measure_tables(measure: Measure, *, metric: bool) -> str:
    """The measure document as tables."""
    art = measure.art
    lines = [f"{art.source}: {length(art.width_mm, metric=metric)} x {length(art.height_mm, metric=metric)}"]
    if art.pixels_per_cm:
        lines[0] += f", {art.pixels_per_cm * CM_PER_INCH:.0f} pixels per inch"
    if art.art_box_mm:
        x, y, width, height = (length(v, metric=metric, digits=1) for v in art.art_box_mm)
        lines.append(f"art {width} x {height}, from {x} right and {y} down")
    rows = []
    for plate in measure.plates:
        dots = "-"
        if plate.halftone:
            ruling = plate.halftone.lines_per_inch / (CM_PER_INCH if metric else 1)
            dots = f"{ruling:.1f} per {'cm' if metric else 'inch'} at {plate.halftone.angle_deg:.1f}°"
        coverage = "-" if plate.coverage is None else f"{plate.coverage:.1%}"
        rows.append([plate.name, plate.role, plate.kind, f"{plate.ink_area_cm2:.1f}", coverage, dots])
    lines += ["", table(["plate", "role", "kind", "ink cm²", "coverage", "dots"], rows, right=(3, 4))]
    met = [c for c in measure.contacts if c.overlap_cm2 >= 0.05 or c.shared_edge_cm >= 0.5]
    if met:
        met.sort(key=lambda c: -c.overlap_cm2)
        rows = [[*c.plates, f"{c.overlap_cm2:.2f}", f"{c.shared_edge_cm:.1f}"] for c in met]
        lines += ["", table(["meet", "", "overlap cm²", "shared edge cm"], rows, right=(2, 3))]
    if measure.findings:
        lines.append("")
        lines += [paragraph(f"{f.severity}: {f.text}", "") for f in measure.findings]
    return "\n".join(lines)


def plan_tables(plan: Plan, *, metric: bool) -> str:
    """The plan as a table of stations with what it takes, or the clash in words."""
    if not plan.feasible:
        lines = [f"No plan exists ({plan.strategy}). These limits clash:"]
        clash = plan.clash
        if clash is not None:
            lines += [paragraph(f"- {limit}") for limit in clash.limits]
            ways = [way for way in clash.ways_out if way.works]
            if ways:
                lines += ["", "What would work:", *(paragraph(f"- {way.text}") for way in ways)]
        return "\n".join(lines)
    lines = [f"{plan.press}, {plan.strategy}: {_proven(plan)}", ""]
    rows = [_slot_row(slot, metric=metric) for slot in plan.slots]
    lines.append(table(["lap", "station", "holds", "mesh", "strokes", "why"], rows, right=(0, 1)))
    lines += ["", *_wish_lines(plan), *_estimate_lines(plan, metric=metric)]
    for group in plan.groups:
        lines.append(f"on {group.garment}: " + (", ".join(group.rest) + " rest" if group.rest else "nothing rests"))
    if plan.assumed:
        lines.append(paragraph("answered by suggestion: " + ", ".join(plan.assumed), ""))
    lines += [paragraph(note, "") for note in plan.notes]
    return "\n".join(lines)


def _proven(plan: Plan) -> str:
    if all(wish.proven for wish in plan.wishes):
        return "nothing better within these limits"
    return "the best found in the time allowed; better may exist"


def _slot_row(slot: Slot, *, metric: bool) -> list[str]:
    why = slot.reasons[0].text if slot.reasons else ""
    why = textwrap.shorten(why, 60, placeholder=" …")
    if slot.holds == "flash":
        return [str(slot.lap), str(slot.station), f"flash from {slot.seconds:g} s", "", "", why]
    mesh = slot.mesh_per_cm if metric else slot.mesh_per_inch
    count = "none fits" if mesh is None else f"{mesh:.0f} per {'cm' if metric else 'inch'}"
    return [str(slot.lap), str(slot.station), slot.ink or "", count, str(slot.strokes or 1), why]


def _wish_lines(plan: Plan) -> list[str]:
    rows = [
        [wish.name.replace("_", " "), f"{wish.value:g}", f"{wish.bound:g}", "yes" if wish.proven else "no"]
        for wish in plan.wishes
    ]
    return [table(["wish", "value", "best", "proven"], rows, right=(1, 2)), ""]


def _estimate_lines(plan: Plan, *, metric: bool) -> list[str]:
    estimate = plan.estimate
    if estimate is None:
        return []
    paced = f"{estimate.cycle_seconds:.1f} s a cycle, paced by {estimate.paced_by}"
    if estimate.hand_paced:
        paced += ", hand-paced"
    elif estimate.extra_dwell_seconds:
        paced += f", {estimate.extra_dwell_seconds:g} s extra dwell"
    lines = [
        f"{estimate.pieces_per_hour:.0f} pieces an hour ({estimate.dozens_per_hour:.1f} dozen); {paced}",
        f"running time {estimate.run_minutes:.0f} min"
        + (f", set-up about {estimate.setup_minutes:.0f} min" if estimate.setup_minutes is not None else ""),
        "strokes: " + ", ".join(f"{ink} {s.total}" for ink, s in estimate.strokes.items()),
        "ink, estimated: " + ", ".join(f"{ink} {round(g, -1):.0f} g" for ink, g in estimate.ink_grams.items()),
    ]
    dryer = estimate.dryer
    if dryer is not None:
        speed = dryer.needed_m_per_min
        told = f"{speed:.2f} m/min" if metric else f"{feet_per_minute(speed):.1f} ft/min"
        lines.append(f"dryer belt {told} for this pace" + ("; it limits the pace" if dryer.limits_pace else ""))
    return [paragraph(line, "") for line in lines]


def shop_tables(shop: Shop) -> str:
    """The shop book as tables."""
    metric = shop.policies.units == "metric"
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
        count = f"{s.mesh_per_cm:g} per cm ({s.mesh_per_cm * CM_PER_INCH:.0f} per inch)"
        frame = " x ".join(length(v, metric=metric) for v in s.frame_mm)
        screens.append([count, f"{s.thread_um:g} µm", frame, str(s.quantity)])
    inks = [
        [i.name, i.system, i.colour or "-", "-" if i.contrast_ratio is None else f"{i.contrast_ratio:g}"]
        for i in shop.inks
    ]
    parts = [
        shop.name,
        table(["press", "stations", "heads", "flash slots", "units", "laps"], presses, right=(1, 2, 4, 5)),
        table(["screens", "thread", "frame", "in stock"], screens, right=(1, 3)),
        table(["ink", "system", "colour", "contrast ratio"], inks, right=(3,)),
        table(
            ["flash unit", "in the shop", "start"],
            [[f.name, str(f.quantity), f"{f.start_seconds:g} s"] for f in shop.flash_units],
        ),
        table(
            ["dryer", "heated length", "lanes"],
            [[d.name, length(d.heated_length_mm, metric=metric), str(d.lanes)] for d in shop.dryers],
        ),
    ]
    policies = [[name.replace("_", " "), str(value)] for name, value in shop.policies if name != "sources"]
    parts.append(table(["policy", "value"], policies))
    return "\n\n".join(parts)
