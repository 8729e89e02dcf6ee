from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setupassist.documents.shop import Dryer
from setupassist.documents.terms import InkSystem, Role
from setupassist.estimate.dryer import belt_pieces_per_hour, cure_seconds, dryer_load, needed_m_per_min

DRYER = Dryer(name="d", heated_length_mm=5000, spacing_mm=500)


def test_the_slowest_ink_sets_the_dwell() -> None:
    plastisol = (InkSystem.PLASTISOL, Role.COLOUR)  # 60 to 90 s
    discharge = (InkSystem.DISCHARGE, Role.COLOUR)  # 120 to 180 s
    assert cure_seconds([plastisol]) == 75
    assert cure_seconds([plastisol, discharge]) == 150
    assert cure_seconds([]) == 0


def test_load_by_hand() -> None:
    # 600 an hour × 0.5 m ÷ 60 = 5 m/min; 5 m in 75 s is 4 m/min, 480 an hour
    load = dryer_load(600, DRYER, dwell_seconds=75)
    assert load.needed_m_per_min == pytest.approx(5)
    assert load.fastest_m_per_min == pytest.approx(4)
    assert load.pieces_per_hour == pytest.approx(480)
    assert load.limits_pace
    assert not dryer_load(480, DRYER, dwell_seconds=75).limits_pace


def test_two_lanes_and_a_slow_belt() -> None:
    wide = DRYER.model_copy(update={"lanes": 2})
    assert needed_m_per_min(600, wide) == pytest.approx(2.5)
    assert not dryer_load(600, wide, dwell_seconds=75).limits_pace
    slow = wide.model_copy(update={"fastest_m_per_min": 2.0})
    assert dryer_load(600, slow, dwell_seconds=75).fastest_m_per_min == 2.0
    assert dryer_load(600, slow, dwell_seconds=75).limits_pace


def test_nothing_to_cure_does_not_limit() -> None:
    load = dryer_load(600, DRYER, dwell_seconds=0)
    assert (load.fastest_m_per_min, load.pieces_per_hour, load.limits_pace) == (None, None, False)


@given(rate=st.floats(1, 5000), lanes=st.integers(1, 4), spacing=st.floats(100, 2000))
def test_speed_and_rate_are_inverse(rate: float, lanes: int, spacing: float) -> None:
    dryer = Dryer(name="d", heated_length_mm=5000, spacing_mm=spacing, lanes=lanes)
    assert belt_pieces_per_hour(needed_m_per_min(rate, dryer), dryer) == pytest.approx(rate)
