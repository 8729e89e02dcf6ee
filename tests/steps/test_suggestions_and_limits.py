"""No suggestion contradicts a derived limit, and what is told holds: cases that once went wrong."""

from __future__ import annotations

from typing import Any

import pytest

from setupassist.documents.plan import Limits
from setupassist.errors import InputFault

WHITE, RED, TEAL, BLACK = "#fdfdfb", "#c8202f", "#2a7f86", "#1c1c1e"
BLACK_TEE = {"name": "black tee", "colour": "#141416", "fibre": "cotton"}
WHITE_TEE = {"name": "white tee", "colour": "#ffffff", "fibre": "cotton"}


def ink(name: str, colour: str, area: float = 60, **more: Any) -> dict[str, Any]:
    return {"name": name, "colour": colour, "ink_area_cm2": area, **more}


@pytest.mark.parametrize("role", ["puff", "clear", "metallic", "glitter", "high-density", "reflective", "adhesive"])
def test_a_white_special_is_never_printed_twice_by_suggestion(desk: Any, role: str) -> None:
    special = ink("special", WHITE, role=role)
    for inks, answers in (((special,), {}), ((special, ink("red", RED)), {"base": "none"})):
        steps = desk.steps(*inks, overlaps=[["special", "red", 5]][: len(inks) - 1], garment=BLACK_TEE, answers=answers)
        assert steps.screen("special").prints == 1
        assert steps.answer("base-hits") is None
        assert steps.answer("base") == "none"


def test_a_clear_ink_asks_for_no_base(desk: Any) -> None:
    steps = desk.steps(ink("gel", WHITE, role="clear"), ink("red", RED), garment=BLACK_TEE)
    assert steps.screen("white base").carries == ("red",)


def test_discharge_as_base_is_not_printed_twice_unless_a_person_says_so(desk: Any) -> None:
    inks = (ink("discharge base", "#ece6d8", 200, role="base"), ink("red", RED), ink("teal", TEAL))
    fields = {"garment": BLACK_TEE, "inks": {"discharge base": {"ink_system": "discharge", "colour": "#ece6d8"}}}
    fields["overlaps"] = [["discharge base", "red", 38], ["discharge base", "teal", 48]]
    for fabric in ("jersey", "fleece"):
        fields["garment"] = BLACK_TEE | {"fabric": fabric}
        steps = desk.steps(*inks, **fields)
        assert steps.answer("base-hits") == "two-strokes"
        assert steps.screen("discharge base").prints == 1
        assert not any("low-bleed" in note for note in steps.notes)
    told = desk.steps(*inks, **fields, answers={"base-hits": "print-flash-print"})
    assert told.screen("discharge base").prints == 2


def test_a_plain_base_beside_a_discharge_base_may_be_printed_twice_alone(desk: Any) -> None:
    desk.shop["policies"] = {"decisions_off": ["discharge-base-hits"]}
    desk.press |= {"flash_units": 4}
    inks = (ink("discharge base", "#ece6d8", 90, role="base"), ink("white base", WHITE, 90, role="base"))
    steps = desk.steps(
        *inks,
        ink("red", RED),
        garment=BLACK_TEE | {"fabric": "fleece"},
        inks={"discharge base": {"ink_system": "discharge", "colour": "#ece6d8"}},
    )
    assert steps.answer("base-hits") == "print-flash-print"
    assert [steps.screen(base).prints for base in ("discharge base", "white base")] == [1, 2]


def test_no_flash_over_wet_discharge(desk: Any) -> None:
    inks = (ink("red", RED), ink("teal", TEAL), ink("silver", "#a0a3a8", 20, role="metallic"))
    overlaps = [["red", "silver", 10], ["teal", "silver", 5]]
    steps = desk.steps(*inks, overlaps=overlaps, garment=BLACK_TEE, system="discharge")
    assert steps.answer("flash-before-specials") == "no"
    assert steps.limits.flash_between == ()
    assert len(steps.limits.no_flash_between) == 3
    plastisol = desk.steps(*inks, overlaps=overlaps, garment=BLACK_TEE)
    assert plastisol.answer("flash-before-specials") == "yes"


