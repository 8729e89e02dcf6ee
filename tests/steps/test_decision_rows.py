"""Short rows of a lead's table: garment and ink, and what is suggested first."""

from __future__ import annotations

from typing import Any

import pytest

from setupassist.documents.shop import Shop
from setupassist.documents.terms import Role
from setupassist.errors import InputFault
from setupassist.resource_files import read_toml
from setupassist.steps.conditions import INK_CONDITIONS, SCENE_CONDITIONS
from setupassist.steps.decisions import shipped_rows, table_of
from setupassist.steps.questions import catalogue
from setupassist.trade.typical import Tag


def ink(name: str, colour: str, area: float = 100, **more: Any) -> dict[str, Any]:
    return {"name": name, "colour": colour, "ink_area_cm2": area, **more}


def cloth(colour: str, fibre: str = "cotton", **more: Any) -> dict[str, Any]:
    return {"name": "garment", "colour": colour, "fibre": fibre, **more}


WHITE, BLACK, RED, ROYAL, NAVY = "#f4f4f2", "#1c1c1e", "#c8202f", "#1d4f9c", "#1f2a44"


def test_white_cotton_dark_navy(desk: Any) -> None:
    steps = desk.steps(ink("navy", NAVY), garment=cloth("#ffffff"))
    assert steps.answer("base") == "none"
    assert steps.limits.flash_between == ()
    assert [(s.ink, s.prints, s.two_strokes) for s in steps.screens] == [("navy", 1, False)]


def test_red_cotton_royal_needs_base_though_it_is_darker(desk: Any) -> None:
    steps = desk.steps(ink("royal", ROYAL), garment=cloth("#c8202f"))
    assert steps.answer("base") == "under-all"
    assert steps.answer("base-hits") == "two-strokes"  # a grey base is grey by choice, not for want of opacity
    # a contrast ratio from memory does not decide it, a measured high-opacity ink does without
    desk.shop["inks"] = [
        {
            "name": "royal",
            "colour": ROYAL,
            "contrast_ratio": 0.97,
            "at_um": 12,
            "sources": {"contrast_ratio": "from memory"},
        }
    ]
    assert desk.steps(ink("royal", ROYAL), garment=cloth("#c8202f")).answer("base") == "under-all"
    desk.shop["inks"] = [{"name": "royal", "colour": ROYAL, "contrast_ratio": 0.97, "at_um": 12}]
    assert desk.steps(ink("royal", ROYAL), garment=cloth("#c8202f")).answer("base") == "none"


def test_natural_cotton_white_ink_is_the_print(desk: Any) -> None:
    steps = desk.steps(ink("white", WHITE), garment=cloth("#efe8d8"))
    assert steps.answer("base") == "none"
    assert not steps.screen("white").low_bleed
    assert any("not low-bleed" in note for note in steps.notes)


GRADED = [("not done", "no"), ("slight", "no"), ("none", "no"), ("strong", "yes")]


@pytest.mark.parametrize(("bleed", "blocker"), GRADED)
def test_red_half_polyester_white_and_black(desk: Any, bleed: str, blocker: str) -> None:
    garment = cloth("#b01828", "blend", polyester_share=0.5, bleed_test=bleed)
    overlaps = [["white", "black", 5]]
    steps = desk.steps(ink("white", WHITE), ink("black", BLACK, 30), overlaps=overlaps, garment=garment)
    # the white is the base itself: two screens, and a blocker under the white where the test is strong
    assert steps.answer("base") == "none"
    assert steps.answer("blocker") == blocker
    assert len(steps.screens) == (3 if blocker == "yes" else 2)
    white = steps.screen("white")
    assert white.low_bleed is (bleed != "none")
    assert (white.prints, white.two_strokes) == (1, True)
    assert steps.answer("flash-after-base") == "yes"
    assert ("white", "black") in steps.limits.flash_between
    assert steps.standard_order[-1] == "black"
    if blocker == "yes":
        assert steps.screen("blocker").carries == ("white",)


