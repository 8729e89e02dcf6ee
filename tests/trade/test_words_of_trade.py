"""What the trade files tell a person comes from the catalogue, in each language."""

from __future__ import annotations

import pytest

from setupassist.documents.terms import InkSystem, Role
from setupassist.resource_files import read_toml
from setupassist.trade.cautions import cautions
from setupassist.trade.fabrics import Fabric, fabric_of
from setupassist.trade.inks import particle_um, typical_ink
from setupassist.trade.mesh import woven
from setupassist.trade.typical import Typical
from setupassist.words import Said, Words, ids, languages, words_in

X = Words("en", lambda part: "".join("x" if char.isalpha() else char for char in part))


def letters(text: str) -> set[str]:
    return {char for char in X(text) if char.isalpha()}


@pytest.mark.parametrize("name", list(cautions()))
def test_every_caution_is_worded_with_its_source(name: str) -> None:
    caution, spanish = cautions()[name], words_in("es")
    for text in (caution.text, caution.source, caution.cited):
        assert isinstance(text, Said)
        assert letters(text) == {"x"}
    assert spanish(caution.text) != caution.text
    assert spanish(caution.text).endswith(".")
    # nothing left out: a safety text in Spanish is about as long as in English, or longer
    assert len(spanish(caution.text)) > 0.9 * len(caution.text)


def test_the_catalogue_holds_no_caution_that_the_file_lacks() -> None:
    file = read_toml("trade/cautions.toml")["caution"]
    told = {key for key in ids("en") if key.startswith("cautions.")}
    assert told == {f"cautions.text.{entry['id']}" for entry in file} | {entry["source"] for entry in file}


@pytest.mark.parametrize("language", languages())
def test_figures_in_a_caution_are_the_same_in_every_language(language: str) -> None:
    words = words_in(language)
    assert "129 °C (265 °F)" in words(cautions()["dye-migration"].text)
    for number in ("6", "8"):
        assert number in words(cautions()["discharge-pot-life"].text)
    assert "29 CFR 1910.147" in words(cautions()["stop-and-lock-out"].source)


@pytest.mark.parametrize("system", list(InkSystem))
@pytest.mark.parametrize("role", list(Role))
def test_every_typical_ink_is_worded(system: InkSystem, role: Role) -> None:
    ink = typical_ink(system, role)
    ranges = [r.cited for r in (ink.cure_temperature, ink.cure_time, ink.gel_temperature) if r is not None]
    typicals = [t.cited for t in (ink.density, ink.particle, ink.residue) if t is not None]
    for text in (
        *ranges,
        *typicals,
        *(part for note in ink.notes for part in note),
        particle_um(None, system, role)[1],
    ):
        assert isinstance(text, Said)
        assert letters(text) == {"x"}
        assert words_in("es")(text)


def test_every_cloth_is_worded() -> None:
    for name in read_toml("trade/fabrics.toml"):
        fabric = fabric_of(name)
        assert isinstance(fabric, Fabric)
        assert fabric.words == name
        assert letters(fabric.words) == {"x"}
        for change in (fabric.off_contact, fabric.base_mesh, fabric.squeegee_hardness):
            assert change is None or (isinstance(change, Typical) and letters(change.cited) == {"x"})
    fleece = fabric_of("fleece")
    assert fleece is not None
    assert words_in("es")(fleece.words) == "felpa"


def test_a_mesh_is_named_in_the_readers_words() -> None:
    name = woven(61, 64).name
    assert name == "156/in (61-64)"
    assert words_in("es")(name) == "156/pulg (61-64)"
    assert letters(name) == {"x"}


@pytest.mark.parametrize(("thread", "opening"), [(200.0, None), (64.0, 170.0)])
def test_a_mesh_that_cannot_be_is_told_in_words(thread: float, opening: float | None) -> None:
    with pytest.raises(ValueError, match="opening") as raised:
        woven(61, thread, measured_opening_um=opening)
    assert letters(raised.value.args[0]) <= {"x", "µ"}
    assert "µm" in words_in("es")(raised.value.args[0])
