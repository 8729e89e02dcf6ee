"""The ink room's page: every ink with its swatch, system, amount and what to mind."""

from __future__ import annotations

from reportlab.platypus.flowables import Flowable, Spacer

from setupassist.documents.shop import Ink
from setupassist.documents.terms import Known
from setupassist.sheet.cautions_told import cautions_table
from setupassist.sheet.content import SheetContent, SheetScreen, role_said
from setupassist.sheet.sources import Sources
from setupassist.sheet.tables import Swatch, heads, ruled
from setupassist.sheet.type import HEADING, NOTE, SMALL, SMALL_RIGHT, known_mark, paragraph, plain, safe, strong
from setupassist.sheet.unit_words import UnitWords, number, thousands
from setupassist.trade.inks import typical_ink
from setupassist.words import say


def ink_room(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """Inks to mix and how much of each."""
    estimate = content.plan.estimate
    rows: list[list[object]] = [
        [
            *heads("", *(words.say(f"ink-room.{name}") for name in ("ink", "system", "colour"))),
            *heads(words.say("ink-room.amount"), right_from=0),
            *heads(words.say("ink-room.weighed-out"), words.say("ink-room.to-mind")),
        ]
    ]
    told: set[str] = set()
    sources = Sources(words)
    for screen in content.screens():
        if screen.ink in told:
            continue
        told.add(screen.ink)
        grams = estimate.ink_grams.get(screen.ink) if estimate is not None else None
        amount = safe(words.say("ink-room.not-estimated"))
        if grams is not None:
            amount = safe(words.grams(grams)) + known_mark(words.known(Known.ESTIMATED))
        system = words.say("ink-room.not-told")
        if screen.need is not None:
            system = words(say(f"terms.ink_system.{screen.need.ink_system.value}"))
        role = words.say("ink-room.role-station", role=role_said(screen.role), station=screen.station)
        rows.append(
            [
                Swatch(screen.colour, 26, 14),
                paragraph(f"{strong(words(screen.name))}<br/>{safe(role)}", SMALL),
                plain(system, SMALL),
                plain(screen.colour, SMALL),
                paragraph(amount, SMALL_RIGHT),
                "",
                plain("; ".join(_to_mind(screen, content.shop.ink(screen.ink), words)) or "–", SMALL),
            ]
        )
    shares = (0.05, 0.27, 0.1, 0.08, 0.1, 0.12, 0.28)
    pieces = estimate.pieces_to_print if estimate is not None else None
    share = content.shop.policies.ink_transfer_share
    count = words.say("ink-room.the-whole-order")
    if pieces is not None:
        count = words.say("ink-room.pieces", number=thousands(pieces))
    basis = words.say("ink-room.basis", pieces=count, share=share)
    return [
        plain(words.say("ink-room.title"), HEADING),
        ruled(rows, [part * width for part in shares], pad=4, more=[("RIGHTPADDING", (4, 0), (4, -1), 22)]),
        Spacer(1, 5),
        plain(basis, NOTE),
        plain(words.say("ink-room.swatch"), NOTE),
        *_heat(content, words, sources, width),
        *cautions_table(content, words, ("ink",), sources, width),
        *sources.told(),
    ]


def _heat(content: SheetContent, words: UnitWords, sources: Sources, width: float) -> list[Flowable]:
    """Gel and cure of every ink system and role of the job: typical ranges of the film, never of the dryer."""
    told: dict[str, list[str]] = {}
    figures = words.say("ink-room.figures")
    rows: list[list[object]] = [
        list(heads(*(words.say(f"ink-room.{name}") for name in ("ink", "gels", "cures", "for", "notes"))))
    ]
    for screen in content.screens():
        if screen.need is None:
            continue
        ink = typical_ink(screen.need.ink_system, screen.need.role)
        mark = known_mark(words.known(Known.TYPICAL))
        gel, cure, time = ink.gel_temperature, ink.cure_temperature, ink.cure_time
        behind = [*([gel.cited] if gel else []), cure.cited, time.cited]
        row = [
            words.temperatures(gel.low, gel.high) + mark if gel else "–",
            words.temperatures(cure.low, cure.high) + mark,
            words.say("units.seconds-range", low=f"{time.low:.0f}", high=f"{time.high:.0f}") + mark,
            "  ".join([*(safe(words(text)) + sources.mark(source) for text, source in ink.notes), figures])
            + sources.marks(behind),
        ]
        key = "|".join([screen.need.ink_system.value, *row])
        if key not in told:
            told[key] = []
            rows.append([key, *(paragraph(cell, SMALL) for cell in row)])
        told[key].append(screen.ink)
    for row_told in rows[1:]:
        key = str(row_told[0])
        system = words(say(f"terms.ink_system.{key.split('|', 1)[0]}"))
        who = words.say("ink-room.all-inks") if len(told) == 1 else ", ".join(dict.fromkeys(told[key]))
        row_told[0] = paragraph(f"{strong(system)}  {safe(who)}", SMALL)
    if len(rows) == 1:
        return []
    shares = (0.32, 0.13, 0.13, 0.12, 0.3)
    return [
        plain(words.say("ink-room.heat"), HEADING),
        ruled(rows, [s * width for s in shares], pad=1.6),
    ]


def _to_mind(screen: SheetScreen, shelf: Ink | None, words: UnitWords) -> list[str]:
    """What the shelf and the steps know of an ink."""
    said = []
    if shelf is None:
        said.append(words.say("ink-room.not-in-the-book"))
    else:
        if shelf.contrast_ratio is not None and shelf.at_um is not None:
            said.append(words.say("ink-room.hides", share=shelf.contrast_ratio, film=number(shelf.at_um)))
        if shelf.particle_um:
            said.append(words.say("ink-room.particles", size=number(shelf.particle_um)))
        if shelf.density is not None:
            said.append(words.say("units.density", number=f"{shelf.density:g}"))
    low_bleed = (shelf is not None and shelf.low_bleed) or (screen.need is not None and screen.need.low_bleed)
    if low_bleed:
        said.append(words.say("ink-room.low-bleed"))
    if screen.strokes_per_piece > 1:
        said.append(words.say("ink-room.strokes", number=screen.strokes_per_piece))
    return said
