"""What to weigh out: hand-worked recipes, conservation of matter, what the cell still holds, what is refused."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cellkit import Q_, InputError
from cellkit.chemistry.recipe import to_pour, weigh_out
from cellkit.chemistry.solution import Electrolyte, from_mass_fraction, from_molality, from_molarity
from cellkit.tables.metals import HYDRATES
from cellkit.tables.published import composition, molar_mass

few = settings(max_examples=settings().max_examples // 2)
METAL_OF = {name: metal.name for name, metal in HYDRATES.items()}


def fill(acid=0.0, salt=1.0, metal="copper", litres=1.0):
    return from_molarity(Q_(litres, "L"), Q_(acid, "mol/L"), Q_(salt, "mol/L"), metal)


@pytest.mark.parametrize(
    ("crystals", "litres", "salt", "grams"),
    [
        ("CuSO4·5H2O", 1.0, 1.0, 249.7),
        ("CuSO4", 0.5, 0.5, 39.9),
        ("ZnSO4·7H2O", 0.25, 2.0, 143.8),
        ("ZnSO4·H2O", 0.1, 1.0, 17.9),
        ("ZnSO4", 2.0, 0.1, 32.3),
    ],
)
def test_crystals_by_hand(crystals, litres, salt, grams):
    """Moles × the molar mass on the label (249.69, 159.61, 287.58, 179.47, 161.47 g/mol)."""
    target = fill(0.0, salt, METAL_OF[crystals], litres)
    assert weigh_out(target, crystals).crystals.to("g").magnitude == pytest.approx(grams, abs=0.06)


@few
@given(
    st.sampled_from(sorted(HYDRATES)),
    st.floats(0, 1.5),
    st.floats(0.05, 0.6),
    st.floats(0.5, 1.0),
    st.floats(0.3, 0.6),
    st.floats(0, 0.2),
)
def test_what_is_weighed_makes_the_target(crystals, acid, salt, purity, stock, share):
    """Count moles and grams in what was weighed plus what was held; impurities weigh something and hold nothing."""
    target = fill(acid, salt, METAL_OF[crystals])
    held = from_molarity(Q_(share, "L"), Q_(0.9 * acid, "mol/L")) if share > 0.001 else None
    recipe = weigh_out(to_pour(target, held) if held else target, crystals, purity, stock)
    pure, stock_acid = recipe.crystals.to("kg").magnitude * purity, recipe.stock_acid.to("kg").magnitude
    moles = pure / molar_mass.si(crystals)
    bound = moles * (composition(crystals)["O"] - 4) * molar_mass.si("H2O")
    water = recipe.water.to("kg").magnitude + bound + stock_acid * (1 - stock)
    acid_moles = stock_acid * stock / molar_mass.si("H2SO4")
    assert moles == pytest.approx(target.salt, rel=1e-9)
    assert acid_moles + (held.acid if held else 0) == pytest.approx(target.acid, rel=1e-9, abs=1e-12)
    assert water + (held.water if held else 0) == pytest.approx(target.water, rel=1e-9)
    everything = pure + stock_acid + recipe.water.to("kg").magnitude
    mass = Electrolyte.mass.si(target) - (Electrolyte.mass.si(held) if held else 0)
    assert everything == pytest.approx(mass, rel=1e-9)


def test_dry_salt_in_water_only_needs_the_water_of_the_target():
    assert weigh_out(fill(), "CuSO4").water.to("kg").magnitude == pytest.approx(fill().water, rel=1e-12)


def test_nothing_to_add_when_the_cell_holds_the_target():
    target = fill(0.5, 0.5)
    recipe = weigh_out(to_pour(target, target), "CuSO4·5H2O")
    assert [part.to("g").magnitude for part in recipe] == pytest.approx([0, 0, 0], abs=1e-9)


def test_stock_of_the_strength_that_is_wanted_needs_no_water():
    """And not less than none, whatever rounding says: a scale shows no negative mass."""
    share = np.linspace(0.05, 0.25, 41)
    recipe = weigh_out.si(from_mass_fraction.si(1.0, share, 0.0, "copper"), "CuSO4", stock=share)
    assert np.all(recipe.water >= 0)
    assert recipe.water == pytest.approx(0, abs=1e-12)


def test_battery_acid_by_hand():
    """Half a mole of acid is 49.04 g (98.08 g/mol, from memory): 132.5 g of the usual 37 % stock."""
    target = fill(0.5, 0.5)
    assert weigh_out(target, "CuSO4").stock_acid.to("g").magnitude == pytest.approx(0.5 * 98.08 / 0.37, rel=1e-3)


def test_half_purity_doubles_the_crystals():
    pure, half = (weigh_out(fill(), "CuSO4·5H2O", purity=p).crystals for p in (1.0, Q_(50, "percent")))
    assert half.magnitude == pytest.approx(2 * pure.magnitude)


@pytest.mark.parametrize("label", ["CuSO4·5H2O", "CuSO4.5H2O", "CuSO4*5H2O"])
def test_the_dot_may_be_written_otherwise(label):
    assert weigh_out(fill(), label).crystals.magnitude == pytest.approx(249.7, abs=0.06)


def test_arrays_of_targets():
    targets = from_molarity(Q_(1, "L"), salt=Q_(np.array([0.5, 1.0]), "mol/L"), metal="copper")
    assert weigh_out(targets, "CuSO4").crystals.to("g").magnitude == pytest.approx([79.8, 159.6], abs=0.05)


@few
@given(st.floats(100, 500), st.floats(0.1, 0.6), st.floats(0.8, 1.2), st.floats(0.01, 15))
def test_what_is_poured_and_what_is_held_make_the_target(volume, salt, acid, millilitres):
    """By the mixing of amounts, which knows nothing of what was asked for."""
    target = fill(acid, salt, litres=volume / 1000)
    held = from_molarity(Q_(millilitres, "mL"), Q_(4.7, "mol/L"))
    both = to_pour(target, held) + held
    assert both.volume.to("mL").magnitude == pytest.approx(volume, rel=1e-6)
    assert both.salt_molarity.magnitude == pytest.approx(salt, rel=1e-6)
    assert both.acid_molarity.magnitude == pytest.approx(acid, rel=1e-6)


def test_a_pour_that_cannot_dissolve_is_refused():
    """It is what is poured that is too strong, not what the cell holds in the end."""
    target = fill(1.0, 0.9, litres=0.15)
    for held in (fill(2.1, 0, None, 0.07), Electrolyte(0.07, target.acid)):  # of the second only salt is missing
        with pytest.raises(InputError, match="before it meets what is held"):
            to_pour(target, held)


KG, MOLAL = Q_(1, "kg"), Q_(1, "mol/kg")
BAD = {
    "hydrate of iron": (lambda: weigh_out(fill(), "FeSO4·7H2O"), "CuSO4·5H2O, CuSO4, ZnSO4·7H2O"),
    "name for formula": (lambda: weigh_out(fill(), "blue vitriol"), "allowed are"),
    "the other metal": (lambda: weigh_out(fill(), "ZnSO4·7H2O"), "the target holds copper. Try CuSO4·5H2O."),
    "no metal wanted": (lambda: weigh_out(fill(1, 0, None), "CuSO4"), "the target holds acid only"),
    "acid there already": (
        lambda: to_pour(fill(0.5, 0.5), fill(2, 0, None, 0.5)),
        "more acid already",
    ),
    "salt there already": (
        lambda: to_pour(fill(0, 0.1), fill(0, 1, "copper", 0.5)),
        "more salt already",
    ),
    "water there already": (lambda: to_pour(fill(0, 1), fill(0, 0, None, 1.2)), "more water already"),
    "no water to pour": (
        lambda: to_pour(*(from_molality(KG, salt=x * MOLAL, metal="zinc") for x in (2, 1))),
        "before it meets what is held, water is 0",
    ),
    "stock too weak": (lambda: weigh_out(fill(3, 0.2, "zinc"), "ZnSO4", stock=0.1), "stronger stock acid"),
}


@pytest.mark.parametrize(("call", "says"), BAD.values(), ids=BAD)
def test_bad_input(call, says):
    with pytest.raises(InputError) as caught:
        call()
    assert says in str(caught.value)


def test_held_zinc_is_not_copper():
    with pytest.raises(InputError):
        to_pour(fill(), fill(0, 1, "zinc", 0.1))


def test_a_target_that_is_no_electrolyte():
    with pytest.raises(InputError):
        weigh_out("1 mol/L", "CuSO4")


def test_stock_is_ordinary_battery_acid():
    """Battery acid of 1.28 g/mL is about 37 wt% (common practice, no source)."""
    battery = from_mass_fraction(Q_(1, "kg"), 0.37)
    assert battery.density.to("g/mL").magnitude == pytest.approx(1.28, abs=0.01)
