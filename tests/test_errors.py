"""Faults: English on one line as text, sentences that any face can word, and what comes from outside kept short."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable

import pytest

from setupassist.errors import (
    MOST_FAULTS_TOLD,
    Cancelled,
    InputFault,
    InputFaults,
    MachineFault,
    NoPlan,
    did_you_mean,
    one_line,
    recognised,
    system_reason,
    tidy,
)
from setupassist.words import Said, Words, ids, joined, say, words_in

ES = words_in("es")


@pytest.mark.parametrize(
    ("where", "remedy", "english", "spanish"),
    [
        ("a.png", "export it", "a.png: is empty; export it", "a.png: está vacío; export it"),
        ("a.png", "", "a.png: is empty", "a.png: está vacío"),
        ("", "export it", "is empty; export it", "está vacío; export it"),
        ("", "", "is empty", "está vacío"),
    ],
)
def test_a_fault_is_english_text_and_a_sentence_for_every_face(
    where: str, remedy: str, english: str, spanish: str
) -> None:
    fault = InputFault(where, say("art.file.empty"), remedy)
    assert str(fault) == english
    assert fault.sentences() == [english]
    assert [ES(sentence) for sentence in fault.sentences()] == [spanish]


def test_where_and_remedy_are_worded_too() -> None:
    where = say("errors.fault.file-and-field", file="job.json", field="order")
    fault = InputFault(where, say("documents.job.groups-alike"), did_you_mean("rde", ["red"]))
    assert ES(fault.sentence).endswith("¿se quiso decir 'red'?")
    assert str(fault).startswith("job.json, order: two garment groups")


def test_five_faults_at_most_are_told_in_any_language() -> None:
    faults = InputFaults(InputFault(f"{n}.png", say("art.file.empty")) for n in range(8))
    assert len(faults.sentences()) == MOST_FAULTS_TOLD
    assert faults.sentences()[-1] == "4.png: is empty (and 3 more)"
    assert ES(faults.sentences()[-1]) == "4.png: está vacío (y 3 más)"


def test_what_comes_from_outside_is_cut_and_on_one_line_and_the_sentence_stays() -> None:
    wild = "a\nb\x07" + "c" * 5000
    fault = InputFault(wild, say("errors.colour.no-colour", text=wild), did_you_mean("q", [wild, "w" * 900]))
    for told in (str(fault), *fault.sentences()):
        assert len(told) <= 300
        assert told.isprintable()
    assert "is no colour; write it as #rrggbb" in fault.sentence
    assert isinstance(fault.sentence, Said)


def test_a_long_list_is_cut_between_its_entries() -> None:
    names = joined(f"ink number {n}" for n in range(200))
    fault = InputFault("order", say("errors.near.known", names=names))
    assert len(fault.sentence) <= 300
    assert fault.sentence.endswith(", …")
    assert ES(fault.sentence).startswith("order: se conocen: ink number 0, ")


def test_tidying_keeps_ids_and_one_line_makes_plain_text() -> None:
    said = say("errors.colour.no-colour", text="a\tb")
    assert ES(tidy(said)) == "'a b' no es un color; escribirlo como #rrggbb"
    assert not isinstance(one_line(said), Said)
    assert one_line("x" * 400) == "x" * 299 + "…"


def test_other_errors_keep_what_was_said() -> None:
    assert ES(Cancelled().sentences()[0]) == "detenido; no se escribió nada"
    assert str(Cancelled()) == "stopped; nothing was written"
    assert ES(MachineFault(say("art.file.no-memory", file="a.png")).sentences()[0]).startswith("a.png: no alcanza")
    assert NoPlan("as it is").sentences() == ["as it is"]


@pytest.mark.parametrize(
    ("known", "english", "spanish"),
    [
        (["warm red"], "did you mean 'warm red'?", "¿se quiso decir 'warm red'?"),
        (["x", "y"], "known: x, y", "se conocen: x, y"),
        ([f"{n}" for n in range(9)], "known: 0, 1, 2, 3, 4, 5, 6, 7, …", "se conocen: 0, 1, 2, 3, 4, 5, 6, 7, …"),
        ([], "none is known", "no se conoce ninguno"),
    ],
)
def test_the_nearest_name_is_told(known: list[str], english: str, spanish: str) -> None:
    assert did_you_mean("warm rad", known) == english
    assert ES(did_you_mean("warm rad", known)) == spanish


def test_the_system_s_reasons_are_worded_as_it_words_them() -> None:
    named = {key.rpartition(".")[2] for key in ids("en") if key.startswith("errors.system.")}
    assert {"ENOENT", "EACCES", "ENOSPC"} <= named
    for name in named:
        number = getattr(errno, name)
        reason = system_reason(OSError(number, os.strerror(number)))
        assert reason == os.strerror(number)
        assert ES(reason) != reason
    assert system_reason(OSError("odd")) == "odd"
    assert system_reason(OSError(errno.ECHILD, "No child processes")) == "No child processes"


def test_a_library_s_sentence_is_recognised_with_its_values() -> None:
    said = recognised("Cannot declare ('inks', 'red') twice", "documents.toml-problem")
    assert isinstance(said, Said)
    assert said == "Cannot declare ('inks', 'red') twice"
    assert ES(said) == "('inks', 'red') se declara dos veces"
    assert not isinstance(recognised("never heard of", "documents.toml-problem"), Said)


def test_nothing_of_a_fault_is_left_in_the_code(crossed: Words, left: Callable[..., str]) -> None:
    faults = InputFaults(
        InputFault("a.png", say("art.plate.alike", name="red"), did_you_mean("grey", ["green"])) for _ in range(6)
    )
    assert [left(crossed(told), ("a.png", "red", "green")) for told in faults.sentences()] == [""] * 5
