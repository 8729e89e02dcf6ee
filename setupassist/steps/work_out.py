"""The steps of a job: questions with suggestions, and the screens, orders and flashes that the answers fix."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from setupassist.documents.job import Job
from setupassist.documents.measure import Measure
from setupassist.documents.plan import Limits, Question
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.documents.terms import InkSystem, Kind, Role
from setupassist.errors import InputFault, InputFaults, did_you_mean, nearest
from setupassist.steps.capacity import press_holds
from setupassist.steps.decisions import cut_first, table_of
from setupassist.steps.figures import figures_of, listed
from setupassist.steps.groups import GroupSteps, Order, group_steps
from setupassist.steps.inks import ink_facts, said_of, systems_told
from setupassist.steps.limits import OwnPairs, Rules, derive_limits, flashes_needed
from setupassist.steps.needs import GroupNeeds, ScreenNeed, Steps
from setupassist.steps.questions import COLOUR_OF, Asking, catalogue, name_of, unknown_answers
from setupassist.steps.scene import Cloth, Overlaps, Scene, threshold
from setupassist.steps.standard_order import standard_order
from setupassist.steps.under_screens import box_around, drawn_in, overlaps_of_made, union_area_cm2
from setupassist.trade.cautions import cautions_when
from setupassist.words import Said, say

MADE = ("white base", "grey base", "tint base", "blocker")
AMOUNTS = ("pieces", "tests", "spoilage", "crew-seconds")
NO_ROOM = "no-room-"


def work_out(job: Job, measure: Measure, *, shop: Shop, press: Press) -> Steps:
    """All that the job's answers fix, suggestions standing in for what is not answered.

    A measure document is enough; no pixel is looked at. Raises InputFaults for strangers among inks, questions and
    answers, for a circle among the job's own orders, and where no ink is left to print.
    """
    table, faults = table_of(shop)
    said, strangers = said_of(job, measure)
    names = [plate.name for plate in measure.plates]
    faults += strangers
    faults += _strangers(job, names)
    faults += _overlaps_too_large(measure)
    faults += unknown_answers(job.answers, inks=names, groups=[group.name for group in job.groups])
    _raise(faults)

    asking = Asking(job.answers, table)
    order = Order(job, shop, press, table, (), _overlaps(measure), measure.chokes)
    provisional = _provisional(order)
    told = systems_told(job, measure, shop, said)
    missing = [plate.name for plate in measure.plates if told[plate.name] is None and plate.kind is not Kind.EMPTY]
    usual = InkSystem.PLASTISOL
    if missing:
        usual = InkSystem(asking.ask("ink-system", provisional, systems_missing=len(missing), inks=len(names)) or usual)
    systems = {name: told[name] or usual for name in names}
    inks = ink_facts(measure, shop=shop, said=said, systems=systems, ask_colour=asking.ask_colour)
    empty = [plate.name for plate in measure.plates if plate.kind is Kind.EMPTY]
    if not inks:
        raise InputFault("plates", say("steps.fault.no-ink"), say("steps.fault.check-files"))
    order = replace(order, inks=inks)

    order = replace(order, given_up=_given_up(order, asking))
    groups, neediest = _groups(order, asking)
    _raise(asking.faults)
    _amounts(job, asking, groups[neediest].scene)
    _raise(asking.faults)

    notes: list[str] = [say("steps.note.empty", plates=listed(empty), count=len(empty))] if empty else []
    notes += _colours_unknown(asking)
    notes += _no_room(asking)
    notes += _unused_answers(job, asking)
    return _put_together(order, groups, neediest, asking=asking, measure=measure, notes=notes)


def _raise(faults: Sequence[InputFault]) -> None:
    if len(faults) == 1:
        raise faults[0]
    if faults:
        raise InputFaults(faults)


def _overlaps(measure: Measure) -> Overlaps:
    return {frozenset(contact.plates): contact.overlap_cm2 for contact in measure.contacts if contact.overlap_cm2 > 0}


def _overlaps_too_large(measure: Measure) -> list[InputFault]:
    """A fault for each pair that is said to overlap by more than the smaller of the two holds."""
    areas = {plate.name: plate.ink_area_cm2 for plate in measure.plates}
    most = 1.0 + threshold("overlap_tolerance")
    faults = []
    for contact in measure.contacts:
        smaller = min(contact.plates, key=lambda name: areas[name])
        if contact.overlap_cm2 > most * areas[smaller] + threshold("contact"):
            one, two = contact.plates
            told = {"one": one, "two": two, "smaller": smaller, "overlap": contact.overlap_cm2}
            what = say("steps.fault.overlap-too-large", **told, area=areas[smaller])
            faults.append(InputFault("contacts", what, say("steps.fault.mend-overlap")))
    return faults


def _provisional(order: Order) -> Scene:
    garment = order.job.groups[0]
    cloth = Cloth(garment, garment.colour, garment.fibre, garment.polyester_share or 0.0, garment.bleed_test)
    return Scene(cloth, (), {}, order.press, order.shop)


def _strangers(job: Job, names: Sequence[str]) -> list[InputFault]:
    """A fault for each field that names no ink; the inks of the job are told, and a made screen only if it is meant."""
    known = {*names, *MADE, *(f"made {name}" for name in MADE)}
    pairs = {field: getattr(job, field) for field in ("on_top", "order", "flash_between", "no_flash_between")}
    named: dict[str, Iterable[str]] = {field: (ink for pair in given for ink in pair) for field, given in pairs.items()}
    second = {f"{ink} 2" for ink in known}
    faults = []
    for field, inks in (named | {"overrides": job.overrides, "pins": job.pins}).items():
        allowed = known | second if field in ("overrides", "pins") else known
        for ink in dict.fromkeys(inks):
            if ink not in allowed:
                meant = None if nearest(ink, names) else nearest(ink, known)
                remedy = did_you_mean(ink, [meant] if meant else names)
                faults.append(InputFault(field, say("steps.fault.no-ink-of-job", ink=ink), remedy))
    return faults


def _given_up(order: Order, asking: Asking) -> frozenset[str]:
    """The questions whose usual suggestions the press has no room for: none, else one, else the first few.

    Nothing is given up where that would not make the rest fit: the planner then tells what clashes.
    """
    cut = cut_first()
    tries = [frozenset[str](), *(frozenset({qid}) for qid in cut)]
    tries += [frozenset(cut[:count]) for count in range(2, len(cut) + 1)]
    for given_up in tries:
        trial = replace(asking, asked=dict(asking.asked), settled=dict(asking.settled), faults=[])
        groups, neediest = _groups(replace(order, given_up=given_up), trial)
        screens, overlaps, rules = _union(order, groups, neediest, [])
        if trial.faults or not screens:
            break
        limits, _ = _limits(order, screens, overlaps, rules)
        standard = standard_order(screens, colour_order=order.shop.policies.colour_order)
        keep_empty = frozenset(order.job.keep_empty)
        if press_holds(order.press, screens, limits, standard=standard, keep_empty=keep_empty):
            return given_up
    return frozenset()


def _groups(order: Order, asking: Asking) -> tuple[list[GroupSteps], int]:
    garments = order.job.groups
    if len(garments) == 1:
        return [group_steps(order, garments[0], asking)], 0
    alone = [group_steps(order, garment, Asking({}, order.table, garment.name)) for garment in garments]
    neediest = max(range(len(garments)), key=lambda i: (*_needs(order, alone[i]), -i))
    worked: dict[int, GroupSteps] = {}
    for i in sorted(range(len(garments)), key=lambda i: (i != neediest, i)):
        asking.group = garments[i].name
        worked[i] = group_steps(order, garments[i], asking)
    asking.group = ""
    groups = [worked[i] for i in range(len(garments))]
    return groups, max(range(len(garments)), key=lambda i: (*_needs(order, groups[i]), i == neediest, -i))


def _needs(order: Order, group: GroupSteps) -> tuple[int, int, int]:
    """Screens, then the flashes that one piece cannot do without, then how many pairs want one."""
    limits, _ = _limits(order, group.screens, group.scene.overlaps, group.rules)
    inks = [screen.ink for screen in group.screens]
    again = sum(screen.prints - 1 for screen in group.screens)
    return len(inks), flashes_needed(limits, inks) + again, len(limits.flash_between) + len(limits.never_wet)


def _limits(
    order: Order, screens: Sequence[ScreenNeed], overlaps: Overlaps, rules: Rules
) -> tuple[Limits, tuple[str, ...]]:
    standard = standard_order(screens, colour_order=order.shop.policies.colour_order)
    own = OwnPairs.of(order.job, standard)
    return derive_limits(screens, overlaps, own=own, rules=rules, standard=standard)


def _amounts(job: Job, asking: Asking, scene: Scene) -> None:
    told = {
        "pieces": job.total_pieces,
        "tests": job.tests,
        "spoilage": job.spoilage,
        "crew-seconds": job.crew_seconds,
    }
    for qid in AMOUNTS:
        if told[qid] is None:
            asking.ask(qid, scene)


def _colours_unknown(asking: Asking) -> list[str]:
    asked = [q for q in asking.asked.values() if q.id.startswith(COLOUR_OF) and q.answer is None]
    return [say("steps.note.colour-unknown", ink=q.id.removeprefix(COLOUR_OF).strip(), colour=q.given) for q in asked]


def _no_room(asking: Asking) -> list[str]:
    """Why something usual is not suggested on this press, told on the sheet as well."""
    tight = [q for q in asking.asked.values() if q.answer is None and (q.row or "").startswith(NO_ROOM)]
    return [_note_of(q) for q in tight]


def _note_of(question: Question) -> str:
    """A suggestion's reason as a sentence of its own; a shop's own words only get their capital and full stop."""
    reason = question.reason
    if isinstance(reason, Said):
        return say(f"decisions.no-room.{question.row}", **reason.values)
    return f"{reason[:1].upper()}{reason[1:]}."


def _unused_answers(job: Job, asking: Asking) -> list[str]:
    unused = [qid for qid in job.answers if qid not in asking.asked]
    return [say("steps.note.unused-answers", questions=listed(name_of(qid) for qid in unused))] if unused else []


def _put_together(
    order: Order, groups: Sequence[GroupSteps], neediest: int, *, asking: Asking, measure: Measure, notes: list[str]
) -> Steps:
    plan = groups[neediest]
    screens, overlaps, rules = _union(order, groups, neediest, notes)
    if not screens:
        raise InputFault("answers", say("steps.fault.no-ink-left"), say("steps.fault.keep-an-ink"))
    limits, left_out = _limits(order, screens, overlaps, rules)
    notes += [*plan.notes, *left_out]
    notes += _own_pairs_unused(order.job, screens)
    notes += _table_notes(order, groups, limits)
    asked = sorted(asking.asked.values(), key=_place_of)
    printed = {screen.ink for screen in screens}
    return Steps(
        questions=tuple(asked),
        assumed=tuple(question.id for question in asked if question.answer is None),
        screens=screens,
        overlaps={pair: area for pair, area in overlaps.items() if pair <= printed},
        limits=limits,
        standard_order=standard_order(screens, colour_order=order.shop.policies.colour_order),
        groups=tuple(_group_needs(order, group, screens, overlaps) for group in groups),
        neediest=neediest,
        cautions=_cautions(groups, limits, screens),
        notes=tuple(dict.fromkeys(notes)),
        art_box_mm=measure.art.art_box_mm,
        shared_edges_cm={
            frozenset(contact.plates): contact.shared_edge_cm
            for contact in measure.contacts
            if contact.shared_edge_cm > 0
        },
        needs_base=frozenset().union(*(group.scene.needs_base for group in groups)),
    )


def _place_of(question: Question) -> tuple[int, str]:
    qid = question.id
    ids = list(catalogue())
    plain = next((known for known in ids if qid == known or qid.startswith(f"{known} for ")), None)
    if plain is not None:
        return ids.index(plain), qid
    return (ids.index("ink-system") if qid.startswith(COLOUR_OF) else len(ids)), qid


def _group_needs(order: Order, group: GroupSteps, screens: Sequence[ScreenNeed], overlaps: Overlaps) -> GroupNeeds:
    prints = {screen.ink: screen.prints for screen in group.screens}
    shared = [screen for screen in screens if screen.ink in prints]
    limits, _ = _limits(order, shared, overlaps, group.rules)
    return GroupNeeds(group.garment, tuple(prints), limits, prints)


def _union(
    order: Order, groups: Sequence[GroupSteps], neediest: int, notes: list[str]
) -> tuple[tuple[ScreenNeed, ...], Overlaps, Rules]:
    """Screens for every group: the neediest's, and what others need besides, with one shape for a made screen."""
    plan = groups[neediest]
    screens = {screen.ink: screen for screen in plan.screens}
    overlaps = dict(plan.scene.overlaps)
    rules = plan.rules
    for group in groups:
        extra = [screen for screen in group.screens if screen.ink not in screens]
        for screen in group.screens:
            screens[screen.ink] = _shared(screens[screen.ink], screen) if screen.ink in screens else screen
        overlaps = {**group.scene.overlaps, **overlaps}
        if extra:
            names = listed(screen.ink for screen in extra)
            one, most = group.garment.name, plan.garment.name
            notes.append(say("steps.note.needs-besides", group=one, inks=names, neediest=most))
            rules = _both(rules, group.rules)
    for ink, screen in screens.items():
        if screen.plate is None:
            before = next((s for s in plan.screens if s.ink == ink), screen)
            if set(before.carries) != set(screen.carries):
                screens[ink] = _redrawn(screen, screens, overlaps, order.shop.policies.choke_mm)
                overlaps |= overlaps_of_made(screens[ink], list(screens.values()), overlaps)
                notes.append(say("steps.note.one-for-all", screen=ink, inks=listed(screen.carries)))
    listed_order = [ink.name for ink in order.inks]
    placed = sorted(screens.values(), key=lambda s: _screen_place(s, listed_order))
    return tuple(placed), _within(overlaps, screens), rules


