from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setupassist.documents.job import Garment, Override
from setupassist.documents.measure import Halftone
from setupassist.documents.plan import Limits, ScreenChoice
from setupassist.documents.press import Press
from setupassist.documents.shop import Ink, Policies, Shop, StockScreen
from setupassist.documents.store import example_shop
from setupassist.documents.terms import InkSystem, Kind, Known, Role
from setupassist.quantities import Units
from setupassist.screens.choose import choose_screens
from setupassist.screens.wants import ruling_words
from setupassist.steps.needs import GroupNeeds, ScreenNeed, Steps
from setupassist.trade.names import role_from_name

SHOP = example_shop()
PRESS = SHOP.presses[0]
BOX = (20.0, 30.0, 300.0, 320.0)


def need(
    ink: str,
    *,
    role: Role | None = None,
    kind: Kind = Kind.SOLID,
    system: InkSystem = InkSystem.PLASTISOL,
    lpi: float | None = None,
    line_mm: float | None = None,
    gap_mm: float | None = None,
    box: tuple[float, float, float, float] | None = BOX,
    carries: tuple[str, ...] = (),
    two_strokes: bool = False,
) -> ScreenNeed:
    return ScreenNeed(
        ink=ink,
        role=role or role_from_name(ink),
        kind=kind,
        colour="#888888",
        lab=(56.0, 0.0, 0.0),
        ink_area_cm2=100.0,
        ink_system=system,
        halftone=None if lpi is None else Halftone(lines_per_inch=lpi, angle_deg=22.5),
        finest_line_mm=line_mm,
        finest_gap_mm=gap_mm,
        ink_box_mm=box,
        carries=carries,
        two_strokes=two_strokes,
    )


def steps_of(*needs: ScreenNeed, fabric: str = "jersey") -> Steps:
    names = tuple(n.ink for n in needs)
    return Steps(
        questions=(),
        assumed=(),
        screens=needs,
        overlaps={},
        limits=Limits(),
        standard_order=names,
        groups=(GroupNeeds(Garment(fabric=fabric), names, Limits()),),
        neediest=0,
        art_box_mm=BOX,
    )


def shop_of(
    *stock: tuple[float, float, int], inks: tuple[Ink, ...] = (), frame: tuple[float, float] = (584.0, 787.0)
) -> Shop:
    screens = tuple(StockScreen(mesh_per_cm=n, thread_um=d, quantity=q, frame_mm=frame) for n, d, q in stock)
    return Shop(format="setupassist-shop/1", name="Small shop", screens=screens, inks=inks)


def choose(
    *needs: ScreenNeed,
    shop: Shop = SHOP,
    press: Press = PRESS,
    overrides: dict[str, Override] | None = None,
    ruling: float | None = None,
    fabric: str = "jersey",
) -> dict[str, ScreenChoice]:
    steps = steps_of(*needs, fabric=fabric)
    chosen = choose_screens(steps, shop=shop, press=press, overrides=overrides or {}, halftone_ruling_lpi=ruling)
    assert [choice.ink for choice in chosen] == [n.ink for n in needs]
    return {choice.ink: choice for choice in chosen}


def rules(choice: ScreenChoice) -> list[str]:
    assert all(reason.text and reason.source for reason in choice.shaped_by)
    return [reason.rule for reason in choice.shaped_by]


def test_a_spot_job_on_dark_cotton_gets_what_a_lead_would_pull() -> None:
    """Accepted ranges are an experienced lead's: base 110 to 160, colours 156 to 230, key 180 to 305, top white."""
    names = ("white base", "yellow", "red", "green", "royal", "black key", "top white")
    chosen = choose(*(need(name) for name in names))
    ranges = {"white base": (110, 160), "black key": (180, 305)}
    for name, choice in chosen.items():
        low, high = ranges.get(name, (156, 230))
        assert choice.mesh_per_inch is not None
        assert low <= choice.mesh_per_inch <= high, name
        assert choice.nearest is None
    assert chosen["white base"].mesh_per_inch == 156


def test_discharge_takes_110_to_158_and_its_halftones_finer() -> None:
    chosen = choose(
        need("teal", system=InkSystem.DISCHARGE),
        need("red", system=InkSystem.DISCHARGE, kind=Kind.HALFTONE, lpi=45),
    )
    assert 110 <= (chosen["teal"].mesh_per_inch or 0) <= 158
    assert 195 <= (chosen["red"].mesh_per_inch or 0) <= 230


