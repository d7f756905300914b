"""Limits, identities and ranges of the ion-interaction model. Its numbers are compared in external/."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from cellkit import Q_, InputError
from cellkit.chemistry.activity import (
    DEBYE_HUECKEL,
    LOG10_K2,
    ROOM,
    _unlike_charges,
    activities,
    mean_activity_coefficient,
)
from cellkit.tables.metals import METALS
from cellkit.tables.published import molar_mass

acids = st.floats(1e-4, 7.0)
few = settings(max_examples=settings().max_examples // 4)  # each example solves an equilibrium, about 5 ms a call
metals = st.sampled_from(sorted(METALS))
shares = st.floats(1e-4, 0.999)
water_molality = 1 / molar_mass.si("H2O")


def test_pure_water():
    ln = activities.si(0.0)
    assert ln.water == pytest.approx(0.0, abs=1e-12)
    assert ln.hydrogen == -np.inf
    assert ln.bisulfate == 0.0


@pytest.mark.parametrize("metal", METALS)
def test_infinite_dilution(metal):
    """γ± → 1, and the approach is the Debye-Hückel limiting law ln γ± = -A_φ·3·|z₊z₋|·√I of any textbook."""
    salt = 1e-7
    coefficient = mean_activity_coefficient.si(0.0, salt, metal)
    assert coefficient == pytest.approx(1.0, abs=0.004)
    assert np.log(coefficient) == pytest.approx(-3 * DEBYE_HUECKEL * 4 * np.sqrt(4 * salt), rel=0.01)


def test_infinitely_dilute_acid_is_two_hydrogen_ions_and_a_sulfate():
    assert mean_activity_coefficient.si(1e-8) == pytest.approx(1.0, abs=0.002)
    assert activities.si(1e-8).bisulfate < 1e-5 * 1e-8 * 1e3


def test_a_trace_of_acid_follows_henrys_law():
    """The activity of a trace of hydrogen ions in zinc sulfate is in proportion to the acid, however little it is."""
    acid = np.array([1e-9, 1e-13, 1e-16])
    assert np.exp(activities.si(acid, 1.0, "zinc").hydrogen) / acid == pytest.approx(
        np.exp(activities.si(1e-7, 1.0, "zinc").hydrogen) / 1e-7, rel=1e-5
    )


def test_dilute_water_activity_is_that_of_an_ideal_solution():
    """Raoult: 1 - a(w) = moles of ions per mole of water; CuSO4 gives two ions, dilute acid three."""
    for acid, salt, ions in ((1e-6, 0.0, 3e-6), (0.0, 1e-6, 2e-6)):
        ln = activities.si(acid, salt, "copper")
        assert -ln.water * water_molality == pytest.approx(ions, rel=0.01)


@few
@given(acids, shares, metals)
def test_bisulfate_is_made_of_what_there_is(acid, share, metal):
    salt = share * METALS[metal].salt_limit
    ln = activities.si(acid, salt, metal)
    assert 0 < ln.bisulfate < min(2 * acid, acid + salt)
    assert all(np.isfinite(x) for x in ln)


@few
@given(st.floats(0.01, 6.5), shares, metals)
def test_gibbs_duhem(acid, share, metal):
    """Σ n(i) d ln a(i) = 0 along growing acid, for H2SO4, MSO4 and water: thermodynamics of any solution.

    It holds only if the coefficients follow from one free energy and the bisulfate equilibrium is solved.
    """
    salt, step = share * METALS[metal].salt_limit, 1e-4 * acid
    low, high = (activities.si(acid + d, salt, metal) for d in (-step, step))
    change = {field: getattr(high, field) - getattr(low, field) for field in low._fields}
    of_acid = acid * (2 * change["hydrogen"] + change["sulfate"])
    of_salt = salt * (change["metal"] + change["sulfate"])
    assert of_acid + of_salt + water_molality * change["water"] == pytest.approx(0.0, abs=2e-4 * abs(of_acid))


@pytest.mark.parametrize("strength", [0.01, 0.1, 1.0, 5.0, 20.0])
def test_unlike_charges_against_the_integral(strength):
    """J(x) = x/4 - 1 + (1/x) ∫ [1 - exp(-(x/y) e^-y)] y² dy, of which E-theta is made (Pitzer 1975, from memory).

    Pitzer's own closed form, x / (4 + 4.581 x^-0.7237 exp(-0.0120 x^0.528)), is within 2 % of it; the code has to be
    that form, and its slope the slope of it.
    """

    def j(x):
        return x / 4 - 1 + quad(lambda y: -np.expm1(-x / y * np.exp(-y)) * y * y, 0, 60, limit=200)[0] / x

    unit = 6 * DEBYE_HUECKEL * np.sqrt(strength)
    theta, slope = _unlike_charges(strength, np.sqrt(strength))

    def closed(x):
        return x / (4 + 4.581 * x**-0.7237 * np.exp(-0.0120 * x**0.528))

    for form, close in ((j, 0.02), (closed, 1e-9)):
        assert theta == pytest.approx(
            (form(2 * unit) - form(unit) / 2 - form(4 * unit) / 2) / (2 * strength), rel=close
        )
    step = 1e-5 * strength
    after, before = (_unlike_charges(x, np.sqrt(x))[0] for x in (strength + step, strength - step))
    assert slope == pytest.approx((after - before) / (2 * step), rel=1e-6)


@few
@given(acids, shares, metals)
def test_dissolved_ions_lower_the_activity_of_water(acid, share, metal):
    salt = share * METALS[metal].salt_limit
    assert activities.si(acid, salt, metal).water < 0
    assert activities.si(acid).water < 0


@few
@given(st.lists(st.tuples(acids, shares), min_size=1, max_size=6), metals)
def test_scalar_equals_array_element(points, metal):
    acid, salt = np.array(points).T * np.array([[1.0], [METALS[metal].salt_limit]])
    together = activities.si(acid, salt, metal)
    for i, point in enumerate(zip(acid, salt, strict=True)):
        alone = activities.si(*point, metal)
        for field in together._fields:
            assert getattr(together, field)[i] == pytest.approx(float(getattr(alone, field)), rel=1e-8, abs=1e-10)


def test_compositions_broadcast():
    ln = activities.si(np.linspace(0.1, 6, 5)[:, None], np.linspace(0.1, 1, 3), "copper")
    assert all(x.shape == (5, 3) for x in ln)


@few
@given(acids, shares, metals, st.floats(1e-9, 1e-7))
def test_no_jump_where_the_salt_runs_out(acid, share, metal, trace):
    assume(acid > 0.01)
    almost, without = activities.si(acid, trace, metal), activities.si(acid)
    assert almost.hydrogen == pytest.approx(float(without.hydrogen), abs=1e-5)
    assert almost.water == pytest.approx(float(without.water), abs=1e-6)


@pytest.mark.parametrize("metal", METALS)
def test_both_stand_ins_frame_the_mean(metal):
    acid, salt = np.meshgrid([0.1, 1.0, 4.0], [0.1, 0.5, 1.0])

    def products(stand_in):
        ln = activities.si(acid, salt, metal, stand_in)
        return ln.metal + ln.sulfate

    middle, iron, magnesium = products(None), products("Fe(II)"), products("Mg")
    assert np.all((middle - iron) * (middle - magnesium) < 1e-3)


def test_the_model_is_one_for_25_degrees():
    assert pytest.approx(Q_(25, "degC").to("K").magnitude) == ROOM


def test_ideal_constant_of_bisulfate():
    """pKa2 = 1.99 by CRC Gibbs energies (-755.9 and -744.5 kJ/mol, chemicals 1.5.2)."""
    assert pytest.approx(1.997, abs=0.02) == -LOG10_K2


@few
@given(
    st.one_of(st.floats(7.0001, 1e6), st.floats(-1e6, -1e-9), st.just(float("nan"))),
    st.floats(0, 1.4),
    metals,
)
def test_acid_out_of_range(acid, salt, metal):
    for function in (activities, mean_activity_coefficient):
        with pytest.raises(InputError, match="acid is"):
            function(Q_(acid, "mol/kg"), Q_(salt, "mol/kg"), metal)
    ln = activities.si(acid, salt, metal)
    assert np.isnan(ln.hydrogen)
    assert np.isnan(ln.water)
    assert np.isnan(ln.metal)
    assert np.isnan(mean_activity_coefficient.si(acid, salt, metal))


@few
@given(st.one_of(st.floats(3.5001, 1e6), st.floats(-1e6, -1e-9)), metals)
def test_salt_far_out_of_range(salt, metal):
    with pytest.raises(InputError, match="salt is"):
        activities(Q_(1, "mol/kg"), Q_(salt, "mol/kg"), metal)


@pytest.mark.parametrize(("metal", "salt"), [("copper", 1.43), ("copper", 3.4), ("zinc", 3.5001)])
def test_plain_form_gives_nan_past_the_fit_of_the_salt(metal, salt):
    ln = activities.si(1.0, salt, metal)
    assert np.isnan([ln.hydrogen, ln.sulfate, ln.metal, ln.water, ln.bisulfate]).all()
    assert np.isnan(mean_activity_coefficient.si(1.0, salt, metal))


@pytest.mark.parametrize("function", [activities, mean_activity_coefficient])
def test_copper_past_its_fit_is_an_error(function):
    with pytest.raises(InputError, match=r"1\.42"):
        function(Q_(1, "mol/kg"), Q_(1.5, "mol/kg"), "copper")


@pytest.mark.parametrize("metal", ["iron", "Cu", "COPPER", "", 3, ["copper"]])
def test_unknown_metal(metal):
    with pytest.raises(InputError, match="metal is .*copper.*zinc"):
        activities(Q_(1, "mol/kg"), Q_(1, "mol/kg"), metal)
    with pytest.raises(InputError, match="metal is"):
        activities(Q_(1, "mol/kg"), metal=metal)


def test_salt_without_metal():
    with pytest.raises(InputError, match="try metal='copper' or metal='zinc'"):
        activities(Q_(1, "mol/kg"), Q_(1, "mol/kg"))


def test_unknown_stand_in():
    with pytest.raises(InputError, match=r"stand_in.*Fe\(II\).*Mg"):
        activities(Q_(1, "mol/kg"), Q_(1, "mol/kg"), "copper", "Ni")


def test_coefficient_of_nothing():
    with pytest.raises(InputError, match="acid"):
        mean_activity_coefficient(Q_(0, "mol/kg"))
