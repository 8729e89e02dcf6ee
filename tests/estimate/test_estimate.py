from __future__ import annotations

from dataclasses import replace

import pytest

from setupassist.documents.job import Job
from setupassist.documents.plan import Estimate, Limits, Question, ScreenChoice, Slot
from setupassist.documents.press import Press
from setupassist.documents.shop import Dryer, Ink, Policies, Shop
from setupassist.documents.terms import InkSystem, Kind, Role
from setupassist.estimate.estimate import estimate, estimate_run
from setupassist.steps.needs import ScreenNeed, Steps

PRESS = Press(
    name="p",
    stations=12,
    load=1,
    unload=12,
    heads=tuple(range(2, 12)),
    flash_slots=(3, 6),
    flash_units=2,
    max_laps=2,
    index_seconds=2.0,
    print_mm_per_second=500,
    flood_mm_per_second=400,
    lift_seconds=0.6,
    crew_seconds=6.0,
)
SHOP = Shop(
    format="setupassist-shop/1",
    name="s",
    inks=(Ink(name="white base", density=1.35), Ink(name="red", density=1.1)),
    dryers=(Dryer(name="d", heated_length_mm=5000, spacing_mm=500),),
    policies=Policies(),
)


def steps_of(*inks: str, system: InkSystem = InkSystem.PLASTISOL, prints: int = 1) -> Steps:
    needs = tuple(
        ScreenNeed(
            ink=ink,
            role=Role.BASE if "base" in ink else Role.SMOOTHING if ink == "smoothing" else Role.COLOUR,
            kind=Kind.SOLID,
            colour="#888888",
            lab=(56, 0, 0),
            ink_area_cm2=500 if "base" in ink else 100,
            ink_system=system,
            prints=prints if "base" in ink else 1,
        )
        for ink in inks
    )
    return Steps(
        questions=(),
        assumed=(),
        screens=needs,
        overlaps={},
        limits=Limits(),
        standard_order=inks,
        groups=(),
        neediest=0,
        art_box_mm=(0, 0, 300, 320),
    )


def screens_of(*inks: str, volume: float | None = 36.0) -> tuple[ScreenChoice, ...]:
    return tuple(ScreenChoice(ink=ink, role="colour", ink_volume_cm3_m2=volume) for ink in inks)


def screen(lap: int, station: int, ink: str, strokes: int | None = None) -> Slot:
    return Slot(lap=lap, station=station, holds="screen", ink=ink, strokes=strokes)


def flash(lap: int, station: int, seconds: float | None = None) -> Slot:
    return Slot(lap=lap, station=station, holds="flash", seconds=seconds)


def made(
    slots: tuple[Slot, ...],
    *,
    steps: Steps,
    screens: tuple[ScreenChoice, ...] | None = None,
    shop: Shop = SHOP,
    pieces: int | None = 288,
    crew: float = 6.0,
    dryer: Dryer | None = None,
) -> Estimate:
    chosen = screens if screens is not None else screens_of(*dict.fromkeys(s.ink for s in slots if s.ink is not None))
    return estimate(
        slots,
        steps=steps,
        screens=chosen,
        press=PRESS,
        shop=shop,
        dryer=dryer,
        pieces=pieces,
        tests=6,
        spoilage=0.02,
        crew_seconds=crew,
    )


SPOT = (screen(1, 2, "white base", 2), flash(1, 3, 5.0), screen(1, 5, "red", 1))


def test_a_spot_job_by_hand() -> None:
    # base 0.6 + 2 × 1.8 = 4.2 s, flash 5 s, red 2.4 s; the crew lacks 1 s: cycle 2 + 5 + 1 = 8 s, 450 an hour
    got = made(SPOT, steps=steps_of("white base", "red"))
    assert got.cycle_seconds == pytest.approx(8)
    assert got.extra_dwell_seconds == 1
    assert got.paced_by == "the crew"
    assert not got.hand_paced
    assert got.pieces_per_hour == pytest.approx(450)
    assert got.dozens_per_hour == pytest.approx(37.5)
    assert got.likely_pieces_per_hour == pytest.approx(360)
    # 288 + 12 − 1 = 299 passes of 8 s
    assert got.run_minutes == pytest.approx(299 * 8 / 60)
    # 288 + 6 + ceil(5.76) = 300
    assert got.pieces_to_print == 300
    assert {ink: (s.per_piece, s.total) for ink, s in got.strokes.items()} == {"white base": (2, 600), "red": (1, 300)}
    assert got.setup_minutes == pytest.approx(2 * 9 + 3)
    # 0.05 m² × 36 × 0.6 × 2 × 1.35 × 300 + 500; 0.01 × 36 × 0.6 × 1.1 × 300 + 500
    assert got.ink_grams == {"white base": pytest.approx(1374.8), "red": pytest.approx(571.28)}
    assert got.dryer is None
    assert [(t.station, pytest.approx(t.seconds)) for t in got.station_times] == [(2, 4.2), (3, 5.0), (5, 2.4)]


def test_the_flash_paces_a_quick_crew() -> None:
    assert made(SPOT, steps=steps_of("white base", "red"), crew=4).paced_by == "flash at station 3"
    quick = (screen(1, 2, "white base", 2), screen(1, 5, "red", 1))
    assert made(quick, steps=steps_of("white base", "red"), crew=4).paced_by == "white base at station 2"


def test_a_slow_crew_is_hand_paced() -> None:
    got = made(SPOT, steps=steps_of("white base", "red"), crew=15.5)
    assert got.hand_paced
    assert got.cycle_seconds == pytest.approx(17.5)
    assert got.extra_dwell_seconds == 0