def test_halftone_job_of_twelve_within_the_stock() -> None:
    names = ["white base", *(f"ink {i}" for i in range(10)), "highlight white"]
    chosen = choose(*(need(name, kind=Kind.HALFTONE, lpi=55) for name in names))
    for choice in chosen.values():
        assert choice.mesh_per_inch is not None
        assert choice.mesh_per_inch >= 3.5 * 55
    assert 156 <= (chosen["white base"].mesh_per_inch or 0) <= 255
    assert {chosen[f"ink {i}"].mesh_per_inch for i in range(10)} == {305}


def test_ruling_is_a_hard_limit_and_the_text_says_its_figures() -> None:
    # 3.5 × 45 = 157.5 per inch; 61/cm is 154.9 and just too coarse, 77/cm is 195.6
    shop = shop_of((61, 64, 5), (77, 55, 5))
    chosen = choose(need("white base", kind=Kind.HALFTONE, lpi=45), shop=shop)["white base"]
    assert chosen.mesh_per_cm == 77
    text = next(reason.text for reason in chosen.shaped_by if reason.rule == "ruling")
    assert "need 158/in or more" in text  # 157.5, rounded up
    assert "156/in (61-64) is ruled out" in text
    coarser = choose(need("white base", kind=Kind.HALFTONE, lpi=44), shop=shop_of((61, 64, 5)))["white base"]
    assert coarser.mesh_per_cm == 61  # 3.5 × 44 = 154.0


def test_a_tone_plate_takes_the_ruling_it_is_given() -> None:
    shop = shop_of((61, 64, 5), (77, 55, 5))
    assert choose(need("red", kind=Kind.TONE), shop=shop, ruling=65)["red"].nearest is not None
    assert choose(need("red", kind=Kind.TONE), shop=shop, ruling=55)["red"].mesh_per_cm == 77
    assert choose(need("red"), shop=shop, ruling=65)["red"].mesh_per_cm == 77


def test_particles_pass_or_the_mesh_is_ruled_out() -> None:
    # 203 µm × 3 = 609 µm; 10-260 opens 740 µm, 24-140 only 277 µm
    chosen = choose(need("silver glitter"))["silver glitter"]
    assert (chosen.mesh_per_cm, chosen.opening_um) == (10, pytest.approx(740))
    assert "particle" in rules(chosen)
    none = choose(need("silver glitter"), shop=shop_of((24, 140, 3), (61, 64, 3)))["silver glitter"]
    assert none.mesh_per_cm is None
    assert none.nearest is not None
    assert "61/in (24-140)" in none.nearest
    assert "609 µm" in none.nearest
    own = Ink(name="silver glitter", role=Role.GLITTER, particle_um=80.0)
    fine = choose(need("silver glitter"), shop=shop_of((24, 140, 3), inks=(own,)))["silver glitter"]
    assert fine.mesh_per_cm == 24  # 240 µm go through 277 µm


def test_a_base_needs_its_deposit() -> None:
    # 120-34: 35.0 % × 51 µm = 17.9 cm³/m², under 20
    base = choose(need("white base"), shop=shop_of((120, 34, 5)))["white base"]
    assert base.mesh_per_cm is None
    assert base.nearest is not None
    assert "17.9" in base.nearest
    assert choose(need("red"), shop=shop_of((120, 34, 5)))["red"].mesh_per_cm == 120


def test_fine_lines_and_gaps_move_the_choice_but_never_empty_it() -> None:
    plain = choose(need("red"))["red"]
    fine = choose(need("red", line_mm=0.15, gap_mm=0.20))["red"]
    assert plain.thread_um == 55  # holds lines of 165 µm
    assert fine.thread_um == 48  # holds 144 µm, and gaps of 82 + 96 = 178 µm
    assert "finest-line" in rules(fine)
    hopeless = choose(need("red", line_mm=0.02))["red"]
    assert hopeless.mesh_per_cm == 120
    assert any("may break up" in reason.text for reason in hopeless.shaped_by)


def test_quantities_hold_over_the_whole_job() -> None:
    shop = shop_of((61, 64, 1), (77, 55, 2), (90, 48, 1))
    chosen = choose(need("red"), need("blue"), need("green"), need("white base"), shop=shop)
    counts = [choice.mesh_per_cm for choice in chosen.values()]
    assert sorted(c for c in counts if c is not None) == [61, 77, 77, 90]
    assert chosen["white base"].mesh_per_cm == 61
    pushed = next(choice for choice in chosen.values() if choice.mesh_per_cm == 90)
    stock = next(reason.text for reason in pushed.shaped_by if reason.rule == "stock")
    assert "all 2 are out" in stock


