"""The steps of whole set-ups, from figures alone: what a lead would set, and what answers change."""

from __future__ import annotations

from typing import Any

import pytest

from setupassist.documents.terms import InkSystem, Role
from setupassist.errors import InputFault, InputFaults
from setupassist.trade.cautions import cautions


def ink(name: str, colour: str, area: float, **more: Any) -> dict[str, Any]:
    return {"name": name, "colour": colour, "ink_area_cm2": area, **more}


NAVY_TEE = {"name": "navy tee", "colour": "#1f2a44", "fibre": "cotton", "fabric": "jersey", "grams_per_m2": 180}
BLACK_TEE = {"name": "black tee", "colour": "#17171a", "fibre": "cotton"}
WHITE_TEE = {"name": "white tee", "colour": "#ffffff", "fibre": "cotton"}

SPOT = (
    ink("white base", "#f3f3f0", 230, role="base"),
    ink("yellow", "#f3c921", 70),
    ink("red", "#c8202f", 55),
    ink("green", "#2f7d43", 40),
    ink("royal", "#1d4f9c", 45),
    ink("black key", "#1c1c1e", 38, role="key"),
    ink("top white", "#fdfdfb", 12, role="highlight"),
)
SPOT_OVERLAPS = [
    ["white base", "yellow", 68],
    ["white base", "red", 53],
    ["white base", "green", 38],
    ["white base", "royal", 43],
    ["white base", "black key", 12],
    ["white base", "top white", 11],
    ["yellow", "black key", 5],
    ["red", "black key", 4],
    ["green", "black key", 3],
    ["royal", "black key", 3],
    ["yellow", "red", 1],
    ["red", "green", 0.6],
    ["green", "royal", 0.8],
    ["red", "top white", 2],
    ["royal", "top white", 4],
]
DISCHARGE = (
    ink("discharge white", "#ece6d8", 18),
    ink("yellow", "#e3b92b", 62),
    ink("red", "#b8353a", 44),
    ink("teal", "#2a7f86", 50),
)
DISCHARGE_OVERLAPS = [
    ["yellow", "red", 1.5],
    ["red", "teal", 0.8],
    ["yellow", "teal", 1.0],
    ["discharge white", "yellow", 0.4],
]


def spot(desk: Any, **fields: Any) -> Any:
    fields.setdefault("garment", NAVY_TEE)
    return desk.steps(*SPOT, overlaps=SPOT_OVERLAPS, **fields)


def test_spot_on_dark_cotton_as_a_lead_sets_it(desk: Any) -> None:
    steps = spot(desk)
    assert steps.answer("base") == "as-separated"
    assert steps.answer("flash-after-base") == "yes"
    assert steps.answer("flash-before-highlight") == "no"
    on_base = ["yellow", "green", "red", "royal", "black key", "top white"]
    assert steps.limits.flash_between == tuple(("white base", ink) for ink in on_base)
    assert steps.limits.alone_until_flash == ("white base",)
    assert set(steps.limits.order) == {("white base", ink) for ink in on_base} | {
        ("yellow", "black key"),
        ("red", "black key"),
        ("green", "black key"),
        ("royal", "black key"),
        ("red", "top white"),
        ("royal", "top white"),
    }
    assert steps.limits.no_flash_between == ()
    assert steps.limits.never_wet == ()
    assert steps.standard_order == ("white base", "yellow", "green", "red", "royal", "black key", "top white")
    assert steps.screen("white base").two_strokes
    assert [screen.prints for screen in steps.screens] == [1] * 7


def test_discharge_takes_no_base_and_no_flash(desk: Any) -> None:
    steps = desk.steps(*DISCHARGE, overlaps=DISCHARGE_OVERLAPS, garment=BLACK_TEE, system="discharge")
    assert steps.answer("base") == "none"
    assert {q.id for q in steps.questions}.isdisjoint({"flash-after-base", "blocker", "base-hits", "bleed-test"})
    assert len(steps.screens) == 4
    assert steps.limits.flash_between == ()
    assert steps.limits.alone_until_flash == ()
    assert len(steps.limits.no_flash_between) == 6
    assert any("test every dye lot" in note for note in steps.notes)
    assert {"discharge-vent", "discharge-wet"} <= set(steps.cautions)
    assert "flash-burn-and-fire" not in steps.cautions


