from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setupassist.documents.terms import Role
from setupassist.trade.names import location_words, process_ink, process_inks, role_from_name
from setupassist.words import words_in


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("white base", Role.BASE),
        ("Base", Role.BASE),
        ("UNDER-BASE", Role.BASE),
        ("underbase_2", Role.BASE),
        ("under base", Role.BASE),
        ("blocker grey", Role.BLOCKER),
        ("black key", Role.KEY),
        ("top white", Role.HIGHLIGHT),
        ("highlight", Role.HIGHLIGHT),
        ("puff white", Role.PUFF),
        ("silver glitter", Role.GLITTER),
        ("gold metallic", Role.METALLIC),
        ("silver shimmer", Role.METALLIC),
        ("clear gel", Role.CLEAR),
        ("high-density white", Role.HIGH_DENSITY),
        ("foil adhesive", Role.ADHESIVE),
        ("reflective", Role.REFLECTIVE),
        ("smoothing screen", Role.SMOOTHING),
        ("white", Role.COLOUR),
        ("black", Role.COLOUR),
        ("gold", Role.COLOUR),
        ("silver", Role.COLOUR),
        ("baseball blue", Role.COLOUR),
        ("monkey brown", Role.COLOUR),
        ("key lime", Role.COLOUR),
        ("topwhite", Role.COLOUR),
        ("", Role.COLOUR),
        ("07", Role.COLOUR),
    ],
)
def test_role(name: str, role: Role) -> None:
    assert role_from_name(name) is role


@given(st.lists(st.sampled_from(["white", "base", "Key", "lime", "top", "puff", "gel", "7", "red"]), max_size=5))
def test_case_and_separators_do_not_matter(words: list[str]) -> None:
    roles = {role_from_name(joined) for joined in ("_".join(words), "-".join(words).upper(), " ".join(words).lower())}
    assert len(roles) == 1


def test_process_inks_by_their_whole_name() -> None:
    assert process_ink("process yellow") == "yellow"
    assert process_ink("Cyan") == "cyan"
    assert process_ink("light cyan") is None
    assert process_ink("yellow") is None
    assert process_ink("black") is None


def test_plain_yellow_and_black_are_process_inks_only_beside_cyan_and_magenta() -> None:
    assert process_inks(["yellow", "black", "red"]) == {}
    found = process_inks(["cyan", "magenta", "yellow", "black", "white base", "red"])
    assert found == {"cyan": "cyan", "magenta": "magenta", "yellow": "yellow", "black": "black"}
    assert process_inks(["cyan", "magenta", "process black", "black"])["process black"] == "black"
    assert "black" not in process_inks(["cyan", "magenta", "process black", "black"])


def test_of_a_black_and_a_key_beside_cyan_and_magenta_the_black_is_the_process_ink() -> None:
    for names in (["cyan", "magenta", "black", "key"], ["key", "black", "magenta", "cyan"]):
        assert process_inks(names) == {"cyan": "cyan", "magenta": "magenta", "black": "black"}


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("base blanca", Role.BASE), ("01-blanco luz", Role.HIGHLIGHT), ("negro línea", Role.KEY),
        ("oro metálico", Role.METALLIC), ("rojo ladrillo", Role.COLOUR), ("blanco", Role.COLOUR),
        ("azul luz", Role.COLOUR),
    ],
)  # fmt: skip
def test_spanish_names_tell_roles_too(name: str, role: Role) -> None:
    assert role_from_name(name) is role


def test_usual_locations_are_said_in_any_language_and_others_stay() -> None:
    assert location_words("left chest") == "left chest"
    assert words_in("es")(location_words("left chest")) == "pecho izquierdo"
    assert words_in("es")(location_words("Left pocket flap")) == "Left pocket flap"
