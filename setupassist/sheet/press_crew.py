"""The press crew's pages: placement, the order of registering, test prints, checks, cautions and the reasons."""

from __future__ import annotations

from reportlab.platypus import Paragraph, Table
from reportlab.platypus.flowables import CondPageBreak, Flowable

from setupassist.documents.plan import Reason
from setupassist.documents.terms import Role
from setupassist.resource_files import read_toml
from setupassist.sheet.cautions_told import cautions_table
from setupassist.sheet.content import SheetContent, SheetScreen
from setupassist.sheet.page_one import answer_words
from setupassist.sheet.press_settings import where_in
from setupassist.sheet.sources import Sources
from setupassist.sheet.tables import beside, heads, ruled, ticked
from setupassist.sheet.type import (
    BODY,
    HEADING,
    OPEN_HEADING,
    SMALL,
    known_mark,
    lead,
    paragraph,
    plain,
    safe,
    sentence,
    strong,
)
from setupassist.sheet.unit_words import UnitWords
from setupassist.trade.typical import cited
from setupassist.words import say

CREW = "sheet/crew.toml"
ROOM_FOR_REASONS = 360.0
_ON_PAGE_ONE = {"mesh", "strokes", "squeegee hardness", "off-contact"}
_OF_THE_SCREEN_ROOM = {"frame", "tension", "stencil over mesh"}


