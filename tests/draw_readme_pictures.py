"""Draws the README's pictures: page one of two sample sheets and of a check's report, as the command prints them.

Run by hand: ``python tests/draw_readme_pictures.py [folder]``.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import pypdfium2

sys.path.insert(0, str(Path(__file__).parent.parent))

from setupassist.cli import main as setupassist
from tests.faulty_set import sets

ROOT = Path(__file__).parent.parent
JOBS = ("lantern-walk", "night-heron")
WIDTH_PX = 1320
COLOURS = 128


def draw(folder: Path) -> list[Path]:
    """Writes the pictures into ``folder``; their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    made = []
    with tempfile.TemporaryDirectory() as scratch:
        for job in JOBS:
            pdf = Path(scratch) / f"{job}.pdf"
            shown = ["sheet", str(ROOT / "sample_art" / job), "-o", str(pdf), "--paper", "a4", "--date", "1 March"]
            if setupassist(shown):
                raise SystemExit(f"the sheet of {job} failed")
            made.append(_page_one(pdf, folder / f"{job}-page-one.png"))
        faulty = sets.all_at_once().save(Path(scratch) / "seven faults")
        pdf = Path(scratch) / "report.pdf"
        if setupassist(["check", str(faulty), "-o", str(pdf), "--paper", "a4", "--date", "1 March"]) != 1:
            raise SystemExit("the check of the faulty set did not stop it")
        made.append(_page_one(pdf, folder / "faulty-set-report.png"))
    return made


def _page_one(pdf: Path, path: Path) -> Path:
    with pypdfium2.PdfDocument(pdf) as document:
        page = document[0]
        picture = page.render(scale=WIDTH_PX / page.get_width()).to_pil().convert("RGB")
    picture.quantize(COLOURS).save(path, optimize=True)
    return path


if __name__ == "__main__":
    for path in draw(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "tests" / "pictures"):
        print(path)
