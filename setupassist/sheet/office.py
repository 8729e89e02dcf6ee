"""The office's page: the run, its counts, pace and time, what the plan weighed, and room for what really happened."""

from __future__ import annotations

from reportlab.platypus import Table
from reportlab.platypus.flowables import Flowable, Spacer

from setupassist.documents.plan import Estimate
from setupassist.documents.terms import Known
from setupassist.sheet.content import SheetContent
from setupassist.sheet.tables import beside, boxed, heads, ruled
from setupassist.sheet.type import BODY, HEADING, NOTE, SMALL, SMALL_RIGHT, known_mark, paragraph, plain, safe, strong
from setupassist.sheet.unit_words import UnitWords, number, thousands
from setupassist.sheet.wet_groups import harm_word

SIZE_WIDE = 52.0
_STROKE_COLUMNS = ("strokes-a-piece", "strokes-in-all", "ink-column")
_BLANKS = ("pieces-printed", "rejects", "pieces-an-hour", "set-up-minutes", "flash-seconds", "room-platens")
_SIGNED = ("approved", "released", "done")


def office(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """What the office needs, and what it wants back."""

    def run(wide: float) -> list[Flowable]:
        return [plain(words.say("office.run"), HEADING), _run(content, words, wide), *_strokes(content, words, wide)]

    def weighed(wide: float) -> list[Flowable]:
        wishes: list[Flowable] = [plain(words.say("office.weighed"), HEADING), _wishes(content, words, wide)]
        return [*_sizes(content, words, wide), *wishes, *_what_happened(words, wide)]

    return beside(run, weighed, width, most_high=460.0)


def _sizes(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """Counts by size with room for what was printed and what was good."""
    sizes = [*content.job.sizes.items()]
    told: list[Flowable] = [plain(words.say("office.by-size"), HEADING)]
    if not sizes:
        return [*told, plain(words.say("office.no-sizes"), BODY)]
    label = 48.0
    a_row = int((width - label) // SIZE_WIDE)
    wide = (width - label) / a_row
    for start in range(0, len(sizes), a_row):
        part = sizes[start : start + a_row]
        rows: list[list[object]] = [[*heads(words.say("office.size")), *(plain(size, SMALL, 60) for size, _ in part)]]
        rows.append([plain(words.say("office.ordered"), SMALL), *(plain(thousands(count), SMALL) for _, count in part)])
        rows += [[plain(words.say(f"office.{name}"), SMALL), *([""] * len(part))] for name in ("printed", "good")]
        told.append(ruled(rows, [label, *([wide] * len(part))], high=13))
    return told


def _run(content: SheetContent, words: UnitWords, width: float) -> Table:
    job, estimate = content.job, content.plan.estimate
    unknown = words.say("office.not-told")
    ordered = thousands(content.pieces) if content.pieces is not None else unknown
    tests = {"tests": words.counted("pieces", content.tests), "share": number(100 * content.spoilage)}
    shown: list[tuple[str, str, Known | None]] = [
        ("pieces-ordered", ordered, None),
        ("tests-and-spoilage", words.say("office.tests-and-share", **tests), None),
        ("spares", thousands(job.spares) if job.spares is not None else unknown, None),
    ]
    if estimate is None:
        shown.append(("pace", words.say("office.not-estimated"), None))
    else:
        shown += _pace(estimate, words)
    cells = [
        [
            plain(words.say(f"office.{name}"), SMALL),
            paragraph(safe(value) + (known_mark(words.known(known)) if known else ""), SMALL),
        ]
        for name, value, known in shown
    ]
    return ruled(cells, [0.38 * width, 0.62 * width], head_rows=0, pad=1.1)


def _pace(estimate: Estimate, words: UnitWords) -> list[tuple[str, str, Known | None]]:
    """(Id of the row's name below ``sheet.office``, value, how it is known)."""
    guess = Known.ESTIMATED
    rows: list[tuple[str, str, Known | None]] = []
    if estimate.pieces_to_print is not None:
        rows.append(("pieces-to-print", thousands(estimate.pieces_to_print), Known.COMPUTED))
    rows.append(("strokes-in-all", thousands(sum(s.total for s in estimate.strokes.values())), Known.COMPUTED))
    cycles = estimate.lap_cycles_seconds
    cycle = words.say("units.seconds", number=number(estimate.cycle_seconds))
    if len(cycles) > 1:
        laps = ", ".join(number(c) for c in cycles)
        cycle = words.say("office.cycle-by-lap", cycle=number(estimate.cycle_seconds), laps=laps)
    rows.append(("cycle", cycle, guess))
    rows.append(("paced-by", words(estimate.paced_by), guess))
    if estimate.hand_paced:
        rows.append(("extra-dwell", words.say("office.by-hand-pace"), guess))
    elif estimate.extra_dwell_seconds > 0:
        dwell = words.say("units.seconds", number=number(estimate.extra_dwell_seconds))
        rows.append(("extra-dwell-crew", dwell, guess))
    told = {"pieces": estimate.pieces_per_hour, "dozens": estimate.dozens_per_hour}
    rows.append(("machine-pace", words.say("office.machine-pace-told", **told), guess))
    if estimate.likely_pieces_per_hour is not None:
        likely = words.say("office.likely-pace-told", pieces=round(estimate.likely_pieces_per_hour, -1))
        rows.append(("likely-pace", likely, guess))
    time = words.say("office.running-time-told", time=words.duration(estimate.run_minutes))
    rows.append(("running-time", time, guess))
    if estimate.setup_minutes is not None:
        rows.append(("set-up", words.duration(estimate.setup_minutes), guess))
    if estimate.ink_grams:
        rows.append(("ink", words.grams(sum(estimate.ink_grams.values())), guess))
    dryer = estimate.dryer
    if dryer is not None:
        key, belts = "belt", {"needed": words.belt(dryer.needed_m_per_min)}
        if dryer.fastest_m_per_min is not None:
            key, belts = "belt-of", belts | {"most": words.belt(dryer.fastest_m_per_min)}
        key += "-limits" if dryer.limits_pace else "-keeps-up"
        rows.append(("dryer", words.say(f"office.{key}", **belts), guess))
    return rows


def _wishes(content: SheetContent, words: UnitWords, width: float) -> Table:
    """Each wish with its value; where it is proven, that nothing better exists within these limits."""
    rows: list[list[object]] = [list(heads(*(words.say(f"office.{name}") for name in ("wish", "this-plan", "better"))))]
    for wish in content.plan.wishes:
        value = f"{wish.value:.0f}"
        if wish.name == "wet_harm":
            value = words.say("office.harm-figure", figure=value, harm=harm_word(wish.value))
        if wish.proven and not content.hand_made:
            better = words.say("office.nothing-better")
        elif wish.value > wish.bound:
            better = words.say("office.least", bound=wish.bound)
        else:
            better = words.say("office.no-better")
        name = words.choice("sheet.office.wishes", wish.name, wish.name)
        rows.append([plain(name, SMALL), plain(value, SMALL), plain(better, SMALL)])
    return ruled(rows, [0.36 * width, 0.28 * width, 0.36 * width], pad=1.1)


def _strokes(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """Strokes and ink by screen."""
    estimate = content.plan.estimate
    if estimate is None:
        return []
    rows: list[list[object]] = [
        [
            *heads(words.say("office.station"), words.say("office.screen")),
            *heads(*(words.say(f"office.{name}") for name in _STROKE_COLUMNS), right_from=0),
        ]
    ]
    for screen in content.screens():
        strokes = estimate.strokes.get(screen.name, estimate.strokes.get(screen.ink))
        grams = estimate.ink_grams.get(screen.name)
        ink = words.say("office.with-ink", ink=screen.ink) if screen.name != screen.ink else "–"
        if grams is not None:
            ink = words.grams(grams)
        rows.append(
            [
                plain(str(screen.station), SMALL),
                paragraph(strong(words(screen.name)), SMALL),
                plain(str(screen.strokes_per_piece), SMALL_RIGHT),
                plain(thousands(strokes.total) if strokes is not None else "–", SMALL_RIGHT),
                paragraph(
                    safe(ink) + (known_mark(words.known(Known.ESTIMATED)) if grams is not None else ""), SMALL_RIGHT
                ),
            ]
        )
    shares = (0.12, 0.37, 0.18, 0.17, 0.16)
    return [plain(words.say("office.strokes"), HEADING), ruled(rows, [share * width for share in shares], pad=1.1)]


def _what_happened(words: UnitWords, width: float) -> list[Flowable]:
    """Blank boxes for the run as it was, and for names."""
    names = [words.say(f"office.blank.{name}") for name in _BLANKS]
    signed = [words.say("office.signed", what=words.say(f"office.blank.{name}")) for name in _SIGNED]
    third = [width / 3] * 3
    return [
        plain(words.say("office.really"), HEADING),
        boxed([[_blank(name, 14) for name in names[:3]], [_blank(name, 14) for name in names[3:]]], third),
        boxed([[_blank(words.say("office.next-time"), 26)]], [width]),
        plain(words.say("office.signatures"), HEADING),
        boxed([[_blank(name, 14) for name in signed]], third),
    ]


def _blank(name: str, high: float) -> list[Flowable]:
    return [plain(name, NOTE), Spacer(1, high)]
