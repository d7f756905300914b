"""Charge and mass of plates, worked by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cellkit import Q_
from cellkit.cells.plates import (
    TWO_ELECTRON,
    felt_capacity,
    felt_plate_mass,
    minimum_volume,
    plate_layers,
    theoretical_capacity,
)
from cellkit.tables.published import FARADAY, molar_mass

AREA, THICK = Q_(25, "cm^2"), Q_(3, "mm")


@given(st.sampled_from(TWO_ELECTRON), st.floats(1e-6, 10))
def test_a_mole_carries_two_faradays(substance, kilograms):
    moles = kilograms / molar_mass.si(substance)
    assert theoretical_capacity.si(kilograms, substance) == pytest.approx(2 * FARADAY * moles, rel=1e-12)


@given(st.floats(0.01, 100), st.floats(1, 5000))
def test_volume_concentration_and_charge_close(charge, concentration):
    volume = minimum_volume.si(charge, concentration)
    assert 2 * FARADAY * volume * concentration == pytest.approx(charge, rel=1e-12)


def test_felt_plate_by_hand():
    """25 cm² × (19 + 30 + 25) mg/cm² = 1.85 g."""
    mass = felt_plate_mass(AREA, *(Q_(m, "mg/cm^2") for m in (19, 30, 25)))
    assert mass.to("g").magnitude == pytest.approx(1.85)


def test_layers_by_hand():
    """A square of 10 cm, its sizes and densities as in composite_plate.csv.

    Mesh: 100/0.65 = 153.8 wires each way, 2 × 153.8 × 10 cm × 7.854e-5 cm² × 7.9 g/cm³ = 1.909 g. Polyethylene:
    2 × 100 cm² × 0.01 cm × 1.1 g/cm³ = 2.2 g. Felt: 2 × 100 cm² × 0.3 cm × 0.07 × 1.8 g/cm³ = 7.56 g.
    """
    found = [each.to("mg/cm^2").magnitude for each in plate_layers(THICK)]
    assert found == pytest.approx([19.09, 22.0, 75.6], rel=1e-3)


def test_bare_felt_weighs_its_own():
    nothing = Q_(0, "mg/cm^2")
    assert felt_plate_mass(AREA, nothing, nothing, nothing).magnitude == 0.0


@pytest.mark.parametrize(("metal", "density"), [("copper", 8.96), ("zinc", 7.134)])
def test_felt_charge_by_hand(metal, density):
    """25 cm² × 0.3 cm × 0.93 × 0.3 = 2.0925 cm³ of metal; densities CRC, chemicals 1.5.2."""
    grams = 25 * 0.3 * 0.93 * 0.3 * density
    per_gram = {"copper": 0.8435, "zinc": 0.8199}[metal]  # Ah/g, handbook figures, from memory
    assert felt_capacity(metal, AREA, THICK).to("Ah").magnitude == pytest.approx(grams * per_gram, rel=1e-3)


@given(st.floats(0.01, 1.0), st.floats(1.01, 3))
def test_more_room_holds_more(fill, times):
    some = felt_capacity.si("copper", 1e-3, 1e-3, fill)
    assert felt_capacity.si("copper", 1e-3, times * 1e-3, fill) == pytest.approx(times * some)
    assert felt_capacity.si("copper", times * 1e-3, 1e-3, fill) == pytest.approx(times * some)


def test_scalar_equals_array_element():
    masses = np.array([0.001, 0.02, 0.5])
    assert theoretical_capacity.si(masses, "Pb").tolist() == [float(theoretical_capacity.si(m, "Pb")) for m in masses]
