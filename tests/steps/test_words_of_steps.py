"""Every sentence of the decision table and the steps comes from the catalogue, in each language, with its figures."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from setupassist.documents.base import read_document
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.errors import InputFault
from setupassist.resource_files import read_toml
from setupassist.steps.decisions import Row, say_figures, shipped_rows, table_of
from setupassist.steps.figures import figures_of, listed
from setupassist.steps.questions import answer_words, catalogue, name_of
from setupassist.steps.scene import Cloth, Scene
from setupassist.words import Said, Words, fields_of, ids, languages, words_in

NAVY = {"name": "T1", "colour": "#20305a", "fibre": "cotton", "fabric": "F1"}
X = Words("en", lambda part: "".join("x" if char.isalpha() else char for char in part))


def ink(name: str, colour: str, area: float = 60, **more: Any) -> dict[str, Any]:
    return {"name": name, "colour": colour, "ink_area_cm2": area, **more}


RED, TEAL, BLACK, WHITE = ink("R", "#c8202f"), ink("T", "#2a7f86"), ink("K", "#17171a", 30), ink("W", "#fdfdfb")
BASE = ink("B", "#f4f4f2", 120, role="base")
PUFF, GLITTER = ink("P", "#ffffff", 10, role="puff"), ink("G", "#c0c0c4", 9, role="glitter")
TOP = ink("H", "#fdfdfb", 20, role="highlight")


@pytest.fixture
def figures(monkeypatch: pytest.MonkeyPatch, desk: Any) -> dict[str, Any]:
    """The figures of some job, as the steps work them out."""
    seen: list[Scene] = []

    def seeing(scene: Scene) -> dict[str, Any]:
        seen.append(scene)
        return figures_of(scene)

    monkeypatch.setattr("setupassist.steps.questions.figures_of", seeing)
    overlaps = [["B", "R", 50], ["R", "G", 5], ["R", "H", 5], ["T", "K", 4]]
    desk.steps(BASE, RED, TEAL, BLACK, GLITTER, TOP, overlaps=overlaps, garment=NAVY)
    return figures_of(seen[-1]) | {"systems_missing": 2}


def figures_one_and_many(figures: dict[str, Any]) -> list[dict[str, Any]]:
    counts = [name for name, value in figures.items() if isinstance(value, int)]
    return [figures | dict.fromkeys(counts, count) for count in (0, 1, 2)]


def shipped_questions() -> list[str]:
    return [entry["id"] for entry in read_toml("trade/decisions.toml")["question"]]


# the table: every row, every question, every answer, in every language


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("row", shipped_rows(), ids=lambda row: row.id)
def test_every_row_says_why_and_from_where(row: Row, language: str, figures: dict[str, Any]) -> None:
    words = words_in(language)
    for told in figures_one_and_many(figures):
        reason = row.reason(told)
        assert isinstance(reason, Said)
        assert len(words(reason)) > 10
        assert "{" not in words(reason)
        for name in fields_of(f"decisions.reason.{row.id}"):
            shown = words(told[name]) if isinstance(told[name], str) else str(told[name])
            assert shown in words(reason)
    assert isinstance(row.source, Said)
    assert row.source != "common practice: common practice"
    assert (words(row.source) == row.source) == (language == "en")


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("qid", shipped_questions())
def test_every_question_is_worded(qid: str, language: str, figures: dict[str, Any]) -> None:
    kind, words = catalogue()[qid], words_in(language)
    assert words(kind.text).endswith("?")
    for told in figures_one_and_many(figures):
        assert words(kind.says(told)).endswith(".")
    assert words(name_of(qid))
    assert words(name_of(f"{qid} for T1")).endswith("T1")
    for answer in kind.answers:
        assert isinstance(answer_words(answer), Said)
        assert "-" not in words(answer_words(answer)) or answer == "water-based"


def test_names_of_questions_and_answers_that_no_list_has() -> None:
    assert name_of("base-hits for red tee") == "base hits for red tee"
    assert words_in("es")(name_of("base-hits for red tee")) == "pasadas de la base para red tee"
    assert words_in("es")(name_of("colour-of zorp")) == "color de zorp"
    assert name_of("nonesuch") == "nonesuch"
    assert answer_words("45") == "45"
    assert answer_words("#808080") == "#808080"


def test_the_catalogue_holds_no_row_question_or_source_that_the_table_lacks() -> None:
    table = read_toml("trade/decisions.toml")
    entries = ids("en")

    def told(topic: str) -> set[str]:
        lead = f"decisions.{topic}."
        return {key.removeprefix(lead).partition(".")[0] for key in entries if key.startswith(lead)}

    rows = {row["id"] for row in table["decision"]}
    assert told("reason") == rows | {"colour-of", "no-row"}
    assert told("question") == set(shipped_questions()) | {"colour-of", "for-group"}
    assert told("answer") == {a for entry in table["question"] for a in entry.get("answers", ())}
    assert {f"decisions.source.{slug}" for slug in told("source")} == (
        {row["source"] for row in table["decision"]}
        | {"decisions.source.this-job", "decisions.source.this-shop", "decisions.source.stand-in"}
    )
    assert told("no-room") == {row["id"] for row in table["decision"] if row["id"].startswith("no-room-")}


def test_a_count_chooses_between_one_and_other_where_the_text_has_both() -> None:
    entries = ids("en")
    for row in shipped_rows():
        assert bool(row.count) == (not isinstance(entries[f"decisions.reason.{row.id}"], str)), row.id
    for qid, kind in catalogue().items():
        assert bool(kind.count) == (not isinstance(entries[f"decisions.question.{qid}.says"], str)), qid


@pytest.mark.parametrize("row", [row for row in shipped_rows() if row.id.startswith("no-room-")], ids=lambda r: r.id)
def test_what_is_given_up_is_said_as_a_note_with_the_same_figures(row: Row, figures: dict[str, Any]) -> None:
    reason = row.reason(figures)
    assert isinstance(reason, Said)
    for count in (1, 2):
        note = say_figures(f"decisions.no-room.{row.id}", figures | {"count": count}, "count")
        assert isinstance(note, Said)
        assert all(words_in(language)(note).endswith(".") for language in languages())
        assert set(note.values) <= set(reason.values) | {"count"}
    with pytest.raises(KeyError):
        say_figures(f"decisions.reason.{row.id}", {}, row.count or "missing")


def test_figures_agree_in_number(figures: dict[str, Any]) -> None:
    says = catalogue()["flash-after-base"].says
    assert says(figures | {"on_base": 1, "on_base_cm2": "9.0"}) == "1 ink lies on it, 9.0 cm²."
    assert says(figures | {"on_base": 3, "on_base_cm2": "9.0"}) == "3 inks lie on it, 9.0 cm² together."
    spanish = words_in("es")(says(figures | {"on_base": 1, "on_base_cm2": "9.0"}))
    assert spanish == "1 tinta va encima, 9.0 cm²."


def test_names_are_listed_in_the_readers_language() -> None:
    spanish = words_in("es")
    assert (listed([]), listed(["a"]), listed("ab"), listed("abc")) == ("none", "a", "a and b", "a, b and c")
    assert [spanish(listed(names)) for names in ((), "a", "ab", "abc")] == ["ninguna", "a", "a y b", "a, b y c"]


# a shop's own rows stay its own words


def test_a_shops_own_row_is_filled_but_not_translated(desk: Any) -> None:
    row = {"id": "layer-highlight", "suggest": "yes", "reason": "we own {flash_units} units, {units_told}"}
    desk.shop["decisions"] = [row]
    steps = desk.steps(BASE, RED, TOP, overlaps=[["R", "H", 9]], garment=NAVY)
    question = next(q for q in steps.questions if q.id == "flash-before-highlight")
    assert question.reason == "we own 2 units, 2 flash units"
    assert words_in("es")(question.reason) == question.reason
    assert question.source == "this shop"
    assert words_in("es")(question.source) == "este taller"
    table, _ = table_of(Shop.model_validate({**desk.shop, "screens": (), "decisions": ()}))
    assert [r.own_reason for r in table.rows] == [None] * len(table.rows)


def test_a_shops_own_row_about_want_of_room_is_told_as_a_note_in_its_words(desk: Any) -> None:
    desk.shop["decisions"] = [{"id": "no-room-for-base", "suggest": "none", "reason": "too small for {weak_inks}"}]
    desk.press |= {"stations": 4, "unload": 4, "heads": [2, 3], "flash_slots": [3], "flash_units": 1}
    steps = desk.steps(RED, TEAL, garment=NAVY)
    assert "Too small for R and T." in steps.notes


# whole jobs: nothing that a person reads stands in code


def rich(desk: Any) -> list[Any]:
    """Jobs that between them make the steps say nearly all that they can."""
    poly = {"name": "T2", "colour": "#a01020", "fibre": "polyester", "bleed_test": "strong", "fabric": "F2"}
    tri = {"name": "T3", "colour": "#3a3a3e", "fibre": "blend", "fabric": "tri-blend"}
    black = {"name": "T6", "colour": "#17171a", "fibre": "cotton", "fabric": "F6"}
    white = {"name": "T4", "colour": "#ffffff", "fibre": "cotton", "fabric": "F4"}
    groups = [{**NAVY, "pieces": 10}, {**poly, "pieces": 10}, {**white, "pieces": 10}]
    overlaps = [["B", "R", 50], ["B", "T", 40], ["R", "K", 20], ["R", "H", 5], ["R", "P", 5], ["R", "G", 5]]
    all_inks = (BASE, RED, TEAL, BLACK, TOP, PUFF, GLITTER)
    blends = [{**one, "kind": "halftone"} for one in (RED, TEAL, BLACK)]
    listed_late = (RED, BLACK, TOP, TEAL, BASE)
    made = [
        desk.steps(*all_inks, overlaps=overlaps, garments=groups, answers={"tests": "3", "base-colour": "grey"}),
        desk.steps(*all_inks, overlaps=overlaps, garment=NAVY, answers={"base": "none", "drop-black": "yes"}),
        desk.steps(*all_inks, overlaps=overlaps, garment=NAVY, answers={"base": "under-some"}),
        desk.steps(RED, TEAL, garment=tri, system="silicone"),
        desk.steps(RED, TEAL, garment=poly, answers={"blocker": "no"}),
        desk.steps(RED, {"name": "Z", "ink_area_cm2": 9}, garment=white, system=None),
        desk.steps(RED, TEAL, ink("E", "#ffffff", 0, kind="empty"), garment=white, system="water-based"),
        desk.steps(*blends, garment=white, flash_between=[["R", "T"]], answers={"order-supplied": "as-listed"}),
        desk.steps(*listed_late, overlaps=overlaps[:4], garment=NAVY, answers={"order-supplied": "as-listed"}),
        desk.steps(RED, TEAL, BLACK, overlaps=[["R", "T", 9], ["R", "K", 4]], garment=NAVY, system="acrylic"),
        desk.steps(RED, TEAL, garment=NAVY, system="discharge", order=[["R", "white base"]]),
        desk.steps(BASE, RED, overlaps=overlaps[:1], garment=NAVY, order=[["R", "B"]], no_flash_between=[["B", "R"]]),
        desk.steps(BASE, RED, overlaps=overlaps[:1], garment=NAVY, no_flash_between=[["B", "R"]]),
        desk.steps(RED, BLACK, overlaps=[["R", "K", 1]], garments=[{**black, "pieces": 5}, {**white, "pieces": 5}]),
        desk.steps(RED, BLACK, overlaps=[["R", "K", 1]], garments=[{**NAVY, "pieces": 5}, {**poly, "pieces": 5}]),
        desk.steps(BLACK, garment=NAVY, answers={"base": "under-some"}),
        desk.steps(ink("D", "#5a5a5c", role="blocker"), RED, garment=NAVY, answers={"blocker": "no"}),
        desk.steps(
            {**RED, "kind": "tone"}, TEAL, garment={"name": "T5"}, no_flash_between=[["R", "T"]], system="acrylic"
        ),
        desk.steps(RED, TEAL, garment=NAVY, no_flash_between=[["R", "T"]], system="acrylic", answers={"base": "none"}),
        desk.steps(*blends, ink("W", "#f4f4f2", kind="tone"), garment=white, flash_between=[["R", "T"], ["R", "W"]]),
        desk.steps(RED, PUFF, GLITTER, overlaps=[["R", "P", 5], ["P", "G", 4]], garment=white),
    ]
    desk.press |= {"stations": 6, "unload": 6, "heads": [2, 3, 4, 5], "flash_slots": [3], "flash_units": 1}
    made += [
        desk.steps(RED, TEAL, garment=poly),
        desk.steps(RED, TEAL, BLACK, overlaps=[["R", "T", 9], ["R", "K", 4]], garment=white, system="acrylic"),
        desk.steps(
            RED, TEAL, BLACK, overlaps=[["R", "T", 9]], garment=NAVY, system="acrylic", answers={"base": "none"}
        ),
        desk.steps(RED, GLITTER, overlaps=[["R", "G", 5]], garment=NAVY),
        desk.steps(WHITE, BLACK, TEAL, RED, overlaps=[["W", "K", 5]], garment=NAVY, answers={"base": "none"}),
    ]
    desk.press |= {"stations": 4, "unload": 4, "heads": [2, 3]}
    made += [desk.steps(RED, TEAL, garment=NAVY)]
    return made


def test_nothing_that_the_steps_tell_stands_in_code(desk: Any, worded: Any) -> None:
    own = [*"RTKWBPGHEZD", *(f"T{i}" for i in range(1, 7)), "tri-blend", "jersey", "F1", "F2", "F4", "F6"]
    for steps in rich(desk):
        worded(steps, own)


def test_the_look_through_would_find_a_sentence_in_code(desk: Any, worded: Any) -> None:
    steps = desk.steps(RED, garment=NAVY)
    with pytest.raises(AssertionError):
        worded(replace(steps, notes=("Print it all.",)), ["R", "T1", "F1"])


def test_notes_of_a_garment_keep_their_words_in_another_language(desk: Any) -> None:
    poly = {"name": "T2", "colour": "#a01020", "fibre": "blend", "polyester_share": 0.5, "pieces": 5}
    steps = desk.steps(RED, garments=[{**NAVY, "pieces": 5}, poly])
    notes = [words_in("es")(note) for note in steps.notes]
    assert any(note.startswith("T2: Tela teñida con 50 % de poliéster, prueba de sangrado sin hacer") for note in notes)


FAULTY: list[tuple[dict[str, Any], str]] = [
    ({"order": [["R", "T"], ["T", "R"]]}, "da vueltas en círculo: 'T' antes que 'R' antes que 'T'"),
    ({"order": [["R", "Q"]]}, "'Q' no es una tinta de este trabajo"),
    ({"no_flash_between": [["R", "R"]]}, "'R' hace par consigo misma"),
    ({"flash_between": [["R", "T"]], "no_flash_between": [["R", "T"]]}, "se pide y se prohíbe a la vez"),
    ({"answers": {"base": "perhaps"}}, "'perhaps' no es ninguna de estas: none, as-separated, under-some, under-all"),
    ({"answers": {"bases": "none"}}, "no hay tal pregunta"),
    ({"answers": {"pieces": "many"}}, "'many' no es un número"),
    ({"answers": {"pieces": "1.5"}}, "'1.5' no es un número entero"),
    ({"answers": {"spoilage": "2"}}, "'2' no está entre 0 y 1"),
    ({"answers": {"colour-of R": "rouge"}}, "rouge"),
    ({"overlaps": [["R", "T", 99]]}, "'R' y 'T' se enciman en 99 cm², pero 'R' solo tiene 60 cm²"),
]


@pytest.mark.parametrize(("fields", "spanish"), FAULTY)
def test_faults_are_worded(desk: Any, fields: dict[str, Any], spanish: str) -> None:
    with pytest.raises(InputFault) as raised:
        desk.steps(RED, TEAL, garment=NAVY, **fields)
    fault = raised.value
    assert isinstance(fault.what, Said)
    assert isinstance(fault.remedy, Said)
    assert spanish in words_in("es")(fault.what)
    told = X(fault.what)
    for own in ("perhaps", "many", "rouge", "none", "as-separated", "under-some", "under-all", "R", "T", "Q"):
        told = told.replace(own, "")
    assert {char for char in told if char.isalpha()} <= {"x"}


@pytest.mark.parametrize(
    ("shop", "where", "what"),
    [
        ({"policies": {"decisions_off": ["xyz"]}}, "libro del taller, decisions_off", "'xyz' no es una fila"),
        (
            {"decisions": [{"id": "no-base-light-cloth", "suggest": "perhaps", "reason": "r"}]},
            "libro del taller, decisión no-base-light-cloth",
            "sugiere lo que no puede ser: 'perhaps' no es ninguna de estas",
        ),
    ],
)
def test_faults_of_the_shops_rows_are_worded(desk: Any, shop: dict[str, Any], where: str, what: str) -> None:
    desk.shop |= shop
    with pytest.raises(InputFault) as raised:
        desk.steps(RED, garment=NAVY | {"colour": "#ffffff"})
    spanish = words_in("es")
    assert spanish(raised.value.where) == where
    assert spanish(raised.value.what).startswith(what)


def test_a_scene_without_inks_still_has_all_figures(desk: Any) -> None:
    steps = desk.steps(RED, garment=NAVY)
    garment = steps.groups[0].garment
    cloth = Cloth(garment, garment.colour, garment.fibre, 0.0, garment.bleed_test)
    press = read_document(Press, desk.press, "press")
    bare = figures_of(Scene(cloth, (), {}, press, read_document(Shop, desk.shop, "shop.toml")))
    wanted = {name for row in shipped_rows() for name in fields_of(f"decisions.reason.{row.id}")}
    assert wanted <= set(bare)
    assert bare["weak_worst"] == "no ink"
    assert bare["wet_blends"] == ""
