"""Bicarbonate for spent acid, by hand and against a library of molar masses."""

import molmass
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cellkit import InputError
from cellkit.chemistry.recipe import neutralise
from cellkit.chemistry.solution import Electrolyte, from_molarity
from cellkit.tables.published import composition, molar_mass


def test_the_reaction_keeps_its_atoms():
    sides = ({"NaHCO3": 2, "H2SO4": 1}, {"Na2SO4": 1, "H2O": 2, "CO2": 2})
    left, right = (
        {e: sum(n * composition(f).get(e, 0) for f, n in side.items()) for e in ("Na", "H", "C", "O", "S")}
        for side in sides
    )
    assert left == right


def test_by_hand():
    """0.1 L of 1 mol/L: 0.1 mol of acid, 0.2 mol × 84.007 g/mol of bicarbonate, 0.2 mol × 24.465 L/mol of gas.

    Molar mass and molar volume (25 °C, 1 atm) are handbook figures, from memory.
    """
    found = neutralise(from_molarity.si(1e-4, 1000.0))
    assert found.acid.magnitude == pytest.approx(0.1)
    assert found.bicarbonate.magnitude == pytest.approx(16.801, abs=0.002)
    assert found.carbon_dioxide.magnitude == pytest.approx(0.2)
    assert found.gas_volume.magnitude == pytest.approx(4.893, rel=1e-3)


@pytest.mark.parametrize("formula", ["NaHCO3", "Na2SO4", "CO2"])
def test_molar_masses_against_molmass(formula):
    assert molar_mass(formula).magnitude == pytest.approx(molmass.Formula(formula).mass, rel=2e-4)


@given(st.floats(0, 3), st.floats(273.15, 318.15), st.floats(0, 1))
def test_only_the_acid_counts_and_gas_grows_with_warmth(acid, kelvin, salt):
    plain = neutralise.si(Electrolyte(0.1, acid, temperature=kelvin))
    salty = neutralise.si(Electrolyte(0.1, acid, salt, "copper", kelvin))
    assert plain == salty
    warmer = neutralise.si(Electrolyte(0.1, acid, temperature=kelvin * 1.1))
    assert warmer.gas_volume == pytest.approx(1.1 * plain.gas_volume)
    assert warmer.bicarbonate == plain.bicarbonate


@pytest.mark.parametrize("bad", [None, 1.0, "acid"])
def test_only_an_electrolyte_will_do(bad):
    with pytest.raises(InputError, match="of type Electrolyte"):
        neutralise(bad)
