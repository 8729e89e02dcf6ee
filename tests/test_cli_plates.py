"""``setupassist plates``: what it writes measures the same, and it touches nobody's files."""

from __future__ import annotations

import errno
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

Run = Callable[..., tuple[int, str, str]]


def soft_picture(rows: int, columns: int, *, seed: int) -> Any:
    y, x = np.mgrid[0:rows, 0:columns]
    ink = np.clip(255 * (np.sin(x / 31 + seed) * np.cos(y / 43 - seed) + 0.3), 0, 255).astype(np.uint8)
    ink[:20] = ink[-20:] = ink[:, :20] = ink[:, -20:] = 0
    return ink


@pytest.fixture
def source(tmp_path: Path) -> Path:
    """A two-level, a tone and a colour plate of 500 x 701 pixels at 300 dpi."""
    folder = tmp_path / "source"
    folder.mkdir()
    first, second, third = (soft_picture(500, 701, seed=seed) for seed in range(3))
    Image.fromarray(255 - first).point(lambda v: 255 * (v > 127)).convert("1").save(
        folder / "01-white_base.png", dpi=(300, 300)
    )
    Image.fromarray(255 - second).save(folder / "07-warm-red.tif", dpi=(300, 300), compression="tiff_lzw")
    Image.fromarray(np.dstack([255 - third] * 3)).save(folder / "ñandú gold.bmp", dpi=(300, 300))
    return folder


def measured(run: Run, path: Path, *more: str) -> dict[str, Any]:
    code, out, err = run("measure", path, "--json", *more)
    assert code == 0, err
    document = json.loads(out)
    assert isinstance(document, dict)
    document["art"].pop("source")
    document.pop("findings")
    return document


def test_what_is_written_measures_the_same(run: Run, source: Path, tmp_path: Path) -> None:
    films = tmp_path / "films"
    code, out, err = run("plates", source, "-o", films)
    assert code == 0
    names = ["01-white base.tif", "02-warm red.tif", "03-ñandú gold.tif"]
    assert out.splitlines() == [str(films / name) for name in names]
    assert sorted(each.name for each in films.iterdir()) == names
    assert "ñandú gold.bmp: is a colour picture, read as luminance" in err
    assert measured(run, films) == measured(run, source)
    for name in names:
        with Image.open(films / name) as picture:
            assert (picture.mode, picture.size, picture.info["dpi"]) == ("L", (701, 500), (300, 300))


def test_the_inks_of_a_pdf_are_written_as_film(run: Run, tmp_path: Path) -> None:
    page = Path(__file__).parents[1] / "sample_art" / "moth-hour" / "moth-hour.pdf"
    code, out, err = run("plates", page, "-o", tmp_path / "films", "--dpi", "200")
    assert (code, err) == (0, "")
    names = ["01-night teal", "02-moon cream", "03-moth copper", "04-soot black", "05-white base"]
    assert [Path(line).stem for line in out.splitlines()] == names
    film, drawn = measured(run, tmp_path / "films"), measured(run, page, "--dpi", "200")
    drawn["art"].pop("page", None)
    for plate in drawn["plates"]:
        plate["lab"] = None  # a film tells no colour but by its name
    for plate in film["plates"]:
        plate["lab"] = None
    assert film == drawn


def test_light_can_be_ink_and_the_resolution_can_be_told(run: Run, tmp_path: Path) -> None:
    ink = soft_picture(200, 300, seed=1)
    Image.fromarray(ink).save(tmp_path / "red.png")
    code, _, err = run("plates", tmp_path / "red.png", "-o", tmp_path / "films")
    assert (code, err.count("\n")) == (2, 1)
    assert "resolution" in err
    assert "--dpi" in err
    assert not (tmp_path / "films").exists()
    assert run("plates", tmp_path / "red.png", "-o", tmp_path / "films", "--dpi", "254", "--light-is-ink")[0] == 0
    with Image.open(tmp_path / "films" / "01-red.tif") as picture:
        assert picture.info["dpi"] == (254, 254)
        assert np.array_equal(np.asarray(picture), 255 - ink)


def test_a_page_can_be_picked(run: Run, tmp_path: Path) -> None:
    pages = [Image.fromarray(255 - soft_picture(200, 300, seed=seed)) for seed in range(2)]
    pages[0].save(tmp_path / "set.tif", save_all=True, append_images=pages[1:], dpi=(300, 300))
    assert run("plates", tmp_path / "set.tif", "-o", tmp_path / "films", "--page", "2")[0] == 0
    (film,) = (tmp_path / "films").iterdir()
    with Image.open(film) as picture:
        assert np.array_equal(np.asarray(picture), np.asarray(pages[1]))