def test_no_placeholder_is_left_in_any_text(desk: Any) -> None:
    for steps in (spot(desk), desk.steps(*SPOT[1:], garment=BLACK_TEE), desk.steps(*DISCHARGE, system="acrylic")):
        texts = [text for q in steps.questions for text in (q.text, q.says, q.reason, q.suggested)]
        assert not [text for text in (*texts, *steps.notes) if "{" in text]


def test_cautions_are_ids_of_the_file(desk: Any) -> None:
    assert set(spot(desk).cautions) <= set(cautions())


def test_answers_override_suggestions_and_leave_assumed(desk: Any) -> None:
    steps = spot(desk, answers={"flash-before-highlight": "yes", "base-hits": "print-flash-print"})
    assert steps.answer("flash-before-highlight") == "yes"
    assert {("red", "top white"), ("royal", "top white")} <= set(steps.limits.flash_between)
    assert ("yellow", "top white") not in steps.limits.flash_between
    assert steps.screen("white base").prints == 2
    assert not {"flash-before-highlight", "base-hits"} & set(steps.assumed)
    assert {"base", "flash-after-base"} <= set(steps.assumed)
    assert set(steps.assumed) == {q.id for q in steps.questions if q.answer is None}


def test_no_base_leaves_its_flashes_out(desk: Any) -> None:
    steps = spot(desk, answers={"base": "none"})
    assert "white base" not in steps.standard_order
    assert steps.limits.flash_between == ()
    assert steps.limits.alone_until_flash == ()
    assert any("Not printed: white base" in note for note in steps.notes)


def test_no_flash_after_the_base_when_the_answer_says_so(desk: Any) -> None:
    steps = spot(desk, answers={"flash-after-base": "no"})
    assert steps.limits.flash_between == ()
    assert steps.limits.alone_until_flash == ()
    assert ("white base", "yellow") in steps.limits.order


def test_a_field_wins_over_its_question(desk: Any) -> None:
    plates = [{"file": f"{one['name']}.tif", "ink": one["name"]} for one in SPOT]
    plates[0] |= {"prints": 1, "role": "base"}
    steps = spot(desk, plates=plates, answers={"base-hits": "print-flash-print", "tests": "9"}, tests=4)
    assert steps.screen("white base").prints == 1
    assert steps.answer("tests") is None
    assert any("tests" in note and "changes nothing" in note for note in steps.notes)


def test_amounts_are_asked_only_where_the_job_does_not_tell(desk: Any) -> None:
    told = spot(desk, tests=6, spoilage=0.02, crew_seconds=5)
    assert {"pieces", "tests", "spoilage", "crew-seconds"}.isdisjoint(q.id for q in told.questions)
    asked = spot(desk, pieces=None, garment={**NAVY_TEE})
    assert {"pieces", "tests", "spoilage", "crew-seconds"} <= set(asked.assumed)
    assert asked.answer("pieces") == "144"
    assert spot(desk, pieces=None, answers={"pieces": "36"}).answer("pieces") == "36"


def test_the_garment_is_asked_where_nothing_tells_it(desk: Any) -> None:
    steps = desk.steps(*SPOT, overlaps=SPOT_OVERLAPS)
    assert {"garment-colour", "fibre"} <= set(steps.assumed)
    assert steps.answer("base") == "none"  # white stands in
    black = desk.steps(*SPOT, overlaps=SPOT_OVERLAPS, answers={"garment-colour": "black"})
    assert black.answer("base") == "as-separated"


