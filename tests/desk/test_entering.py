"""What is typed over a value: units, fractions, meshes; and that what is shown reads back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setupassist.desk.entering import LENGTHS, MESH, SHARES, entered, mesh_shown, shown
from setupassist.errors import InputFault
from setupassist.trade.mesh import label_per_inch


@pytest.mark.parametrize(
    ("field", "text", "metric", "value"),
    [
        ("strokes", "2", True, 2),
        ("strokes", " 3 ", False, 3),
        ("off_contact_mm", "1.6", True, 1.6),
        ("off_contact_mm", "1,6 mm", False, 1.6),
        ("off_contact_mm", "1/16", False, 1.5875),  # 25.4 ÷ 16
        ("off_contact_mm", "1/8 in", True, 3.175),
        ("squeegee_width_mm", "13 1/2", False, 342.9),  # 13.5 × 25.4
        ("squeegee_width_mm", "30 cm", False, 300.0),
        ("stroke_length_mm", '16"', True, 406.4),
        ("tension_n_per_cm", "24 N/cm", False, 24.0),
        ("squeegee_angle_deg", "75°", True, 75.0),
        ("stencil_um", "18 µm", True, 18.0),
        ("squeegee_shore", "70/90/70", True, "70/90/70"),
        ("squeegee_shore", " 65 ", True, 65),
        ("spoilage", "2.5 %", True, 0.025),
        ("flash_seconds", "4,5 s", True, 4.5),
    ],
)
def test_a_value_is_read_in_the_persons_units(field: str, text: str, metric: bool, value: object) -> None:
    assert entered(field, text, metric=metric) == {field: value}


@pytest.mark.parametrize(
    ("text", "metric", "count", "thread"),
    [
        ("230", False, 230.0, None),
        ("156-64", False, 156.0, 64.0),
        ("61", True, 156.0, None),  # 61 per cm is sold as 156
        ("61-64", True, 156.0, 64.0),
        ("90/cm", False, 230.0, None),
        ("305 per inch", True, 305.0, None),
        ("77-48 cm", False, 195.0, 48.0),
    ],
)
def test_a_mesh_is_read_per_cm_or_per_inch(text: str, metric: bool, count: float, thread: float | None) -> None:
    assert entered(MESH, text, metric=metric) == {"mesh_per_inch": count, "thread_um": thread}


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("strokes", "two", "'two' is no number"),
        ("strokes", "1.5", "'1.5' is no whole number"),
        ("off_contact_mm", "2 miles", "'miles' is no unit of length"),
        ("off_contact_mm", "1/0", "is no number"),
        ("off_contact_mm", "-1", "is no number"),
        ("squeegee_shore", "  ", "nothing was typed"),
        (MESH, "fine", "'fine' is no mesh"),
        (MESH, "61 ells", "is no mesh"),
        ("stencil_um", "", "is no number"),
    ],
)
def test_what_cannot_be_read_is_one_sentence(field: str, text: str, said: str, faults_by_id: None) -> None:
    with pytest.raises(InputFault, match=said):
        entered(field, text, metric=True)


@given(st.sampled_from(sorted(LENGTHS | SHARES | {"tension_n_per_cm"})), st.floats(0.01, 900), st.booleans())
def test_what_is_shown_reads_back(field: str, value: float, metric: bool) -> None:
    """To the four figures that are shown, and a micrometre."""
    back = entered(field, shown(field, value, metric=metric), metric=metric)[field]
    assert back == pytest.approx(value, rel=6e-4, abs=1e-3)


@given(st.sampled_from([43.0, 54.0, 61.0, 77.0, 90.0, 120.0]), st.booleans())
def test_a_mesh_that_is_shown_reads_back(per_cm: float, metric: bool) -> None:
    per_inch = label_per_inch(per_cm)
    text = mesh_shown(per_cm, per_inch, metric=metric)
    assert entered(MESH, text, metric=metric)["mesh_per_inch"] == per_inch