@pytest.mark.parametrize(("wet", "answer"), [(True, "no"), (False, "yes")])
def test_specials_over_a_discharge_base_follow_how_the_base_goes(desk: Any, wet: bool, answer: str) -> None:
    desk.shop["policies"] = {"discharge_base_wet": wet}
    steps = desk.steps(
        ink("base", "#ece6d8", 200, role="base"),
        ink("red", RED),
        ink("silver", "#a0a3a8", 20, role="metallic"),
        overlaps=[["base", "red", 50], ["red", "silver", 10]],
        garment=BLACK_TEE,
        inks={"base": {"ink_system": "discharge", "colour": "#ece6d8"}},
    )
    assert steps.answer("flash-before-specials") == answer


BASED = (ink("white base", WHITE, 200, role="base"), ink("red", RED, 100), ink("teal", TEAL, 60))
ON_BASE = [["white base", "red", 95], ["white base", "teal", 55]]
HOODIE = BLACK_TEE | {"name": "hoodie", "fabric": "fleece", "pieces": 50}
TEE = BLACK_TEE | {"name": "tee", "pieces": 50}


@pytest.mark.parametrize("garments", [[HOODIE, TEE], [TEE, HOODIE]])
def test_a_base_printed_twice_takes_one_stroke_a_print(desk: Any, garments: list[dict[str, Any]]) -> None:
    steps = desk.steps(*BASED, overlaps=ON_BASE, garments=garments)
    base = steps.screen("white base")
    assert (base.prints, base.two_strokes) == (2, False)
    assert {group.garment.name: group.prints["white base"] for group in steps.groups} == {"hoodie": 2, "tee": 1}


def test_strokes_of_a_job_that_prints_twice_follow_a_person_only(desk: Any) -> None:
    inks = ({**BASED[0], "prints": 2}, *BASED[1:])
    assumed = desk.steps(*inks, overlaps=ON_BASE, garment=BLACK_TEE).screen("white base")
    assert (assumed.prints, assumed.two_strokes) == (2, False)
    answers = {"base-hits": "two-strokes"}
    told = desk.steps(*inks, overlaps=ON_BASE, garment=BLACK_TEE, answers=answers).screen("white base")
    assert (told.prints, told.two_strokes) == (2, True)


def test_acrylic_is_not_sent_round_again_for_its_flashes(desk: Any) -> None:
    small = {"name": "p", "stations": 6, "load": 1, "unload": 6, "heads": [2, 3, 4, 5], "flash_slots": [3]}
    desk.press = small | {"flash_units": 1, "max_laps": 2}
    inks = (ink("gold", "#f3c921"), ink("red", RED), ink("teal", TEAL))
    steps = desk.steps(*inks, garment=BLACK_TEE, system="acrylic", answers={"base": "none"})
    assert steps.answer("flash-each-colour") == "where-room"
    assert len(steps.limits.never_wet) <= 2


def test_acrylic_blends_are_not_parted_by_suggestion(desk: Any) -> None:
    inks = (ink("tan", "#c9a878", kind="halftone"), ink("blue", "#28409a", kind="halftone"), ink("red", RED))
    overlaps = [["tan", "blue", 20], ["tan", "red", 5], ["blue", "red", 5]]
    steps = desk.steps(*inks, overlaps=overlaps, garment=BLACK_TEE, system="acrylic", answers={"base": "none"})
    assert steps.answer("flash-each-colour") == "yes"
    assert {frozenset(pair) for pair in steps.limits.never_wet} == {
        frozenset(["red", "tan"]),
        frozenset(["red", "blue"]),
    }
    assert steps.limits.no_flash_between == (("tan", "blue"),)


def blend(desk: Any, *names: str, **fields: Any) -> Any:
    inks = [
        ink(name, colour, kind="halftone") for name, colour in zip(names, ("#c9a878", RED, TEAL, BLACK), strict=False)
    ]
    return desk.steps(*inks, garment=WHITE_TEE, **fields)


def test_notes_tell_only_the_blends_that_are_held_wet(desk: Any) -> None:
    two = blend(desk, "brick", "grape", flash_between=[["brick", "grape"]])
    assert any("not held wet" in note for note in two.notes)
    assert not any(note.startswith("No flash among") for note in two.notes)
    three = blend(desk, "brick", "grape", "iris", flash_between=[["brick", "grape"]])
    # iris cannot be wet with both sides of the flash
    assert three.limits.no_flash_between == (("brick", "iris"),)
    told = [note for note in three.notes if note.startswith("No flash among")]
    assert [note.split(":")[0] for note in told] == ["No flash among brick and iris"]
    whole = blend(desk, "brick", "grape", "iris")
    assert any(note.startswith("No flash among brick, grape and iris:") for note in whole.notes)


