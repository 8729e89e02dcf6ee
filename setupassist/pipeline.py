"""The whole way of a job, from its files to its plan and sheet: what every face calls."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from setupassist.documents.changes import changed, whole_fields
from setupassist.documents.job import OF_STATIONS, Job, known_language
from setupassist.documents.measure import Finding, Measure
from setupassist.documents.plan import BrokenLimit, GroupRest, Harm, Limits, Plan, ScreenChoice, Slot, Wish
from setupassist.documents.press import Press
from setupassist.documents.store import example_shop
from setupassist.errors import InputFault, InputFaults, NoPlan, did_you_mean
from setupassist.measuring import (
    Measured,
    labels_of,
    measure_job,
    measure_path,
    measured_at,
    open_job_plates,
    plates_at,
    relabelled,
)
from setupassist.words import ENGLISH, joined, say
from setupassist.work import Work, in_file, press_of

if TYPE_CHECKING:
    from setupassist.colour import LabTuple
    from setupassist.planner.problem import Problem, Standing
    from setupassist.planner.ways_out import Way
    from setupassist.sheet.content import Pictures
    from setupassist.steps.needs import ScreenNeed, Steps

TENTHS = 10
MOST_SECONDS_FOR_A_CLASH = 20.0

__all__ = [
    "Measured",
    "Planned",
    "hand_made",
    "labels_of",
    "make_plan",
    "make_sheet",
    "measure_job",
    "measure_path",
    "measured_at",
    "open_job_plates",
    "plates_at",
    "problem_of",
    "relabelled",
    "sheet_language",
    "standings_by_hand",
    "steps_and_screens",
]


@dataclass(frozen=True)
class Planned:
    """A plan with what it was made from; ``plates`` names every plate of the job, needed or not."""

    plan: Plan
    steps: Steps
    findings: tuple[Finding, ...]
    plates: tuple[str, ...] = ()


def _figures_first(work: Work, measured: Measured) -> Work:
    """Colours of figures handed in stand before those of the example shop, whose inks are nobody's."""
    if measured.plates is not None or work.shop != example_shop():
        return work
    told = {plate.name.lower() for plate in measured.measure.plates if plate.lab is not None}
    inks = tuple(ink.model_copy(update={"colour": None}) if ink.name.lower() in told else ink for ink in work.shop.inks)
    return replace(work, shop=work.shop.model_copy(update={"inks": inks}))


def _refuse_unread(measure: Measure) -> None:
    """Plates of different sizes or resolutions were not measured: no plan can be made of them."""
    if measure.unread:
        raise InputFaults([InputFault("", finding.text, finding.remedy or "") for finding in measure.unread])


def make_plan(
    work: Work,
    measured: Measured,
    *,
    time_limit_seconds: float = 30.0,
    stop: Callable[[], bool] | None = None,
) -> Planned:
    """The plan of a job: steps, stations proven best, screens, estimate; a clash where no plan exists."""
    from setupassist.check.findings import findings_of_job
    from setupassist.planner.clash import explain_clash
    from setupassist.planner.solve import Status, solve
    from setupassist.steps.work_out import work_out

    _refuse_unread(measured.measure)
    work = _figures_first(work, measured)
    plates = tuple(plate.name for plate in measured.measure.plates)
    with in_file(work.where):
        steps = work_out(work.job, measured.measure, shop=work.shop, press=work.press)
        problem = problem_of(work, steps)
        standings_by_hand(work, steps, plates)
        solution = solve(problem, time_limit_seconds=time_limit_seconds, stop=stop)
    if solution.status is Status.UNKNOWN:
        raise NoPlan(say("pipeline.no-plan.out-of-time", seconds=time_limit_seconds))
    feasible = solution.status is not Status.INFEASIBLE
    plan = _bare_plan(work, steps, problem, feasible=feasible)
    if feasible:
        plan = _fill(work, steps, problem, plan, standings=solution.standings, wishes=solution.wishes)
    else:
        seconds = min(MOST_SECONDS_FOR_A_CLASH, time_limit_seconds)
        clash = explain_clash(
            problem,
            time_limit_seconds=seconds,
            replan=_replan(work, measured),
            elsewhere=_other_presses(work, measured),
            stop=stop,
        )
        ways = tuple(w.model_copy(update={"change": whole_fields(work.job, w.change)}) for w in clash.ways_out)
        plan = plan.model_copy(update={"clash": clash.model_copy(update={"ways_out": ways})})
    screens = plan.screens or _screens(work, steps, ())
    findings = findings_of_job(
        measured.measure, steps, screens, press=work.press, shop=work.shop, keep_empty=work.job.keep_empty
    )
    return Planned(plan, steps, findings, plates)


