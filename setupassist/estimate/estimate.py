"""The estimate of a plan: strokes, pace, running time, ink and dryer."""

from __future__ import annotations

from collections.abc import Sequence

from setupassist.documents.job import Job
from setupassist.documents.plan import Estimate, ScreenChoice, Slot, Strokes
from setupassist.documents.press import Press
from setupassist.documents.shop import Dryer, Shop
from setupassist.documents.terms import Role
from setupassist.estimate.dryer import cure_seconds, dryer_load
from setupassist.estimate.ink import ink_grams, pieces_to_print
from setupassist.estimate.pace import lap_paces, pieces_per_hour, run_minutes, setup_minutes, station_times
from setupassist.quantities import dozens
from setupassist.steps.needs import ScreenNeed, Steps
from setupassist.trade.inks import density_g_cm3, typical_ink
from setupassist.words import say


def estimate_run(
    job: Job,
    steps: Steps,
    slots: Sequence[Slot],
    screens: Sequence[ScreenChoice],
    *,
    press: Press,
    shop: Shop,
    dryer: Dryer | None = None,
) -> Estimate:
    """The estimate of a job's plan.

    Pieces, tests, spoilage and crew seconds come from the job's field, else the answer in force, else the shop book
    and the press. ``dryer`` is the shop's first one where none is named. Without a count of pieces the totals are of
    the test prints alone and the run takes no time.
    """
    pieces = _in_force(job.total_pieces, "pieces", steps)
    tests = _in_force(job.tests, "tests", steps)
    spoilage = _in_force(job.spoilage, "spoilage", steps)
    crew_seconds = _in_force(job.crew_seconds, "crew-seconds", steps)
    return estimate(
        slots,
        steps=steps,
        screens=screens,
        press=press,
        shop=shop,
        dryer=dryer if dryer is not None else next(iter(shop.dryers), None),
        pieces=None if pieces is None else int(pieces),
        tests=shop.policies.tests if tests is None else int(tests),
        spoilage=shop.policies.spoilage if spoilage is None else spoilage,
        crew_seconds=press.crew_seconds if crew_seconds is None else crew_seconds,
    )


def estimate(
    slots: Sequence[Slot],
    *,
    steps: Steps,
    screens: Sequence[ScreenChoice],
    press: Press,
    shop: Shop,
    dryer: Dryer | None,
    pieces: int | None,
    tests: int,
    spoilage: float,
    crew_seconds: float,
) -> Estimate:
    """Strokes, pace, time, ink and dryer of the arrangement in ``slots``.

    ``cycle_seconds`` is the mean of the laps' cycles, ``extra_dwell_seconds`` the largest that a lap takes, and
    ``hand_paced`` says that some lap is. ``run_minutes`` is at the press's own pace, set-up and dryer apart;
    ``pieces_per_hour`` is the smaller of press and dryer. Ink of a screen whose volume is not known is left out.
    """
    policies = shop.policies
    count = pieces or 0
    to_print = pieces_to_print(count, tests=tests, spoilage=spoilage)
    chosen = {choice.ink: choice for choice in screens}
    printing = [slot for slot in slots if slot.holds == "screen" and slot.ink is not None]
    laps = max((slot.lap for slot in printing), default=1)
    times = station_times(
        slots,
        press=press,
        strokes={ink: choice.strokes for ink, choice in chosen.items()},
        art_height_mm=steps.art_box_mm[3] if steps.art_box_mm is not None else press.max_print_mm[1],
        travel_margin_mm=policies.travel_margin_mm,
        flash_seconds=policies.flash_seconds,
    )
    paces = lap_paces(times, laps=laps, press=press, crew_seconds=crew_seconds)
    cycles = tuple(pace.cycle_seconds for pace in paces)
    at_press = pieces_per_hour(cycles)
    needs = [need for slot in printing if (need := _need(slot.ink or "", steps)) is not None]
    load = (
        dryer_load(at_press, dryer, dwell_seconds=cure_seconds((need.ink_system, need.role) for need in needs))
        if dryer is not None
        else None
    )
    rate, limited = at_press, False
    if load is not None and load.limits_pace and load.pieces_per_hour is not None:
        rate, limited = load.pieces_per_hour, True
    strokes: dict[str, int] = {}
    for slot in printing:
        ink = slot.ink or ""
        strokes[ink] = strokes.get(ink, 0) + _strokes(slot, chosen)
    flashes = {slot.station for slot in slots if slot.holds == "flash"}
    mean_cycle = sum(cycles) / len(cycles)
    return Estimate(
        strokes={ink: Strokes(per_piece=n, total=n * to_print) for ink, n in strokes.items()},
        cycle_seconds=mean_cycle,
        paced_by=say("estimate.paced-by.dryer")
        if limited
        else max(paces, key=lambda pace: pace.cycle_seconds).paced_by,
        extra_dwell_seconds=max(pace.extra_dwell_seconds for pace in paces),
        hand_paced=any(pace.hand_paced for pace in paces),
        pieces_per_hour=rate,
        dozens_per_hour=dozens(rate),
        run_minutes=run_minutes(count, laps=laps, stations=press.stations, mean_cycle_seconds=mean_cycle),
        ink_grams=_ink_grams(strokes, chosen, steps=steps, shop=shop, to_print=to_print),
        dryer=load,
        press_pieces_per_hour=at_press,
        likely_pieces_per_hour=rate * policies.likely_share_of_pace,
        pieces_to_print=to_print,
        setup_minutes=setup_minutes(
            len(strokes),
            len(flashes),
            minutes_per_screen=policies.setup_minutes_per_screen,
            minutes_per_flash=policies.setup_minutes_per_flash,
        ),
        station_times=times,
        lap_cycles_seconds=cycles,
    )


def _in_force(field: float | None, question: str, steps: Steps) -> float | None:
    """The job's own field, else the answer in force, None where neither tells."""
    if field is not None:
        return field
    answer = steps.answer(question)
    return None if answer is None else float(answer)


def _strokes(slot: Slot, chosen: dict[str, ScreenChoice]) -> int:
    choice = chosen.get(slot.ink or "")
    return slot.strokes or (choice.strokes if choice is not None else 1)


def _need(screen: str, steps: Steps) -> ScreenNeed | None:
    """What the steps say of a screen; a second screen (``NAME 2``) is of the first one's ink."""
    by_name = {need.ink: need for need in steps.screens}
    return by_name.get(screen) or by_name.get(screen.removesuffix(" 2"))


def _ink_grams(
    strokes: dict[str, int], chosen: dict[str, ScreenChoice], *, steps: Steps, shop: Shop, to_print: int
) -> dict[str, float]:
    grams: dict[str, float] = {}
    for screen, per_piece in strokes.items():
        need, choice = _need(screen, steps), chosen.get(screen)
        if need is None or need.role is Role.SMOOTHING or choice is None or choice.ink_volume_cm3_m2 is None:
            continue
        first = need.ink
        residue = typical_ink(need.ink_system, need.role).residue
        grams[first] = grams.get(first, 0.0) + ink_grams(
            need.ink_area_cm2,
            volume_cm3_m2=choice.ink_volume_cm3_m2,
            transfer_share=shop.policies.ink_transfer_share,
            strokes=per_piece,
            density_g_cm3=density_g_cm3(shop.ink(first), need.ink_system, need.role),
            prints=to_print,
            residue_grams=shop.policies.residue_grams if residue is None else residue.number,
        )
    return grams
