"""What the panel of reasons tells: of a line by hand only what holds there, of the run each thing once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from setupassist.desk import edits, reasons
from setupassist.desk.desk import Desk
from setupassist.documents.plan import Slot
from setupassist.words import Said, Words, say, words_in
from tests.desk.conftest import work_off

GREY = "#808080"


def by_hand(desk: Desk, *things: tuple[int, str | None]) -> None:
    slots = [Slot(lap=1, station=at, holds="screen" if ink else "flash", ink=ink) for at, ink in things]
    desk.put(edits.arrangement(desk.job, slots, edits.say("desk.edit.field")).job)
    work_off(desk)


def keys(about: reasons.About) -> list[str]:
    return [one.text.key for one in about.told if isinstance(one.text, Said)]


def test_the_planners_line_is_told_with_the_planners_reasons(desk: Desk) -> None:
    work_off(desk)
    told = keys(reasons.about_screen(desk, "red"))
    assert "desk.reasons.put-by-hand" not in told
    assert any(key.endswith("-other-way-round") for key in told)


def test_a_screen_put_by_hand_tells_that_what_it_breaks_and_what_still_holds(desk: Desk) -> None:
    work_off(desk)
    by_hand(desk, (2, "black key"), (4, "white base"), (5, "yellow"))
    assert desk.results.made is not None
    broken = desk.results.made.plan.broken_limits
    for screen, at in (("black key", 2), ("white base", 4), ("yellow", 5)):
        about = reasons.about_screen(desk, screen)
        assert about.told[0].text == "Put here by hand."
        texts = [one.text for one in about.told]
        touching = [limit.text for limit in broken if (1, at) in limit.slots]
        assert touching
        assert texts[1 : 1 + len(touching)] == touching
        assert about.told[1].heading == "Limits that this line breaks"
        told = keys(about)
        assert not any(key.endswith("-other-way-round") for key in told)
        assert not {"planner.reason.earliest", "planner.reason.kept"}.intersection(told)


def test_a_screen_that_the_hand_made_line_lacks_is_not_said_to_be_put(desk: Desk) -> None:
    work_off(desk)
    by_hand(desk, (2, "white base"), (3, None), (5, "yellow"))
    about = reasons.about_screen(desk, "red")
    assert "desk.reasons.put-by-hand" not in keys(about)
    assert any("red" in one.text for one in about.told if one.heading == "Limits that this line breaks")


def test_a_flash_put_by_hand_tells_that_and_what_it_gels(desk: Desk) -> None:
    work_off(desk)
    by_hand(desk, (2, "white base"), (3, None), (5, "yellow"), (6, "red"), (7, "black key"))
    about = reasons.about_station(desk, 3, 1)
    assert about.told[0].text == "Put here by hand."
    assert about.told[1].heading == "What holds there all the same"
    assert about.told[1].text.startswith("gels white base before")


def with_notes(desk: Desk, notes: list[str], monkeypatch: pytest.MonkeyPatch) -> list[str]:
    made = desk.results.made
    assert made is not None
    noted = replace(made, plan=made.plan.model_copy(update={"notes": tuple(notes)}))
    results = replace(desk.results, made=noted)
    monkeypatch.setattr(Desk, "results", property(lambda _: results))
    return [one.text for one in reasons.about_run(desk).told]


def test_inks_whose_colour_nobody_tells_are_one_sentence(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    work_off(desk)
    unknown = [say("steps.note.colour-unknown", ink=f"ink {n}", colour=GREY) for n in range(1, 31)]
    told = with_notes(desk, [*unknown, say("steps.note.some-stay-wet")], monkeypatch)
    assert len(told) == 2
    assert told[0].startswith("Nothing tells the colours of ink 1, ink 2, ")
    assert f"ink 30: they are planned as grey {GREY}" in told[0]
    assert words_in("es")(told[0]).startswith("Nada dice los colores de ink 1, ")
    one = with_notes(desk, unknown[:1], monkeypatch)
    assert one == unknown[:1]


def test_other_notes_of_a_kind_are_told_up_to_six(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, crossed: Words, left: Callable[..., str]
) -> None:
    work_off(desk)
    alike = [say("steps.note.order-left-out", first=f"a{n}", later="b", why="c") for n in range(9)]
    told = with_notes(desk, [*alike, say("steps.note.some-stay-wet")], monkeypatch)
    assert told[:6] == alike[:6]
    assert told[6] == say("steps.note.some-stay-wet")
    assert told[7:] == ["And 3 more notes of the same kind; the sheet tells them."]
    assert left(crossed(told[7])) == ""
