"""The command as a person and a program use it: documents out, one plain sentence a fault, the exit codes."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

WriteJob = Callable[..., Path]
Run = Callable[..., tuple[int, str, str]]


def plan_of(run: Run, job: Path, *more: str) -> dict[str, Any]:
    code, out, err = run("plan", job, "--json", *more)
    assert code == 0, err
    document = json.loads(out)
    assert isinstance(document, dict)
    return document


def stations(plan: dict[str, Any]) -> dict[str, int]:
    return {slot["ink"] or "flash": slot["station"] for slot in plan["slots"]}


@pytest.fixture
def plates(tmp_path: Path) -> Path:
    """A folder of two plates that overlap by exactly 1 cm², 300 dpi."""
    folder = tmp_path / "plates"
    folder.mkdir()
    for name, left in (("01-white_base", 20), ("02-warm-red", 138)):
        picture = np.full((300, 400), 255, np.uint8)
        picture[40:158, left : left + 236] = 0
        Image.fromarray(picture).save(folder / f"{name}.png", dpi=(300, 300))
    return folder


def test_measure_prints_the_contract_document(run: Run, plates: Path) -> None:
    code, out, _ = run("measure", plates, "--json")
    assert code == 0
    measure = json.loads(out)
    assert [p["name"] for p in measure["plates"]] == ["white base", "warm red"]
    assert [p["role"] for p in measure["plates"]] == ["base", "colour"]
    # 118 x 236 px at 300 dpi = 118 * 236 * (2.54 / 300)² cm²
    assert measure["plates"][0]["ink_area_cm2"] == pytest.approx(118 * 236 * (2.54 / 300) ** 2, rel=1e-3)
    assert measure["contacts"][0]["overlap_cm2"] == pytest.approx(118 * 118 * (2.54 / 300) ** 2, rel=0.01)
    assert measure["art"]["art_box_mm"] == pytest.approx(
        [20 * 0.08467, 40 * 0.08467, 354 * 0.08467, 118 * 0.08467], abs=0.1
    )
    assert measure["plates"][1]["finest_line_mm"] is None


def test_a_measure_document_can_be_planned(run: Run, plates: Path, write_job: WriteJob, tmp_path: Path) -> None:
    _, out, _ = run("measure", plates, "--json")
    (tmp_path / "measured.json").write_text(out)
    plan = plan_of(run, write_job(plates="measured.json", on_top=[]))
    assert stations(plan)["white base"] < stations(plan)["flash"] < stations(plan)["warm red"]


def test_missing_resolution_is_one_sentence(run: Run, plates: Path) -> None:
    for path in plates.iterdir():
        Image.open(path).save(path)
    code, out, err = run("measure", plates)
    assert (code, out) == (2, "")
    assert "resolution" in err
    assert "--dpi" in err
    assert len(err.strip().splitlines()) == 1
    assert run("measure", plates, "--dpi", "300")[0] == 0


def test_a_page_of_a_file_is_measured(run: Run, tmp_path: Path) -> None:
    first, second = np.full((60, 80), 255, np.uint8), np.full((60, 80), 255, np.uint8)
    first[:20], second[:30] = 0, 0
    pages = [Image.fromarray(page) for page in (first, second)]
    pages[0].save(tmp_path / "two.tif", save_all=True, append_images=pages[1:], dpi=(254, 254))
    _, out, _ = run("measure", tmp_path / "two.tif", "--page", "2", "--json")
    (plate,) = json.loads(out)["plates"]
    assert plate["ink_area_cm2"] == pytest.approx(30 * 80 / 100**2)
    code, out, err = run("measure", tmp_path / "two.tif", "--page", "3")
    assert (code, out) == (2, "")
    assert "has 2 pages, so there is no page 3" in err
    assert run("measure", tmp_path / "two.tif", "--page", "0")[0] == 2


def test_plates_of_different_sizes_are_a_finding_and_no_plan(run: Run, plates: Path, write_job: WriteJob) -> None:
    Image.fromarray(np.zeros((200, 100), np.uint8)).save(plates / "03-blue.png", dpi=(300, 300))
    code, out, _ = run("measure", plates, "--json")
    assert code == 0
    assert [f["code"] for f in json.loads(out)["findings"]] == ["sizes-differ"]
    code, out, err = run("plan", write_job(plates="plates", on_top=[]))
    assert (code, out) == (2, "")
    assert "blue" in err
    assert len(err.strip().splitlines()) == 1


def test_a_reversed_set_is_a_finding(run: Run, plates: Path) -> None:
    code, out, _ = run("measure", plates, "--light-is-ink", "--json")
    assert code == 0
    assert "looks-reversed" in {f["code"] for f in json.loads(out)["findings"]}


def test_plan_follows_base_flash_colours_key(run: Run, write_job: WriteJob) -> None:
    plan = plan_of(run, write_job())
    at = stations(plan)
    assert at == {"white base": 2, "flash": 3, "yellow": 5, "red": 6, "black key": 7}
    assert all(wish["proven"] for wish in plan["wishes"])
    assert ["white base", "yellow"] in plan["limits"]["flash_between"]
    assert ["yellow", "black key"] in plan["limits"]["order"]
    assert all(slot["reasons"] for slot in plan["slots"])
    assert plan["estimate"]["strokes"]["yellow"]["total"] == 108  # 100 + 6 tests + ceil(2 % of 100)


def test_a_plan_is_the_planner_s_own_and_tells_of_a_line_arranged_by_hand(
    run: Run, write_job: WriteJob, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = run("plan", write_job(), "--json")
    assert own[2] == ""
    by_hand = [{"lap": 1, "station": 9, "holds": "screen", "ink": "yellow"}]
    code, out, err = run("plan", write_job(arrangement=by_hand), "--json")
    assert (code, out) == own[:2]
    assert err == (
        "setupassist: the job holds a line arranged by hand, which the sheet prints; "
        "this plan is the planner's own line\n"
    )
    monkeypatch.setenv("SETUPASSIST_LANGUAGE", "es")
    code, _, err = run("plan", write_job(arrangement=by_hand))
    assert code == 0
    assert err.startswith("setupassist: el trabajo trae una línea acomodada a mano, que la hoja imprime;")


def test_the_colours_of_figures_decide_harm_and_a_shop_of_ones_own_overrules_them(
    run: Run, write_job: WriteJob, tmp_path: Path
) -> None:
    """The example shop has a yellow and a red too, but they are nobody's."""
    from setupassist.films.harm import shifts

    plan = plan_of(run, write_job())
    at = {name: n for n, name in enumerate(plan["harm"]["inks"])}
    shift = shifts([(43.0, 62.0, 40.0), (82.0, 5.0, 78.0)])[0, 1]  # red into yellow, by Lab
    assert plan["harm"]["matrix"][at["red"]][at["yellow"]] == pytest.approx(shift * (1 + 0.05 * 55), abs=0.051)
    book = tmp_path / "own.toml"
    book.write_text('format = "setupassist-shop/1"\nname = "Own"\n[[inks]]\nname = "red"\ncolour = "#ff00ff"\n')
    own = plan_of(run, write_job(), "--shop", str(book))
    assert own["harm"]["matrix"][at["red"]][at["yellow"]] != plan["harm"]["matrix"][at["red"]][at["yellow"]]


