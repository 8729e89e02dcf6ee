"""Draws the README's pictures: page one of both sample sheets, as the command prints them.

Run by hand: ``python tests/draw_readme_pictures.py [folder]``.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import pypdfium2

from setupassist.cli import main as setupassist

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
            with pypdfium2.PdfDocument(pdf) as document:
                page = document[0]
                picture = page.render(scale=WIDTH_PX / page.get_width()).to_pil().convert("RGB")
            made.append(folder / f"{job}-page-one.png")
            picture.quantize(COLOURS).save(made[-1], optimize=True)
    return made


if __name__ == "__main__":
    for path in draw(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "tests" / "pictures"):
        print(path)