def test_low_bleed_white_goes_down_twice_on_polyester_that_bleeds_slightly(desk: Any) -> None:
    garment = cloth("#b01828", "polyester", bleed_test="slight")
    steps = desk.steps(ink("white", WHITE), ink("black", BLACK, 30), overlaps=[["white", "black", 5]], garment=garment)
    assert (steps.answer("base"), steps.answer("base-hits")) == ("none", "print-flash-print")
    assert steps.screen("white").low_bleed
    assert steps.answer("flash-after-base") == "no"  # the second film is thin and lies on a gelled one
    assert steps.limits.flash_between == ()


def test_bleed_test_is_asked_for_any_dyed_polyester(desk: Any) -> None:
    inks = (ink("white", WHITE),)
    assert "bleed-test" in desk.steps(*inks, garment=cloth("#b01828", "blend", polyester_share=0.1)).assumed
    assert desk.steps(*inks, garment=cloth("#b01828")).answer("bleed-test") is None
    assert desk.steps(*inks, garment=cloth("#ffffff", "polyester")).answer("bleed-test") is None
    told = desk.steps(*inks, garment=cloth("#b01828", "polyester"), answers={"bleed-test": "strong"})
    assert told.answer("blocker") == "yes"


def test_dark_tri_blend_soft_print(desk: Any) -> None:
    garment = cloth("#3a3a3e", "blend", fabric="heather tri-blend", polyester_share=0.5)
    steps = desk.steps(ink("red", RED), garment=garment)
    assert steps.answer("print-look") == "soft"
    assert steps.answer("base") == "none"
    matched = desk.steps(ink("red", RED), garment=garment, answers={"print-look": "match-swatch"})
    assert matched.answer("base") == "under-all"
    assert matched.screen("white base").low_bleed


def test_a_base_that_the_set_brings_is_kept_on_tri_blend(desk: Any) -> None:
    garment = cloth("#3a3a3e", "blend", fabric="tri-blend", polyester_share=0.5)
    steps = desk.steps(ink("base", WHITE, role="base"), ink("red", RED), garment=garment)
    assert steps.answer("print-look") is None
    assert steps.answer("base") == "as-separated"


@pytest.mark.parametrize("colour", ["#d9d9d6", "#b5b5b8"])
def test_ash_or_sport_grey_bright_red_is_asked(desk: Any, colour: str) -> None:
    garment = cloth(colour, "blend", polyester_share=0.1)
    steps = desk.steps(ink("bright red", "#d8232f"), garment=garment)
    assert "print-look" in steps.assumed
    assert steps.answer("base") == "none"
    matched = desk.steps(ink("bright red", "#d8232f"), garment=garment, answers={"print-look": "match-swatch"})
    assert matched.answer("base") != "none"


def test_black_line_inside_colours_on_black_cotton_is_printed(desk: Any) -> None:
    inks = (ink("red", RED), ink("black", BLACK, 20))
    steps = desk.steps(*inks, overlaps=[["red", "black", 15]], garment=cloth("#17171a"))
    assert steps.answer("drop-black") == "no"
    assert any("drop it over bare cloth" in note for note in steps.notes)
    assert "black" in steps.standard_order


def test_black_over_bare_black_cloth_is_dropped(desk: Any) -> None:
    inks = (ink("red", RED), ink("black", BLACK, 20))
    steps = desk.steps(*inks, overlaps=[["red", "black", 1]], garment=cloth("#17171a"))
    assert steps.answer("drop-black") == "yes"
    assert "black" not in steps.standard_order
    kept = desk.steps(*inks, garment=cloth("#17171a"), answers={"drop-black": "no"})
    assert "black" in kept.standard_order
    assert desk.steps(*inks, garment=cloth("#1f2a44")).answer("drop-black") is None


def test_forest_cotton_ordinary_red(desk: Any) -> None:
    steps = desk.steps(ink("red", RED), garment=cloth("#1f4a2c"))
    assert steps.answer("base") == "under-all"