def press_crew(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """What the crew does, in working order; then why the screens stand as they do.

    The reasons have a page of their own, or go on below what has spilled over.
    """
    sources, why = Sources(words), Sources(words)
    order = register_order(content)

    def before(wide: float) -> list[Flowable]:
        placed: list[Flowable] = [plain(words.say("crew.placement"), HEADING), plain(_placement(content, words), BODY)]
        ticks = _ticks(content, "check", order, sources, wide)
        return [*placed, plain(words.say("crew.checks"), HEADING), ticks]

    def prints(wide: float) -> list[Flowable]:
        head = plain(words.say("crew.registering"), HEADING)
        turn: list[Flowable] = [head, *_registering(order, words, sources)]
        ticks = _ticks(content, "test", order, sources, wide)
        return [*turn, plain(words.say("crew.tests"), HEADING), ticks]

    return [
        *beside(before, prints, width),
        *_blades(content, words),
        *cautions_table(content, words, ("setup", "test", "run", "cure", "wash-up"), sources, width),
        *sources.told(),
        CondPageBreak(ROOM_FOR_REASONS),
        *_reasons(content, words, why, width),
        *why.told(),
    ]


def register_order(content: SheetContent) -> tuple[SheetScreen, ...]:
    """The target first (base, else key, else the screen with the most ink), then the rest in print order."""
    screens = list(content.screens())

    def rank(screen: SheetScreen) -> tuple[int, float]:
        area = screen.need.ink_area_cm2 if screen.need is not None else 0.0
        roles = {Role.BASE.value: 0, Role.KEY.value: 1}
        if screen.role == Role.BLOCKER.value:
            return 3, -area
        return roles.get(screen.role, 2), -area

    if not screens:
        return ()
    target = min(screens, key=rank)
    return (target, *(screen for screen in screens if screen is not target))


def _placement(content: SheetContent, words: UnitWords) -> str:
    job, box = content.job, content.steps.art_box_mm
    place = words.say("crew.place-by-order", location=content.location)
    if job.placement:
        place = words.say("crew.place", location=content.location, placement=job.placement)
    if box is None:
        return words.say("crew.placed", place=place)
    size, most = words.size(box[2], box[3]), words.size(*content.press.max_print_mm)
    return words.say("crew.placed-sized", place=place, size=size, most=most)


def _registering(order: tuple[SheetScreen, ...], words: UnitWords, sources: Sources) -> list[Flowable]:
    if not order:
        return [plain(words.say("crew.no-screen"), BODY)]
    role = order[0].role if order[0].role in {Role.BASE.value, Role.KEY.value} else "any"
    rule = next(entry for entry in read_toml(CREW)["register"] if entry["role"] == role)
    said = words(say(rule["text"], target=strong(words(order[0].name))))
    rest = ";  ".join(
        words.say("crew.turn", at=f"{at}", screen=safe(words(screen.name)), station=screen.station)
        for at, screen in enumerate(order, 1)
    )
    return [
        paragraph(said + sources.mark(cited(rule["tag"], rule["source"])), BODY),
        paragraph(lead(words.say("crew.in-turn")) + rest, BODY),
    ]


def _ticks(content: SheetContent, what: str, order: tuple[SheetScreen, ...], sources: Sources, width: float) -> Table:
    words = sources.words
    target = safe(words(order[0].name) if order else words.say("crew.first-screen"))
    tests = words.counted("pieces", content.tests)
    rows: list[list[object]] = []
    for entry in read_toml(CREW)[what]:
        if entry.get("when") == "flash" and not content.flash_stations():
            continue
        text = words(say(entry["text"], target=target, tests=tests))
        rows.append([ticked(text + sources.mark(cited(entry["tag"], entry["source"])))])
    return ruled(rows, [width], head_rows=0, pad=0.9)


def _blades(content: SheetContent, words: UnitWords) -> list[Flowable]:
    """Blade and stroke settings that page one has no room for; one told once where all screens share it."""
    screens = content.screens()
    by_value: dict[str, dict[str, list[str]]] = {}
    for screen in screens:
        for setting in screen.choice.settings if screen.choice is not None else ():
            if setting.name not in _ON_PAGE_ONE | _OF_THE_SCREEN_ROOM:
                said = safe(words.setting(setting.value, setting.unit)) + known_mark(words.known(setting.known))
                by_value.setdefault(words(setting.name), {}).setdefault(said, []).append(screen.name)
    if not by_value:
        return []
    shared = [f"{safe(name)} {said}" for name, values in by_value.items() if len(values) == 1 for said in values
              if len(values[said]) == len(screens)]  # fmt: skip
    told: list[Flowable] = [plain(words.say("crew.blades"), HEADING)]
    if shared:
        told.append(paragraph(lead(words.say("crew.all-screens")) + ";  ".join(shared), BODY))
    for name, values in by_value.items():
        if len(values) > 1 or len(next(iter(values.values()))) < len(screens):
            each = ";  ".join(f"{said} {safe(', '.join(inks), 2000)}" for said, inks in values.items())
            told.append(paragraph(lead(name) + each, BODY))
    return told


def _reasons(content: SheetContent, words: UnitWords, sources: Sources, width: float) -> list[Flowable]:
    """Why each screen and flash stands where it stands, sentence by sentence."""
    rows: list[list[object]] = [list(heads(*(words.say(f"crew.{name}") for name in ("station", "what", "why"))))]
    for slot in content.in_print_order():
        where = where_in(content, words, slot)
        rows.append(
            [
                paragraph(strong(where), SMALL),
                paragraph(strong(slot.ink or words.say("settings.flash")), SMALL),
                _why(slot.reasons, words, sources),
            ]
        )
    told: list[Flowable] = [plain(words.say("crew.reasons"), HEADING)]
    told += [ruled(rows, [0.08 * width, 0.22 * width, 0.7 * width]), *_answers(content, words, width)]
    notes = list(dict.fromkeys([*content.plan.notes, *content.steps.notes]))
    if notes:
        told.append(plain(words.say("crew.notes"), HEADING))
        told += [paragraph(sentence(words(note)), SMALL) for note in notes]
    return told


def _answers(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """Every question, the answer in force and where it comes from."""
    questions = content.plan.questions or content.steps.questions
    if not questions:
        return []
    rows: list[list[object]] = [list(heads(*(words.say(f"crew.{name}") for name in ("question", "answer", "whose"))))]
    for question in questions:
        assumed = question.id in content.plan.assumed or question.answer is None
        whose = words.say("crew.given")
        if assumed:
            whose = words.say("crew.suggested", reason=question.reason, source=question.source)
        rows.append(
            [
                plain(words(question.text), SMALL),
                paragraph(strong(answer_words(question, words)), SMALL),
                plain(whose, SMALL),
            ]
        )
    return [
        CondPageBreak(100),
        plain(words.say("crew.answers"), OPEN_HEADING),
        ruled(rows, [0.3 * width, 0.14 * width, 0.56 * width], pad=1.1),
    ]


def _why(reasons: tuple[Reason, ...], words: UnitWords, sources: Sources) -> Paragraph:
    said = " ".join(sentence(words(reason.text)) + sources.mark(reason.source) for reason in reasons)
    return paragraph(said or safe(words.say("crew.by-hand")), SMALL)
