"""What rests for a garment group that needs less."""

from __future__ import annotations

from setupassist.documents.plan import Limits
from setupassist.documents.press import Press
from setupassist.planner.problem import Problem, Standing
from setupassist.planner.rest import rests

PRESS = Press(
    name="ten",
    stations=10,
    load=1,
    unload=10,
    heads=tuple(range(2, 10)),
    flash_slots=(3, 5, 8),
    flash_units=2,
    max_laps=2,
)
LIMITS = Limits(
    order=(("base", "red"), ("base", "blue")),
    flash_between=(("base", "red"), ("base", "blue")),
    alone_until_flash=("base",),
)
INKS = ("base", "red", "blue")


def problem(**prints: int) -> Problem:
    return Problem(PRESS, INKS, LIMITS, ((0,) * 3,) * 3, INKS, prints=prints)


def test_a_white_shirt_rests_base_and_its_flash() -> None:
    plan = [Standing(1, 2, "base"), Standing(1, 3), Standing(1, 4, "red"), Standing(1, 6, "blue")]
    assert rests(problem(), plan, screens=("red", "blue"), limits=Limits(), prints={}) == ("base", "flash at 3")


def test_the_group_that_needs_all_rests_nothing() -> None:
    plan = [Standing(1, 2, "base"), Standing(1, 3), Standing(1, 4, "red"), Standing(1, 6, "blue")]
    assert rests(problem(), plan, screens=INKS, limits=LIMITS, prints={}) == ()


def test_a_second_base_screen_rests_with_one_flash_where_one_print_will_do() -> None:
    plan = [
        Standing(1, 2, "base"), Standing(1, 3), Standing(1, 4, "base 2"), Standing(1, 5),
        Standing(1, 6, "red"), Standing(1, 7, "blue"),
    ]  # fmt: skip
    assert rests(problem(base=2), plan, screens=INKS, limits=LIMITS, prints={"base": 1}) == ("base 2", "flash at 5")
    assert rests(problem(base=2), plan, screens=INKS, limits=LIMITS, prints={"base": 2}) == ()


def test_one_screen_in_two_laps_rests_in_its_second() -> None:
    plan = [
        Standing(1, 2, "base"), Standing(1, 3), Standing(2, 2, "base"), Standing(2, 3),
        Standing(2, 4, "red"), Standing(2, 6, "blue"),
    ]  # fmt: skip
    told = rests(problem(base=2), plan, screens=INKS, limits=LIMITS, prints={"base": 1})
    assert told == ("base in lap 2",)


def test_a_flash_that_spares_harm_stays_on() -> None:
    harmful = Problem(PRESS, ("red", "blue"), Limits(), ((0, 90), (0, 0)), ("red", "blue"))
    plan = [Standing(1, 2, "red"), Standing(1, 3), Standing(1, 4, "blue")]
    assert rests(harmful, plan, screens=("red", "blue"), limits=Limits(), prints={}) == ()
    assert rests(harmful, plan, screens=("red",), limits=Limits(), prints={}) == ("blue", "flash at 3")