def test_a_dark_ink_may_have_a_grey_base_or_its_own_tint(desk: Any) -> None:
    dark = desk.steps(ink("royal", ROYAL), garment=cloth("#c8202f"))
    assert dark.answer("base-colour") == "grey"
    assert dark.standard_order[0] == "grey base"
    tint = desk.steps(ink("royal", ROYAL), garment=cloth("#c8202f"), answers={"base-colour": "tint"})
    assert tint.screen("tint base").lab[0] > tint.screen("royal").lab[0]
    with_light = desk.steps(ink("royal", ROYAL), ink("yellow", "#f3c921"), garment=cloth("#c8202f"))
    assert with_light.answer("base-colour") == "white"


STRONG = [("#c8202f", "#1d4f9c"), ("#c8202f", "#25603a"), ("#1d4f9c", "#7a1f2c"), ("#1e7a3a", "#8a2030")]


@pytest.mark.parametrize(("tee", "dark"), STRONG)
def test_merely_darker_needs_base_on_a_strong_colour_of_another_hue(desk: Any, tee: str, dark: str) -> None:
    desk.shop["policies"] = {"base_delta_e": 60}  # whatever the film is reckoned to let through
    assert desk.steps(ink("dark", dark), garment=cloth(tee)).answer("base") == "under-all"
    dull = desk.steps(ink("dark", dark), garment=cloth("#6f6f72"))
    assert dull.answer("base") == "none"


def test_nylon_jacket_white(desk: Any) -> None:
    steps = desk.steps(ink("white", WHITE), garment=cloth("#20305a", "nylon", fabric="shell"))
    assert steps.answer("base-hits") == "two-strokes"
    assert steps.screen("white").prints == 1
    fleece = desk.steps(ink("red", RED), garment=cloth("#20305a", "nylon", fabric="fleece"))
    assert fleece.screen("white base").prints == 1
    assert any("bonding agent" in note and "water-drop" in note for note in steps.notes)
    assert "nylon-heat" in steps.cautions


def test_made_up_cap(desk: Any) -> None:
    steps = desk.steps(ink("white", WHITE), garment=cloth("#20305a", fabric="made-up cap"))
    assert any("cap platens" in note for note in steps.notes)


def test_stretch_polyester_silicone(desk: Any) -> None:
    garment = cloth("#20305a", "polyester", fabric="stretch")
    steps = desk.steps(ink("white", WHITE), ink("red", RED), garment=garment, system="silicone")
    assert any("127 °C" in note and "86 to 110" in note for note in steps.notes)
    assert "silicone-pot" in steps.cautions


def test_high_solid_acrylic_on_dark(desk: Any) -> None:
    inks = (ink("yellow", "#f3c921"), ink("red", RED))
    steps = desk.steps(*inks, garment=cloth("#17171a"), system="acrylic")
    assert (steps.answer("base"), steps.answer("flash-after-base")) == ("under-all", "yes")
    assert steps.answer("flash-each-colour") == "yes"
    desk.press |= {"flash_units": 1, "flash_slots": [3]}
    assert desk.steps(*inks, garment=cloth("#17171a"), system="acrylic").answer("flash-each-colour") == "no"


def test_fleece_prints_the_base_twice(desk: Any) -> None:
    steps = desk.steps(ink("red", RED), garment=cloth("#17171a", fabric="fleece"))
    assert steps.answer("base-hits") == "print-flash-print"
    assert steps.screen("white base").prints == 2


def test_a_base_is_not_printed_twice_where_the_press_has_no_room(desk: Any) -> None:
    desk.press |= {"flash_units": 1}
    fleece = desk.steps(ink("red", RED), garment=cloth("#17171a", fabric="fleece"))
    assert fleece.answer("base-hits") == "two-strokes"
    assert fleece.screen("white base").two_strokes
    desk.press |= {"flash_units": 0}
    white = desk.steps(ink("white", WHITE), garment=cloth("#17171a"))
    assert white.answer("base-hits") == "two-strokes"


def test_a_white_alone_on_dark_cotton_is_its_own_base(desk: Any) -> None:
    steps = desk.steps(ink("white", WHITE), garment=cloth("#17171a"))
    assert steps.answer("base") == "none"
    assert steps.answer("base-hits") == "print-flash-print"
    assert steps.screen("white").prints == 2