def test_colours_come_from_job_shop_file_name_and_else_are_asked(desk: Any) -> None:
    desk.shop["inks"] = [{"name": "warm red", "colour": "#aa1122"}, {"name": "gold", "colour": "#ccaa33"}]
    steps = desk.steps(
        ink("warm red", "#bb2233", 10),
        {"name": "gold", "ink_area_cm2": 10, "lab": [50, 0, 0]},
        {"name": "spot 7", "ink_area_cm2": 10, "lab": [50, 60, 30]},
        {"name": "navy", "ink_area_cm2": 10},
        {"name": "spot 9", "ink_area_cm2": 10},
        garment=WHITE_TEE,
        answers={"colour-of spot 9": "#123456"},
    )
    assert steps.screen("warm red").colour == "#bb2233"
    assert steps.screen("gold").colour == "#ccaa33"
    assert steps.screen("spot 7").lab == (50, 60, 30)
    assert steps.screen("navy").colour == "#000080"
    assert steps.screen("spot 9").colour == "#123456"
    bare = desk.steps({"name": "spot 9", "ink_area_cm2": 10}, garment=WHITE_TEE)
    assert "colour-of spot 9" in bare.assumed
    assert bare.screen("spot 9").colour == "#808080"


def test_roles_come_from_job_then_document_then_name(desk: Any) -> None:
    steps = desk.steps(
        ink("puff pink", "#f080a0", 10),
        ink("foil adhesive", "#cccccc", 10, role="colour"),
        ink("line", "#222222", 10, role="colour"),
        garment=WHITE_TEE,
        inks={"line": {"role": "key", "colour": "#222222"}},
    )
    assert steps.screen("puff pink").role is Role.PUFF
    assert steps.screen("foil adhesive").role is Role.COLOUR
    assert steps.screen("line").role is Role.KEY


def test_the_system_is_asked_where_nothing_tells_it(desk: Any) -> None:
    steps = spot(desk, system=None)
    assert "ink-system" in steps.assumed
    acrylic = spot(desk, system=None, answers={"ink-system": "acrylic"})
    assert {screen.ink_system for screen in acrylic.screens} == {InkSystem.ACRYLIC}


def test_a_document_that_prints_one_does_not_forbid_printing_twice(desk: Any) -> None:
    inks = ({**SPOT[0], "prints": 1}, *SPOT[1:])
    twice = {"base-hits": "print-flash-print"}
    steps = desk.steps(*inks, overlaps=SPOT_OVERLAPS, garment=NAVY_TEE, answers=twice)
    assert steps.screen("white base").prints == 2
    given = desk.steps({**SPOT[0], "prints": 2}, *SPOT[1:], overlaps=SPOT_OVERLAPS, garment=NAVY_TEE)
    assert given.screen("white base").prints == 2


def test_empty_plates_are_left_out(desk: Any) -> None:
    steps = desk.steps(
        ink("red", "#c8202f", 20), ink("blue", "#203080", 0, kind="empty"), garment=WHITE_TEE, order=[["red", "blue"]]
    )
    assert [screen.ink for screen in steps.screens] == ["red"]
    assert any("blue" in note and "empty" in note for note in steps.notes)
    with pytest.raises(InputFault, match="no plate holds ink"):
        desk.steps(ink("blue", "#203080", 0, kind="empty"), garment=WHITE_TEE)


def test_a_made_base_takes_the_union_of_what_it_carries(desk: Any) -> None:
    overlaps = [row for row in SPOT_OVERLAPS if "white base" not in row]
    steps = desk.steps(*SPOT[1:], overlaps=overlaps, garment=BLACK_TEE, answers={"base": "under-some"})
    base = steps.screen("white base")
    assert base.plate is None
    assert base.carries == ("yellow", "red", "green", "royal", "top white")
    # 70 + 55 + 40 + 45 + 12 less 1 + 0.6 + 0.8 + 2 + 4 shared is 213.6; the choke takes a little of it
    assert 205 < base.ink_area_cm2 < 213.6
    assert ("white base", "black key") in steps.limits.flash_between
    assert 66 < steps.overlaps[frozenset(("white base", "yellow"))] < 70


