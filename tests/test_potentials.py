"""Rest voltages: definitions, limits, bands and refusals. Comparisons with published values are in external/."""

import re
import warnings
from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cellkit import Q_, InputError
from cellkit.chemistry.activity import ACID, ROOM, STAND_INS, activities, tabulated
from cellkit.chemistry.potentials import (
    NEGATIVES,
    corrosion_driving_force,
    electrode_potential,
    half_cell,
    rest_voltage,
    rest_voltage_uncertainty,
)
from cellkit.chemistry.properties import apparent_enthalpy
from cellkit.tables.metals import METALS
from cellkit.tables.published import FARADAY, GAS, composition, table

few = settings(max_examples=settings().max_examples // 3)
acids = st.floats(0.01, 6.9)
shares = st.floats(0.01, 0.99)
metals = st.sampled_from(sorted(METALS))
kelvins = st.floats(273.15, 318.15)
HALF_CELLS = ("lead dioxide", "lead", "copper", "zinc", "hydrogen", "oxygen")


@few
@given(acids, shares, metals, kelvins, st.booleans())
def test_cell_is_the_difference_of_its_electrodes(acid, share, metal, kelvin, ideal):
    salt = share * METALS[metal].salt_limit
    ends = [electrode_potential.si(n, acid, salt, metal, kelvin, ideal) for n in ("lead dioxide", metal)]
    assert rest_voltage.si(metal, acid, salt, kelvin, ideal) == pytest.approx(ends[0] - ends[1], rel=1e-12)


@few
@given(acids, shares, metals)
def test_rest_voltage_is_the_free_energy_of_the_reaction(acid, share, metal):
    """E = E° + (RT/2F) ln Q written out for PbO2 + M + 4 H+ + SO4-- = PbSO4 + M++ + 2 H2O: counts the exponents."""
    salt = share * METALS[metal].salt_limit
    ln = activities.si(acid, salt, metal)
    quotient = 4 * ln.hydrogen + ln.sulfate - ln.metal - 2 * ln.water
    e0 = half_cell("lead dioxide")["e0"] - half_cell(metal)["e0"]
    expected = e0 + GAS * ROOM / (2 * FARADAY) * quotient
    assert rest_voltage.si(metal, acid, salt) == pytest.approx(float(expected), rel=1e-12)


@few
@given(acids)
def test_lead_cell_counts_two_moles_of_acid(acid):
    """PbO2 + Pb + 4 H+ + 2 SO4-- = 2 PbSO4 + 2 H2O."""
    ln = activities.si(acid)
    quotient = 4 * ln.hydrogen + 2 * ln.sulfate - 2 * ln.water
    e0 = half_cell("lead dioxide")["e0"] - half_cell("lead")["e0"]
    assert rest_voltage.si("lead", acid) == pytest.approx(float(e0 + GAS * ROOM / (2 * FARADAY) * quotient), rel=1e-12)


@few
@given(acids, shares, metals)
def test_water_window_is_that_of_liquid_water(acid, share, metal):
    """E(O2) - E(H2) = 1.229 V less what ln a(w) takes: 2 H2 + O2 = 2 H2O, in every solution."""
    salt = share * METALS[metal].salt_limit
    ends = [electrode_potential.si(name, acid, salt, metal) for name in ("oxygen", "hydrogen")]
    water = GAS * ROOM / (2 * FARADAY) * activities.si(acid, salt, metal).water
    assert ends[0] - ends[1] == pytest.approx(1.2287 - float(water), abs=0.001)


@few
@given(acids, shares, metals, st.floats(1.02, 1.5))
def test_more_metal_ions_lower_the_ideal_rest_voltage_and_more_acid_raises_it(acid, share, metal, times):
    salt = share * METALS[metal].salt_limit / 1.5
    volts = rest_voltage.si(metal, acid / 1.5, salt, ideal=True)
    assert rest_voltage.si(metal, acid * times / 1.5, salt, ideal=True) > volts
    assert rest_voltage.si("lead", acid * times / 1.5) > rest_voltage.si("lead", acid / 1.5)


@few
@given(st.lists(st.tuples(acids, shares), min_size=1, max_size=5), st.sampled_from(NEGATIVES), kelvins)
def test_scalar_equals_array_element(points, negative, kelvin):
    acid, share = np.array(points).T
    salt = share * (METALS[negative].salt_limit if negative in METALS else 0.0)
    for function in (rest_voltage, rest_voltage_uncertainty):
        together = function.si(negative, acid, salt, kelvin)
        alone = [float(function.si(negative, a, s, kelvin)) for a, s in zip(acid, salt, strict=True)]
        assert together == pytest.approx(alone, rel=1e-9)


def test_ideal_limit():
    """In very dilute acid all ions are free: real and ideal rest voltage meet."""
    real, ideal = (rest_voltage.si("lead", 1e-7, ideal=i) for i in (False, True))
    assert real == pytest.approx(ideal, abs=2e-4)
    real, ideal = (rest_voltage.si("copper", 1e-7, 1e-7, ideal=i) for i in (False, True))
    assert real == pytest.approx(ideal, abs=2e-4)


def test_ideal_nernst_is_off_by_tens_of_millivolts_in_a_real_fill():
    for metal in METALS:
        gap = rest_voltage.si(metal, 1.0, 1.0, ideal=True) - rest_voltage.si(metal, 1.0, 1.0)
        assert gap > 0.03


@pytest.mark.parametrize("negative", NEGATIVES)
def test_room_temperature_is_where_both_forms_meet(negative):
    salt = 0.0 if negative == "lead" else 0.5
    at, near = (rest_voltage.si(negative, 1.0, salt, temperature=t) for t in (ROOM, ROOM + 1e-6))
    assert near == pytest.approx(at, abs=1e-8)


def test_warmth_sees_the_total_sulfate_whether_of_acid_or_salt():
    """Gibbs and Helmholtz: E/T moves by the enthalpies, here those of acid at the same total sulfate."""
    moved = [
        np.subtract(*(electrode_potential.si("hydrogen", acid, salt, "copper", t) / t for t in (278.15, ROOM)))
        for acid, salt in ((2.0, 0.0), (1.5, 0.5), (1.0, 1.0))
    ]
    assert moved == pytest.approx(3 * moved[:1], rel=1e-9)
    # E/T of 2 H+ + 2 e- = H2 moves by L/(2F) · (1/T - 1/298.15 K), L of 2 mol/kg from the enthalpy of H2SO4 by steps
    total = np.array([1.999, 2.0, 2.001])
    slope = np.gradient(total * apparent_enthalpy(total), total)[1]
    assert moved[0] == pytest.approx(slope / (2 * FARADAY) * (1 / 278.15 - 1 / ROOM), rel=1e-4)


def test_signs_of_corrosion():
    """Zinc lies about 0.76 V below hydrogen, copper above it: the electrochemical series of any textbook."""
    assert corrosion_driving_force("zinc", 1.0, 0.5) > 0.7
    assert corrosion_driving_force("copper", 1.0, 0.5) < -0.25
    for metal in METALS:  # both in the same solution, with the activities of its ions
        ends = [electrode_potential.si(name, 1.0, 0.5, metal) for name in ("hydrogen", metal)]
        assert corrosion_driving_force(metal, 1.0, 0.5) == pytest.approx(ends[0] - ends[1], rel=1e-12)


def test_lead_dioxide_stands_past_the_oxygen_line():
    """A charged positive stands above 1.23 V and lives on slow oxygen evolution; lead's negative below hydrogen."""
    for acid in (0.5, 1.0, 5.0):
        assert electrode_potential.si("lead dioxide", acid) > electrode_potential.si("oxygen", acid)
        assert electrode_potential.si("lead", acid) < electrode_potential.si("hydrogen", acid)


def test_missing_ions_give_infinities():
    assert rest_voltage.si("copper", 1.0, 0.0) == np.inf
    assert rest_voltage.si("lead", 0.0) == -np.inf


# --- the band


@few
@given(acids, shares, metals)
def test_band_covers_both_stand_ins(acid, share, metal):
    salt = share * METALS[metal].salt_limit
    band, middle = rest_voltage_uncertainty.si(metal, acid, salt), rest_voltage.si(metal, acid, salt)
    for stand_in in STAND_INS:
        assert abs(rest_voltage.si(metal, acid, salt, stand_in=stand_in) - middle) < band


@pytest.mark.parametrize("metal", METALS)
def test_with_neither_acid_nor_salt_there_are_no_volts_and_no_foreign_warning(metal):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert np.isnan(rest_voltage.si(metal, 0.0, 0.0))
        assert rest_voltage.si(metal, 1.0, 0.0) == np.inf
        assert rest_voltage.si(metal, 0.0, 0.5) == rest_voltage.si("lead", 0.0) == -np.inf


@pytest.mark.parametrize("negative", NEGATIVES)
def test_band_is_wider_away_from_room_temperature(negative):
    salt = 0.0 if negative == "lead" else 0.5
    band = [float(rest_voltage_uncertainty.si(negative, 1.0, salt, t)) for t in (273.15, 298.15, 318.15)]
    assert band[0] > band[1] < band[2]
    assert 0.006 < band[1] < 0.012


@pytest.mark.parametrize("metal", METALS)
@pytest.mark.parametrize(("acid", "salt"), [(7.0, 0.01), (1.0, 0.5), (1.0, 0.0), (0.0, 0.5)])
def test_band_by_hand(metal, acid, salt):
    """√(6² + u² + 2² + g²) mV: u = 3 mV for copper, 2 mV for zinc, g half the gap of the stand-ins but at least 3."""
    pair = [rest_voltage.si(metal, acid, salt, stand_in=s) for s in STAND_INS]
    gap = 1000 * abs(pair[0] - pair[1]) / 2 if acid and salt else 0.0
    alone = {"copper": 3.0, "zinc": 2.0}[metal]
    by_hand = np.sqrt(6.0**2 + alone**2 + 2.0**2 + max(gap, 3.0) ** 2)
    assert 1000 * rest_voltage_uncertainty.si(metal, acid, salt) == pytest.approx(by_hand, rel=1e-6)
    assert (gap > 4) == (acid == 7)


@pytest.mark.parametrize(("negative", "per_kelvin"), [("lead", 0.06e-3), ("copper", 0.3e-3), ("zinc", 0.3e-3)])
def test_a_kelvin_widens_the_band_by_what_the_docstring_says(negative, per_kelvin):
    """Squares add: band² at 5 °C less band² at 25 °C is (20 K × 0.06 or 0.3 mV/K)²."""
    salt = 0.0 if negative == "lead" else 0.5
    band = [float(rest_voltage_uncertainty.si(negative, 1.0, salt, t)) for t in (278.15, ROOM)]
    assert band[0] ** 2 - band[1] ** 2 == pytest.approx((20 * per_kelvin) ** 2, rel=1e-6)


def test_lead_band_covers_the_databases():
    """Independent Gibbs energies put E° of the lead cell between 2.041 and 2.056 V (CRC, minteq, sit, Thermoddem)."""
    e0 = half_cell("lead dioxide")["e0"] - half_cell("lead")["e0"]
    band = float(rest_voltage_uncertainty.si("lead", 1.0))
    assert band == pytest.approx(rest_voltage_uncertainty.si("lead", 0.0), rel=1e-12), "and needs no acid"
    assert e0 - band < 2.0412
    assert e0 + band > 2.0535


@pytest.mark.parametrize(("acid", "salt"), [(9.0, 0.5), (1.0, 2.0), (float("nan"), 0.5)])
def test_no_band_around_nothing(acid, salt):
    assert np.isnan(rest_voltage.si("copper", acid, salt))
    assert np.isnan(rest_voltage_uncertainty.si("copper", acid, salt))


@pytest.mark.parametrize("metal", METALS)
@pytest.mark.parametrize(
    ("strongest", "gap"),
    [
        (2.0, 0.008),
        (7.0, 0.010),
    ],
)
def test_stand_ins_differ_by_what_the_docstring_says(metal, strongest, gap):
    acid, salt = np.meshgrid(np.linspace(0.1, strongest, 15), [0.01, 0.1, 0.5, 1.0, METALS[metal].salt_limit])
    volts = [rest_voltage.si(metal, acid, salt, stand_in=s) for s in STAND_INS]
    assert 0.8 * gap < np.abs(volts[0] - volts[1]).max() < gap


# --- refusals

A, S = Q_(1, "mol/kg"), Q_(0.5, "mol/kg")
BAD = {
    "salt beside lead": (lambda: rest_voltage("lead", A, S), "metal"),
    "salt beside lead, ideal": (lambda: rest_voltage("lead", A, S, ideal=True), "metal"),
    "copper without copper": (lambda: rest_voltage_uncertainty("copper", A), "no copper ions"),
}


@pytest.mark.parametrize(("call", "names"), BAD.values(), ids=BAD)
def test_bad_input(call, names):
    with pytest.raises(InputError, match=names):
        call()


@few
@given(st.one_of(st.floats(7.001, 1e4), st.floats(-1e4, -1e-6)), st.sampled_from(NEGATIVES))
def test_out_of_range_is_nan_never_a_number(acid, negative):
    salt = 0.0 if negative == "lead" else 0.5
    metal = None if negative == "lead" else negative
    assert np.isnan(rest_voltage.si(negative, acid, salt))
    assert np.isnan(rest_voltage.si(negative, acid, salt, ideal=True))
    for name in HALF_CELLS[:2]:
        assert np.isnan(electrode_potential.si(name, acid, salt, metal))
    assert np.isnan(rest_voltage.si(negative, 1.0, salt, temperature=300.0 + (20 if acid > 0 else -40)))


def _sides(reduction):
    """``[(count, formula, charge), ...]`` of both sides of a reduction such as 'Zn++ + 2e- = Zn'."""
    for side in reduction.split(" = "):
        terms = [re.fullmatch(r"(\d*)(e|[A-Z]\w*)([+-]*)", term).groups() for term in side.split(" + ")]
        yield [(int(n or 1), formula, sign.count("+") - sign.count("-")) for n, formula, sign in terms]


@pytest.mark.parametrize("row", table("half_cells"), ids=HALF_CELLS)
def test_reductions_balance_atoms_and_charge(row):
    totals = []
    for side in _sides(row["reduction"]):
        atoms = Counter()
        for n, formula, charge in side:
            atoms["charge"] += n * charge
            for element, count in ({} if formula == "e" else composition(formula)).items():
                atoms[element] += n * count
        totals.append(atoms)
    assert totals[0] == totals[1]


@pytest.mark.parametrize("row", table("half_cells"), ids=HALF_CELLS)
def test_potentials_follow_the_reduction_as_written(row):
    """E = E° + (RT/nF) [Σ ln a(left) - Σ ln a(right)], exponents read from the table; solids and gases 1."""
    metal = row["half_cell"] if row["half_cell"] in METALS else "copper"
    ln = activities.si(2.0, 0.4, metal)
    known = {"H": ln.hydrogen, "SO4": ln.sulfate, "H2O": ln.water, METALS[metal].symbol: ln.metal}
    left, right = _sides(row["reduction"])
    electrons = next(n for n, formula, _ in left if formula == "e")
    quotient = 0.0
    for sign, side in ((1, left), (-1, right)):
        for n, formula, charge in side:
            if charge or formula == "H2O":
                quotient += sign * n * known.get(formula, 0.0)
    expected = row["e0_V"] + GAS * ROOM / (electrons * FARADAY) * float(quotient)
    assert electrode_potential.si(row["half_cell"], 2.0, 0.4, metal) == pytest.approx(expected, abs=1e-9)


def test_half_cells_are_those_of_the_table():
    assert tuple(row["half_cell"] for row in table("half_cells")) == HALF_CELLS
    assert all(half_cell(name)["source"] for name in HALF_CELLS)
    for row in table("half_cells"):
        found = half_cell(row["half_cell"])
        assert 1000 * found["slope"] == pytest.approx(row["de0_dT_mV_per_K"])
        assert 1000 * found["uncertainty"] == pytest.approx(row["uncertainty_mV"])


# --- many at once


def everywhere(metal):
    """Compositions all over the range of the model, crowded where little is left, its edges and what lies outside."""
    random, n, most = np.random.default_rng(7), 6000, METALS[metal].salt_limit if metal else 0.0
    acid = ACID.high * np.concatenate([random.random(n), random.random(n) ** 8, 10 ** random.uniform(-14, 0, n)])
    salt = most * np.concatenate([random.random(n), random.random(n) ** 8, 10 ** random.uniform(-14, 0, n)])
    edge, nothing = np.linspace(0, 1, 500), np.zeros(500)
    outside = np.array([-1e-9, ACID.high + 1e-6, np.nan, 1.0])
    acid = np.concatenate([acid, ACID.high * edge, nothing + ACID.high, ACID.high * edge, nothing, outside])
    salt = np.concatenate([salt, nothing, most * edge, nothing + most, most * edge, [0.1, 0.1, 0.1, most + 1e-6]])
    return acid, salt if metal else 0 * salt


@pytest.mark.parametrize("kelvin", [ROOM, 278.15])
@pytest.mark.parametrize("stand_in", [None, *STAND_INS])
@pytest.mark.parametrize("negative", NEGATIVES)
def test_tables_give_the_full_computation_within_a_fiftieth_of_a_millivolt(negative, stand_in, kelvin):
    """A check of the code against itself: NaN and infinite at the very same compositions, elsewhere within 0.02 mV."""
    acid, salt = everywhere(None if negative == "lead" else negative)
    with np.errstate(invalid="ignore"):  # no ions of either kind
        full = rest_voltage.si(negative, acid, salt, kelvin, stand_in=stand_in)
        with tabulated():
            fast = rest_voltage.si(negative, acid, salt, kelvin, stand_in=stand_in)
    known = np.isfinite(full)
    assert known.mean() > 0.9
    assert np.array_equal(full[~known], fast[~known], equal_nan=True)
    assert np.abs(fast[known] - full[known]).max() < 0.02e-3


def test_tables_are_left_again():
    before = rest_voltage.si("copper", 1.0, 0.5)
    with tabulated():
        assert rest_voltage.si("copper", 1.0, 0.5) != before
    assert rest_voltage.si("copper", 1.0, 0.5) == before