def test_a_pin_and_an_empty_station_are_kept(run: Run, write_job: WriteJob) -> None:
    at = stations(plan_of(run, write_job(pins={"red": 8}, keep_empty=[5])))
    assert at["red"] == 8
    assert 5 not in at.values()


def test_clashing_limits_exit_3_and_are_named(run: Run, write_job: WriteJob) -> None:
    job = write_job(pins={"red": 5}, keep_empty=[5])
    code, out, _ = run("plan", job, "--json")
    plan = json.loads(out)
    assert code == 3
    assert not plan["feasible"]
    assert plan["slots"] == []
    assert any("5" in limit for limit in plan["clash"]["limits"])
    assert plan["limits"]["order"]
    assert plan["harm"]["matrix"]
    assert run("sheet", job, "-o", job.with_suffix(".pdf"))[0] == 3
    assert not job.with_suffix(".pdf").exists()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"order": [["red", "yellow"], ["yellow", "red"]]}, "red"),
        ({"pins": {"read": 5}}, "did you mean 'red'"),
        ({"pins": {"red": 11}}, "11"),
        ({"on_top": [["black", "yellow"]]}, "did you mean 'black key'"),
        ({"press": "Lon bench"}, "did you mean 'Long bench'"),
        ({"plates": "../elsewhere"}, "leaves the job's folder"),
        ({"plates": "nothing-here"}, "nothing-here"),
        ({"answers": {"base": "maybe"}}, "maybe"),
        ({"answers": {"bas": "none"}}, "did you mean 'base'"),
        ({"overrides": {"blue": {"strokes": 2}}}, "blue"),
        ({"arrangement": [{"lap": 1, "station": 40, "holds": "screen", "ink": "red"}]}, "40"),
    ],
)
def test_a_job_that_contradicts_itself_is_one_sentence(
    run: Run, write_job: WriteJob, change: dict[str, Any], said: str
) -> None:
    job = write_job(**change)
    code, out, err = run("sheet", job, "-o", job.with_suffix(".pdf"))
    assert code == 2
    assert out == ""
    assert said in err
    assert "Traceback" not in err
    assert len(err.strip().splitlines()) == 1
    assert not job.with_suffix(".pdf").exists()