def test_a_blocker_lies_under_the_base(desk: Any) -> None:
    red = {"name": "red tee", "colour": "#a01020", "fibre": "polyester", "bleed_test": "strong"}
    desk.press |= {"flash_slots": [3, 5]}  # blocker 2, flash 3, base 4, flash 5, six more
    steps = desk.steps(*SPOT, overlaps=SPOT_OVERLAPS, garment=red)
    assert steps.answer("blocker") == "yes"
    blocker = steps.screen("blocker")
    assert blocker.carries == ("white base",)
    assert blocker.ink_area_cm2 == pytest.approx(230)
    assert steps.screen("white base").low_bleed
    assert {("blocker", "white base"), ("blocker", "yellow")} <= set(steps.limits.flash_between)
    assert steps.limits.alone_until_flash == ("blocker", "white base")
    assert steps.standard_order[:2] == ("blocker", "white base")
    assert "dye-migration" in steps.cautions


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"answers": {"bas": "none"}}, "did you mean 'base'"),
        ({"answers": {"base": "under-most"}}, "none of: none, as-separated"),
        ({"answers": {"crew-seconds": "soon"}}, "'soon' is no number"),
        ({"answers": {"tests": "2.5"}}, "no whole number"),
        ({"answers": {"spoilage": "7"}}, "not within 0 and 1"),
        ({"answers": {"garment-colour": "darkish"}}, "no colour"),
        ({"order": [["yelow", "red"]]}, "did you mean 'yellow'"),
        ({"on_top": [["red", "teal"]]}, "'teal' is no ink"),
        ({"flash_between": [["red", "teal"]]}, "'teal' is no ink"),
        ({"no_flash_between": [["red", "teal"]]}, "'teal' is no ink"),
        ({"pins": {"rd": 4}}, "did you mean 'red'"),
        ({"overrides": {"roial": {"strokes": 2}}}, "did you mean 'royal'"),
        ({"inks": {"yello": {"colour": "#ffff00"}}}, "did you mean 'yellow'"),
        ({"order": [["red", "yellow"], ["yellow", "red"]]}, "circle: 'yellow' before 'red' before 'yellow'"),
        ({"order": [["yellow", "red"]], "on_top": [["yellow", "red"]]}, "circle"),
        (
            {"flash_between": [["yellow", "red"]], "no_flash_between": [["red", "yellow"]]},
            "both asked for and forbidden",
        ),
    ],
)
def test_bad_input_is_told_in_one_sentence(desk: Any, fields: dict[str, Any], told: str) -> None:
    with pytest.raises(InputFault, match=told):
        spot(desk, **fields)


def test_all_faults_are_told_at_once(desk: Any) -> None:
    with pytest.raises(InputFaults) as caught:
        spot(desk, answers={"bas": "none", "tests": "few"}, order=[["teal", "red"]], pins={"rd": 3})
    assert len(caught.value.faults) == 4


def test_an_answer_that_this_art_cannot_have_is_a_fault(desk: Any) -> None:
    with pytest.raises(InputFault, match="'as-separated' is none of"):
        desk.steps(*SPOT[1:], garment=BLACK_TEE, answers={"base": "as-separated"})


def test_second_screens_may_be_pinned(desk: Any) -> None:
    spot(desk, answers={"base-hits": "print-flash-print"}, pins={"white base": 2, "white base 2": 5})


