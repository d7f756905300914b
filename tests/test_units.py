"""Quantities at the edge: what is refused, what the message says, and that the plain form gives the same numbers."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cellkit import Q_, InputError
from cellkit.cells.plates import theoretical_capacity
from cellkit.chemistry.potentials import rest_voltage
from cellkit.chemistry.properties import density
from cellkit.units import TEMPERATURE, Constraint, fraction, in_range, non_negative, positive, quantity, takes, to_si

MASS = positive("kg", 'Q_(20, "g")')
BAD_MASSES = {
    "plain int": (20, "plain int"),
    "plain float": (20.0, "plain float"),
    "plain array": (np.array([1.0, 2.0]), "plain ndarray"),
    "plain list": ([1.0], "plain list"),
    "text": ("20 g", "plain str"),
    "none": (None, "plain NoneType"),
    "truth value": (True, "plain bool"),
    "volume": (Q_(20, "mL"), "not a mass"),
    "dimensionless": (Q_(20, ""), "not a mass"),
    "offset temperature": (Q_(20, "degC"), "not a mass"),
    "negative": (Q_(-20, "g"), "-20 g; allowed is more than 0 g"),
    "zero": (Q_(0, "g"), "0 g; allowed is more than 0 g"),
    "nan": (Q_(float("nan"), "g"), "nan g"),
    "infinite": (Q_(float("inf"), "g"), "inf g"),
    "complex": (Q_(1j, "g"), "a real number"),
    "complex in an array": (Q_(np.array([1.0, 1j]), "g"), "made of real numbers"),
    "masked": (Q_(np.ma.array([20.0, 1e6], mask=[0, 1]), "g"), "none masked"),
    "masked alone": (Q_(np.ma.masked, "g"), "none masked"),
    "truth values": (Q_(np.array([True]), "g"), "made of real numbers"),
    "a truth value among objects": (Q_(np.array([True, 20], dtype=object), "g"), "made of real numbers"),
    "a length of time": (Q_(np.array([20], dtype="m8[s]"), "g"), "made of real numbers"),
    "more than a float holds": (Q_(10**400, "g"), "a real number"),
    "array of texts": (Q_(np.array(["a"]), "g"), "made of real numbers"),
    "empty": (Q_(np.array([]), "g"), "empty"),
    "one bad of three": (Q_(np.array([1.0, -2.0, 3.0]), "g"), "-2 g (1 of 3 values)"),
    "nan in an array": (Q_(np.array([1.0, np.nan]), "g"), "(1 of 2 values)"),
}


@pytest.mark.parametrize(("value", "says"), BAD_MASSES.values(), ids=BAD_MASSES)
def test_bad_quantities_name_the_argument_and_the_way_out(value, says):
    with pytest.raises(InputError) as caught:
        to_si("plate", value, MASS)
    message = str(caught.value)
    assert message.startswith("plate is ")
    assert says in message
    assert 'Try plate=Q_(20, "g")' in message


BAD_SHARES = {"text": "0.5", "none": None, "truth value": True, "negative": -0.1, "above one": 1.1, "nan": float("nan")}
BAD_SHARES |= {"mass": Q_(1, "g"), "empty": [], "list of texts": ["a"], "percent": Q_(150, "percent")}
BAD_SHARES |= {
    "numpy's truth value": np.True_,
    "a truth value in a list": [True, 0.5],
    "rows of two lengths": [[1, 0], [1]],
}
BAD_SHARES |= {"masked in a list": [np.ma.array([0.5, 1e6], mask=[0, 1])], "a quantity in a list": [Q_(50, "percent")]}


@pytest.mark.parametrize("value", BAD_SHARES.values(), ids=BAD_SHARES)
def test_bad_shares(value):
    with pytest.raises(InputError, match=r"^share is .* Try share=0.5\.$"):
        to_si("share", value, fraction())


BAD_TEMPERATURES = {"number": 25, "too hot": Q_(60, "degC"), "too cold": Q_(-1, "degC"), "step": Q_(25, "delta_degC")}


@pytest.mark.parametrize("value", BAD_TEMPERATURES.values(), ids=BAD_TEMPERATURES)
def test_bad_temperatures(value):
    with pytest.raises(InputError, match=r'^temperature is .* Try temperature=Q_\(25, "degC"\)\.$'):
        to_si("temperature", value, TEMPERATURE)


def test_fractions_and_exact_numbers_are_taken():
    """77 °F are 25 °C; 113 °F the 45 °C at the end of the range."""
    assert to_si("temperature", Q_(Fraction(77), "degF"), TEMPERATURE) == pytest.approx(298.15, abs=1e-9)
    assert to_si("temperature", Q_(113, "degF"), TEMPERATURE) == pytest.approx(318.15, abs=1e-9)
    np.testing.assert_array_equal(to_si("share", np.array([Fraction(1, 2), 1], dtype=object), fraction()), [0.5, 1])


def test_half_a_letter_in_a_message_can_be_shown():
    assert str(InputError("there is no file '\ud83d'")).encode() == b"there is no file '?'"


def test_the_allowed_range_is_shown_in_the_unit_that_was_given():
    with pytest.raises(InputError, match=r"60 °C; allowed is from 0 °C to 45 °C"):
        to_si("temperature", Q_(60, "degC"), TEMPERATURE)
    with pytest.raises(InputError, match=r"333\.15 K; allowed is from 273\.15 K to 318\.15 K"):
        to_si("temperature", Q_(333.15, "K"), TEMPERATURE)


def test_bounds_are_closed_unless_said_otherwise():
    assert to_si("t", Q_(0, "degC"), TEMPERATURE) == 273.15
    assert to_si("share", 1, fraction()) == 1.0
    assert to_si("share", Q_(50, "percent"), fraction()) == 0.5
    assert to_si("m", Q_(0, "g"), non_negative("kg", "")) == 0.0
    with pytest.raises(InputError):
        to_si("m", Q_(0, "g"), MASS)


def test_allowed_in_words():
    assert Constraint("kg", "").allowed() == "any finite value"
    assert MASS.allowed("g") == "more than 0 g"
    assert non_negative("kg", "").allowed() == "at least 0 kg"
    assert Constraint("m", "", low=1, high=2).allowed("mm") == "from 1000 mm to 2000 mm"
    assert Constraint("", "", low=0, high=1, open_low=True).allowed() == "more than 0 to 1"


@pytest.mark.parametrize(
    "call",
    [
        lambda: density(),
        lambda: density(0.1, colour="blue"),
        lambda: density(0.1, 0.0, None, Q_(20, "degC"), 5),
    ],
    ids=["too few", "unknown name", "too many"],
)
def test_a_wrong_call_shows_the_right_one(call):
    with pytest.raises(InputError, match=r"^density: .*It takes acid, salt, metal, temperature\.$"):
        call()


def test_an_error_shows_as_one_line_in_a_notebook():
    assert InputError("mass is 20")._render_traceback_() == ["InputError: mass is 20"]


@given(st.floats(1e-6, 1e6))
def test_same_mass_in_grams_kilograms_and_ounces(grams):
    """1 oz = 28.349523125 g exactly, international avoirdupois ounce."""
    in_grams = theoretical_capacity(Q_(grams, "g"), "Pb").magnitude
    assert theoretical_capacity(Q_(grams / 1000, "kg"), "Pb").magnitude == pytest.approx(in_grams, rel=1e-12)
    assert theoretical_capacity(Q_(grams / 28.349523125, "oz"), "Pb").magnitude == pytest.approx(in_grams, rel=1e-12)


@given(st.lists(st.floats(0, 0.4), min_size=1, max_size=8), st.floats(273.15, 318.15))
def test_scalar_equals_array_element(shares, kelvin):
    together = density(np.array(shares), temperature=Q_(kelvin, "K")).magnitude
    assert together.tolist() == [density(share, temperature=Q_(kelvin, "K")).magnitude for share in shares]


@given(st.floats(0, 0.4), st.floats(273.15, 318.15))
def test_plain_form_gives_what_the_learner_sees(share, kelvin):
    shown = density(share, temperature=Q_(kelvin, "K"))
    assert f"{shown.units:~P}" == "g/mL"
    assert shown.to("kg/m^3").magnitude == pytest.approx(float(density.si(share, temperature=kelvin)), rel=1e-12)


@given(st.one_of(st.floats(-1e3, 0, exclude_max=True), st.floats(7 * (1 + 1e-11), 1e6), st.just(float("nan"))))
def test_out_of_range_is_an_error_or_nan(acid):
    """Closed ends forgive what a conversion of units rounds away, 1e-12 of them, so the upper end begins just above."""
    with pytest.raises(InputError, match="acid is"):
        rest_voltage("lead", Q_(acid, "mol/kg"))
    assert np.isnan(rest_voltage.si("lead", acid))


def test_in_range_blanks_only_what_is_outside():
    assert np.isnan(in_range("mass", [1.0, -1.0, np.inf], MASS)).tolist() == [False, True, True]


def test_quantity_shows_in_the_unit_asked_for():
    assert f"{quantity(0.02, 'kg -> g'):.0f~P}" == "20 g"
    assert quantity(3600.0, "C -> Ah").magnitude == pytest.approx(1)
    assert quantity(np.array([1.0, 2.0]), "V").magnitude.shape == (2,)


def test_returns_of_a_decorated_function():
    @takes(returns="J -> Wh", charge=positive("C", 'Q_(1, "Ah")'))
    def energy(charge):
        return 2 * charge

    assert energy(Q_(1, "Ah")).to("Wh").magnitude == pytest.approx(2)
    assert energy.si(3600.0) == 7200.0
    assert energy.__name__ == "energy"
