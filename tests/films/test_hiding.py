"""Whether a film hides the cloth: closed forms, the calibration's round trip and what a shop would expect."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from setupassist.documents.terms import InkSystem
from setupassist.films.hiding import (
    InkFilm,
    TypicalFilm,
    film_colour_difference,
    film_lightness,
    ink_film,
    stroke_thickness_um,
    typical_film,
)

BACKING = np.array([0.65, 0.2, 0.2146])


def test_a_film_of_no_thickness_shows_the_backing() -> None:
    film = InkFilm(np.array([0.2, 0.1, 0.22]), 0.1)
    assert film.over(BACKING, thickness_um=0.0) == pytest.approx(BACKING)


def test_a_film_without_scatter_only_filters() -> None:
    film = InkFilm(np.array([0.2, 0.1, 0.22]), 0.0)
    assert film.over(BACKING, thickness_um=0.5) == pytest.approx(BACKING * np.exp(-2 * 0.5 * film.absorption_per_um))


def test_a_film_without_absorption_only_scatters() -> None:
    # SX / (1 + SX) over black: 0.1 x 20 = 2, so 2/3
    film = InkFilm(np.zeros(3), 0.1)
    assert film.over(np.zeros(3), thickness_um=20.0) == pytest.approx([2 / 3] * 3)


def test_a_worked_figure() -> None:
    # computed elsewhere by integrating the two flux equations: K .05, S .08, X 20 over .3
    film = InkFilm(np.full(3, 0.05), 0.08)
    assert film.over(np.full(3, 0.3), thickness_um=20.0) == pytest.approx([0.343411089] * 3, abs=1e-8)


@given(st.floats(1.0, 40.0), st.floats(1.0, 40.0))
def test_two_films_are_one_thick_film(first: float, second: float) -> None:
    film = InkFilm(np.array([0.05, 0.02, 0.3]), 0.06)
    under = film.over(BACKING, thickness_um=first)
    assert film.over(under, thickness_um=second) == pytest.approx(film.over(BACKING, thickness_um=first + second))


@pytest.mark.parametrize("colour_is", ["masstone", "over-white"])
@pytest.mark.parametrize("colour", ["#c8202f", "#f3c921", "#2f7d43"])
def test_calibration_comes_back(colour: str, colour_is: str) -> None:
    typical = TypicalFilm(0.6, 20.0, "masstone" if colour_is == "masstone" else "over-white")
    assert ink_film(colour, typical).contrast_ratio(thickness_um=20.0) == pytest.approx(0.6, abs=1e-4)


def test_white_on_black_comes_to_what_a_shop_sees() -> None:
    # from memory, and consistent rather than measured: one stroke at 110 per inch 80 to 87.5, at 156 74 to 83
    white = ink_film("#f1f1ee", TypicalFilm(0.9, 50.0, "masstone"))
    assert 80 <= film_lightness(white, "#282828", thickness_um=26.0) <= 87.5
    assert 74 <= film_lightness(white, "#282828", thickness_um=16.5) <= 83


@pytest.mark.parametrize(
    ("ink", "cloth", "weak"),
    [
        ("#f4f4f2", "#17171a", True),  # white on black
        ("#c8202f", "#1f4a2c", True),  # ordinary red on forest
        ("#1d4f9c", "#c8202f", True),  # royal on red: darker does not mean opaque
        ("#1c1c1e", "#c8202f", False),  # black on red
        ("#c8202f", "#efe8d8", False),  # red on natural
    ],
)
def test_typical_plastisol_shows_the_cloth_where_a_lead_says_so(ink: str, cloth: str, weak: bool) -> None:
    film = ink_film(ink, typical_film(InkSystem.PLASTISOL, ink))
    assert (film_colour_difference(film, cloth, thickness_um=stroke_thickness_um()) > 6.0) is weak


def test_more_ink_hides_more() -> None:
    film = ink_film("#c8202f", typical_film(InkSystem.PLASTISOL, "#c8202f"))
    thin, thick = (film_colour_difference(film, "#17171a", thickness_um=stroke_thickness_um(n)) for n in (1, 2))
    assert thick < thin


@pytest.mark.parametrize("system", list(InkSystem))
def test_every_system_has_a_typical_film_for_every_ink(system: InkSystem) -> None:
    for colour in ("#000000", "#5a3a22", "#ffffff"):
        assert 0 < typical_film(system, colour).contrast_ratio < 1
