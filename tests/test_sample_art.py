"""The sample jobs: documents load, plates are what they say, and the script draws them again the same."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image
from scipy.ndimage import binary_erosion, distance_transform_edt

from setupassist.art.opening import open_plates
from setupassist.cli import main
from setupassist.documents.job import Job, JobPlate
from setupassist.documents.store import example_shop, inside, read_job
from setupassist.documents.terms import Severity
from setupassist.pipeline import make_plan, measure_job
from setupassist.work import open_job

TESTS = Path(__file__).parent
SAMPLES = TESTS.parent / "sample_art"
JOBS = {"lantern-walk": 300, "night-heron": 600}
MM_PER_INCH = 25.4


@pytest.fixture(scope="module")
def script() -> Iterator[ModuleType]:
    """The drawing script, imported as it imports its own pictures."""
    sys.path.insert(0, str(TESTS))
    try:
        import draw_sample_art

        yield draw_sample_art
    finally:
        sys.path.remove(str(TESTS))


def plates_of(job: Job) -> tuple[JobPlate, ...]:
    assert not isinstance(job.plates, str)
    return job.plates


@pytest.fixture(scope="module")
def moth() -> dict[str, npt.NDArray[np.bool_]]:
    """The plates of the PDF at 254 dpi, ten pixels a millimetre; True is ink."""
    plates = open_plates(SAMPLES / "moth-hour" / "moth-hour.pdf", dpi=254)
    rows = [np.concatenate(column) >= 128 for column in zip(*plates.read(500), strict=True)]
    return dict(zip((plate.name for plate in plates.plates), rows, strict=True))


def ink_of(folder: str, ink: str) -> npt.NDArray[np.uint8]:
    """A plate as uint8 (rows, columns), 255 is ink."""
    (path,) = (SAMPLES / folder / "plates").glob(f"[0-9][0-9]-{ink}.png")
    with Image.open(path) as image:
        return 255 - np.asarray(image.convert("L"))


@pytest.mark.parametrize("folder", JOBS)
def test_the_job_loads_and_adds_up(folder: str) -> None:
    job = read_job(SAMPLES / folder / "job.json")
    plates = plates_of(job)
    assert all(inside(SAMPLES / folder, plate.file, "job.json").is_file() for plate in plates)
    assert len(list((SAMPLES / folder / "plates").iterdir())) == len(plates)
    assert job.pieces == sum(job.sizes.values()) == sum(group.pieces or 0 for group in job.groups)
    assert len(job.groups) == 2
    assert job.press in [press.name for press in example_shop().presses]


def test_the_jobs_are_the_spot_job_and_the_dot_job() -> None:
    roles = {folder: [p.role for p in plates_of(read_job(SAMPLES / folder / "job.json"))] for folder in JOBS}
    assert roles["lantern-walk"] == ["base", "colour", "colour", "colour", "key"]
    assert roles["night-heron"] == ["base", *["colour"] * 7, "highlight"]


def test_the_files_stay_small() -> None:
    assert sum(path.stat().st_size for path in SAMPLES.rglob("*") if path.is_file()) < 6_000_000


@pytest.mark.parametrize("folder", JOBS)
def test_plates_hold_ink_and_paper_at_their_resolution_with_marks_in_one_place(folder: str) -> None:
    dpi, marks, sizes = JOBS[folder], [], set()
    for plate in plates_of(read_job(SAMPLES / folder / "job.json")):
        with Image.open(SAMPLES / folder / plate.file) as image:
            assert image.info["dpi"] == pytest.approx((dpi, dpi), abs=0.1)
            assert image.mode == ("1" if folder == "night-heron" else "L")
            sizes.add(image.size)
            paper = float(np.asarray(image.convert("L")).mean()) / 255
            middle, reach, high = image.width // 2, round(5.0 * dpi / MM_PER_INCH), round(6.0 * dpi / MM_PER_INCH)
            for y in (high, image.height - high):
                marks.append(image.crop((middle - reach, y - reach, middle + reach, y + reach)).convert("L").tobytes())
        assert 0.1 < paper < 0.99, plate.ink
    assert len(sizes) == 1
    assert len(set(marks)) == 1
    assert 0.05 < (np.frombuffer(marks[0], np.uint8) < 128).mean() < 0.4


def test_the_base_is_drawn_in_by_its_choke() -> None:
    pixel_mm = MM_PER_INCH / 300
    art = (slice(150, -150), slice(None))
    base = ink_of("lantern-walk", "white base")[art] >= 128
    colours = ("straw yellow", "brick red", "harbour blue")
    # On a seam two colours share a pixel, neither of them with half of it.
    union = np.sum([ink_of("lantern-walk", ink)[art] for ink in colours], axis=0, dtype=int) >= 128
    assert not (base & ~union).any()
    rim = base & ~binary_erosion(base)
    # From the middle of the last base pixel to the middle of the first bare one: half a pixel too far at each end.
    choke_mm = (distance_transform_edt(union)[rim] - 1) * pixel_mm
    assert float(np.median(choke_mm)) == pytest.approx(0.35, abs=pixel_mm)
    assert float(np.percentile(choke_mm, 1)) == pytest.approx(0.35, abs=pixel_mm)
    assert float(np.percentile(choke_mm, 95)) == pytest.approx(0.35, abs=pixel_mm)


def test_the_lighter_colour_runs_under_the_darker_by_the_trap() -> None:
    pixel_mm = MM_PER_INCH / 300
    art = (slice(700, 2300), slice(900, 2600))
    straw, blue = (ink_of("lantern-walk", ink)[art] >= 128 for ink in ("straw yellow", "harbour blue"))
    under_mm = distance_transform_edt(blue)[straw & blue] * pixel_mm
    assert under_mm.size > 1000
    assert float(under_mm.max()) == pytest.approx(0.25, abs=1.5 * pixel_mm)


def test_the_page_s_job_loads_adds_up_and_names_every_ink(moth: dict[str, npt.NDArray[np.bool_]]) -> None:
    job = read_job(SAMPLES / "moth-hour" / "job.json")
    assert job.plates == "moth-hour.pdf"
    assert set(job.inks) == set(moth)
    assert job.pieces == sum(job.sizes.values()) == sum(group.pieces or 0 for group in job.groups)
    assert job.press in [press.name for press in example_shop().presses]
    assert {plate.shape for plate in moth.values()} == {(3200, 2560)}


def test_the_page_s_marks_stand_on_every_plate(moth: dict[str, npt.NDArray[np.bool_]]) -> None:
    for rows in (slice(0, 120), slice(-120, None)):
        first, *others = (plate[rows] for plate in moth.values())
        assert all(np.array_equal(first, other) for other in others)
        assert 100 < int(first.sum()) < 2500


def test_black_prints_over_and_colours_knock_out(moth: dict[str, npt.NDArray[np.bool_]]) -> None:
    """Ten pixels are a millimetre: colours share 0.25 mm along their edges, black and base share all with them."""
    art = slice(150, -150)
    base, cream, copper, teal, black = (
        moth[name][art] for name in ("white base", "moon cream", "moth copper", "night teal", "soot black")
    )
    colours = cream | copper | teal
    assert not (black & ~colours).any()
    assert not (base & ~colours).any()
    assert (black & copper).sum() > 0.2 * black.sum()
    shared = (cream & copper) | (cream & teal) | (copper & teal)
    assert not (copper & teal).any()
    depth = distance_transform_edt(np.pad(shared, 1))
    assert depth.max() <= 3.5
    rim = base & ~binary_erosion(base)
    choke = distance_transform_edt(colours)[rim] - 1
    assert float(np.median(choke)) == pytest.approx(3.5, abs=1)
    # every edge between two colours is shared, none shows cloth: no hole in the whole of the disc
    middle, reach = (1500 - 150, 1280), 960
    y, x = np.ogrid[: colours.shape[0], : colours.shape[1]]
    assert colours[np.hypot(y - middle[0], x - middle[1]) < reach].all()


def test_the_page_is_clean_and_plans() -> None:
    shop = example_shop()
    work = open_job(SAMPLES / "moth-hour", shop=shop)
    measured = measure_job(work)
    planned = make_plan(work, measured, time_limit_seconds=20)
    assert planned.plan.feasible
    assert [slot.ink for slot in planned.plan.slots if slot.ink][:1] == ["white base"]
    assert len([slot for slot in planned.plan.slots if slot.ink]) == 5
    weights = {finding.severity for finding in (*measured.measure.findings, *planned.findings)}
    assert not weights & {Severity.STOP, Severity.WARN}


def test_nothing_is_found_against_the_page(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(SAMPLES / "moth-hour"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == []


def test_the_script_draws_the_page_again_the_same(
    script: ModuleType, tmp_path: Path, moth: dict[str, npt.NDArray[np.bool_]]
) -> None:
    script.moth_hour.draw(tmp_path / "again.pdf")
    plates = open_plates(tmp_path / "again.pdf", dpi=254)
    for plate, column in zip(plates.plates, zip(*plates.read(500), strict=True), strict=True):
        assert np.array_equal(np.concatenate(column) >= 128, moth[plate.name]), plate.name
    text = (SAMPLES / "moth-hour" / "job.json").read_text(encoding="utf-8")
    assert text == script.page_document(script.MOTH_HOUR, script.moth_hour.FILE, script.moth_hour.INKS)


def test_the_script_draws_the_key_again_the_same(script: ModuleType, tmp_path: Path) -> None:
    picture = script.lantern_walk
    script.save_plate(tmp_path / "key.png", picture.key_plate(picture.draw()), 300, two_level=False)
    with Image.open(tmp_path / "key.png") as image:
        again = 255 - np.asarray(image)
    assert np.array_equal(again, ink_of("lantern-walk", "soot black"))


def test_the_job_documents_are_the_scripts_own(script: ModuleType) -> None:
    for picture, said in ((script.lantern_walk, script.LANTERN_WALK), (script.night_heron, script.NIGHT_HERON)):
        text = (SAMPLES / picture.FOLDER / "job.json").read_text(encoding="utf-8")
        assert text == script.job_document(said, picture.INKS)


def test_the_dots_carry_the_tones_that_the_script_separates(script: ModuleType) -> None:
    picture, per_mm, window_mm = script.night_heron, 2.0, 8
    left, top = (round(side * 600 / MM_PER_INCH) for side in picture.MARGIN_MM)
    edges = [np.round(np.arange(0, side + 1, window_mm) * 600 / MM_PER_INCH).astype(int) for side in picture.ART_MM]
    for (ink, role, _), tone in zip(picture.INKS, picture.tones(per_mm), strict=True):
        step = round(window_mm * per_mm)
        wanted = np.minimum(tone, 1).reshape(tone.shape[0] // step, step, -1, step).mean(axis=(1, 3))
        plate = (ink_of("night-heron", ink) >= 128)[top : top + edges[1][-1], left : left + edges[0][-1]]
        sums = np.add.reduceat(np.add.reduceat(plate, edges[1][:-1], axis=0, dtype=int), edges[0][:-1], axis=1)
        got = sums / np.outer(np.diff(edges[1]), np.diff(edges[0]))
        assert abs(float((got - wanted).mean())) < 0.006, ink
        # The base keeps its distance from the inks' edges in whole pixels, which are four times as large here.
        assert float(abs(got - wanted).mean()) < (0.012 if role == "base" else 0.008), ink


def test_a_flat_tone_becomes_its_share_of_dots(script: ModuleType) -> None:
    from sample_pictures.dots import halftone

    for share in (0.02, 0.05, 0.3, 0.5, 0.785, 0.9):
        dots = halftone(
            np.full((800, 800), share), dpi=600, lines_per_inch=45, angle_deg=22.5, phase=(0.1, 0.7), least=0.05
        )
        assert float(dots.mean()) == pytest.approx(share, abs=0.006)
