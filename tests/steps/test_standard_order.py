"""The standard order: total, light to dark, specials last, process inks by name."""

from __future__ import annotations

import random

from hypothesis import given
from hypothesis import strategies as st

from setupassist.documents.terms import InkSystem, Kind, Role
from setupassist.steps.needs import ScreenNeed
from setupassist.steps.standard_order import RANKS, standard_order


def screen(ink: str, lightness: float = 50.0, *, area: float = 10.0, role: Role = Role.COLOUR) -> ScreenNeed:
    return ScreenNeed(
        ink=ink,
        role=role,
        kind=Kind.SOLID,
        colour="#808080",
        lab=(lightness, 0.0, 0.0),
        ink_area_cm2=area,
        ink_system=InkSystem.PLASTISOL,
    )


def test_roles_stand_in_layers() -> None:
    roles = [
        Role.BLOCKER, Role.BASE, Role.COLOUR, Role.KEY, Role.HIGHLIGHT, Role.METALLIC, Role.GLITTER, Role.PUFF,
        Role.HIGH_DENSITY, Role.CLEAR, Role.ADHESIVE,
    ]  # fmt: skip
    screens = [screen(role.value, role=role) for role in reversed(roles)]
    assert standard_order(screens) == tuple(role.value for role in roles)
    assert set(RANKS) == set(Role)


def test_colours_go_light_to_dark_then_small_then_by_name() -> None:
    screens = [
        screen("dark", 20, area=1),
        screen("light", 80, area=99),
        screen("b", 50.04, area=5),
        screen("a", 49.96, area=5),  # both 50.0
        screen("small", 50.0, area=4),
    ]
    assert standard_order(screens) == ("light", "small", "a", "b", "dark")
    assert standard_order(screens, colour_order="small-to-large") == ("dark", "small", "a", "b", "light")


def test_process_inks_stand_together_at_the_yellows_place() -> None:
    screens = [
        screen("process black", 15),
        screen("process cyan", 60),
        screen("process magenta", 50),
        screen("process yellow", 90),
        screen("orange", 65),
        screen("white", 95),
    ]
    assert standard_order(screens) == (
        "white", "process yellow", "process magenta", "process cyan", "process black", "orange",
    )  # fmt: skip


def test_without_a_yellow_they_stand_at_the_first_ones_place() -> None:
    screens = [screen("process cyan", 60), screen("process magenta", 40), screen("red", 50), screen("blue", 30)]
    assert standard_order(screens) == ("red", "process magenta", "process cyan", "blue")


ANY = st.lists(
    st.builds(
        screen,
        st.sampled_from(["red", "blue", "process yellow", "cyan", "magenta", "yellow", "black", "key", "gold", "a"]),
        st.floats(0, 100),
        area=st.floats(0, 500),
        role=st.sampled_from(list(Role)),
    ),
    max_size=9,
    unique_by=lambda one: one.ink,
)


@given(ANY, st.randoms(use_true_random=False))
def test_it_holds_each_ink_once_and_does_not_hang_on_how_they_are_listed(
    screens: list[ScreenNeed], chance: random.Random
) -> None:
    order = standard_order(screens)
    assert sorted(order) == sorted(one.ink for one in screens)
    shuffled = list(screens)
    chance.shuffle(shuffled)
    assert standard_order(shuffled) == order
