"""Draws the sample jobs: ``python tests/draw_sample_art.py [folder]`` writes plates and job documents, always the same.

The jobs are invented. Nothing is read but this script and its pictures; the folder is ``sample_art`` unless named.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image
from sample_pictures import lantern_walk, moth_hour, night_heron

Inks = Sequence[tuple[str, str, str]]

LANTERN_WALK: dict[str, Any] = {
    "title": "Lantern walk, Merrowby Harbour",
    "location": "front",
    "placement": "75 mm below the collar",
    "pieces": 288,
    "sizes": {"S": 36, "M": 84, "L": 96, "XL": 54, "XXL": 18},
    "garments": [
        {
            "name": "charcoal tee",
            "colour": lantern_walk.GARMENT,
            "fibre": "cotton",
            "fabric": "jersey",
            "grams_per_m2": 180,
            "pieces": 216,
        },
        {
            "name": "white tee",
            "colour": "#f7f6f2",
            "fibre": "cotton",
            "fabric": "jersey",
            "grams_per_m2": 180,
            "pieces": 72,
        },
    ],
    "ink_system": "plastisol",
    "press": "Long bench",
}
NIGHT_HERON: dict[str, Any] = {
    "title": "Night heron",
    "location": "back",
    "placement": "100 mm below the collar",
    "pieces": 192,
    "sizes": {"S": 24, "M": 60, "L": 66, "XL": 42},
    "garments": [
        {
            "name": "black tee",
            "colour": night_heron.GARMENT,
            "fibre": "cotton",
            "fabric": "jersey",
            "grams_per_m2": 200,
            "pieces": 144,
        },
        {
            "name": "midnight hoodie",
            "colour": "#141a2b",
            "fibre": "cotton",
            "fabric": "fleece",
            "grams_per_m2": 280,
            "pieces": 48,
        },
    ],
    "ink_system": "plastisol",
    "press": "Big wheel",
}
MOTH_HOUR: dict[str, Any] = {
    "title": "Moth hour, Hollowmere",
    "location": "front",
    "placement": "80 mm below the collar",
    "pieces": 144,
    "sizes": {"S": 20, "M": 48, "L": 46, "XL": 30},
    "garments": [
        {
            "name": "slate blue tee",
            "colour": moth_hour.GARMENT,
            "fibre": "cotton",
            "fabric": "jersey",
            "grams_per_m2": 180,
            "pieces": 96,
        },
        {
            "name": "sand tee",
            "colour": "#d9c9a6",
            "fibre": "cotton",
            "fabric": "jersey",
            "grams_per_m2": 180,
            "pieces": 48,
        },
    ],
    "ink_system": "plastisol",
    "press": "Long bench",
}


def plate_file(number: int, ink: str) -> str:
    """Path of a plate in its job's folder."""
    return f"plates/{number:02d}-{ink}.png"


def save_plate(path: Path, ink: npt.NDArray[np.uint8], dpi: int, *, two_level: bool) -> None:
    """Writes a plate, 255 is ink in the array and black in the file, with its resolution."""
    image = Image.fromarray(255 - ink)
    if two_level:
        image = image.convert("1", dither=Image.Dither.NONE)
    image.save(path, optimize=True, dpi=(dpi, dpi))


def job_document(said: dict[str, Any], inks: Inks) -> str:
    """The job document as text."""
    plates = [
        {"file": plate_file(number, ink), "ink": ink, "role": role, "colour": colour}
        for number, (ink, role, colour) in enumerate(inks, start=1)
    ]
    return json.dumps({"format": "setupassist-job/1", **said, "plates": plates}, indent=2, ensure_ascii=False) + "\n"


def page_document(said: dict[str, Any], file: str, inks: Inks) -> str:
    """The document of a job whose plates are the inks of one PDF."""
    notes = {ink: {"role": role, "colour": colour} for ink, role, colour in inks}
    document = {"format": "setupassist-job/1", **said, "plates": file, "inks": notes}
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def draw_all(folder: Path) -> None:
    """Draws the jobs into ``folder``."""
    for picture, said, two_level in ((lantern_walk, LANTERN_WALK, False), (night_heron, NIGHT_HERON, True)):
        place = folder / picture.FOLDER
        (place / "plates").mkdir(parents=True, exist_ok=True)
        for number, (ink, plate) in enumerate(zip(picture.INKS, picture.plates(), strict=True), start=1):
            save_plate(place / plate_file(number, ink[0]), plate, picture.DPI, two_level=two_level)
        (place / "job.json").write_text(job_document(said, picture.INKS), encoding="utf-8", newline="\n")
    place = folder / moth_hour.FOLDER
    place.mkdir(parents=True, exist_ok=True)
    moth_hour.draw(place / moth_hour.FILE)
    document = page_document(MOTH_HOUR, moth_hour.FILE, moth_hour.INKS)
    (place / "job.json").write_text(document, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    draw_all(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parents[1] / "sample_art")