def steps_and_screens(work: Work, measured: Measured) -> tuple[Steps, tuple[ScreenChoice, ...]]:
    """The screens that the garment needs, and the mesh chosen for each, before any has its station."""
    from setupassist.steps.work_out import work_out

    _refuse_unread(measured.measure)
    work = _figures_first(work, measured)
    with in_file(work.where):
        steps = work_out(work.job, measured.measure, shop=work.shop, press=work.press)
    return steps, _screens(work, steps, ())


def _replan(work: Work, measured: Measured) -> Callable[[dict[str, Any]], Problem]:
    """Works the job out anew under a change of its fields, as if the person had written it so."""
    from setupassist.steps.work_out import work_out

    def replan(change: dict[str, Any]) -> Problem:
        job = changed(work.job, work.press, whole_fields(work.job, change), where=work.where)
        other = replace(work, job=job, press=press_of(job, work.shop, work.where))
        return problem_of(other, work_out(job, measured.measure, shop=work.shop, press=other.press))

    return replan


def _other_presses(work: Work, measured: Measured) -> list[Way]:
    """The job on each other press of the shop that prints art of its size, without what names stations of this one."""
    from setupassist.check.press_room import art_fits
    from setupassist.planner.ways_out import on_press

    told = work.job.model_dump(exclude_defaults=True)
    bare = Job(format="setupassist-job/1", plates=".", press=work.press.name).model_dump(mode="json")
    emptied = {name: bare[name] for name in OF_STATIONS if name in told}
    own = work.press.name.lower()
    others = [press for press in work.shop.presses if press.name.lower() != own and art_fits(measured.measure, press)]
    return [on_press(press.name, emptied) for press in others]


def _exact_colour(screen: ScreenNeed) -> str | LabTuple:
    """The colour as it was told: Lab where bytes would round it."""
    from setupassist.colour import lab_of

    told = lab_of(screen.colour)
    return screen.colour if max(abs(a - b) for a, b in zip(told, screen.lab, strict=True)) < 1e-6 else screen.lab


def problem_of(work: Work, steps: Steps) -> Problem:
    """The planning question that the steps leave open."""
    import numpy as np

    from setupassist.films.harm import wet_harm
    from setupassist.planner.problem import Problem, Standing

    policies, screens = work.shop.policies, steps.screens
    overlaps = np.array([[steps.overlaps.get(frozenset((a.ink, b.ink)), 0.0) for b in screens] for a in screens])
    harm = wet_harm(
        [_exact_colour(screen) for screen in screens],
        [screen.ink_area_cm2 for screen in screens],
        overlaps.reshape(len(screens), len(screens)),
        touch=policies.wet_touch,
        unseen_delta_e=policies.unseen_delta_e,
    )
    job, needed = work.job, {screen.ink for screen in screens}
    # A pin on a plate that the answers leave out has nothing to hold; the steps have refused strangers already.
    pins = {name: at for name, at in job.pins.items() if name in needed or name.removesuffix(" 2") in needed}
    return Problem(
        press=work.press,
        inks=tuple(screen.ink for screen in screens),
        limits=steps.limits,
        harm=harm,
        standard_order=steps.standard_order,
        strategy=job.strategy,
        prints={screen.ink: screen.prints for screen in screens},
        pins=pins,
        flash_pins=job.flash_pins,
        keep_empty=job.keep_empty,
        on_press_now=dict(job.on_press_now),
        kept=tuple(
            Standing(slot.lap, slot.station, slot.ink if slot.holds == "screen" else None)
            for slot in job.kept_plan or ()
            if slot.holds == "flash" or slot.ink is not None
        ),
        slack_share=policies.wet_harm_slack_share,
        slack_tenths=round(policies.wet_harm_slack * TENTHS),
        overlaps_cm2=steps.overlaps,
        roles={screen.ink: screen.role for screen in screens},
        given=Limits(order=job.order, flash_between=job.flash_between, no_flash_between=job.no_flash_between),
    )


