"""Whether one film of an ink hides the cloth: estimated, from its colour and contrast ratio.

Two-constant Kubelka–Munk film over a backing, in the three linear sRGB bands. K and S are per µm, thickness in µm,
reflectances 0..1. S is taken alike in all bands, because one contrast ratio fixes one number; a contrast ratio is
the film's luminance over black divided by that over white. No print was measured for it: show what comes out as
estimated. Film: Kubelka 1948 in a form that cannot overflow; typical inks: ``trade/ink_films.toml``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from setupassist.colour import (
    Floats,
    ciede2000,
    lab_of,
    linear_to_srgb,
    parse_colour,
    srgb_to_lab,
    srgb_to_linear,
)
from setupassist.documents.terms import InkSystem
from setupassist.films.harm import absorption_ratio
from setupassist.resource_files import read_toml

LUMINANCE = np.array([0.2126, 0.7152, 0.0722])
LEAST_SCATTER_PER_UM, MOST_SCATTER_PER_UM = 1e-6, 10.0
HALVINGS = 28

ColourIs = Literal["masstone", "over-white"]


@dataclass(frozen=True)
class InkFilm:
    """Absorption (3,) and scattering of an ink, per µm of film."""

    absorption_per_um: Floats
    scattering_per_um: float

    def over(self, backing: Floats, *, thickness_um: float) -> Floats:
        """Linear reflectance (3,) of a film of that thickness over a backing (3,)."""
        return _over(self.absorption_per_um, self.scattering_per_um, backing, thickness_um)

    def contrast_ratio(self, *, thickness_um: float) -> float:
        """Luminance over black divided by luminance over white, 0..1."""
        chart = read_toml("trade/ink_films.toml")["chart"]
        backings = (np.full(3, chart[f"{side}_reflectance"]) for side in ("black", "white"))
        black, white = (self.over(backing, thickness_um=thickness_um) for backing in backings)
        return float(LUMINANCE @ black / (LUMINANCE @ white))


@dataclass(frozen=True)
class TypicalFilm:
    """Contrast ratio of an ink film at a thickness, and what its colour was seen on."""

    contrast_ratio: float
    at_um: float
    colour_is: ColourIs


def typical_film(system: InkSystem, colour: str) -> TypicalFilm:
    """The typical film of an ink of that system and lightness, for inks without a contrast ratio of their own."""
    lightness = lab_of(colour)[0]
    for row in read_toml("trade/ink_films.toml")["film"]:
        if row["system"] == system and lightness <= row["most_lightness"]:
            return TypicalFilm(row["contrast_ratio"], row["at_um"], row["colour_is"])
    raise KeyError(f"ink_films.toml has no row for {system}")


def ink_film(colour: str, typical: TypicalFilm) -> InkFilm:
    """The film whose colour and contrast ratio are these; S by halving its range.

    Where the contrast ratio is out of reach (a black film hides more than it says), the nearest S holds.
    """
    linear = srgb_to_linear(np.array(parse_colour(colour), dtype=np.float64) / 255)
    low, high = np.log(LEAST_SCATTER_PER_UM), np.log(MOST_SCATTER_PER_UM)
    made = InkFilm(np.zeros(3), LEAST_SCATTER_PER_UM)
    for _ in range(HALVINGS):
        scatter = float(np.exp((low + high) / 2))
        if typical.colour_is == "masstone":
            absorption = scatter * absorption_ratio(linear)
        else:
            absorption = _absorption_over_white(linear, scatter, typical.at_um)
        made = InkFilm(absorption, scatter)
        if made.contrast_ratio(thickness_um=typical.at_um) < typical.contrast_ratio:
            low = np.log(scatter)
        else:
            high = np.log(scatter)
    return made


def film_colour_difference(film: InkFilm, cloth: str, *, thickness_um: float) -> float:
    """CIEDE2000 between one film on this cloth and the same film on white cloth: what of the cloth shows through."""
    on_cloth = film.over(_linear(cloth), thickness_um=thickness_um)
    on_white = film.over(np.full(3, _white_cloth()), thickness_um=thickness_um)
    return float(ciede2000(_lab(on_cloth), _lab(on_white)))


def film_lightness(film: InkFilm, cloth: str, *, thickness_um: float) -> float:
    """L* of one film on this cloth."""
    return float(_lab(film.over(_linear(cloth), thickness_um=thickness_um))[0])


def stroke_thickness_um(strokes: int = 1) -> float:
    """Typical ink standing on the cloth after one stroke or two through a middling mesh."""
    row = read_toml("trade/ink_films.toml")["on_cloth"]
    return float(row["one_stroke_um"] if strokes <= 1 else row["two_strokes_um"])


def _over(absorption: Floats, scatter: float, backing: Floats, thickness_um: float) -> Floats:
    root = np.sqrt(absorption * (absorption + 2.0 * scatter))
    stone = scatter / (absorption + scatter + root)
    fade = np.exp(-2.0 * thickness_um * root)
    below = 1.0 - stone * stone * fade
    clear = below < 1e-12  # no absorption: the film only scatters
    safe = np.where(clear, 1.0, below)
    haze = scatter * thickness_um / (1.0 + scatter * thickness_um)
    reflected = np.where(clear, haze, stone * (1.0 - fade) / safe)
    passed = np.where(clear, 1.0 - haze, (1.0 - stone * stone) * np.sqrt(fade) / safe)
    return np.asarray(reflected + passed * passed * backing / (1.0 - reflected * backing), dtype=np.float64)


def _absorption_over_white(linear: Floats, scatter: float, at_um: float) -> Floats:
    white = np.full(3, _white_cloth())
    low, high = np.full(3, 0.0), np.full(3, 10.0)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        lighter = _over(middle, scatter, white, at_um) > np.clip(linear, 0.005, None)
        low, high = np.where(lighter, middle, low), np.where(lighter, high, middle)
    return np.asarray((low + high) / 2, dtype=np.float64)


def _linear(colour: str) -> Floats:
    return srgb_to_linear(np.array(parse_colour(colour), dtype=np.float64) / 255)


def _white_cloth() -> float:
    return float(read_toml("trade/ink_films.toml")["white_cloth"]["reflectance"])


def _lab(linear: Floats) -> Floats:
    return srgb_to_lab(linear_to_srgb(linear))