def test_an_ink_clearly_darker_in_the_cloths_own_hue_needs_no_base(desk: Any) -> None:
    assert desk.steps(ink("maroon", "#8a2038"), garment=cloth("#e05560")).answer("base") == "none"
    assert desk.steps(ink("navy", NAVY), garment=cloth("#a01020")).answer("base") == "none"  # near black


def test_light_cloth_and_a_darker_ink_needs_no_base(desk: Any) -> None:
    assert desk.steps(ink("red", RED), garment=cloth("#a9c8e8")).answer("base") == "none"


@pytest.mark.parametrize(("wet", "answer", "pairs"), [(True, "no", 0), (False, "yes", 1)])
def test_discharge_only_as_base_is_a_policy(desk: Any, wet: bool, answer: str, pairs: int) -> None:
    desk.shop["policies"] = {"discharge_base_wet": wet}
    steps = desk.steps(
        ink("discharge base", "#ece6d8", role="base"),
        ink("red", RED),
        overlaps=[["discharge base", "red", 90]],
        garment=cloth("#17171a"),
        inks={"discharge base": {"ink_system": "discharge"}, "red": {"ink_system": "plastisol"}},
    )
    assert steps.answer("base") == "as-separated"
    assert steps.answer("flash-after-base") == answer
    assert len(steps.limits.flash_between) == pairs
    assert len(steps.limits.no_flash_between) == 1 - pairs


def test_discharge_warns_for_blends_and_doubtful_dyes(desk: Any) -> None:
    def warned(garment: dict[str, Any]) -> bool:
        steps = desk.steps(ink("red", RED), garment=garment, system="discharge")
        return any("often do not" in note for note in steps.notes)

    assert warned(cloth("#1d4f9c") | {"name": "royal tee"})
    assert warned(cloth("#17171a", "blend"))
    assert not warned(cloth("#17171a"))


def test_tone_plates_ask_for_a_ruling(desk: Any) -> None:
    steps = desk.steps(ink("red", RED, kind="tone"), garment=cloth("#ffffff"))
    assert steps.answer("halftone-ruling") == "45"  # 230 per inch in stock
    desk.shop["screens"] = [{"mesh_per_cm": 120, "thread_um": 34, "quantity": 2}]
    assert desk.steps(ink("red", RED, kind="tone"), garment=cloth("#ffffff")).answer("halftone-ruling") == "60"
    assert desk.steps(ink("red", RED), garment=cloth("#ffffff")).answer("halftone-ruling") is None


def test_base_that_is_the_only_white_is_said_to_show(desk: Any) -> None:
    inks = (ink("base", WHITE, 100, role="base"), ink("red", RED, 40))
    steps = desk.steps(*inks, overlaps=[["base", "red", 38]], garment=cloth("#17171a"))
    assert steps.answer("base-shows") == "yes"
    hidden = desk.steps(*inks, overlaps=[["base", "red", 38]], garment=cloth("#17171a"), answers={"base-shows": "no"})
    assert hidden.answer("base-shows") == "no"


# the table itself


def test_every_row_names_known_conditions_questions_and_tags() -> None:
    known = set(SCENE_CONDITIONS) | set(INK_CONDITIONS)
    data = read_toml("trade/decisions.toml")
    for row in data["decision"]:
        assert set(row["when"]) <= known, row["id"]
        assert row["question"] in {*catalogue(), "note", "base-under"}, row["id"]
        assert row["tag"] in set(Tag), row["id"]
        assert row["source"], row["id"]
        if row["question"] != "base-under":
            assert not set(row["when"]) & set(INK_CONDITIONS), row["id"]
    for question in data["question"]:
        assert set(question.get("asked_when", [])) <= known
        if question["kind"] == "choice":
            answers = set(question["answers"])
            rows = [row for row in data["decision"] if row["question"] == question["id"]]
            assert rows
            assert {row["suggest"] for row in rows} <= answers
            assert rows[-1]["when"] == [], f"the last row of {question['id']} must hold always"
    for entry in data["threshold"].values():
        assert entry["unit"]
        assert entry["source"]
        assert entry["tag"] in set(Tag)