def _bare_plan(work: Work, steps: Steps, problem: Problem, *, feasible: bool) -> Plan:
    return Plan(
        strategy=work.job.strategy,
        feasible=feasible,
        assumed=steps.assumed,
        limits=steps.limits,
        standard_order=steps.standard_order,
        harm=Harm(inks=problem.inks, matrix=tuple(tuple(h / TENTHS for h in row) for row in problem.harm)),
        press=work.press.name,
        notes=steps.notes,
        questions=steps.questions,
    )


def _fill(
    work: Work,
    steps: Steps,
    problem: Problem,
    plan: Plan,
    *,
    standings: tuple[Standing, ...],
    wishes: tuple[Wish, ...],
) -> Plan:
    """The plan with its slots, screens, estimate and what rests."""
    from setupassist.estimate.estimate import estimate_run
    from setupassist.planner.explain import reasons

    screens = _screens(work, steps, standings)
    why = reasons(problem, standings)
    by_name = {screen.ink: screen for screen in screens}
    slots = tuple(
        _slot(work, standing, by_name).model_copy(update={"reasons": why.get(standing, ())})
        for standing in sorted(standings, key=lambda s: _place(work.press, s))
    )
    estimate = estimate_run(work.job, steps, slots, screens, press=work.press, shop=work.shop)
    return plan.model_copy(
        update={
            "slots": slots,
            "wishes": wishes,
            "screens": screens,
            "estimate": estimate,
            "groups": _resting(steps, problem, standings),
        }
    )


def _place(press: Press, standing: Standing) -> tuple[int, int]:
    """Lap and place on the way; stations off the way come last."""
    way = press.way
    return standing.lap, way.index(standing.station) if standing.station in way else len(way) + standing.station


def _screens(work: Work, steps: Steps, standings: tuple[Standing, ...]) -> tuple[ScreenChoice, ...]:
    from setupassist.screens.choose import choose_screens

    standing = dict.fromkeys(s.ink for s in standings if s.ink is not None)
    needs = list(steps.screens)
    needed = {need.ink for need in needs}
    for name in standing:
        first = name.removesuffix(" 2")
        if name not in needed and first in needed:
            needs.append(replace(steps.screen(first), ink=name))
    ruling = steps.answer("halftone-ruling")
    return choose_screens(
        replace(steps, screens=tuple(needs)),
        shop=work.shop,
        press=work.press,
        overrides=work.job.overrides,
        halftone_ruling_lpi=None if ruling is None else float(ruling),
    )


def _slot(work: Work, standing: Standing, screens: Mapping[str, ScreenChoice]) -> Slot:
    if standing.ink is None:
        typical = work.shop.policies.flash_seconds
        seconds = work.job.flash_seconds.get(standing.station, typical)
        return Slot(lap=standing.lap, station=standing.station, holds="flash", seconds=seconds)
    screen = screens.get(standing.ink)
    if screen is None:
        return Slot(lap=standing.lap, station=standing.station, holds="screen", ink=standing.ink)
    return Slot(
        lap=standing.lap,
        station=standing.station,
        holds="screen",
        ink=standing.ink,
        strokes=screen.strokes,
        mesh_per_cm=screen.mesh_per_cm,
        mesh_per_inch=screen.mesh_per_inch,
    )


def _resting(steps: Steps, problem: Problem, standings: tuple[Standing, ...]) -> tuple[GroupRest, ...]:
    from setupassist.planner.rest import rests

    return tuple(
        GroupRest(
            garment=group.garment.name,
            pieces=group.garment.pieces,
            rest=rests(problem, standings, screens=group.screens, limits=group.limits, prints=group.prints),
        )
        for index, group in enumerate(steps.groups)
        if index != steps.neediest
    )