def test_colours_that_are_parted_are_not_told_to_print_wet_beside_wet(desk: Any) -> None:
    inks = (ink("red", RED), ink("teal", TEAL))
    parted = desk.steps(*inks, garment=WHITE_TEE, flash_between=[["red", "teal"]])
    assert not any("wet beside wet" in note for note in parted.notes)
    assert any("idle station after every flash" in note for note in parted.notes)
    plain = desk.steps(*inks, garment=WHITE_TEE)
    assert any("wet beside wet" in note for note in plain.notes)
    assert not any("idle station after every flash" in note for note in plain.notes)


def test_fleece_tells_of_a_tight_base_only_where_the_base_is_solid(desk: Any) -> None:
    for kind, told in (("solid", True), ("halftone", False)):
        inks = ({**BASED[0], "kind": kind}, *BASED[1:])
        steps = desk.steps(*inks, overlaps=ON_BASE, garment=BLACK_TEE | {"fabric": "fleece"})
        assert any("110 to 125 per inch" in note for note in steps.notes) is told
        assert any("web adhesive" in note for note in steps.notes)


TWICE = {"base-hits": "print-flash-print"}


def test_a_base_printed_twice_is_alone_between_its_prints_even_where_nothing_lies_on_it(desk: Any) -> None:
    steps = desk.steps(*BASED, garment=BLACK_TEE, answers=TWICE)
    assert steps.screen("white base").prints == 2
    assert {("white base", "red"), ("white base", "teal")} == set(steps.limits.order)
    assert steps.limits.flash_between == ()  # and no flash is asked for after its second print
    assert steps.limits.alone_until_flash == ()
    once = desk.steps(*BASED, garment=BLACK_TEE)
    assert once.limits == Limits()
    desk.shop["policies"] = {"alone_until_flash": False}
    assert desk.steps(*BASED, garment=BLACK_TEE, answers=TWICE).limits == Limits()


def test_the_jobs_order_stands_over_a_base_printed_twice(desk: Any) -> None:
    steps = desk.steps(*BASED, garment=BLACK_TEE, answers=TWICE, order=[["red", "white base"]])
    assert set(steps.limits.order) == {("red", "white base"), ("white base", "teal"), ("red", "teal")}


def test_a_press_without_a_flash_is_not_asked_for_one(desk: Any) -> None:
    desk.press |= {"flash_units": 0}
    steps = desk.steps(*BASED, overlaps=ON_BASE, garment=BLACK_TEE)
    assert steps.answer("flash-after-base") == "no"
    assert steps.limits.flash_between == ()


def test_a_stranger_is_told_the_inks_of_the_job(desk: Any) -> None:
    inks = (ink("red", RED), ink("teal", TEAL), ink("gold", "#f3c921"))
    for field in ("flash_between", "no_flash_between", "order", "on_top"):
        with pytest.raises(InputFault, match=r"'blue' is no ink of this job; known: gold, red, teal$"):
            desk.steps(*inks, garment=WHITE_TEE, **{field: [["red", "blue"]]})
        with pytest.raises(InputFault, match="did you mean 'teal'"):
            desk.steps(*inks, garment=WHITE_TEE, **{field: [["red", "tael"]]})
        with pytest.raises(InputFault, match="did you mean 'white base'"):
            desk.steps(*inks, garment=WHITE_TEE, **{field: [["red", "whit base"]]})


def test_a_colour_that_nothing_tells_is_told_as_a_stand_in(desk: Any) -> None:
    inks = ({"name": "zorp", "ink_area_cm2": 10}, ink("red", RED))
    steps = desk.steps(*inks, garment=WHITE_TEE)
    assert [note for note in steps.notes if "zorp" in note and "#808080" in note]
    told = desk.steps(*inks, garment=WHITE_TEE, answers={"colour-of zorp": "#123456"})
    assert not [note for note in told.notes if "zorp" in note]


def test_an_overlap_above_the_smaller_plate_is_a_fault_naming_the_pair(desk: Any) -> None:
    inks = (ink("red", RED, 10), ink("teal", TEAL, 60, kind="tone"))
    desk.steps(*inks, overlaps=[["red", "teal", 10.5]], garment=WHITE_TEE)  # typed in and rounded
    with pytest.raises(
        InputFault, match=r"contacts: 'red' and 'teal' overlap by 10.6 cm², but 'red' holds only 10 cm²"
    ):
        desk.steps(*inks, overlaps=[["red", "teal", 10.6]], garment=WHITE_TEE)