@pytest.mark.parametrize("kind", ["halftone", "tone", "stochastic"])
def test_a_blend_stays_wet_and_has_no_layers(desk: Any, kind: str) -> None:
    inks = [ink("base", "#f3f3f0", 200, role="base", kind=kind)]
    inks += [ink(name, c, 50, kind=kind) for name, c in (("tan", "#c9a878"), ("red", "#c8202f"), ("blue", "#28409a"))]
    inks += [ink("highlight white", "#fdfdfb", 20, kind=kind)]
    overlaps = [["base", name, 40] for name in ("tan", "red", "blue")] + [["red", "highlight white", 5]]
    steps = desk.steps(*inks, overlaps=overlaps, garment=BLACK_TEE)
    assert set(steps.limits.no_flash_between) == {("tan", "red"), ("tan", "blue"), ("red", "blue")}
    assert steps.answer("order-supplied") == "no"
    assert not [pair for pair in steps.limits.order if "base" not in pair]


@pytest.mark.parametrize(
    ("numbers", "suggested"), [((1, 2, 3, 4, 5), "as-listed"), ((1, 2, 3, 5, 4), "no"), ((1, 2, 3, 4, None), "no")]
)
def test_numbered_files_of_a_picture_bring_their_order(desk: Any, numbers: tuple[int, ...], suggested: str) -> None:
    names = ("base", "tan", "red", "blue", "highlight white")
    inks = [ink(name, "#808080", 50, kind="halftone") for name in names]
    files = [f"plates/{n:02}-{name}.png" if n else f"{name}.png" for n, name in zip(numbers, names, strict=True)]
    plates = [{"file": file, "ink": name} for file, name in zip(files, names, strict=True)]
    steps = desk.steps(*inks, garment=BLACK_TEE, plates=plates)
    assert steps.answer("order-supplied") == suggested
    assert (("tan", "red") in steps.limits.order) == (suggested == "as-listed")


def test_listed_order_is_kept_but_for_what_must_come_first(desk: Any) -> None:
    steps = spot(desk, answers={"order-supplied": "as-listed"})
    assert {("yellow", "red"), ("red", "green"), ("yellow", "top white")} <= set(steps.limits.order)
    listed = {"order-supplied": "as-listed"}
    late = desk.steps(*SPOT[1:], SPOT[0], overlaps=SPOT_OVERLAPS, garment=NAVY_TEE, answers=listed)
    assert ("white base", "yellow") in late.limits.order
    assert any("listed order is kept but for" in note for note in late.notes)


def test_acrylic_is_flashed_after_every_colour_where_there_is_room(desk: Any) -> None:
    inks = (SPOT[0], SPOT[1], SPOT[2])
    overlaps = [row for row in SPOT_OVERLAPS if {row[0], row[1]} <= {"white base", "yellow", "red"}]
    steps = desk.steps(*inks, overlaps=overlaps, garment=NAVY_TEE, system="acrylic")
    assert steps.answer("flash-each-colour") == "yes"
    assert steps.limits.never_wet == (("yellow", "red"),)
    assert ("white base", "yellow") in steps.limits.flash_between
    # seven screens and one more flash after the base's: the two that overlap most are kept apart
    tight = spot(desk, system="acrylic")
    assert tight.answer("flash-each-colour") == "where-room"
    assert 0 < len(tight.limits.never_wet) < 15
    assert any("Stay wet together" in note for note in tight.notes)
    light = desk.steps(*inks, overlaps=overlaps, garment=WHITE_TEE, system="acrylic")
    assert light.answer("flash-each-colour") is None


def test_specials_take_a_dry_film_and_puff_no_flash_after_it(desk: Any) -> None:
    inks = (ink("red", "#c8202f", 50), ink("puff", "#ffffff", 10), ink("foil adhesive", "#cccccc", 10))
    overlaps = [["red", "puff", 8], ["red", "foil adhesive", 8]]
    steps = desk.steps(*inks, overlaps=overlaps, garment=WHITE_TEE)
    assert steps.limits.flash_between == (("red", "puff"),)
    assert ("red", "foil adhesive") in steps.limits.order
    assert set(steps.limits.no_flash_after) == {"puff", "foil adhesive"}
    desk.press |= {"flash_units": 0}
    assert desk.steps(*inks, overlaps=overlaps, garment=WHITE_TEE).limits.flash_between == ()