def test_when_the_stock_runs_out_it_says_who_has_it() -> None:
    chosen = choose(need("red"), need("blue"), shop=shop_of((77, 55, 1)))
    without = next(choice for choice in chosen.values() if choice.mesh_per_cm is None)
    with_it = next(choice for choice in chosen.values() if choice.mesh_per_cm is not None)
    assert (
        without.nearest
        == f"No stock screen is left. The nearest, 195/in (77-55), is all taken (1 in stock: {with_it.ink})."
    )
    assert without.ink_volume_cm3_m2 is None


def test_an_empty_shop_is_said() -> None:
    assert choose(need("red"), shop=shop_of())["red"].nearest == "The shop book lists no screens."
    assert choose(shop=shop_of()) == {}


def test_frames_must_go_into_the_press_and_hold_the_art() -> None:
    big = shop_of((77, 55, 4), frame=(700.0, 900.0))
    assert "does not go into the press" in (choose(need("red"), shop=big)["red"].nearest or "")
    small = shop_of((77, 55, 4), frame=(400.0, 500.0))
    assert "does not fit a frame" in (choose(need("red"), shop=small)["red"].nearest or "")
    assert choose(need("red", box=(0, 0, 100, 100)), shop=small)["red"].mesh_per_cm == 77


def test_the_person_overrules_and_what_breaks_is_said() -> None:
    overrides = {"white base": Override(mesh_per_inch=305, strokes=3, squeegee_shore=70, off_contact_mm=3.0)}
    chosen = choose(need("white base"), need("red"), overrides=overrides)["white base"]
    assert (chosen.mesh_per_inch, chosen.thread_um, chosen.strokes) == (305, 34, 3)
    assert rules(chosen)[:2] == ["entered", "deposit"]
    for name in ("squeegee hardness", "off-contact", "strokes"):
        entry = chosen.setting(name)
        assert entry is not None
        assert entry.known is Known.ENTERED
    typical = choose(need("red"))["red"].setting("off-contact")
    assert typical is not None
    assert typical.known is Known.TYPICAL


def test_an_override_takes_its_screen_before_others_and_one_not_in_stock_is_said() -> None:
    shop = shop_of((61, 64, 1), (43, 80, 3))
    chosen = choose(need("white base"), need("red"), shop=shop, overrides={"red": Override(mesh_per_inch=156)})
    assert chosen["red"].mesh_per_cm == 61
    assert chosen["white base"].mesh_per_cm == 43
    gone = choose(need("red"), shop=shop, overrides={"red": Override(mesh_per_inch=195, thread_um=48)})["red"]
    assert gone.nearest == "The entered mesh is not in stock. The nearest is 156/in (61-64)."
    assert gone.mesh_per_inch == 195
    assert gone.ink_volume_cm3_m2 == pytest.approx(29, abs=1)
    two = Override(mesh_per_inch=156)
    short = choose(need("red"), need("blue"), shop=shop, overrides={"red": two, "blue": two})
    assert sorted(choice.nearest is None for choice in short.values()) == [False, True]


def test_a_second_screen_of_an_ink_takes_the_first_ones_override() -> None:
    chosen = choose(need("white base"), need("white base 2"), overrides={"white base": Override(mesh_per_inch=110)})
    assert [choice.mesh_per_inch for choice in chosen.values()] == [110, 110]
    other = choose(
        need("white base"),
        need("white base 2", box=(0, 0, 10, 10)),
        overrides={"white base": Override(mesh_per_inch=110)},
    )
    assert other["white base 2"].mesh_per_inch == 156


def test_squeegee_width_and_stroke_length_from_the_art() -> None:
    # ink 303 mm wide: 303 + 2 × 25 = 353, up to 360; art 320 mm high: + 2 × 40 = 400
    chosen = choose(need("red", box=(0, 0, 303, 100)))["red"]
    assert chosen.squeegee_width_mm == 360
    assert chosen.stroke_length_mm == 400
    # frame 584 − 2 × 60 = 464 inside: 440 + 50 = 490 is cut to it
    wide = choose(need("red", box=(0, 0, 440, 100)))["red"]
    assert wide.squeegee_width_mm == 464
    entry = wide.setting("squeegee width")
    assert entry is not None
    assert "cut to the frame's inside" in entry.source