def test_every_condition_is_used() -> None:
    data = read_toml("trade/decisions.toml")
    used = {name for row in data["decision"] for name in row["when"]}
    used |= {name for question in data["question"] for name in question.get("asked_when", [])}
    used |= {n for q in data["question"] for names in q.get("answers_when", {}).values() for n in names}
    assert set(SCENE_CONDITIONS) | set(INK_CONDITIONS) == used


def test_row_ids_are_unique() -> None:
    ids = [row.id for row in shipped_rows()]
    assert len(ids) == len(set(ids))


def test_a_shop_rewrites_a_row(desk: Any) -> None:
    inks = (ink("base", WHITE, role="base"), ink("red", RED), ink("top white", WHITE, 9))
    overlaps = [["base", "red", 90], ["red", "top white", 9]]
    row = {"id": "layer-highlight", "suggest": "yes", "reason": "we own {flash_units} units", "source": "our tests"}
    desk.shop["decisions"] = [row]
    steps = desk.steps(*inks, overlaps=overlaps, garment=cloth("#17171a"))
    question = next(q for q in steps.questions if q.id == "flash-before-highlight")
    assert (question.suggested, question.reason, question.source) == ("yes", "we own 2 units", "our tests")
    assert question.row == "layer-highlight"
    assert ("red", "top white") in steps.limits.flash_between


def test_a_shop_switches_a_row_off(desk: Any) -> None:
    inks = (ink("base", WHITE, role="base"), ink("red", RED))
    before = desk.steps(*inks, overlaps=[["base", "red", 90]], garment=cloth("#17171a"))
    assert before.answer("base-hits") == "two-strokes"
    desk.shop["policies"] = {"decisions_off": ["two-strokes-base"]}
    after = desk.steps(*inks, overlaps=[["base", "red", 90]], garment=cloth("#17171a"))
    assert after.answer("base-hits") == "one"


def test_with_every_row_of_a_question_off_only_the_job_answers_it(desk: Any) -> None:
    inks = (ink("base", WHITE, role="base"), ink("red", RED))
    rows = [row.id for row in shipped_rows() if row.question == "base-hits"]
    desk.shop["policies"] = {"decisions_off": rows}
    garment = cloth("#17171a")
    assert desk.steps(*inks, garment=garment).answer("base-hits") is None
    told = desk.steps(*inks, garment=garment, answers={"base-hits": "print-flash-print"})
    assert told.screen("base").prints == 2


@pytest.mark.parametrize(
    ("shop", "told"),
    [
        ({"policies": {"decisions_off": ["layer-highlite"]}}, "did you mean 'layer-highlight'"),
        ({"decisions": [{"id": "flash-before", "suggest": "yes", "reason": "x"}]}, "no row of the decision table"),
        ({"decisions": [{"id": "flash-after-base", "suggest": "perhaps", "reason": "x"}]}, "suggests what cannot be"),
    ],
)
def test_a_shop_row_that_cannot_be_is_a_fault(desk: Any, shop: dict[str, Any], told: str) -> None:
    desk.shop |= shop
    inks = (ink("base", WHITE, role="base"), ink("red", RED))
    with pytest.raises(InputFault, match=told):
        desk.steps(*inks, overlaps=[["base", "red", 90]], garment=cloth("#17171a"))


def test_table_of_keeps_file_order() -> None:
    table, faults = table_of(Shop(format="setupassist-shop/1", name="plain"))
    assert not faults
    assert table.rows == shipped_rows()


def test_specials_are_known_by_name(desk: Any) -> None:
    steps = desk.steps(ink("red", RED), ink("silver glitter", "#c0c0c4", 9), garment=cloth("#ffffff"))
    assert steps.screen("silver glitter").role is Role.GLITTER
    assert steps.standard_order[-1] == "silver glitter"