def test_a_hand_made_arrangement_is_printed_with_what_it_breaks(run: Run, write_job: WriteJob, tmp_path: Path) -> None:
    import pypdfium2

    slots = [
        {"lap": 1, "station": 2, "holds": "screen", "ink": "yellow"},
        {"lap": 1, "station": 3, "holds": "flash"},
        {"lap": 1, "station": 4, "holds": "screen", "ink": "white base"},
        {"lap": 1, "station": 6, "holds": "screen", "ink": "red"},
        {"lap": 1, "station": 7, "holds": "screen", "ink": "black key"},
    ]
    out = tmp_path / "hand.pdf"
    code, _, err = run("sheet", write_job(arrangement=slots), "-o", out)
    assert code == 0, err
    with pypdfium2.PdfDocument(out) as pdf:
        text = " ".join(pdf[0].get_textpage().get_text_range().split())
    assert "white base" in text
    assert "arranged by hand, breaks" in text


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("units", ["inch", "metric"])
def test_the_sheet_is_a_pdf_on_the_paper_asked_for(
    run: Run, write_job: WriteJob, tmp_path: Path, paper: str, units: str
) -> None:
    import pypdfium2

    out = tmp_path / "sheet.pdf"
    code, said, err = run("sheet", write_job(), "-o", out, "--paper", paper, "--units", units, "--date", "1 May")
    assert (code, err) == (0, "")
    assert said.strip() == str(out)
    with pypdfium2.PdfDocument(out) as pdf:
        size = sorted(round(side) for side in pdf[0].get_size())
        text = pdf[0].get_textpage().get_text_range()
    assert size == ([595, 842] if paper == "a4" else [612, 792])
    assert "1 May" in text
    assert "yellow" in text


def test_the_same_job_gives_the_same_bytes(run: Run, write_job: WriteJob, tmp_path: Path) -> None:
    for name in ("one.pdf", "two.pdf"):
        assert run("sheet", write_job(), "-o", tmp_path / name, "--date", "1 May")[0] == 0
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()


def test_the_strategy_can_be_overruled(run: Run, write_job: WriteJob) -> None:
    assert plan_of(run, write_job(), "--strategy", "cleanest")["strategy"] == "cleanest"


def test_tables_name_every_ink(run: Run, write_job: WriteJob, plates: Path) -> None:
    _, out, _ = run("plan", write_job())
    assert all(word in out for word in ("white base", "yellow", "red", "black key", "flash"))
    _, out, _ = run("measure", plates)
    assert "warm red" in out
    _, out, _ = run("shop")
    assert "Long bench" in out


def test_shop_json_is_a_document_that_reads_back(run: Run) -> None:
    from setupassist.documents.base import read_document
    from setupassist.documents.shop import Shop
    from setupassist.documents.store import example_shop

    _, out, _ = run("shop", "--json")
    assert read_document(Shop, json.loads(out), "shop") == example_shop()


@pytest.mark.parametrize("name", ["job", "shop", "measure", "plan"])
def test_schema_prints_json_schema(run: Run, name: str) -> None:
    code, out, _ = run("schema", name)
    assert code == 0
    assert json.loads(out)["$schema"].endswith("2020-12/schema")


