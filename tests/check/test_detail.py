"""Fine detail against the finest screen in stock: 0.12 mm lines, 0.14 mm gaps (100 threads a cm of 40 µm)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from setupassist.documents.measure import Finding
from setupassist.documents.shop import Policies, Shop

Found = Callable[..., dict[str, Finding]]


@pytest.mark.parametrize(
    ("what", "width", "limit"), [("line", 0.119, 0.12), ("gap", 0.139, 0.14), ("line", 0.12, None), ("gap", 0.14, None)]
)
def test_lines_and_gaps_too_fine(found: Found, what: str, width: float, limit: float | None) -> None:
    told = found({"name": "red", f"finest_{what}_mm": width, f"finest_{what}_places_mm": [[1, 2]]})
    assert list(told) == ([f"{what}-too-fine"] if limit else [])
    if limit:
        finding = told[f"{what}-too-fine"]
        assert (finding.severity, finding.plates, finding.measured) == ("warn", ("red",), width)
        assert finding.limit == pytest.approx(limit)
        assert finding.places_mm == ((1, 2),)


def test_the_shops_own_factors_count(found: Found, shop: Shop) -> None:
    """Two threads a line are 0.08 mm, one opening and one thread 0.10 mm."""
    own = shop.model_copy(update={"policies": Policies(line_threads=2, gap_threads=1)})
    fine = {"name": "red", "finest_line_mm": 0.1, "finest_gap_mm": 0.11}
    assert set(found(fine)) == {"line-too-fine", "gap-too-fine"}
    assert found(fine, shop=own) == {}


def test_lengths_are_told_in_the_shops_unit(found: Found, shop: Shop) -> None:
    fine = {"name": "red", "finest_line_mm": 0.1}
    assert found(fine)["line-too-fine"].text == "red has lines of 0.10 mm; the finest screen in stock holds 0.12 mm"
    inch = shop.model_copy(update={"policies": Policies(units="inch")})
    told = found(fine, shop=inch)["line-too-fine"].text
    assert told == "red has lines of 0.004 in; the finest screen in stock holds 0.005 in"


def test_without_stock_nothing_is_too_fine(found: Found, shop: Shop) -> None:
    bare = shop.model_copy(update={"screens": ()})
    none_left = shop.model_copy(
        update={"screens": tuple(screen.model_copy(update={"quantity": 0}) for screen in shop.screens)}
    )
    for empty in (bare, none_left):
        assert found({"name": "red", "finest_line_mm": 0.01, "finest_gap_mm": 0.01}, shop=empty) == {}


def test_specks_are_a_note(found: Found) -> None:
    assert found({"name": "red", "specks": 0}) == {}
    finding = found({"name": "red", "specks": 12, "speck_places_mm": [[3, 4]]})["specks"]
    assert (finding.severity, finding.measured, finding.places_mm) == ("note", 12, ((3, 4),))
    assert finding.text == "red has 12 specks too small to hold"
    assert found({"name": "red", "specks": 1})["specks"].text == "red has 1 speck too small to hold"


def contact(**more: Any) -> list[dict[str, Any]]:
    return [{"plates": ["red", "blue"], "hairline_cm": 1.2, "hairline_mm": 0.15, "hairline_places_mm": [[9, 9]]} | more]


def test_a_hairline_between_two_inks(found: Found) -> None:
    red, blue = {"name": "red"}, {"name": "blue"}
    finding = found(red, blue, contacts=contact())["colours-gap"]
    assert (finding.severity, finding.plates) == ("warn", ("red", "blue"))
    assert (finding.measured, finding.limit, finding.places_mm) == (0.15, 0.3, ((9, 9),))
    assert finding.text == "red and blue leave a hairline of 0.15 mm unprinted between them, 12 mm long in all"
    assert found(red, blue, contacts=contact(hairline_cm=0, hairline_mm=None)) == {}
    assert found(red, blue, contacts=contact(hairline_cm=0.49)) == {}
    assert found(red, {"name": "blue", "role": "base"}, contacts=contact()) == {}
