from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setupassist.documents.shop import StockScreen
from setupassist.documents.terms import Known
from setupassist.trade import mesh

counts = st.floats(min_value=5, max_value=200)
shares = st.floats(min_value=0.05, max_value=0.95)


def test_geometry_of_a_round_example() -> None:
    cloth = mesh.woven(50, 50)  # pitch 200, opening 150, open 9/16, thickness 75
    assert cloth.opening_um == pytest.approx(150)
    assert cloth.open_area == pytest.approx(0.5625)
    assert cloth.thickness_um == pytest.approx(75)
    assert cloth.volume_cm3_m2 == pytest.approx(42.1875)
    assert cloth.known is Known.ESTIMATED
    assert cloth.finest_line_um(3) == pytest.approx(150)
    assert cloth.finest_gap_um(2) == pytest.approx(250)
    assert cloth.ruling_per_cm(4) == pytest.approx(12.5)


def test_measured_values_win() -> None:
    cloth = mesh.woven(190, 31, measured_opening_um=16, measured_thickness_um=55)
    assert cloth.opening_um == 16
    assert cloth.volume_cm3_m2 == pytest.approx(0.0924 * 55, rel=1e-3)
    assert cloth.known is Known.ENTERED
    assert mesh.woven(61, 64, measured_volume_cm3_m2=30).volume_cm3_m2 == 30
    assert mesh.woven(61, 64, measured_opening_um=95).known is Known.ESTIMATED
    stock = StockScreen(mesh_per_cm=61, thread_um=64, volume_cm3_m2=31.5)
    assert mesh.cloth_of(stock).volume_cm3_m2 == 31.5


@pytest.mark.parametrize(("count", "thread", "opening"), [(100, 100, None), (100, 120, None), (100, 40, 100)])
def test_no_opening_is_an_error(count: float, thread: float, opening: float | None) -> None:
    with pytest.raises(ValueError, match="opening"):
        mesh.woven(count, thread, measured_opening_um=opening)


def test_labels() -> None:
    assert [mesh.label_per_inch(n) for n in (43, 61, 77, 90, 120)] == [110, 156, 195, 230, 305]
    assert mesh.label_per_inch(70) == 178
    assert mesh.same_count(61, 156)
    assert mesh.same_count(61, 155)
    assert mesh.same_count(120, 300)
    assert not mesh.same_count(61, 140)


@given(count=counts, thread_share=shares, finer=st.floats(min_value=1.01, max_value=5))
def test_finer_mesh_of_the_same_thread_share_never_deposits_more(
    count: float, thread_share: float, finer: float
) -> None:
    coarse = mesh.woven(count, thread_share * 10_000 / count)
    fine = mesh.woven(count * finer, thread_share * 10_000 / (count * finer))
    assert fine.open_area == pytest.approx(coarse.open_area)
    assert fine.volume_cm3_m2 < coarse.volume_cm3_m2


@given(count=counts, share=shares)
def test_parts_add_up_to_the_pitch(count: float, share: float) -> None:
    thread = share * mesh.pitch_um(count)
    assert mesh.opening_um(count, thread) + thread == pytest.approx(mesh.pitch_um(count))
    assert mesh.count_per_cm(mesh.pitch_um(count)) == pytest.approx(count)


@given(count=counts, share=shares, scale=st.floats(min_value=0.2, max_value=5))
def test_volume_scales_with_the_cloth(count: float, share: float, scale: float) -> None:
    one = mesh.woven(count, share * 10_000 / count)
    other = mesh.woven(count / scale, share * 10_000 / count * scale)
    assert other.volume_cm3_m2 == pytest.approx(one.volume_cm3_m2 * scale)
