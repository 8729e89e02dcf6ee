"""Several garment groups of one order: each its own needs, planned for the one that needs most."""

from __future__ import annotations

from typing import Any

import pytest

from setupassist.errors import InputFault


def ink(name: str, colour: str, area: float, **more: Any) -> dict[str, Any]:
    return {"name": name, "colour": colour, "ink_area_cm2": area, **more}


BASED = (ink("white base", "#f3f3f0", 120, role="base"), ink("yellow", "#f3c921", 70), ink("black", "#1c1c1e", 40))
OVERLAPS = [["white base", "yellow", 68], ["white base", "black", 30], ["yellow", "black", 4]]
BLACK = {"name": "black tee", "colour": "#17171a", "fibre": "cotton", "pieces": 100}
RED = {"name": "red tee", "colour": "#b01828", "fibre": "blend", "polyester_share": 0.5, "pieces": 60}
WHITE = {"name": "white tee", "colour": "#ffffff", "fibre": "cotton", "pieces": 128}


def needs(steps: Any) -> dict[str, tuple[str, ...]]:
    return {group.garment.name: group.screens for group in steps.groups}


def test_the_base_rests_on_white(desk: Any) -> None:
    steps = desk.steps(*BASED, overlaps=OVERLAPS, garments=[WHITE, BLACK, RED])
    assert steps.groups[steps.neediest].garment.name == "black tee"
    assert needs(steps) == {
        "white tee": ("yellow", "black"),
        "black tee": ("white base", "yellow", "black"),
        "red tee": ("white base", "yellow", "black"),
    }
    white = steps.groups[0]
    assert white.limits.flash_between == ()
    assert white.limits.order == ()
    assert steps.limits.flash_between == (("white base", "yellow"), ("white base", "black"))
    assert {"base", "base for white tee"} <= set(steps.assumed)
    assert "base for red tee" not in {q.id for q in steps.questions}


def test_an_answer_holds_for_the_groups_that_would_be_advised_alike(desk: Any) -> None:
    steps = desk.steps(*BASED, overlaps=OVERLAPS, garments=[BLACK, RED, WHITE], answers={"base": "none"})
    assert set(needs(steps).values()) == {("yellow", "black")}
    own = desk.steps(
        *BASED, overlaps=OVERLAPS, garments=[BLACK, RED, WHITE], answers={"base for white tee": "as-separated"}
    )
    assert needs(own)["white tee"] == ("white base", "yellow", "black")
    assert "base for white tee" not in own.assumed


def test_a_group_with_strong_bleed_brings_its_blocker(desk: Any) -> None:
    steps = desk.steps(*BASED, overlaps=OVERLAPS, garments=[BLACK, RED | {"bleed_test": "strong"}, WHITE])
    assert steps.groups[steps.neediest].garment.name == "red tee"
    assert needs(steps)["red tee"] == ("blocker", "white base", "yellow", "black")
    assert needs(steps)["black tee"] == ("white base", "yellow", "black")
    assert steps.limits.alone_until_flash == ("blocker", "white base")


def test_a_screen_that_only_a_smaller_group_needs_is_planned_too(desk: Any) -> None:
    inks = (*BASED[:2], ink("black", "#1c1c1e", 40))
    overlaps = [["white base", "yellow", 68]]
    # on black cloth the bare black is dropped, on red it is printed, and only the black tee takes a blocker
    black = {**BLACK, "fibre": "polyester", "bleed_test": "strong"}
    steps = desk.steps(*inks, overlaps=overlaps, garments=[black, {**RED, "fibre": "cotton", "polyester_share": 0.0}])
    found = needs(steps)
    assert found["black tee"] == ("blocker", "white base", "yellow")
    assert found["red tee"] == ("white base", "yellow", "black")
    assert {screen.ink for screen in steps.screens} == {"blocker", "white base", "yellow", "black"}
    assert any("needs black besides" in note for note in steps.notes)
    assert set(steps.standard_order) == {screen.ink for screen in steps.screens}
    for group in steps.groups:
        named = {ink for pair in group.limits.order for ink in pair} | set(group.limits.alone_until_flash)
        assert named <= set(group.screens)


def test_one_made_base_serves_every_group(desk: Any) -> None:
    inks = (ink("red", "#c8202f", 70), ink("royal", "#1d4f9c", 50))
    red = {"name": "red tee", "colour": "#c8202f", "fibre": "cotton", "pieces": 1}
    royal = {"name": "royal tee", "colour": "#1d4f9c", "fibre": "cotton", "pieces": 1}
    steps = desk.steps(*inks, garments=[red, royal])
    assert steps.answer("base") == "under-some"  # each hides cloth of its own colour
    bases = [screen for screen in steps.screens if screen.plate is None]
    assert len(bases) == 1
    assert set(bases[0].carries) == {"red", "royal"}
    assert bases[0].ink_area_cm2 > 110  # of 120 cm², less the choke
    for name, area in (("red", 70), ("royal", 50)):
        assert 0.9 * area < steps.overlaps[frozenset((bases[0].ink, name))] < area
    assert any("one screen for every garment" in note for note in steps.notes)
    for group in steps.groups:  # the one screen lies under both inks, whatever the cloth
        assert len(group.limits.flash_between) == 2


def test_the_base_has_one_colour_for_the_order(desk: Any) -> None:
    inks = (ink("royal", "#1d4f9c", 70), ink("yellow", "#f3c921", 50))
    yellow = {**RED, "name": "yellow tee", "colour": "#e8b820", "fibre": "cotton", "polyester_share": 0.0}
    garments = [{**RED, "fibre": "cotton", "polyester_share": 0.0}, yellow]
    steps = desk.steps(*inks, garments=garments, answers={"base-colour": "grey"})
    bases = [screen.ink for screen in steps.screens if screen.plate is None]
    assert bases == ["grey base"]


def test_groups_say_which_their_notes_are_for(desk: Any) -> None:
    steps = desk.steps(*BASED, overlaps=OVERLAPS, garments=[BLACK, RED, WHITE])
    assert any(note.startswith("red tee: Dyed cloth with 50 % polyester") for note in steps.notes)
    assert "dye-migration" in steps.cautions


def test_an_answer_for_a_stranger_among_the_groups_is_a_fault(desk: Any) -> None:
    with pytest.raises(InputFault, match="no such question"):
        desk.steps(*BASED, overlaps=OVERLAPS, garments=[BLACK, RED], answers={"base for green tee": "none"})


def test_a_base_printed_twice_for_fleece_is_printed_once_for_the_tee(desk: Any) -> None:
    hoodie = {**BLACK, "name": "hoodie", "fabric": "fleece"}
    steps = desk.steps(*BASED, overlaps=OVERLAPS, garments=[BLACK, hoodie])
    assert steps.screen("white base").prints == 2
    assert [group.prints["white base"] for group in steps.groups] == [1, 2]
    assert steps.answer("base-hits for black tee") == "two-strokes"