def _within(overlaps: Overlaps, screens: Mapping[str, ScreenNeed]) -> Overlaps:
    """No overlap above the smaller area: groups estimate the areas of made screens each for themselves."""
    areas = {ink: screen.ink_area_cm2 for ink, screen in screens.items()}
    return {pair: min(area, *(areas.get(ink, area) for ink in pair)) for pair, area in overlaps.items()}


def _screen_place(screen: ScreenNeed, listed_order: Sequence[str]) -> tuple[int, int]:
    if screen.plate is None:
        return (0 if screen.role is Role.BLOCKER else 1), 0
    return 2, listed_order.index(screen.ink)


def _shared(one: ScreenNeed, two: ScreenNeed) -> ScreenNeed:
    """One screen for two groups: the prints of the one that needs more, and the strokes that go with them."""
    prints = max(one.prints, two.prints)
    return replace(
        one,
        prints=prints,
        two_strokes=any(screen.two_strokes for screen in (one, two) if screen.prints == prints),
        low_bleed=one.low_bleed or two.low_bleed,
        carries=tuple(dict.fromkeys((*one.carries, *two.carries))),
    )


def _redrawn(screen: ScreenNeed, screens: dict[str, ScreenNeed], overlaps: Overlaps, choke_mm: float) -> ScreenNeed:
    carried = [screens[ink] for ink in screen.carries if ink in screens]
    area = drawn_in(union_area_cm2(carried, overlaps), box_around(carried), choke_mm)
    return replace(screen, ink_area_cm2=max(area, screen.ink_area_cm2), ink_box_mm=box_around(carried))


