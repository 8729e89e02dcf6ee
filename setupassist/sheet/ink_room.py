"""The ink room's page: every ink with its swatch, system, amount and what to mind."""

from __future__ import annotations

from reportlab.platypus.flowables import Flowable, Spacer

from setupassist.documents.shop import Ink
from setupassist.documents.terms import Known
from setupassist.sheet.cautions_told import cautions_table
from setupassist.sheet.content import SheetContent, SheetScreen
from setupassist.sheet.sources import Sources
from setupassist.sheet.tables import Swatch, heads, ruled
from setupassist.sheet.type import HEADING, NOTE, SMALL, SMALL_RIGHT, known_mark, paragraph, plain, safe, strong
from setupassist.sheet.unit_words import UnitWords, number, thousands
from setupassist.trade.inks import typical_ink


def ink_room(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """Inks to mix and how much of each."""
    estimate = content.plan.estimate
    rows: list[list[object]] = [
        [*heads("", "ink", "system", "colour"), *heads("amount", right_from=0), *heads("weighed out", "what to mind")]
    ]
    told: set[str] = set()
    sources = Sources()
    for screen in content.screens():
        if screen.ink in told:
            continue
        told.add(screen.ink)
        grams = estimate.ink_grams.get(screen.ink) if estimate is not None else None
        amount = safe(words.grams(grams)) + known_mark(Known.ESTIMATED) if grams is not None else "not estimated"
        system = screen.need.ink_system.value if screen.need is not None else "not told"
        rows.append(
            [
                Swatch(screen.colour, 26, 14),
                paragraph(f"{strong(screen.name)}<br/>{safe(screen.role)}, station {screen.station}", SMALL),
                plain(system, SMALL),
                plain(screen.colour, SMALL),
                paragraph(amount, SMALL_RIGHT),
                "",
                plain("; ".join(_to_mind(screen, content.shop.ink(screen.ink))) or "–", SMALL),
            ]
        )
    shares = (0.05, 0.27, 0.1, 0.08, 0.1, 0.12, 0.28)
    pieces = estimate.pieces_to_print if estimate is not None else None
    share = content.shop.policies.ink_transfer_share
    count = f"{thousands(pieces)} pieces" if pieces is not None else "the whole order"
    basis = (
        f"Amounts are for {count} with tests and spoilage, and for what stays in the screens; "
        f"{share:.0%} of the mesh's volume is taken to reach the cloth. "
        "Weigh before and after the run: the next estimate is better for it."
    )
    return [
        plain("Inks to have ready", HEADING),
        ruled(rows, [part * width for part in shares], pad=4, more=[("RIGHTPADDING", (4, 0), (4, -1), 22)]),
        Spacer(1, 5),
        plain(basis, NOTE),
        plain(
            "Colours are shown as the job gives them; the swatch on paper is no match. Match on cloth, over the base.",
            NOTE,
        ),
        *_heat(content, words, sources, width),
        *cautions_table(content, ("ink",), sources, width),
        *sources.told(),
    ]


def _heat(content: SheetContent, words: UnitWords, sources: Sources, width: float) -> list[Flowable]:
    """Gel and cure of every ink system and role of the job: typical ranges of the film, never of the dryer."""
    told: dict[str, list[str]] = {}
    rows: list[list[object]] = [list(heads("ink", "gels, film", "cures, film", "for", "notes"))]
    for screen in content.screens():
        if screen.need is None:
            continue
        ink = typical_ink(screen.need.ink_system, screen.need.role)
        mark = known_mark(Known.TYPICAL)
        gel, cure, time = ink.gel_temperature, ink.cure_temperature, ink.cure_time
        behind = [*([gel.cited] if gel else []), cure.cited, time.cited]
        row = [
            words.temperatures(gel.low, gel.high) + mark if gel else "–",
            words.temperatures(cure.low, cure.high) + mark,
            f"{time.low:.0f} to {time.high:.0f} s" + mark,
            "  ".join([*(safe(text) + sources.mark(source) for text, source in ink.notes), "Figures:"])
            + sources.marks(behind),
        ]
        key = "|".join([screen.need.ink_system.value, *row])
        if key not in told:
            told[key] = []
            rows.append([key, *(paragraph(cell, SMALL) for cell in row)])
        told[key].append(screen.ink)
    for row_told in rows[1:]:
        key = str(row_told[0])
        system = key.split("|", 1)[0]
        who = "all inks" if len(told) == 1 else ", ".join(dict.fromkeys(told[key]))
        row_told[0] = paragraph(f"{strong(system)}  {safe(who)}", SMALL)
    if len(rows) == 1:
        return []
    shares = (0.32, 0.13, 0.13, 0.12, 0.3)
    return [
        plain("Heat: the ink's own data sheet comes first", HEADING),
        ruled(rows, [s * width for s in shares], pad=1.6),
    ]


def _to_mind(screen: SheetScreen, shelf: Ink | None) -> list[str]:
    """What the shelf and the steps know of an ink."""
    said = []
    if shelf is None:
        said.append("not in the shop book under this name")
    else:
        if shelf.contrast_ratio is not None and shelf.at_um is not None:
            said.append(f"hides {shelf.contrast_ratio:.0%} at {number(shelf.at_um)} µm")
        if shelf.particle_um:
            said.append(f"particles up to {number(shelf.particle_um)} µm")
        if shelf.density is not None:
            said.append(f"{shelf.density:g} g/cm³")
    low_bleed = (shelf is not None and shelf.low_bleed) or (screen.need is not None and screen.need.low_bleed)
    if low_bleed:
        said.append("low-bleed")
    if screen.strokes_per_piece > 1:
        said.append(f"{screen.strokes_per_piece} strokes a piece")
    return said
