"""The command's check and base: what they print, what they write, and how they end."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from scipy.ndimage import binary_dilation, binary_erosion

from setupassist.cli import main

DPI = 300
MM = DPI / 25.4


def disc(radius_mm: float) -> np.ndarray:
    y, x = np.mgrid[0:900, 0:900]
    return np.hypot(y - 450, x - 450) < radius_mm * MM


def write(folder: Path, **inks: np.ndarray) -> Path:
    folder.mkdir(exist_ok=True)
    for number, (name, ink) in enumerate(inks.items(), 1):
        Image.fromarray(~ink).save(folder / f"{number:02d}-{name}.png", dpi=(DPI, DPI))
    return folder


@pytest.fixture
def sound(tmp_path: Path) -> Path:
    """A disc of red over a base that is drawn in by half a millimetre."""
    return write(tmp_path / "sound", base=disc(29.5), red=disc(30))


@pytest.fixture
def faulty(tmp_path: Path) -> Path:
    """The same with base a millimetre beyond."""
    return write(tmp_path / "faulty", base=disc(31), red=disc(30))


def test_a_clean_set_ends_well(sound: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(sound), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [(f["code"], f["severity"]) for f in found] == [("marks-missing", "note")]
    assert main(["check", str(sound)]) == 0
    assert capsys.readouterr().out.startswith("Clean: nothing stands against film.\n")


def test_a_stop_ends_with_one(faulty: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(faulty), "--json"]) == 1
    found = {f["code"]: f for f in json.loads(capsys.readouterr().out)}
    stop = found["base-peeks-out"]
    assert (stop["severity"], stop["plates"], stop["limit"]) == ("stop", ["base"], 0.05)
    assert stop["measured"] == pytest.approx(1.0, abs=0.2)
    assert stop["places_mm"]
    assert set(stop) == {"code", "severity", "plates", "text", "remedy", "measured", "limit", "places_mm"}


def test_the_table_tells_the_worst_first_and_what_to_do(faulty: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(faulty), "--units", "metric"]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "Would stop the press: 1 finding."
    assert lines[2].split()[:3] == ["no.", "weight", "plates"]
    assert lines[4].split()[:3] == ["1", "stop", "base"]
    told = " ".join(line[lines[2].index("what it is") :].strip() for line in lines[4:])
    assert "draw it in by 0.35 mm, or answer that it shows as white where that is meant" in told


def test_it_speaks_spanish(faulty: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv("SETUPASSIST_LANGUAGE", "es")
    assert main(["check", str(faulty)]) == 1
    assert capsys.readouterr().out.startswith("Detendría la máquina: 1 hallazgo.\n")
    assert main(["check", str(faulty), "--json"]) == 1
    assert "beyond the inks that it carries" in capsys.readouterr().out


def test_a_job_is_checked_for_its_press_too(write_job: Callable[..., Path], capsys: pytest.CaptureFixture[str]) -> None:
    small = {"name": "small", "stations": 5, "load": 1, "unload": 5, "heads": [2, 3], "flash_slots": [4]}
    assert main(["check", str(write_job(press=small)), "--json"]) == 1
    assert "too-many-screens" in [f["code"] for f in json.loads(capsys.readouterr().out)]


def test_plates_of_two_sizes_are_a_finding(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write(tmp_path / "odd", red=disc(30), blue=disc(20)[:800])
    assert main(["check", str(folder), "--json"]) == 1
    assert "sizes-differ" in [f["code"] for f in json.loads(capsys.readouterr().out)]
    assert main(["base", str(folder), "-o", str(tmp_path / "base.png")]) == 2
    assert "export all plates at one size" in capsys.readouterr().err


@pytest.mark.parametrize(("given", "mm"), [("0.5mm", 0.5), ("0.02 IN", 0.508), (".5", 0.5), (None, 0.35)])
@pytest.mark.parametrize("ending", ["png", "tif"])
def test_a_base_is_written_drawn_in_and_checks_clean(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], given: str | None, mm: float, ending: str
) -> None:
    key = binary_dilation(disc(10), iterations=6) & ~binary_erosion(disc(10), iterations=6)
    folder = write(tmp_path / "set", red=disc(30), **{"black-key": key})
    output = folder / f"00-base.{ending}"
    asked = [] if given is None else ["--choke", given]
    assert main(["base", str(folder), "-o", str(output), *asked]) == 0
    told = f"{output}: base under red, drawn in by {mm / 25.4:.3f} in; none under black key\n"
    assert capsys.readouterr().out == told
    with Image.open(output) as image:
        assert image.mode == ("1" if ending == "png" else "L")
        assert image.info["dpi"][0] == pytest.approx(DPI, abs=0.01)
        ink = np.asarray(image.convert("L")) < 128
    assert ink[450].sum() == pytest.approx(2 * (30 - mm) * MM, abs=2)
    assert main(["measure", str(folder), "--json"]) == 0
    (choke,) = json.loads(capsys.readouterr().out)["chokes"]
    assert choke["median_mm"] == pytest.approx(mm, abs=1 / MM)
    assert choke["peek_out_mm2"] == 0
    assert main(["base", str(folder), "-o", str(output), "--under", "red"]) == 0, "what was written here may go"


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (["-o", "base.jpg"], "is neither a PNG nor a TIFF; end its name in .png or .tif"),
        (["-o", "base.png", "--choke", "0,35"], "'0,35' is no length; write it as 0.35mm or 0.014in"),
        (["-o", "base.png", "--choke", "-1mm"], "expected one argument"),
        (["-o", "base.png", "--choke", "40mm"], "must be between 0 and 10, not 40"),
        (["-o", "base/none.png"], "base"),
        (["-o", "base.png", "--under", "rod"], "no plate is called 'rod'; did you mean 'red'"),
    ],
)
def test_a_base_that_cannot_be_made_is_told_in_a_sentence(
    sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], asked: list[str], told: str
) -> None:
    where = [str(tmp_path / word) if word.startswith("base") else word for word in asked]
    assert main(["base", str(sound), *where]) == 2
    error = capsys.readouterr().err
    assert told in error
    assert error.count("\n") == 1
    assert not list(tmp_path.glob("base*"))


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (["-o", "base.jpg"], "is neither a PNG nor a TIFF"),
        (["-o", "base/none.png"], "the folder that it would lie in is not there"),
        (["-o", "sound/02-red.png"], "name another"),
        (["-o", "base.png", "--under", "rod"], "no plate is called 'rod'; did you mean 'red'"),
    ],
)
def test_a_wish_that_cannot_be_met_is_told_before_the_set_is_measured(
    sound: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    asked: list[str],
    told: str,
) -> None:
    measured: list[int] = []
    monkeypatch.setattr("setupassist.inspection.survey.measure_plates", lambda *_, **__: measured.append(1))
    monkeypatch.chdir(sound.parent)
    assert main(["base", str(sound), *asked]) == 2
    assert told in capsys.readouterr().err
    assert not measured


def test_somebodys_picture_is_not_written_over(sound: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plate = sound / "02-red.png"
    before = plate.read_bytes()
    assert main(["base", str(sound), "-o", str(plate)]) == 2
    assert "name another" in capsys.readouterr().err
    assert plate.read_bytes() == before


def test_a_link_to_a_base_of_ours_is_not_written_through(
    sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    base, link = tmp_path / "base.png", tmp_path / "link.png"
    assert main(["base", str(sound), "-o", str(base)]) == 0
    before = base.read_bytes()
    link.symlink_to(base)
    assert main(["base", str(sound), "-o", str(link), "--choke", "1mm"]) == 2
    assert "name another" in capsys.readouterr().err
    assert base.read_bytes() == before


def test_a_file_in_the_way_that_cannot_be_read_is_told(
    sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    there, opened = tmp_path / "base.png", Path.open
    there.write_bytes(b"locked")

    def refuse(path: Path, *args: Any, **kwargs: Any) -> Any:
        if path == there:
            raise PermissionError(13, "Permission denied", str(path))
        return opened(path, *args, **kwargs)

    monkeypatch.setattr(Path, "open", refuse)
    assert main(["base", str(sound), "-o", str(there)]) == 2
    assert capsys.readouterr().err.startswith("setupassist: base.png: could not be read (Permission denied)")


def test_figures_make_no_base(
    write_job: Callable[..., Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["base", str(write_job()), "-o", str(tmp_path / "base.png")]) == 2
    assert "holds figures without plates; name the plates themselves" in capsys.readouterr().err


def test_a_report_is_written_beside_the_table(faulty: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    report = tmp_path / "report.pdf"
    asked = ["-o", str(report), "--paper", "a4", "--units", "metric", "--language", "es", "--date", "4 de mayo"]
    assert main(["check", str(faulty), *asked]) == 1
    assert capsys.readouterr().out.endswith(f"\n{report}\n")
    first = report.read_bytes()
    assert first.startswith(b"%PDF")
    document = pypdfium2.PdfDocument(first)
    told = document[0].get_textpage().get_text_bounded()
    document.close()
    assert "Detendría la máquina: 1 hallazgo." in told
    assert "4 de mayo" in told
    assert main(["check", str(faulty), *asked, "--json"]) == 1
    assert json.loads(capsys.readouterr().out)
    assert report.read_bytes() == first


def test_a_report_of_a_job_of_figures(write_job: Callable[..., Path], tmp_path: Path) -> None:
    assert main(["check", str(write_job()), "-o", str(tmp_path / "report.pdf")]) == 0
    assert (tmp_path / "report.pdf").stat().st_size > 1000


@pytest.mark.parametrize(
    ("asked", "told"),
    [(["--language", "xx"], "language: "), (["-o", "set/01-base.png"], "is there already and is no PDF")],
)
def test_a_report_that_cannot_be_is_told_before_the_work(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, asked: list[str], told: str
) -> None:
    monkeypatch.chdir(tmp_path)
    write(tmp_path / "set", base=disc(30))
    assert main(["check", "set", *asked]) == 2
    assert told in capsys.readouterr().err