def standings_by_hand(work: Work, steps: Steps, plates: Sequence[str]) -> list[Standing]:
    """The job's arrangement, none where it has none; InputFaults for what is neither a plate nor a screen of the job.

    An ink that the answers need no screen for any more is no fault here: the judge tells it.
    """
    from setupassist.planner.problem import Standing
    from setupassist.steps.work_out import MADE

    names = [screen.ink for screen in steps.screens]
    known = {*names, *plates, *MADE, *(f"made {name}" for name in MADE)}
    standings, faults = [], {}
    for slot in work.job.arrangement or ():
        ink = slot.ink if slot.holds == "screen" else None
        if slot.holds == "screen" and ink is None:
            told = say("pipeline.fault.screen-without-ink")
            faults[told] = InputFault("arrangement", told, did_you_mean("", names))
        elif ink is not None and ink not in known and ink.removesuffix(" 2") not in known:
            told = say("pipeline.fault.stranger-in-arrangement", name=ink)
            faults[told] = InputFault("arrangement", told, did_you_mean(ink, names))
        standings.append(Standing(slot.lap, slot.station, ink))
    if faults:
        raise InputFaults(faults.values())
    return standings


def hand_made(work: Work, planned: Planned) -> Planned:
    """The job's own arrangement in place of the planner's, judged: limits broken, wishes against the best.

    Only a name that is no plate and no screen of the job is refused; what else is odd is a limit broken.
    """
    from setupassist.planner.judge import broken_limits, wish_values

    if work.job.arrangement is None:
        return planned
    steps = planned.steps
    standings = standings_by_hand(work, steps, planned.plates)
    problem = problem_of(work, steps)
    values = wish_values(problem, standings)
    best = {wish.name: wish.bound for wish in planned.plan.wishes}
    wishes = tuple(
        Wish(name=name, value=_told(name, value), bound=best.get(name, _told(name, value)), proven=name in best)
        for name, value in values.items()
    )
    found = broken_limits(problem, standings)
    broken = {
        "broken": tuple(fault.text for fault in found),
        "broken_limits": tuple(BrokenLimit(limit=f.rule, text=f.text, slots=f.slots) for f in found),
    }
    bare = planned.plan.model_copy(update=broken | {"feasible": True, "clash": None})
    plan = _fill(work, steps, problem, bare, standings=tuple(standings), wishes=wishes)
    return replace(planned, plan=plan)


def _told(name: str, value: int) -> float:
    return value / TENTHS if name == "wet_harm" else value


def make_sheet(
    work: Work,
    measured: Measured,
    planned: Planned,
    *,
    date: str,
    paper: str | None = None,
    units: str | None = None,
    language: str | None = None,
    pictures: Pictures | None = None,
) -> bytes:
    """The setup sheet as a PDF; what is None is the job's, else the shop's, else English.

    ``pictures`` spares reading the plates again where they are drawn already. Raises InputFault for a language without
    a catalogue, NoPlan, with the clash in words, where there is nothing to print.
    """
    from setupassist import __version__
    from setupassist.sheet.book import setup_sheet
    from setupassist.sheet.content import SheetContent
    from setupassist.sheet.pictures import pictures_of

    language = sheet_language(work, language)
    planned = hand_made(work, planned)
    if not planned.plan.feasible:
        limits = planned.plan.clash.limits if planned.plan.clash else ()
        raise NoPlan(say("pipeline.no-plan.clash", limits=joined(limits, "; ")))
    if pictures is None:
        pictures = pictures_of(measured.plates, measured.measure, planned.steps, planned.plan, press=work.press)
    content = SheetContent(
        job=work.job,
        plan=planned.plan,
        steps=planned.steps,
        press=work.press,
        shop=work.shop,
        measure=measured.measure,
        findings=planned.findings,
        pictures=pictures,
        date=date,
        version=__version__,
    )
    return setup_sheet(content, paper=paper or work.paper, units=units or work.units, language=language)


def sheet_language(work: Work | None, language: str | None) -> str:
    """The language asked for, else the job's, else English; InputFault where it has no catalogue."""
    told = None if work is None else work.job.sheet.language
    try:
        return known_language(language or told or ENGLISH)
    except ValueError as error:
        raise InputFault("language", error.args[0]) from None