def _both(one: Rules, two: Rules) -> Rules:
    return replace(
        one,
        flash_after_base=one.flash_after_base or two.flash_after_base,
        own_bases=tuple(dict.fromkeys((*one.own_bases, *two.own_bases))),
        flash_before_highlight=one.flash_before_highlight or two.flash_before_highlight,
        flash_before_specials=one.flash_before_specials or two.flash_before_specials,
        never_wet=tuple(dict.fromkeys((*one.never_wet, *two.never_wet))),
    )


def _table_notes(order: Order, groups: Sequence[GroupSteps], limits: Limits) -> list[str]:
    """The notes of the decision table; one that does not hold for every group is told with the group's name."""
    told: dict[str, list[str]] = {}
    for group in groups:
        scene = replace(group.scene, limits=limits)
        figures = figures_of(scene)
        for row in order.table.notes(scene):
            told.setdefault(row.reason(figures), []).append(group.garment.name)
    return [
        text if len(names) == len(groups) else say("steps.note.of-garments", garments=listed(names), note=text)
        for text, names in told.items()
    ]


def _own_pairs_unused(job: Job, screens: Sequence[ScreenNeed]) -> list[str]:
    printed = {screen.ink for screen in screens}
    given = (*job.order, *job.on_top, *job.flash_between, *job.no_flash_between)
    absent = dict.fromkeys(ink for pair in given for ink in pair if ink not in printed)
    return [say("steps.note.pairs-unused", inks=listed(absent), count=len(absent))] if absent else []


def _cautions(groups: Sequence[GroupSteps], limits: Limits, screens: Sequence[ScreenNeed]) -> tuple[str, ...]:
    words = {"dryer"} | {str(screen.ink_system) for screen in screens} | {str(screen.role) for screen in screens}
    if limits.flash_between or limits.never_wet or any(screen.prints > 1 for screen in screens):
        words.add("flash")
    if any(screen.low_bleed for screen in screens):
        words.add("low-bleed")
    for group in groups:
        cloth = group.scene.cloth
        if cloth.dyed_polyester:
            words.add("polyester")
        words |= {str(cloth.fibre)} - {"polyester", "blend"} | ({cloth.fabric} - {""})
    return tuple(caution.id for caution in cautions_when(words))
