"""The command in the language of its environment: help, tables and faults; documents stay English."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from setupassist import terminal
from setupassist.cli import main
from setupassist.documents.measure import Measure
from setupassist.documents.plan import (
    Clash,
    DryerLoad,
    Estimate,
    GroupRest,
    Plan,
    Reason,
    Slot,
    Strokes,
    WayOut,
    Wish,
)
from setupassist.documents.shop import Policies
from setupassist.documents.store import example_shop
from setupassist.documents.terms import Kind, Role, Severity, StrategyName
from setupassist.planner.wishes import WISHES
from setupassist.words import Words, ids, say, words_in

Left = Callable[..., str]
CODE = (
    "setupassist", "VERB", "FILE", "FOLDER", "PLATES", "JOB", "SECONDS", "NAME", "TEXT", "CODE", "N", "measure",
    "check", "base", "plates", "plan", "review", "sheet", "shop", "schema", "--choke", "--under",
    "LENGTH", "REPORT.pdf", "--help", "--version", "--json", "--shop", "--dpi",
    "--light-is-ink", "--base", "--strategy", "--page", "--time-limit", "--output", "--paper", "--units",
    "--language", "--date", "-h", "-o", "leanest", "cleanest", "quickest-changeover", "a4", "letter", "inch",
    "metric", "show", "edit", "import", "job", "action", "document", "en", "es",
)  # fmt: skip
VERBS = ("measure", "check", "base", "plates", "plan", "review", "sheet", "shop", "schema")


@pytest.fixture
def ask(crossed: Words, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """What the command prints, worded with an x for every letter of a catalogue."""

    def call(*arguments: str) -> str:
        with monkeypatch.context() as change:
            change.setattr("setupassist.cli._words", lambda: crossed)
            main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return out + err

    return call


@pytest.fixture
def spanish_run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Callable[..., str]:
    """What the command complains of where the environment is Spanish and the folder is empty."""
    monkeypatch.chdir(tmp_path)
    for name in ("SETUPASSIST_LANGUAGE", "LC_ALL", "LC_MESSAGES"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("LANG", "es_MX.UTF-8")

    def call(*arguments: str) -> str:
        assert main(list(arguments)) == 2
        out, err = capsys.readouterr()
        assert out == ""
        return err

    return call


@pytest.mark.parametrize("verb", [(), *((verb,) for verb in VERBS)])
def test_no_help_is_left_in_the_code(ask: Callable[..., str], left: Left, verb: tuple[str, ...]) -> None:
    told = ask(*verb, "--help")
    assert "xxxxx" in told
    assert left(" ".join(told.split()), CODE) == ""


@pytest.mark.parametrize(
    ("arguments", "spanish"),
    [
        (("plann",), "no es un verbo, y no hay tal archivo ni carpeta; ¿se quiso decir 'plan'?"),
        (("measure",), "faltan estos argumentos: PLATES"),
        (("schema", "jobs"), "elegir entre"),
        (("measure", "p", "--dpi", "much"), "número no válido: 'much'"),
        (("measure", "p", "--dpi"), "falta su valor"),
        (("measure", "p", "--json=3"), "no lleva valor, y se le dio '3'"),
        (("measure", "p", "--nonesuch"), "argumentos desconocidos: --nonesuch"),
        (("sheet", "j", "--p", "a4", "--u", "x", "-o", "f"), "opción no válida: 'x'"),
        (("sheet", "j", "--", "-o"), "faltan estos argumentos: -o/--output"),
        (("measure", "p", "--"), "p: no está"),
        (("measure", "p", "--l", "--dpi", "0"), "--dpi: debe estar entre 10 y 20000, no 0"),
        (("plates", "p"), "faltan estos argumentos: -o/--output"),
        (("plates", ".", "-o", "."), "es la carpeta de donde se leen las placas; indicar otra carpeta"),
        (("plates", "p", "-o", "f"), "p: no está"),
        (("measure", ""), "un nombre de archivo está vacío o contiene un carácter nulo; indicar un archivo"),
        (("measure", "a" * 300), "es más largo de lo que puede ser un nombre de archivo; revisar el nombre"),
        (("plan", "none.json"), "no existe tal archivo o carpeta; revisar el nombre"),
        (("shop", "import"), "no se indicó ningún archivo; decir qué libro"),
        (("shop", "show", "x"), "no lleva archivo, pero se le dio 'x'"),
        (("shop", "--shop", "none.toml"), "none.toml: no existe tal archivo; revisar el nombre"),
    ],
)
def test_wrong_words_are_one_sentence_in_the_person_s_language(
    arguments: tuple[str, ...], spanish: str, ask: Callable[..., str], left: Left, spanish_run: Callable[..., str]
) -> None:
    own = (*CODE, *(word for word in arguments if word), "a" * 60)
    assert left(ask(*arguments), own) == ""
    told = spanish_run(*arguments)
    assert spanish in told
    assert len(told.strip().splitlines()) == 1


def test_an_ambiguous_option_is_said(ask: Callable[..., str], left: Left) -> None:
    told = ask("sheet", "j", "--", "x") + ask("plan", "j", "--s", "x")
    assert left(told, (*CODE, "j", "x", "--s")) == ""


def test_faults_of_the_machine_and_of_ours_are_worded(
    ask: Callable[..., str], left: Left, monkeypatch: pytest.MonkeyPatch, write_job: Callable[..., Path]
) -> None:
    job = str(write_job())

    def failing(error: BaseException) -> Callable[..., None]:
        def fail(*_: object, **__: object) -> None:
            raise error

        return fail

    for error in (KeyboardInterrupt(), MemoryError(), OSError(28, "No space left on device"), OSError(13, "", "x.tif")):
        monkeypatch.setattr("setupassist.pipeline.make_plan", failing(error))
        assert left(ask("plan", job), (*CODE, "x.tif")) == ""
    monkeypatch.setattr("setupassist.pipeline.make_plan", failing(ZeroDivisionError()))
    told = ask("plan", job).splitlines()
    assert told[-2] == "ZeroDivisionError"
    assert left(told[-1], CODE) == ""


def test_documents_stay_english(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, write_job: Callable[..., Path]
) -> None:
    told = []
    for language in ("en", "es"):
        monkeypatch.setenv("SETUPASSIST_LANGUAGE", language)
        for arguments in (["plan", str(write_job()), "--json"], ["shop", "--json"], ["schema", "plan"]):
            assert main(arguments) == 0
        told.append(capsys.readouterr().out)
    assert told[0] == told[1]
    json.loads(told[0][: told[0].index("\n}\n") + 3])


def reason() -> Reason:
    return Reason(rule="r", text=say("art.file.empty"), source="s")


def estimate(**change: Any) -> Estimate:
    return Estimate(
        **{
            "strokes": {"red": Strokes(per_piece=1, total=100)}, "cycle_seconds": 8, "paced_by": say("terms.role.base"),
            "extra_dwell_seconds": 0, "hand_paced": False, "pieces_per_hour": 450, "dozens_per_hour": 37.5,
            "run_minutes": 40, "ink_grams": {"red": 512}, "setup_minutes": 30,
            "dryer": DryerLoad(needed_m_per_min=2, limits_pace=False),
        } | change
    )  # fmt: skip


def plan(**change: Any) -> Plan:
    slots = (
        Slot(lap=1, station=2, holds="screen", ink="red", mesh_per_inch=156, mesh_per_cm=61, reasons=(reason(),)),
        Slot(lap=1, station=3, holds="flash", seconds=4, reasons=(reason(),)),
        Slot(lap=1, station=4, holds="screen", ink="red"),
    )
    wishes = tuple(Wish(name=key, value=1, bound=1, proven=n > 0) for n, key in enumerate(WISHES))
    groups = (
        GroupRest(garment="tee", rest=("red", say("terms.role.key"))),
        GroupRest(garment="tee"),
    )
    return Plan(
        **{
            "strategy": StrategyName.LEANEST, "feasible": True, "slots": slots, "wishes": wishes, "groups": groups,
            "assumed": ("order-supplied",), "notes": (say("art.file.empty"),), "press": "bench", "estimate": estimate(),
        } | change
    )  # fmt: skip


CLASH = Clash(
    limits=(say("documents.press.no-heads"),),
    ways_out=(WayOut(text=say("art.file.move-away"), change={}, works=True),),
)
PLANS = {
    "full": {},
    "by hand": {"estimate": estimate(hand_paced=True, setup_minutes=None)},
    "with dwell": {"estimate": estimate(extra_dwell_seconds=2, dryer=DryerLoad(needed_m_per_min=2, limits_pace=True))},
    "clash": {"feasible": False, "clash": CLASH},
    **{name.value: {"strategy": name} for name in StrategyName},
}


@pytest.mark.parametrize("metric", [True, False])
@pytest.mark.parametrize("change", list(PLANS))
def test_no_word_of_a_plan_s_tables_is_left_in_the_code(crossed: Words, left: Left, change: str, metric: bool) -> None:
    told = terminal.plan_tables(plan(**PLANS[change]), metric=metric, words=crossed)
    assert left(told, ("red", "tee", "bench", "order-supplied", "'heads'")) == ""
    assert terminal.plan_tables(plan(**PLANS[change]), metric=metric, words=words_in("es"))


@pytest.mark.parametrize("metric", [True, False])
def test_no_word_of_a_measure_s_tables_is_left_in_the_code(crossed: Words, left: Left, metric: bool) -> None:
    plates = [
        {"name": f"plate {n}", "role": role, "kind": kind, "ink_area_cm2": 1, "coverage": 0.5,
         "halftone": {"lines_per_inch": 45, "angle_deg": 22.5} if kind == "halftone" else None}
        for n, (role, kind) in enumerate([*((r, "solid") for r in Role), *(("colour", k) for k in Kind)])
    ]  # fmt: skip
    measure = Measure.model_validate_json(
        json.dumps(
            {
                "art": {"source": "folder", "width_mm": 9, "height_mm": 9, "pixels_per_cm": 118,
                        "art_box_mm": [1, 1, 2, 2]},
                "plates": plates,
                "contacts": [{"plates": ["plate 0", "plate 1"], "overlap_cm2": 2}],
                "findings": [{"code": "specks", "severity": severity, "text": "told"} for severity in Severity],
            }
        )
    )  # fmt: skip
    told = terminal.measure_tables(measure, metric=metric, words=crossed)
    assert left(told, ("plate", "folder", "told")) == ""
    plain = measure.model_copy(update={"art": measure.art.model_copy(update={"pixels_per_cm": None})})
    assert left(terminal.measure_tables(plain, metric=metric, words=crossed), ("plate", "folder", "told")) == ""


@pytest.mark.parametrize("units", ["inch", "metric"])
def test_no_word_of_the_shop_s_tables_is_left_in_the_code(crossed: Words, left: Left, units: str) -> None:
    shop = example_shop()
    policies = shop.policies.model_copy(update={"units": units, "decisions_off": ("a-row",)})
    told = terminal.shop_tables(shop.model_copy(update={"policies": policies}), words=crossed)
    entries = (*shop.presses, *shop.inks, *shop.flash_units, *shop.dryers)
    own = [shop.name, "a-row", *(entry.name for entry in entries), *(ink.colour or "" for ink in shop.inks)]
    assert left(told, tuple(name for name in own if name)) == ""


def test_every_policy_and_wish_has_its_words() -> None:
    told = {key for key in ids("en") if key.startswith(("terminal.policy.", "terminal.wish."))}
    policies = {f"terminal.policy.{name}" for name in Policies.model_fields if name != "sources"}
    wishes = {f"terminal.wish.{name}" for name in WISHES}
    assert told == policies | wishes