def test_a_made_base_takes_the_box_of_the_inks_it_carries() -> None:
    needs = (
        need("white base", box=None, carries=("red", "blue")),
        need("red", box=(10, 10, 100, 50)),
        need("blue", box=(150, 10, 60, 50)),
    )
    assert choose(*needs)["white base"].squeegee_width_mm == 250  # 10..210 is 200 mm, + 50


def test_the_angle_states_its_reference() -> None:
    entry = choose(need("red"))["red"].setting("squeegee angle")
    assert entry is not None
    assert (entry.value, entry.unit) == (75, "° from the screen (15° from vertical)")
    lean = choose(need("red"), overrides={"red": Override(squeegee_angle_deg=60)})["red"].setting("squeegee angle")
    assert lean is not None
    assert (lean.value, lean.unit, lean.known) == (60, "° from the screen (30° from vertical)", Known.ENTERED)


def test_every_screen_has_the_settings_a_crew_sets() -> None:
    names = {
        "frame", "tension", "stencil over mesh", "squeegee hardness", "squeegee width", "squeegee angle",
        "squeegee pressure", "stroke length", "strokes", "flood", "off-contact",
    }  # fmt: skip
    for role in Role:
        chosen = choose(need("ink", role=role))["ink"]
        assert {entry.name for entry in chosen.settings} == names
        assert all(entry.source for entry in chosen.settings)
        assert chosen.role == role.value
    stencil = choose(need("white base"))["white base"].setting("stencil over mesh")
    assert stencil is not None
    assert stencil.value == pytest.approx(0.2 * 1.5 * 64, abs=0.05)


def test_two_strokes_only_where_the_steps_ask() -> None:
    assert choose(need("white base", two_strokes=True))["white base"].strokes == 2
    assert choose(need("white base"))["white base"].strokes == 1


def test_fleece_takes_a_tight_coarse_base() -> None:
    chosen = choose(need("white base"), fabric="fleece hoodie")["white base"]
    assert 110 <= (chosen.mesh_per_inch or 0) <= 125
    off = chosen.setting("off-contact")
    assert off is not None
    assert off.value == 3.2


@pytest.mark.parametrize(
    ("lines", "inch", "cm"),
    [(55.01, "55", "21.7"), (54.96, "55", "21.6"), (133.06, "133.1", "52.4"), (50.8, "50.8", "20")],
)
def test_rulings_are_told_to_a_tenth_at_most(lines: float, inch: str, cm: str) -> None:
    assert ruling_words(lines, Units.INCH) == f"{inch} lines per inch"
    assert ruling_words(lines, Units.METRIC) == f"{cm} lines per cm"


def test_metric_shops_read_metric_reasons() -> None:
    shop = SHOP.model_copy(update={"policies": Policies(units="metric")})
    text = choose(need("red", kind=Kind.HALFTONE, lpi=45), shop=shop)["red"].shaped_by[0].text
    assert "lines per cm" in text
    assert "/in" not in text


def test_measured_volume_of_the_stock_wins() -> None:
    screen = StockScreen(mesh_per_cm=61, thread_um=64, volume_cm3_m2=31.0)
    shop = Shop(format="setupassist-shop/1", name="s", screens=(screen,))
    chosen = choose(need("white base"), shop=shop)["white base"]
    assert chosen.ink_volume_cm3_m2 == 31
    assert chosen.volume_known is Known.ENTERED


stocks = st.lists(
    st.tuples(st.sampled_from([(43, 80), (61, 64), (77, 55), (90, 48), (120, 34), (24, 140)]), st.integers(0, 3)),
    max_size=6,
    unique_by=lambda entry: entry[0],
)


@settings(max_examples=60, deadline=None)
@given(
    stock=stocks,
    names=st.lists(st.sampled_from(["white base", "red", "black key", "puff"]), unique=True),
    lpi=st.sampled_from([None, 35, 55, 65]),
)
def test_laws_of_any_choice(stock: list[tuple[tuple[int, int], int]], names: list[str], lpi: float | None) -> None:
    shop = shop_of(*((n, d, q) for (n, d), q in stock))
    kind = Kind.SOLID if lpi is None else Kind.HALFTONE
    chosen = choose(*(need(name, kind=kind, lpi=lpi) for name in names), shop=shop)
    held = [(choice.mesh_per_cm, choice.thread_um) for choice in chosen.values() if choice.mesh_per_cm is not None]
    quantities = dict(stock)
    for mesh in set(held):
        assert held.count(mesh) <= quantities[mesh]
    for choice in chosen.values():
        assert (choice.mesh_per_cm is None) == (choice.nearest is not None)
        if choice.mesh_per_cm is not None and lpi is not None:
            assert choice.mesh_per_cm * 2.54 >= 3.5 * lpi - 1e-6
    again = choose(*(need(name, kind=kind, lpi=lpi) for name in names), shop=shop)
    assert again == chosen