def test_its_own_files_are_written_again_and_nobody_else_s(run: Run, source: Path, tmp_path: Path) -> None:
    films = tmp_path / "films"
    assert run("plates", source, "-o", films)[0] == 0
    before = {each.name: each.read_bytes() for each in films.iterdir()}
    assert run("plates", source, "-o", films)[0] == 0
    assert {each.name: each.read_bytes() for each in films.iterdir()} == before

    red = films / "02-warm red.tif"
    with Image.open(red) as picture:
        picture.load()
        picture.save(tmp_path / "mine.tif")
    red.write_bytes((tmp_path / "mine.tif").read_bytes())
    told = f"setupassist: {red}: is there already and was not written by this command; name another folder, or move the"
    for change in (lambda: None, lambda: _as_link(red, tmp_path / "gone.tif"), lambda: _as_folder(red)):
        change()
        code, out, err = run("plates", source, "-o", films)
        assert (code, out) == (2, "")
        assert err.startswith(told)
        assert len(list(films.iterdir())) == 3
        assert (films / "01-white base.tif").read_bytes() == before["01-white base.tif"]
    assert not (tmp_path / "gone.tif").exists()


def _as_link(path: Path, target: Path) -> None:
    path.unlink()
    path.symlink_to(target)


def _as_folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


def test_other_images_in_the_folder_are_told(run: Run, source: Path, tmp_path: Path) -> None:
    films = tmp_path / "films"
    films.mkdir()
    (films / "09-old.tif").write_bytes(b"x")
    (films / "notes.txt").write_bytes(b"x")
    _, _, err = run("plates", source, "-o", films)
    assert f"{films} holds another image too, which belongs to none of these plates: 09-old.tif" in err
    (films / "10-old.png").write_bytes(b"x")
    _, _, err = run("plates", source, "-o", films)
    assert f"{films} holds 2 other images too, which belong to none of these plates: 09-old.tif and more" in err


def test_folders_that_cannot_be_written(run: Run, source: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"x")
    for folder, told in (
        (source, "is the folder that the plates are read from; name another folder"),
        (tmp_path / "file", "is no folder; name a folder for the plates"),
        (tmp_path / "no" / "such", "the folder that it would lie in is not there; check the path"),
        (tmp_path / "file" / "x", "the folder that it would lie in is not there; check the path"),
        ("", "a file name is empty"),
    ):
        before = sorted(tmp_path.rglob("*"))
        code, out, err = run("plates", source, "-o", folder)
        assert (code, out, err.count("\n")) == (2, "", 1)
        assert told in err
        assert sorted(tmp_path.rglob("*")) == before


def test_a_folder_that_the_machine_refuses(
    run: Run, source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "no")

    monkeypatch.setattr(Path, "mkdir", refused)
    code, _, err = run("plates", source, "-o", tmp_path / "films")
    assert code == 2
    assert err.startswith(f"setupassist: {tmp_path / 'films'}: the folder cannot be made (")


def test_plates_that_differ_in_size_leave_nothing(run: Run, source: Path, tmp_path: Path) -> None:
    Image.new("L", (30, 40)).save(source / "odd.png", dpi=(300, 300))
    code, _, err = run("plates", source, "-o", tmp_path / "films")
    assert code == 2
    assert "plates differ in size" in err
    assert not (tmp_path / "films").exists()


def test_damage_half_way_leaves_nothing(run: Run, source: Path, tmp_path: Path) -> None:
    noise = np.random.default_rng(1).integers(0, 256, (500, 701), dtype=np.uint8)
    Image.fromarray(noise).save(source / "02-noise.png", dpi=(300, 300))
    data = bytearray((source / "02-noise.png").read_bytes())
    data[len(data) - 2000] ^= 0xFF
    (source / "02-noise.png").write_bytes(data)
    code, _, err = run("plates", source, "-o", tmp_path / "films")
    assert code == 2
    assert "02-noise.png: is damaged" in err
    assert not (tmp_path / "films").exists()


def test_a_job_s_plates_are_written_under_its_ink_names(run: Run, source: Path, tmp_path: Path) -> None:
    job = {
        "format": "setupassist-job/1", "title": "t", "press": "Long bench",
        "plates": [{"file": "07-warm-red.tif", "ink": "../../rouge: 1/2"}],
    }  # fmt: skip
    (source / "job.json").write_text(json.dumps(job))
    assert run("plates", source, "-o", tmp_path / "films")[0] == 0
    assert [each.name for each in (tmp_path / "films").iterdir()] == ["01-.. .. rouge 1 2.tif"]
    with Image.open(tmp_path / "films" / "01-.. .. rouge 1 2.tif") as picture:
        assert picture.tag_v2[285] == "../../rouge: 1/2"


def test_a_job_of_figures_has_no_plates_to_write(run: Run, write_job: Callable[..., Path], tmp_path: Path) -> None:
    code, _, err = run("plates", write_job(), "-o", tmp_path / "films")
    assert (code, err) == (2, "setupassist: job.json: holds figures and no plates; name the plates themselves\n")


def test_stopping_leaves_nothing(run: Run, source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from setupassist.art import writing

    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(writing.PlateFile, "finish", stopped)
    code, _, err = run("plates", source, "-o", tmp_path / "films")
    assert (code, err.splitlines()[-1]) == (130, "setupassist: stopped; nothing was left half written")
    assert not (tmp_path / "films").exists()
