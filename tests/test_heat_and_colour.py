"""Heat of dilution, conductivity, gas and colour: what has to hold whatever the numbers, and what is refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cellkit import Q_, InputError
from cellkit.chemistry.properties import (
    CP_ACID,
    CP_WATER,
    apparent_enthalpy,
    conductivity,
    density,
    heat_of_dilution,
    relative_enthalpies,
    transmittance,
)
from cellkit.chemistry.side_reactions import gas_volume, ventilation
from cellkit.tables.published import FARADAY, molar_mass, table

M, G, AH = Q_(1, "mol/L"), Q_(100, "g"), Q_(1, "Ah")


@given(st.floats(0.05, 0.84), st.floats(0.01, 10), st.floats(275, 315))
def test_energy_is_kept(strength, water, kelvin):
    """All the heat stays in the beaker: m c_p ΔT of the mixture is the heat set free."""
    found = heat_of_dilution.si(1.0, water, strength, kelvin)
    capacity = strength * CP_ACID + (1 - strength + water) * CP_WATER
    assert found.heat == pytest.approx(capacity * (found.final - kelvin), rel=1e-9, abs=1e-6)
    assert found.heat >= 0
    assert found.hottest_acid_into_water >= found.final - 1e-9
    assert found.hottest_water_into_acid >= found.final - 1e-9


def test_the_wrong_order_is_hotter_with_strong_acid():
    found = heat_of_dilution(G, G, 0.84)
    assert found.hottest_water_into_acid - found.hottest_acid_into_water > Q_(5, "delta_degC")
    capacity = 0.1 * (0.84 * CP_ACID + 1.16 * CP_WATER)  # J/K of 100 g of acid and 100 g of water
    assert found.heat.to("J").m == pytest.approx(capacity * (found.final - Q_(25, "degC")).m, rel=1e-9)


@pytest.mark.parametrize("water", [0.05, 0.4, 3.0])
def test_hottest_on_the_way_is_the_hottest_of_all_part_pours(water):
    """Pour a part, let it mix, read the thermometer: a hundred dilutions of 1 kg of 84 % acid at 20 °C."""
    part, found = np.linspace(0.01, 1, 100), heat_of_dilution.si(1.0, water, 0.84, 293.15)
    acid_into_water = heat_of_dilution.si(part * 1.0, water, 0.84, 293.15).final
    water_into_acid = heat_of_dilution.si(1.0, part * water, 0.84, 293.15).final
    assert found.hottest_acid_into_water == pytest.approx(acid_into_water.max(), abs=1e-9)
    assert found.hottest_water_into_acid == pytest.approx(max(water_into_acid.max(), 293.15), abs=1e-9)


@given(st.floats(0.1, 6))
def test_partial_enthalpies_obey_gibbs_duhem(molality):
    """n dL(acid) + n(water) dL(water) = 0 along a change of molality."""
    step = 1e-4 * molality
    acid, water = (
        np.subtract(*x) for x in zip(*map(relative_enthalpies, (molality + step, molality - step)), strict=True)
    )
    assert molality * acid + water / 0.018015 == pytest.approx(0, abs=0.02 * abs(molality * acid) + 0.05)


def test_the_enthalpy_goes_through_its_table():
    """Each row of ``data/reference/sulfuric_acid_enthalpy.csv``, where a kilojoule is 1000 J."""
    for row in table("sulfuric_acid_enthalpy"):
        found = apparent_enthalpy(row["molality_mol_per_kg"]) / 1000
        assert found == pytest.approx(row["apparent_relative_molal_enthalpy_kJ_per_mol"], rel=1e-9)


@given(st.floats(0, 2000), st.floats(0, 1000), st.sampled_from(["copper", "zinc"]))
def test_mixture_conducts_between_its_parts(acid, salt, metal):
    total = acid + salt
    ends = conductivity.si(total), conductivity.si(0.0, total, metal)
    assert min(ends) - 1e-9 <= conductivity.si(acid, salt, metal) <= max(ends) + 1e-9


@pytest.mark.parametrize("metal", [None, "copper", "zinc"])
def test_a_trace_conducts_in_proportion(metal):
    """Kohlrausch: towards infinite dilution the conductivity is that of water, here none, plus a slope."""
    for kelvin in (278.15, 298.15):
        once, twice = (conductivity.si(*((0.0, c) if metal else (c, 0.0)), metal, kelvin) for c in (0.001, 0.002))
        assert once > 0
        assert twice == pytest.approx(2 * once, rel=1e-3)


def test_refusal_names_both_strengths():
    with pytest.raises(InputError, match=r"^6 mol/L in all is beyond the table; allowed is 5\.3 mol/L"):
        conductivity(5 * M, M, "copper")


def test_makers_fill_conducts_ten_times_worse_than_battery_acid():
    """Common practice, no source: metal sulfate without acid conducts at least ten times worse than battery acid."""
    battery_acid = conductivity(Q_(4.8, "mol/L"))
    for metal in ("copper", "zinc"):
        assert battery_acid / conductivity(0 * M, M, metal) > 10


def test_colour_fades_as_copper_plates():
    """Common practice, no source: a copper cell's solution loses its blue as it charges."""
    light = transmittance(Q_(np.array([1, 0.5, 0.1, 0]), "mol/L"), Q_(1, "mm")).magnitude
    assert np.all(np.diff(light) > 0)
    assert light[-1] == 1


def test_a_mole_of_gas_fills_the_molar_volume():
    """22.413 969 54 L at 0 °C and 101 325 Pa (CODATA 2018, from memory); 2 F make a mole of H2, 4 F one of O2."""
    assert gas_volume.si(2 * FARADAY, "hydrogen", 273.15) == pytest.approx(0.02241396954, rel=1e-6)
    assert gas_volume.si(4 * FARADAY, "oxygen", 273.15) == pytest.approx(0.02241396954, rel=1e-6)


def test_air_by_hand():
    """Six cells at 2 A: 0.05 × 6 × 2 = 0.6 m³/h (EN IEC 62485-2, from memory)."""
    assert 3600 * ventilation(6, 2.0) == pytest.approx(0.6, rel=1e-9)


def test_air_is_over_four_times_what_keeps_hydrogen_below_its_limit():
    """1 A makes 1/(2 F) mol/s (CODATA), 8.314 × 313.15/101325 m³/mol at 40 °C; 4 % is the published lower limit."""
    hydrogen = 8.314 * 313.15 / 101325 / (2 * FARADAY)
    assert ventilation(1, 1.0) > 4 * hydrogen / 0.04


def test_conductivity_in_the_cold_by_hand():
    """5 wt% acid: 1.21 % per kelvin of what it is at 18 °C, (1 - 18 × 0.0121)/(1 + 7 × 0.0121) = 0.7211 at 0 °C.

    The slope is Kohlrausch's, from memory. One slope of 1.6 % for every strength would say 0.60.
    """
    concentration = 0.05 * density.si(0.05, 0.0, None, 291.15) / molar_mass.si("H2SO4")
    cold, room = conductivity.si(concentration, temperature=np.array([273.15, 298.15]))
    assert cold / room == pytest.approx(0.7211, rel=1e-3)


def test_strong_acid_gains_more_by_warmth_than_weak():
    weak, strong = (conductivity.si(c, temperature=np.array([288.15, 308.15])) for c in (500.0, 4000.0))
    assert strong[1] / strong[0] > 1.03 * weak[1] / weak[0]