def test_a_white_straight_on_the_cloth_takes_the_mesh_of_a_base() -> None:
    """A lead prints white on natural cotton through 110 to 156; on a base the same white is a colour at 195."""
    white = replace(need("white"), colour="#fafafa", lab=(98.3, 0.0, 0.0))
    assert 110 <= (choose(white)["white"].mesh_per_inch or 0) <= 156
    assert (choose(need("red"))["red"].mesh_per_inch or 0) >= 190


@pytest.mark.parametrize(
    ("lightness", "cloth", "based", "like_a_base"),
    [(84.0, "#141416", False, True), (84.0, "#141416", True, False), (84.0, "#f0ead8", False, False),
     (44.0, "#141416", False, False)],
)  # fmt: skip
def test_a_light_colour_on_bare_dark_cloth_hides_it_like_a_base(
    lightness: float, cloth: str, based: bool, like_a_base: bool
) -> None:
    """A colour aims at 195, a base at 156 (the ranges of the trade files); the base carries it by 30 cm²."""
    colour, base = replace(need("straw"), lab=(lightness, 4.0, 50.0)), need("white base")
    steps = steps_of(*((base, colour) if based else (colour,)))
    group = replace(steps.groups[0], garment=Garment(colour=cloth))
    steps = replace(steps, groups=(group,), overlaps={frozenset(("straw", "white base")): 30.0})
    chosen = choose_screens(steps, shop=SHOP, press=PRESS, overrides={}, halftone_ruling_lpi=None)[-1]
    assert chosen.mesh_per_inch == (156 if like_a_base else 195)


def test_a_halftone_base_on_fleece_keeps_its_halftone_mesh_and_says_no_other() -> None:
    base = choose(need("white base", kind=Kind.HALFTONE, lpi=45), fabric="fleece")["white base"]
    assert base.mesh_per_inch == choose(need("white base", kind=Kind.HALFTONE, lpi=45))["white base"].mesh_per_inch
    assert base.shaped_by[0].text.startswith("230/in is aimed at for a base")
    assert "fleece" not in base.shaped_by[0].source
    assert "outside-usual-range" not in rules(base)


def test_an_entered_count_near_a_stock_one_says_what_was_taken() -> None:
    chosen = choose(need("red"), overrides={"red": Override(mesh_per_inch=123)})["red"]
    assert chosen.mesh_per_inch in (123, 124, 125)
    assert any("You entered 123/in" in reason.text for reason in chosen.shaped_by)
    if chosen.mesh_per_inch != 123:
        assert any("is taken for it" in reason.text for reason in chosen.shaped_by)


def test_a_metric_shop_reads_counts_per_cm() -> None:
    shop = shop_of((61, 64, 5))
    shop = shop.model_copy(update={"policies": Policies(units=Units.METRIC)})
    choice = choose(need("red", kind=Kind.HALFTONE, lpi=45), shop=shop)["red"]
    told = "17.7 lines per cm need 63/cm or more (3.5 threads a line); this mesh has 61/cm."
    assert choice.nearest == f"No stock screen fits. The nearest, 61-64 per cm, misses: {told}"


def test_a_thread_that_was_asked_for_and_a_mesh_of_which_there_is_none() -> None:
    thin = choose(need("red"), shop=shop_of((61, 64, 5)), overrides={"red": Override(thread_um=48)})["red"]
    assert "you asked for a thread of 48 µm; this mesh has 64." in (thin.nearest or "")
    gone = choose(need("red"), shop=shop_of((61, 64, 0)), overrides={"red": Override(mesh_per_inch=156)})["red"]
    assert gone.nearest == "The entered mesh, 156/in (61-64), has none in stock."
    used_up = choose(need("red"), shop=shop_of((61, 64, 0)))["red"]
    assert used_up.nearest == "No stock screen is left. The nearest, 156/in (61-64), has none in stock."
