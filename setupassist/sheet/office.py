"""The office's page: the run, its counts, pace and time, what the plan weighed, and room for what really happened."""

from __future__ import annotations

from reportlab.platypus import Table
from reportlab.platypus.flowables import Flowable, Spacer

from setupassist.documents.plan import Estimate
from setupassist.documents.terms import Known
from setupassist.sheet.content import SheetContent
from setupassist.sheet.tables import beside, boxed, heads, ruled
from setupassist.sheet.type import BODY, HEADING, NOTE, SMALL, SMALL_RIGHT, known_mark, paragraph, plain, safe, strong
from setupassist.sheet.unit_words import UnitWords, counted, duration, number, thousands
from setupassist.sheet.wet_groups import harm_word

SIZE_WIDE = 52.0

_WISH_WORDS = {
    "laps": "laps of a garment",
    "flash_units": "flash units",
    "wet_harm": "wet harm",
    "departures": "pairs against standard order",
    "missing_cooling": "flashes without their cooling",
    "moves": "moves from what stands now",
}


def office(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """What the office needs, and what it wants back."""

    def run(wide: float) -> list[Flowable]:
        return [plain("The run", HEADING), _run(content, words, wide), *_strokes(content, words, wide)]

    def weighed(wide: float) -> list[Flowable]:
        wishes: list[Flowable] = [plain("What the plan weighed", HEADING), _wishes(content, wide)]
        return [*_sizes(content, wide), *wishes, *_what_happened(wide)]

    return beside(run, weighed, width, most_high=460.0)


def _sizes(content: SheetContent, width: float) -> list[Flowable]:
    """Counts by size with room for what was printed and what was good."""
    sizes = [*content.job.sizes.items()]
    told: list[Flowable] = [plain("Counts by size", HEADING)]
    if not sizes:
        return [*told, plain("No sizes told.", BODY)]
    label = 48.0
    a_row = int((width - label) // SIZE_WIDE)
    wide = (width - label) / a_row
    for start in range(0, len(sizes), a_row):
        part = sizes[start : start + a_row]
        rows: list[list[object]] = [[*heads("size"), *(plain(size, SMALL, 60) for size, _ in part)]]
        rows.append([plain("ordered", SMALL), *(plain(thousands(count), SMALL) for _, count in part)])
        rows += [[plain(name, SMALL), *([""] * len(part))] for name in ("printed", "good")]
        told.append(ruled(rows, [label, *([wide] * len(part))], high=13))
    return told


def _run(content: SheetContent, words: UnitWords, width: float) -> Table:
    job, estimate = content.job, content.plan.estimate
    ordered = thousands(content.pieces) if content.pieces is not None else "not told"
    spoiled = f"{number(100 * content.spoilage)}%"
    shown: list[tuple[str, str, Known | None]] = [
        ("pieces ordered", ordered, None),
        ("test pieces and spoilage", f"{counted(content.tests, 'piece')} and {spoiled}", None),
        ("spares there", thousands(job.spares) if job.spares is not None else "not told", None),
    ]
    if estimate is None:
        shown.append(("pace and time", "not estimated", None))
    else:
        shown += _pace(estimate, words)
    cells = [
        [plain(name, SMALL), paragraph(safe(value) + (known_mark(known) if known else ""), SMALL)]
        for name, value, known in shown
    ]
    return ruled(cells, [0.38 * width, 0.62 * width], head_rows=0, pad=1.1)


def _pace(estimate: Estimate, words: UnitWords) -> list[tuple[str, str, Known | None]]:
    guess = Known.ESTIMATED
    rows: list[tuple[str, str, Known | None]] = []
    if estimate.pieces_to_print is not None:
        rows.append(("pieces to print", thousands(estimate.pieces_to_print), Known.COMPUTED))
    rows.append(("strokes in all", thousands(sum(s.total for s in estimate.strokes.values())), Known.COMPUTED))
    cycles = estimate.lap_cycles_seconds
    by_lap = f" (by lap {', '.join(number(c) for c in cycles)} s)" if len(cycles) > 1 else ""
    rows.append(("cycle", f"{number(estimate.cycle_seconds)} s{by_lap}", guess))
    rows.append(("paced by", estimate.paced_by, guess))
    if estimate.hand_paced:
        rows.append(("extra dwell", "beyond the press's range: paced by hand", guess))
    elif estimate.extra_dwell_seconds > 0:
        rows.append(("extra dwell for the crew", f"{number(estimate.extra_dwell_seconds)} s", guess))
    rows.append(
        ("pieces an hour, machine", f"{estimate.pieces_per_hour:.0f}, or {estimate.dozens_per_hour:.0f} dozen", guess)
    )
    if estimate.likely_pieces_per_hour is not None:
        rows.append(
            ("pieces an hour, likely", f"about {round(estimate.likely_pieces_per_hour, -1):.0f}, with stops", guess)
        )
    rows.append(("running time", f"{duration(estimate.run_minutes)} at the press's pace", guess))
    if estimate.setup_minutes is not None:
        rows.append(("set-up", duration(estimate.setup_minutes), guess))
    if estimate.ink_grams:
        rows.append(("ink, all colours", words.grams(sum(estimate.ink_grams.values())), guess))
    dryer = estimate.dryer
    if dryer is not None:
        said = f"belt {words.belt(dryer.needed_m_per_min)} for this pace"
        if dryer.fastest_m_per_min is not None:
            said += f", {words.belt(dryer.fastest_m_per_min)} at most for the cure"
        said += "; the dryer limits the pace" if dryer.limits_pace else "; the dryer keeps up"
        rows.append(("dryer", said, guess))
    return rows


def _wishes(content: SheetContent, width: float) -> Table:
    """Each wish with its value; where it is proven, that nothing better exists within these limits."""
    rows: list[list[object]] = [list(heads("wish, in its order", "this plan", "better?"))]
    for wish in content.plan.wishes:
        value = f"{wish.value:.0f}"
        if wish.name == "wet_harm":
            value = f"{value}, {harm_word(wish.value)}"
        if wish.proven and not content.hand_made:
            better = "nothing better within these limits"
        else:
            better = "not known" if wish.value > wish.bound else "none"
            better = f"{wish.bound:.0f} would be the least" if wish.value > wish.bound else better
        rows.append([plain(_WISH_WORDS.get(wish.name, wish.name), SMALL), plain(value, SMALL), plain(better, SMALL)])
    return ruled(rows, [0.36 * width, 0.28 * width, 0.36 * width], pad=1.1)


def _strokes(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """Strokes and ink by screen."""
    estimate = content.plan.estimate
    if estimate is None:
        return []
    rows: list[list[object]] = [
        [*heads("station", "screen"), *heads("strokes a piece", "strokes in all", "ink", right_from=0)]
    ]
    for screen in content.screens():
        strokes = estimate.strokes.get(screen.name, estimate.strokes.get(screen.ink))
        grams = estimate.ink_grams.get(screen.name)
        ink = f"with {screen.ink}" if screen.name != screen.ink else "–"
        if grams is not None:
            ink = words.grams(grams)
        rows.append(
            [
                plain(str(screen.station), SMALL),
                paragraph(strong(screen.name), SMALL),
                plain(str(screen.strokes_per_piece), SMALL_RIGHT),
                plain(thousands(strokes.total) if strokes is not None else "–", SMALL_RIGHT),
                paragraph(safe(ink) + (known_mark(Known.ESTIMATED) if grams is not None else ""), SMALL_RIGHT),
            ]
        )
    shares = (0.12, 0.37, 0.18, 0.17, 0.16)
    return [plain("Strokes and ink", HEADING), ruled(rows, [share * width for share in shares], pad=1.1)]


def _what_happened(width: float) -> list[Flowable]:
    """Blank boxes for the run as it was, and for names."""
    names = ("pieces printed", "rejects", "pieces an hour", "set-up, minutes", "flash, seconds", "room, platens")
    signed = ("test print approved", "run released", "run done")
    third = [width / 3] * 3
    return [
        plain("What really happened", HEADING),
        boxed([[_blank(name, 14) for name in names[:3]], [_blank(name, 14) for name in names[3:]]], third),
        boxed([[_blank("what to do better next time", 26)]], [width]),
        plain("Signatures", HEADING),
        boxed([[_blank(f"{name}, name and date", 14) for name in signed]], third),
    ]


def _blank(name: str, high: float) -> list[Flowable]:
    return [plain(name, NOTE), Spacer(1, high)]
