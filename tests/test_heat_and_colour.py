"""Heat of dilution, conductivity, gas and colour: what has to hold whatever the numbers, and what is refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cellkit import Q_, InputError
from cellkit.colour import transmittance
from cellkit.conductivity import conductivity
from cellkit.gas import gas_volume, ventilation
from cellkit.heat import CP_ACID, CP_WATER, dilute, relative_enthalpies

M, G, AH = Q_(1, "mol/L"), Q_(100, "g"), Q_(1, "Ah")


@given(st.floats(0.05, 0.84), st.floats(0.01, 10), st.floats(275, 315))
def test_energy_is_kept(strength, water, kelvin):
    """All the heat stays in the beaker: m c_p ΔT of the mixture is the heat set free."""
    found = dilute.si(1.0, water, strength, kelvin)
    capacity = strength * CP_ACID + (1 - strength + water) * CP_WATER
    assert found.heat == pytest.approx(capacity * (found.final - kelvin), rel=1e-9, abs=1e-6)
    assert found.heat >= 0
    assert found.hottest_acid_into_water >= found.final - 1e-9
    assert found.hottest_water_into_acid >= found.final - 1e-9


def test_the_wrong_order_is_hotter_with_strong_acid():
    found = dilute(G, G, 0.84)
    assert found.hottest_water_into_acid - found.hottest_acid_into_water > Q_(5, "delta_degC")


@given(st.floats(0.1, 6))
def test_partial_enthalpies_obey_gibbs_duhem(molality):
    """n dL(acid) + n(water) dL(water) = 0 along a change of molality."""
    step = 1e-4 * molality
    acid, water = (
        np.subtract(*x) for x in zip(*map(relative_enthalpies, (molality + step, molality - step)), strict=True)
    )
    assert molality * acid + water / 0.018015 == pytest.approx(0, abs=0.02 * abs(molality * acid) + 0.05)


@given(st.floats(0, 2000), st.floats(0, 1000), st.sampled_from(["copper", "zinc"]))
def test_mixture_conducts_between_its_parts(acid, salt, metal):
    total = acid + salt
    ends = conductivity.si(total), conductivity.si(0.0, total, metal)
    assert min(ends) - 1e-9 <= conductivity.si(acid, salt, metal) <= max(ends) + 1e-9


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


BAD = {
    "heat, plain mass": lambda: dilute(100, G),
    "heat, no water": lambda: dilute(G, 0 * G),
    "heat, fuming": lambda: dilute(G, G, 0.98),
    "heat, frozen": lambda: dilute(G, G, 0.37, Q_(-20, "degC")),
    "conductivity, negative": lambda: conductivity(-M),
    "conductivity, unknown metal": lambda: conductivity(M, M, "iron"),
    "conductivity, salt of no metal": lambda: conductivity(M, M),
    "conductivity, past the table": lambda: conductivity(Q_(9, "mol/L")),
    "gas, wrong unit": lambda: gas_volume(Q_(1, "Wh")),
    "gas, unknown": lambda: gas_volume(AH, "methane"),
    "air, half a cell": lambda: ventilation(2.5, Q_(1, "A")),
    "air, negative": lambda: ventilation(3, Q_(-1, "A")),
    "colour, no path": lambda: transmittance(M, Q_(0, "cm")),
    "colour, text": lambda: transmittance("blue", Q_(1, "cm")),
}


@pytest.mark.parametrize("call", BAD.values(), ids=BAD)
def test_refused(call):
    with pytest.raises(InputError, match=r"(?i)try|allowed"):
        call()
