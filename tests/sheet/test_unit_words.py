"""Figures as a person reads them."""

import pytest

from setupassist.quantities import Units
from setupassist.sheet.unit_words import UnitWords, number, thousands

INCH, METRIC = UnitWords(Units.INCH), UnitWords(Units.METRIC)


def test_mesh_leads_with_the_shops_unit():
    assert INCH.mesh(61.0, 156.0) == "156 per inch (61 per cm)"
    assert METRIC.mesh(61.0, 156.0) == "61 per cm (156 per inch)"
    assert METRIC.mesh(None, 254.0) == "100 per cm (254 per inch)"
    assert INCH.mesh(None, None) == "no stock fits"
    assert INCH.mesh_number(None, None) == "–"


@pytest.mark.parametrize(
    ("mm", "inch", "metric"), [(2.4, "0.09 in", "2.4 mm"), (25.4, "1.0 in", "25 mm"), (301.0, "11.9 in", "301 mm")]
)
def test_lengths(mm, inch, metric):
    assert INCH.length(mm) == inch
    assert METRIC.length(mm) == metric


def test_amounts_are_told_no_finer_than_they_are_known():
    assert [METRIC.grams(g) for g in (3, 14, 617, 12_345)] == ["under 10 g", "10 g", "620 g", "12\u00a0340 g"]
    # an avoirdupois ounce is 28.349523125 g
    assert [INCH.grams(g) for g in (3, 28.35, 617)] == ["under 1 oz", "1 oz", "22 oz"]
    assert [INCH.seconds_from(s) for s in (4.0, 4.3, 3.2, None)] == [
        "from 4 s",
        "from 4.5 s",
        "from 3 s",
        "time by test",
    ]
    assert [INCH.duration(m) for m in (0.2, 29.1, 44.2, 61, 6412)] == [
        "1 min",
        "30 min",
        "45 min",
        "1 h",
        "106 h 50 min",
    ]


def test_temperature_and_belt():
    assert (INCH.temperature(160.0), METRIC.temperature(160.0)) == ("320 °F", "160 °C")
    assert METRIC.temperatures(149, 166) == "149 to 166 °C"
    assert INCH.temperatures(160, 160) == "320 °F"
    assert (INCH.belt(3.048), METRIC.belt(3.048)) == ("10.0 ft/min", "3.0 m/min")


def test_settings_take_the_shops_units():
    assert INCH.setting("584 × 787", "mm") == "23 × 31 in"
    assert METRIC.setting("584 × 787", "mm") == "584 × 787 mm"
    assert INCH.setting(2.4, "mm") == "0.09 in"
    assert INCH.setting(18.3, "µm") == "18 µm"
    assert INCH.setting("65/90/65", "Shore A") == "65/90/65 Shore A"
    assert INCH.setting(75.0, "° from the screen (15° from vertical)") == "75° from the screen (15° from vertical)"
    assert INCH.setting(1, "") == "1"


def test_counting():
    assert [thousands(n) for n in (999, 2400, 10_000, 1_234_567)] == [
        "999",
        "2400",
        "10\u00a0000",
        "1\u00a0234\u00a0567",
    ]
    assert [INCH.counted("screens", n) for n in (1, 7)] == ["1 screen", "7 screens"]
    assert [INCH.strokes(n) for n in (1, 2, 7)] == ["one stroke", "two strokes", "7 strokes"]
    assert [number(n) for n in (2.0, 2.44, 10.0)] == ["2", "2.4", "10"]
