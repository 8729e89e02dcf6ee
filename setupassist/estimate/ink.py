"""Pieces to print, strokes in total, and grams of ink."""

from __future__ import annotations

import math
from decimal import Decimal

CM2_PER_M2 = 10_000.0


def pieces_to_print(pieces: int, *, tests: int, spoilage: float) -> int:
    """Pieces, test prints and ceil(spoilage × pieces); the share is taken as the decimal that it is written as."""
    return pieces + tests + math.ceil(Decimal(str(spoilage)) * pieces)


def film_cm3(area_cm2: float, *, volume_cm3_m2: float, transfer_share: float = 1.0, strokes: int = 1) -> float:
    """Ink on one piece in cm³: inked area × theoretical volume × the share that transfers × strokes."""
    return area_cm2 / CM2_PER_M2 * volume_cm3_m2 * transfer_share * strokes


def ink_grams(
    area_cm2: float,
    *,
    volume_cm3_m2: float,
    transfer_share: float,
    strokes: int,
    density_g_cm3: float,
    prints: int,
    residue_grams: float,
) -> float:
    """Ink for the job in grams: the film of every print, and what stays in the screen."""
    film = film_cm3(area_cm2, volume_cm3_m2=volume_cm3_m2, transfer_share=transfer_share, strokes=strokes)
    return film * density_g_cm3 * prints + residue_grams