def test_two_laps_have_their_own_cycles_and_count_both_prints() -> None:
    slots = (
        screen(1, 2, "white base"),
        flash(1, 3, 7.0),
        screen(2, 2, "white base"),
        flash(2, 3, 5.0),
        screen(2, 5, "red"),
    )
    got = made(slots, steps=steps_of("white base", "red", prints=2))
    # lap 1: flash 7 s, no dwell, 9 s; lap 2: flash 5 s + 1 s of dwell, 8 s
    assert got.lap_cycles_seconds == (pytest.approx(9), pytest.approx(8))
    assert got.cycle_seconds == pytest.approx(8.5)
    assert got.paced_by == "flash at station 3"
    assert got.extra_dwell_seconds == 1
    assert got.pieces_per_hour == pytest.approx(3600 / 17)
    assert got.run_minutes == pytest.approx((288 * 2 + 11) * 8.5 / 60)
    assert got.strokes["white base"].per_piece == 2
    assert got.setup_minutes == pytest.approx(2 * 9 + 3)


def test_a_second_screen_of_an_ink_shares_its_ink_but_not_its_residue() -> None:
    slots = (screen(1, 2, "white base"), flash(1, 3), screen(1, 4, "white base 2"), flash(1, 6))
    got = made(slots, steps=steps_of("white base", prints=2))
    assert set(got.strokes) == {"white base", "white base 2"}
    assert got.ink_grams == {"white base": pytest.approx(2 * (0.05 * 36 * 0.6 * 1.35 * 300 + 500))}
    assert got.setup_minutes == pytest.approx(2 * 9 + 2 * 3)


def test_discharge_leaves_its_own_residue_in_the_screen() -> None:
    got = made((screen(1, 2, "red"),), steps=steps_of("red", system=InkSystem.DISCHARGE))
    assert got.ink_grams == {"red": pytest.approx(0.01 * 36 * 0.6 * 1.1 * 300 + 1500)}


def test_no_ink_is_told_where_the_volume_is_unknown_or_nothing_is_printed() -> None:
    steps = steps_of("red", "smoothing")
    slots = (screen(1, 2, "red"), screen(1, 4, "smoothing"))
    unknown = made(slots, steps=steps, screens=screens_of("red", "smoothing", volume=None))
    assert unknown.ink_grams == {}
    assert set(made(slots, steps=steps).ink_grams) == {"red"}


def test_the_dryer_limits_the_pace_but_not_the_press_time() -> None:
    steps = steps_of("white base", "red", system=InkSystem.DISCHARGE)  # 150 s: 5 m in 2 m/min, 240 an hour
    free, held = made(SPOT, steps=steps), made(SPOT, steps=steps, dryer=SHOP.dryers[0])
    assert held.dryer is not None
    assert held.dryer.limits_pace
    assert held.pieces_per_hour == pytest.approx(240)
    assert held.press_pieces_per_hour == pytest.approx(450)
    assert held.dozens_per_hour == pytest.approx(20)
    assert held.paced_by == "the dryer"
    assert held.run_minutes == free.run_minutes
    assert free.pieces_per_hour == pytest.approx(450)


@pytest.mark.parametrize("pieces", [0, None])
def test_no_pieces_is_no_work_but_the_tests(pieces: int | None) -> None:
    got = made(SPOT, steps=steps_of("white base", "red"), pieces=pieces)
    assert got.run_minutes == 0
    assert got.pieces_to_print == 6
    assert got.strokes["white base"].total == 12


def test_nothing_on_the_press_divides_by_nothing() -> None:
    idle = PRESS.model_copy(update={"index_seconds": 0.0})
    got = estimate(
        (),
        steps=steps_of("red"),
        screens=(),
        press=idle,
        shop=SHOP,
        dryer=SHOP.dryers[0],
        pieces=None,
        tests=0,
        spoilage=0.02,
        crew_seconds=0,
    )
    assert got.pieces_per_hour == 0
    assert got.strokes == {}
    assert got.dryer is not None
    assert not got.dryer.limits_pace


def test_the_job_wins_over_shop_and_press() -> None:
    steps = steps_of("white base", "red")
    data = {"format": "setupassist-job/1", "plates": [{"file": "a.png"}], "press": "p", "pieces": 100}
    job = Job.model_validate(data, strict=False)
    plain = estimate_run(job, steps, SPOT, screens_of("white base", "red"), press=PRESS, shop=SHOP)
    assert plain.pieces_to_print == 100 + 6 + 2
    assert plain.dryer is not None
    told = Job.model_validate({**data, "tests": 0, "spoilage": 0.0, "crew_seconds": 9.0}, strict=False)
    other = estimate_run(told, steps, SPOT, screens_of("white base", "red"), press=PRESS, shop=SHOP)
    assert other.pieces_to_print == 100
    assert other.extra_dwell_seconds == 4
    asked = tuple(
        Question(id=name, text="?", suggested=given, reason="", source="")
        for name, given in (("pieces", "144"), ("tests", "3"), ("spoilage", "0.1"), ("crew-seconds", "12.5"))
    )
    open_ended = Job.model_validate({**data, "pieces": None, "tests": 1}, strict=False)
    answered = estimate_run(
        open_ended, replace(steps, questions=asked), SPOT, screens_of("white base", "red"), press=PRESS, shop=SHOP
    )
    assert answered.pieces_to_print == 144 + 1 + 15  # the field wins over the answer
    assert answered.extra_dwell_seconds == 8
    assert Estimate.model_validate_json(other.model_dump_json()) == other