@pytest.mark.parametrize(
    "arguments",
    [("plann",), ("measure",), ("sheet", "job.json"), ("schema", "jobs"), ("plan", "none.json"), ("measure", "none"),
     ("shop", "import"), ("shop", "show", "x"), ("plan", "."), ("measure", ""), ("shop", "--shop", "none.toml")],
)  # fmt: skip
def test_wrong_words_are_one_sentence(
    run: Run, arguments: tuple[str, ...], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    code, out, err = run(*arguments)
    assert (code, out) == (2, "")
    assert len(err.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("arguments", "near"),
    [
        (("plann", "job.json"), "plan"),
        (("mesure",), "measure"),
        (("sheets", "-o", "x.pdf"), "sheet"),
        (("shop!",), "shop"),
    ],
)
def test_a_mistyped_verb_is_told_the_nearest(
    run: Run, arguments: tuple[str, ...], near: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    code, out, err = run(*arguments)
    assert (code, out) == (2, "")
    assert len(err.strip().splitlines()) == 1
    assert f"did you mean '{near}'?" in err


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[tuple[list[Path], Path | None]]:
    """What the window would be opened with."""
    calls: list[tuple[list[Path], Path | None]] = []

    def window(paths: list[Path], *, shop: Path | None = None) -> int:
        calls.append((paths, shop))
        return 0

    monkeypatch.setattr("setupassist.app.start.run", window)
    return calls


def test_without_a_verb_the_window_opens(
    run: Run, opened: list[tuple[list[Path], Path | None]], write_job: WriteJob, plates: Path
) -> None:
    job, book = write_job(), plates / "own.toml"
    first, second = sorted(plates.glob("*.png"))
    for arguments in ((), (job,), (plates,), ("--shop", book, job), (job, f"--shop={book}"), (first, second)):
        assert run(*arguments) == (0, "", "")
    assert opened == [
        ([], None), ([job], None), ([plates], None), ([job], book), ([job], book), ([first, second], None),
    ]  # fmt: skip


def test_a_verb_wins_over_a_file_of_its_name(
    run: Run, opened: list[tuple[list[Path], Path | None]], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plan").mkdir()
    assert run("plan")[0] == 2
    assert opened == []
    assert run("./plan") == (0, "", "")
    assert run("--", "./plan") == (0, "", "")
    assert opened == [([Path("plan")], None)] * 2


def test_options_that_no_window_takes_are_refused(run: Run, opened: list[Any], plates: Path) -> None:
    code, _, err = run(plates, "--json")
    assert (code, opened) == (2, [])
    assert "--json" in err
    assert len(err.strip().splitlines()) == 1


def test_one_file_of_several_that_is_not_there_is_named(run: Run, opened: list[Any], plates: Path) -> None:
    first = sorted(plates.glob("*.png"))[0]
    code, _, err = run(first, plates / "none.png")
    assert (code, "none.png" in err, opened) == (2, True, [])


def test_a_bug_of_ours_is_70_with_its_traceback(run: Run, write_job: WriteJob, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("setupassist.pipeline.make_plan", broken)
    code, _, err = run("plan", write_job())
    assert code == 70
    assert "ZeroDivisionError" in err


def test_stopping_is_130(run: Run, write_job: WriteJob, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("setupassist.pipeline.make_plan", stopped)
    assert run("plan", write_job())[0] == 130


@pytest.mark.parametrize("value", ["0", "-1", "nan", "inf", "1e9"])
def test_a_senseless_figure_is_refused_before_any_work(run: Run, plates: Path, write_job: WriteJob, value: str) -> None:
    code, out, err = run("measure", plates, "--dpi", value)
    assert (code, out) == (2, "")
    assert "--dpi: must be between 10 and 20000" in err
    code, _, err = run("plan", write_job(plates="not there yet"), "--time-limit", value)
    assert (code, "--time-limit: must be between" in err) == (2, True)


def test_the_sheet_overwrites_a_pdf_and_nothing_else(run: Run, write_job: WriteJob, tmp_path: Path) -> None:
    job = write_job()
    before = job.read_bytes()
    code, _, err = run("sheet", job, "-o", job)
    assert (code, "is no PDF" in err) == (2, True)
    assert job.read_bytes() == before
    (tmp_path / "old.pdf").write_bytes(b"%PDF-1.4 of last week")
    assert run("sheet", job, "-o", tmp_path / "old.pdf")[0] == 0
    assert (tmp_path / "old.pdf").stat().st_size > 10_000


def test_streams_that_fail_are_no_bug(write_job: WriteJob, tmp_path: Path) -> None:
    """A full disk and a closed pipe behind standard output, and a terminal that knows no µ."""
    job = str(write_job())
    call = [sys.executable, "-m", "setupassist", "plan", job, "--json"]
    with open("/dev/full", "w") as full:
        done = subprocess.run(call, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 2
    assert "cannot be written" in done.stderr
    piped = subprocess.run(f"{shlex.join(call)} | head -c 1", shell=True, capture_output=True, text=True, check=False)
    assert (piped.stdout, piped.stderr) == ("{", "")
    plain = os.environ | {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    for words in (call, call[:-1], [*call[:3], "shop"]):
        done = subprocess.run(words, env=plain, capture_output=True, check=False)
        assert (done.returncode, done.stderr) == (0, b"")


def test_a_name_longer_than_names_can_be_is_one_sentence(run: Run) -> None:
    code, _, err = run("measure", "a" * 300)
    assert (code, "longer than a file name can be" in err) == (2, True)
