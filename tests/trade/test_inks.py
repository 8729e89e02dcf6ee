from __future__ import annotations

import pytest

from setupassist.documents.shop import Ink
from setupassist.documents.terms import InkSystem, Role
from setupassist.trade.fabrics import fabric_of
from setupassist.trade.inks import density_g_cm3, particle_um, typical_ink
from setupassist.trade.typical import setting


@pytest.mark.parametrize("system", list(InkSystem))
@pytest.mark.parametrize("role", list(Role))
def test_every_system_and_role_has_a_typical_ink(system: InkSystem, role: Role) -> None:
    ink = typical_ink(system, role)
    assert 0.5 < ink.density.number < 2
    assert ink.particle.within(ink.particle.number)
    assert 45 <= ink.cure_time.low < ink.cure_time.high <= 180
    assert 120 <= ink.cure_temperature.low < ink.cure_temperature.high < 200
    assert ink.cure_time.low < ink.cure_time.middle < ink.cure_time.high


def test_role_wins_over_system() -> None:
    assert typical_ink(InkSystem.PLASTISOL, Role.GLITTER).particle.number == 203
    assert typical_ink(InkSystem.PLASTISOL, Role.BASE).density.number > typical_ink(InkSystem.PLASTISOL).density.number
    assert typical_ink(InkSystem.WATER_BASED, Role.PUFF).notes[0][1].startswith("common practice")


def test_the_shelf_wins_over_the_typical_ink() -> None:
    ink = Ink(name="sand", density=1.31, particle_um=22.0)
    assert density_g_cm3(ink, InkSystem.PLASTISOL, Role.COLOUR) == 1.31
    assert particle_um(ink, InkSystem.PLASTISOL, Role.COLOUR) == (22.0, "the shop book")
    assert density_g_cm3(Ink(name="sand"), InkSystem.PLASTISOL, Role.COLOUR) == 1.1
    assert particle_um(None, InkSystem.PLASTISOL, Role.GLITTER)[0] == 203


def test_only_discharge_brings_its_own_residue() -> None:
    assert typical_ink(InkSystem.PLASTISOL).residue is None
    residue = typical_ink(InkSystem.DISCHARGE).residue
    assert residue is not None
    assert (residue.low, residue.high) == (1000, 2000)


def test_fabrics() -> None:
    fleece = fabric_of("Heavy fleece")
    assert fleece is not None
    assert fleece.base_mesh is not None
    assert fleece.base_mesh.number == 110
    athletic, blend = fabric_of("athletic-mesh"), fabric_of("tri-blend jersey")
    assert athletic is not None
    assert blend is not None
    assert (athletic.name, blend.name) == ("athletic mesh", "tri-blend")
    assert fabric_of("jersey") is None
    assert fabric_of("") is None


def test_settings() -> None:
    angle = setting("squeegee_angle")
    assert angle.within(angle.number)
    assert not angle.within(20)
    assert angle.cited.startswith("published: ")
    with pytest.raises(KeyError):
        setting("no such setting")
    with pytest.raises(TypeError):
        _ = setting("flood").number
