"""What one garment group needs: its answers in force, its screens and the rules between them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from pathlib import PurePath

from setupassist.documents.job import Garment, Job
from setupassist.documents.measure import Choke
from setupassist.documents.plan import Pair
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.documents.terms import UNDER_ROLES, BleedTest, Fibre, InkSystem, Role
from setupassist.steps.conditions import flashes_room, holds
from setupassist.steps.decisions import DecisionTable
from setupassist.steps.figures import listed
from setupassist.steps.inks import InkFact
from setupassist.steps.limits import Rules
from setupassist.steps.needs import ScreenNeed
from setupassist.steps.questions import Asking
from setupassist.steps.room import wet_runs
from setupassist.steps.scene import Cloth, Overlaps, Scene, is_white, threshold
from setupassist.steps.standard_order import standard_order
from setupassist.steps.under_screens import made_base, made_blocker, overlaps_of_made
from setupassist.words import joined, say

NEED_OF_BASE = "base-under"
LAYER_QUESTIONS = ("flash-after-base", "flash-each-colour", "flash-before-highlight", "flash-before-specials")


@dataclass(frozen=True)
class Order:
    """What all garment groups of an order share."""

    job: Job
    shop: Shop
    press: Press
    table: DecisionTable
    inks: tuple[InkFact, ...]
    overlaps: Overlaps
    chokes: tuple[Choke, ...]
    given_up: frozenset[str] = frozenset()


@dataclass(frozen=True)
class GroupSteps:
    """One group worked out: the scene with screens, overlaps and answers in it, rules, and plain sentences."""

    garment: Garment
    scene: Scene
    rules: Rules
    notes: tuple[str, ...]

    @property
    def screens(self) -> tuple[ScreenNeed, ...]:
        """The screens that this group needs."""
        return self.scene.screens


def group_steps(order: Order, garment: Garment, asking: Asking) -> GroupSteps:
    """What this garment needs; its questions go through ``asking``."""
    job = order.job
    notes: list[str] = []
    scene = Scene(
        cloth=_cloth(garment, garment.colour, garment.fibre, garment.polyester_share),
        inks=order.inks,
        overlaps=dict(order.overlaps),
        press=order.press,
        shop=order.shop,
        chokes=order.chokes,
        keep_empty=frozenset(job.keep_empty),
        numbered=_numbered(job),
        given_up=order.given_up,
    )
    scene = _garment(scene, asking)
    for qid in ("print-look", "order-supplied"):
        scene = _put(scene, asking, qid)
    scene = replace(scene, needs_base=_needs_base(scene, order.table))
    scene = _screens(scene, asking, notes)
    for qid in LAYER_QUESTIONS:
        scene = _put(scene, asking, qid)
    scene = _put(scene, asking, "halftone-ruling")
    return GroupSteps(garment, scene, _rules(scene, notes), tuple(notes))


def _numbered(job: Job) -> bool:
    """Whether the listed files carry rising numbers before their names."""
    if not isinstance(job.plates, tuple):
        return False
    found = [re.match(r"\d{1,6}", PurePath(plate.file).name) for plate in job.plates]
    numbers = [int(number.group()) for number in found if number]
    return len(numbers) == len(found) > 1 and all(a < b for a, b in pairwise(numbers))


def _put(scene: Scene, asking: Asking, qid: str) -> Scene:
    answer = asking.ask(qid, scene)
    return scene if answer is None else replace(scene, answers={**scene.answers, qid: answer})


def _cloth(garment: Garment, colour: str, fibre: Fibre, share: float | None, bleed: BleedTest | None = None) -> Cloth:
    usual = {Fibre.POLYESTER: 1.0, Fibre.BLEND: threshold("polyester_of_blend")}.get(fibre, 0.0)
    return Cloth(
        garment=garment,
        colour=colour,
        fibre=fibre,
        polyester_share=usual if share is None else share,
        bleed_test=garment.bleed_test if bleed is None else bleed,
    )


def _garment(scene: Scene, asking: Asking) -> Scene:
    garment = scene.cloth.garment
    given = garment.model_fields_set
    colour, fibre, share = garment.colour, garment.fibre, garment.polyester_share
    if "colour" not in given:
        colour = asking.ask("garment-colour", scene) or colour
    if "fibre" not in given:
        fibre = Fibre(asking.ask("fibre", scene) or fibre)
    if fibre is Fibre.BLEND and share is None:
        told = asking.ask("polyester-share", scene)
        share = None if told is None else float(told)
    scene = replace(scene, cloth=_cloth(garment, colour, fibre, share))
    if garment.bleed_test is not BleedTest.NOT_DONE:
        return scene
    bleed = asking.ask("bleed-test", scene)
    return replace(scene, cloth=_cloth(garment, colour, fibre, share, None if bleed is None else BleedTest(bleed)))


def _needs_base(scene: Scene, table: DecisionTable) -> frozenset[str]:
    needy = set()
    for ink in scene.tops:
        row = table.decide(NEED_OF_BASE, scene, ink)
        if row is not None and row.suggest == "base":
            needy.add(ink.name)
    return frozenset(needy)


def _screens(scene: Scene, asking: Asking, notes: list[str]) -> Scene:
    scene = replace(scene, screens=tuple(ink.need for ink in scene.inks))
    scene = _put(scene, asking, "drop-black")
    if scene.answers.get("drop-black") == "yes":
        scene = _without(scene, [ink.name for ink in scene.black_inks], "cloth-is-black", notes)
    scene = _put(scene, asking, "base")
    scene = _base(scene, asking, notes)
    scene = _put(scene, asking, "base-shows")
    scene = _put(scene, asking, "blocker")
    scene = _blocker(scene, notes)
    scene = _put(scene, asking, "base-hits")
    return _hits(scene, told=asking.by_person("base-hits"))


def _base(scene: Scene, asking: Asking, notes: list[str]) -> Scene:
    answer = scene.answers.get("base", "as-separated")
    if answer == "as-separated":
        return scene
    bases = [base.name for base in scene.bases]
    if answer == "none":
        return _without(scene, bases, "no-base-wanted", notes)
    scene = _without(scene, bases, "new-base", notes)
    scene = _put(scene, asking, "base-colour")
    tops = {ink.name for ink in scene.tops}
    carried = [s for s in scene.screens if s.ink in tops and (answer == "under-all" or s.ink in scene.needs_base)]
    if not carried:
        black = {ink.name for ink in scene.black_inks}
        carried = [s for s in scene.screens if s.ink in tops - black]
    if not carried:
        notes.append(say("steps.note.no-base-made"))
        return replace(scene, answers={**scene.answers, "base": "none"})
    base_colour = asking.settled.setdefault("base-colour", scene.answers.get("base-colour", "white"))
    made = made_base(
        carried,
        scene.overlaps,
        base_colour=base_colour,
        choke_mm=scene.shop.policies.choke_mm,
        ink_system=_system(carried),
        taken=[ink.name for ink in scene.inks],
    )
    return _with(scene, made)


def _blocker(scene: Scene, notes: list[str]) -> Scene:
    answer = scene.answers.get("blocker")
    if answer == "no":
        return _without(scene, [ink.name for ink in scene.blockers], "no-blocker-wanted", notes)
    if answer != "yes" or scene.blockers:
        return scene
    weak = tuple(screen for screen in scene.screens if screen.ink in scene.needs_base)
    under = scene.base_screens or weak or scene.screens
    made = made_blocker(
        under,
        scene.overlaps,
        choke_mm=scene.shop.policies.choke_mm,
        ink_system=_system(under),
        taken=[screen.ink for screen in scene.screens] + [ink.name for ink in scene.inks],
    )
    return _with(scene, made)


def _hits(scene: Scene, *, told: bool) -> Scene:
    """Strokes and prints of bases and of whites that stand in for them; ``told`` where a person answered.

    What is printed twice takes one stroke a print, and discharge is not printed twice, unless a person says so.
    """
    answer = scene.answers.get("base-hits")
    fixed = {ink.name for ink in scene.inks if ink.prints_given}
    whites = {ink.name for ink in scene.own_whites}
    low_bleed = scene.cloth.dyed_polyester and scene.cloth.bleed_test is not BleedTest.NONE
    bare_whites = set() if scene.base_screens else {ink.name for ink in scene.tops if is_white(ink)}

    def hit(screen: ScreenNeed) -> ScreenNeed:
        if low_bleed and (screen.role is Role.BASE or screen.ink in bare_whites):
            screen = replace(screen, low_bleed=True)
        if screen.role is not Role.BASE and screen.ink not in whites:
            return screen
        wet = screen.ink_system is InkSystem.DISCHARGE and not told
        twice = answer == "print-flash-print" and not wet
        prints = screen.prints if screen.ink in fixed else (2 if twice else 1)
        return replace(screen, prints=prints, two_strokes=answer == "two-strokes" and (told or prints == 1))

    return replace(scene, screens=tuple(hit(screen) for screen in scene.screens))


def _rules(scene: Scene, notes: list[str]) -> Rules:
    policies, answers = scene.shop.policies, scene.answers
    after_base = answers.get("flash-after-base", "no" if holds("all-discharge", scene) else "yes")
    return Rules(
        flash_after_base=after_base == "yes",
        own_bases=tuple(white.name for white in scene.own_whites),
        flash_before_highlight=answers.get("flash-before-highlight") == "yes",
        flash_before_specials=answers.get("flash-before-specials") == "yes",
        order_as_listed=answers.get("order-supplied") == "as-listed",
        alone_until_flash=policies.alone_until_flash,
        blend_stays_wet=policies.blend_stays_wet,
        never_wet=_never_wet(scene, notes),
    )


def _never_wet(scene: Scene, notes: list[str]) -> tuple[Pair, ...]:
    answer = scene.answers.get("flash-each-colour", "no")
    if answer == "no":
        return ()
    acrylic = [
        screen
        for screen in scene.screens
        if screen.ink_system is InkSystem.ACRYLIC
        and screen.role not in UNDER_ROLES
        and screen.role is not Role.SMOOTHING
    ]
    mixing = {ink.name for ink in scene.blend_colours} if scene.shop.policies.blend_stays_wet else set()
    names = standard_order(acrylic, colour_order=scene.shop.policies.colour_order)
    if answer == "yes":
        return tuple(pair for pair in combinations(names, 2) if not mixing.issuperset(pair))
    spare = max(0, flashes_room(scene) - (1 if scene.under_screens else 0))
    runs = wet_runs(names, spare, scene.overlap)
    wet = [
        say(
            "steps.note.wet-run",
            inks=listed(run),
            overlap=sum(scene.overlap(a, b) for i, a in enumerate(run) for b in run[i + 1 :]),
        )
        for run in runs
        if len(run) > 1
    ]
    if wet:
        notes.append(say("steps.note.stay-wet", runs=joined(wet, "; ")))
    return tuple(
        (one, two)
        for i, run in enumerate(runs)
        for later in runs[i + 1 :]
        for one in run
        for two in later
        if scene.overlap(one, two) > threshold("contact") and not mixing.issuperset((one, two))
    )


def _system(screens: Sequence[ScreenNeed]) -> InkSystem:
    return Counter(screen.ink_system for screen in screens).most_common(1)[0][0]


def _without(scene: Scene, inks: Sequence[str], why: str, notes: list[str]) -> Scene:
    gone = [screen.ink for screen in scene.screens if screen.ink in inks]
    if gone:
        notes.append(say("steps.note.not-printed", inks=listed(gone), why=say(f"steps.why.{why}")))
    return replace(scene, screens=tuple(screen for screen in scene.screens if screen.ink not in gone))


def _with(scene: Scene, made: ScreenNeed) -> Scene:
    overlaps = {**scene.overlaps, **overlaps_of_made(made, scene.screens, scene.overlaps)}
    return replace(scene, screens=(made, *scene.screens), overlaps=overlaps)
