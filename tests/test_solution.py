"""Electrolytes: making them in three ways, mixing them, how much dissolves, and what is refused."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cellkit import Q_, InputError
from cellkit.chemistry import properties
from cellkit.chemistry.activity import activities
from cellkit.chemistry.properties import BESIDE, density, solubility
from cellkit.chemistry.solution import Electrolyte, from_density, from_mass_fraction, from_molality, from_molarity
from cellkit.tables.metals import METALS
from cellkit.tables.published import table

metals = st.sampled_from(sorted(METALS))
acids = st.floats(0, 2500)  # mol/m³
salts = st.floats(1, 400)  # mol/m³: dissolves beside 2.5 mol/L of acid at 20 °C and above
warm = st.floats(293.15, 313.15)
few = settings(max_examples=settings().max_examples // 2)


def litre(acid=0.0, salt=0.0, metal=None, celsius=25):
    return from_molarity(Q_(1, "L"), Q_(acid, "mol/L"), Q_(salt, "mol/L"), metal, Q_(celsius, "degC"))


@few
@given(st.floats(1e-6, 1), acids, salts, metals, warm)
def test_volume_and_molarity_come_back(volume, acid, salt, metal, kelvin):
    made = from_molarity.si(volume, acid, salt, metal, kelvin)
    assert Electrolyte.volume.si(made) == pytest.approx(volume, rel=1e-8)
    assert Electrolyte.acid_molarity.si(made) == pytest.approx(acid, rel=1e-8)
    assert Electrolyte.salt_molarity.si(made) == pytest.approx(salt, rel=1e-8)


@few
@given(acids, salts, metals, warm)
def test_three_ways_make_the_same(acid, salt, metal, kelvin):
    by_volume = from_molarity.si(1e-3, acid, salt, metal, kelvin)
    molalities = Electrolyte.acid_molality.si(by_volume), Electrolyte.salt_molality.si(by_volume)
    by_water = from_molality.si(by_volume.water, *molalities, metal, kelvin)
    shares = [share.to("").magnitude for share in by_volume.mass_fractions]
    by_mass = from_mass_fraction.si(Electrolyte.mass.si(by_volume), *shares, metal, kelvin)
    for other in (by_water, by_mass):
        for field in ("water", "acid", "salt"):
            assert getattr(other, field) == pytest.approx(float(getattr(by_volume, field)), rel=1e-9, abs=1e-15)


@few
@given(st.floats(1, 100), acids, salts, metals)
def test_composition_does_not_depend_on_the_amount(times, acid, salt, metal):
    one, many = (from_molarity.si(v, acid, salt, metal) for v in (1e-3, times * 1e-3))
    assert many.water == pytest.approx(times * one.water, rel=1e-8)
    assert Electrolyte.density.si(many) == pytest.approx(float(Electrolyte.density.si(one)), rel=1e-9)


@few
@given(st.tuples(acids, salts), st.tuples(acids, salts), metals)
def test_mixing_keeps_water_acid_salt_and_mass(first, second, metal):
    one, two = from_molarity.si(1e-3, *first, metal), from_molarity.si(2e-3, *second, metal)
    both = one + two
    for field in ("water", "acid", "salt"):
        assert getattr(both, field) == getattr(one, field) + getattr(two, field)
    assert Electrolyte.mass.si(both) == pytest.approx(Electrolyte.mass.si(one) + Electrolyte.mass.si(two), rel=1e-12)
    assert (two + one).salt == both.salt


def test_mixing_with_battery_acid_keeps_the_metal():
    acid, copper = litre(1), litre(0, 0.5, "copper")
    assert (acid + copper).metal == (copper + acid).metal == "copper"


def test_mixed_temperature_lies_between():
    cold, hot = litre(1, celsius=10), litre(1, celsius=40)
    assert 283.15 < (cold + hot).temperature < 313.15


def test_copper_and_zinc_do_not_mix():
    with pytest.raises(InputError, match=r"holds copper, the other zinc"):
        litre(0, 0.5, "copper") + litre(0, 0.5, "zinc")


@few
@given(st.lists(st.tuples(acids, salts), min_size=1, max_size=5), metals)
def test_scalar_equals_array_element(points, metal):
    acid, salt = np.array(points).T
    together = from_molarity.si(1e-3, acid, salt, metal)
    for i, point in enumerate(points):
        alone = from_molarity.si(1e-3, *point, metal)
        assert together.water[i] == pytest.approx(float(alone.water), rel=1e-9)
        assert Electrolyte.density.si(together)[i] == pytest.approx(float(Electrolyte.density.si(alone)), rel=1e-9)


@few
@given(st.floats(1001, 1300), st.floats(283.15, 318.15))
def test_the_float_reads_what_was_made(reading, kelvin):
    acid = from_density.si(0.1, reading, kelvin)
    assert Electrolyte.density.si(acid) == pytest.approx(reading, rel=2e-5)
    assert Electrolyte.mass.si(acid) == pytest.approx(0.1, rel=1e-9)


@few
@given(st.floats(0, 0.3), st.floats(0.01, 0.1))
def test_more_acid_is_denser(share, more):
    assert density.si(share + more) > density.si(share)


@few
@given(st.floats(0, 0.3), st.floats(283.15, 317), st.floats(0.1, 1))
def test_warmer_is_lighter(share, kelvin, more):
    assert density.si(share, temperature=kelvin + more) < density.si(share, temperature=kelvin)


def test_units_do_not_matter():
    millilitres = from_molarity(Q_(40, "mL"), Q_(1, "mol/L"), Q_(0.5, "mol/L"), "zinc")
    cubic = from_molarity(Q_(40e-6, "m^3"), Q_(1000, "mol/m^3"), Q_(500, "mmol/L"), "zinc", Q_(298.15, "K"))
    assert cubic.water == pytest.approx(millilitres.water, rel=1e-12)
    ounces = from_mass_fraction(Q_(1, "oz"), Q_(10, "percent"))
    assert Electrolyte.mass.si(ounces) == pytest.approx(0.028349523125)


def test_what_is_not_said_is_not_in_it():
    salt_only = (
        from_molarity(Q_(1, "L"), salt=Q_(0.5, "mol/L"), metal="zinc"),
        from_molality(Q_(1, "kg"), salt=Q_(0.5, "mol/kg"), metal="zinc"),
        from_mass_fraction(Q_(1, "kg"), salt=0.1, metal="zinc"),
    )
    assert [solution.acid for solution in salt_only] == [0, 0, 0]
    acid_only = (
        from_molarity(Q_(1, "L"), Q_(1, "mol/L"), metal="zinc"),
        from_molality(Q_(1, "kg"), Q_(1, "mol/kg"), metal="zinc"),
        from_mass_fraction(Q_(1, "kg"), 0.1, metal="zinc"),
    )
    assert [solution.salt for solution in acid_only] == [0, 0, 0]


def test_one_molar_fill_weighed_by_hand():
    """1 mol/L CuSO4 at 20 °C: CRC gives 14 wt% 1154.5 kg/m³ and 1.013 mol/L, 13 wt% 1142.4 and 0.930 (102nd ed.)."""
    by_interpolation = 1142.4 + (1.000 - 0.930) / (1.013 - 0.930) * (1154.5 - 1142.4)
    assert litre(0, 1, "copper", 20).mass.to("g").magnitude == pytest.approx(by_interpolation, rel=0.002)


# --- solubility


@pytest.mark.parametrize("metal", METALS)
def test_more_dissolves_in_the_warm(metal):
    assert (np.diff(solubility.si(metal, 0.0, np.linspace(273.15, 318.15, 46))) > 0).all()


@pytest.mark.parametrize("metal", METALS)
def test_a_row_that_is_left_out_is_found_again_between_its_neighbours(metal, monkeypatch):
    """Each row of CRC in turn, ``data/reference/solubility.csv``; worst is zinc at 40 °C, 1.7 %."""
    rows = [row for row in table("solubility") if row["salt"] == METALS[metal].salt]
    for left_out in rows[1:-1]:
        monkeypatch.setattr(properties, "table", lambda _, out=left_out: [row for row in rows if row is not out])
        found = solubility.si(metal, 0.0, left_out["temperature_degC"] + 273.15)
        assert found == pytest.approx(left_out["molality_mol_per_kg"], rel=properties.IN_WATER)


@pytest.mark.parametrize("metal", METALS)
def test_less_dissolves_beside_more_acid(metal):
    assert (np.diff(solubility.si(metal, np.linspace(0, BESIDE.high, 36))) < 0).all()


@pytest.mark.parametrize(("metal", "waters"), [("copper", 5), ("zinc", 7)])
def test_saturated_solutions_share_one_activity_product(metal, waters):
    """a(M) a(SO4) a(water)^n of blue and white vitriol, n = 5 and 7, is the same beside any acid at 25 °C.

    Zinc sulfate saturates a little past the 3.5 mol/kg of the activity model: there the share left is taken of 3.5.
    """
    acid = np.array([0.0, 0.25, 1.0, 2.0, 3.0, 3.5])
    salt = solubility.si(metal, acid)
    ln = activities.si(acid, salt * min(1, METALS[metal].salt_limit / salt[0]), metal)
    product = ln.metal + ln.sulfate + waters * ln.water
    assert product == pytest.approx(np.full(6, product[0]), abs=1e-6)


@few
@given(metals, st.floats(0, BESIDE.high), st.floats(1.001, 3))
def test_more_than_dissolves_is_refused(metal, acid, times):
    most = solubility.si(metal, acid)
    assert from_molality.si(1.0, acid, float(most), metal).salt == most, "as much as dissolves does dissolve"
    with pytest.raises(InputError, match=rf"SO4 .* mol/kg is more than dissolves at 25 °C: at most {most:.2f} mol per"):
        from_molality(Q_(0.1, "kg"), Q_(acid, "mol/kg"), Q_(float(most) * times, "mol/kg"), metal)
    assert np.isnan(from_molality.si(1.0, np.array([acid]), np.array([float(most) * times]), metal).salt).all()


def test_the_message_says_what_to_try():
    with pytest.raises(
        InputError, match=r"CuSO4 1\.3 mol/L .* at most 1\.26 mol per kg .* about 1\.2\d mol/L here\. Try less salt"
    ):
        litre(0, 1.3, "copper", 20)


def test_of_several_the_first_that_cannot_be_is_named_with_its_own_limit():
    """Once with the greatest of all acids and salts and the limit of another."""
    acid, salt, celsius = Q_([0, 0.5, 1], "mol/kg"), Q_([0.1, 2, 3], "mol/kg"), Q_([30, 10, 40], "degC")
    most = solubility("copper", Q_(0.5, "mol/kg"), Q_(10, "degC")).magnitude
    says = f"H2SO4 0.5 mol/kg with CuSO4 2 mol/kg is more than dissolves at 10 °C: at most {most:.2f} mol per"
    with pytest.raises(InputError, match=says):
        from_molality(Q_(0.1, "kg"), acid, salt, "copper", celsius)


# --- what is refused

M, PERCENT = Q_(1, "mol/L"), Q_(1, "percent")
L = Q_(1, "L")
BAD = {
    "salt without metal": (lambda: from_molarity(L, M, M), "metal"),
    "molality, salt without metal": (lambda: from_molality(Q_(1, "kg"), salt=Q_(1, "mol/kg")), "metal"),
    "shares beyond all": (lambda: from_mass_fraction(Q_(1, "kg"), 0.6, 0.6, "copper"), "CuSO4"),
    "shares that leave no water": (lambda: from_mass_fraction(Q_(1, "kg"), 0.5, 0.5, "copper"), "CuSO4"),
    "shares past solubility": (lambda: from_mass_fraction(Q_(1, "kg"), 0.6, 0.3, "zinc"), "ZnSO4"),
    "density beyond all": (lambda: density(0.6, 0.6, "copper"), "acid"),
    "density, salt without metal": (lambda: density(0.1, 0.1), "metal"),
    "acid past the density fit": (lambda: from_molarity(L, 18 * M), "H2SO4"),
    "acid past the common-ion estimate": (lambda: from_molarity(L, 6 * M, M, "zinc"), "H2SO4"),
    "one of several past saturation": (
        lambda: from_molarity(L, salt=Q_(np.array([0.5, 2.0]), "mol/L"), metal="copper"),
        "CuSO4",
    ),
}


@pytest.mark.parametrize(("call", "names"), BAD.values(), ids=BAD)
def test_bad_input_names_the_argument(call, names):
    with pytest.raises(InputError, match=rf"\b{names}\b") as caught:
        call()
    assert "Try " in str(caught.value) or "try " in str(caught.value) or "allowed are" in str(caught.value)


def test_no_message_about_solubility_holds_nan():
    with pytest.raises(InputError) as caught:
        from_mass_fraction(Q_(1, "kg"), 0.6, 0.3, "zinc")
    assert "nan" not in str(caught.value)


@few
@given(st.one_of(st.floats(BESIDE.high + 0.001, 1e3), st.floats(-1e3, -1e-6), st.just(float("nan"))), metals)
def test_saturation_out_of_range_is_nan_never_a_number(acid, metal):
    assert np.isnan(solubility.si(metal, acid))
    assert np.isnan(from_molality.si(1.0, acid, 0.1, metal).salt)


@pytest.mark.parametrize("metal", METALS)
def test_more_acid_beside_salt_is_denser_wherever_there_is_a_density(metal):
    acid, salt = np.meshgrid(np.linspace(0, 0.6, 25), [0.01, 0.02, 0.05, 0.1, 0.2], indexing="ij")
    found = density.si(acid, salt, metal)
    steps = np.diff(found, axis=0)
    assert np.all((steps > 0) | np.isnan(steps))
    assert np.all((found > 990) & (found < 1900) | np.isnan(found))


@few
@given(st.floats(0, 0.35), st.floats(0, 0.1))
def test_copper_and_zinc_sulfate_weigh_alike(acid, salt):
    """In water both give 1.106 to 1.107 g/mL at 10 % (CRC; thermo): beside acid they cannot lie far apart."""
    assume(acid + salt < 0.3)
    assert density.si(acid, salt, "copper") == pytest.approx(float(density.si(acid, salt, "zinc")), rel=0.01)


def test_plain_form_past_saturation_is_nan():
    assert np.isnan(from_molality.si(1.0, 0.0, 3.0, "copper").salt)
    several = from_molality.si(1.0, 0.0, np.array([0.5, 3.0]), "copper")
    assert np.isnan(several.salt).tolist() == [False, True]


def test_readings_at_several_temperatures():
    acid = from_density(Q_(1, "kg"), Q_(1.2, "g/mL"), Q_(np.array([20.0, 25.0]), "degC"))
    for i, celsius in enumerate((20.0, 25.0)):
        assert acid.acid[i] == pytest.approx(from_density(Q_(1, "kg"), Q_(1.2, "g/mL"), Q_(celsius, "degC")).acid)
