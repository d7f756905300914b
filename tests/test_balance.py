"""The first charge: by hand, and by what goes in and comes out, atom by atom."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import cellkit as ck
from cellkit import Q_, InputError
from cellkit.cells.cell import Cell, build_cell
from cellkit.cells.charge import first_charge
from cellkit.chemistry.solution import Electrolyte, from_molarity
from cellkit.tables.metals import METALS
from cellkit.tables.published import FARADAY, composition, molar_mass

REACTIONS = {
    "charged positive": ("2 {M}SO4 + 2 H2O", "2 {M} + 2 H2SO4 + O2"),
    "discharged positive": ("PbSO4 + {M}SO4 + 2 H2O", "PbO2 + {M} + 2 H2SO4"),
}


def cell_of(metal="copper", acid=1000.0, salt=1000.0, felt=36000.0, **more):
    parts = {"positive_plates": 0.072, "negative_plates": 0.006, "utilisation": 0.35}
    return build_cell.si(from_molarity.si(50e-6, acid, salt, metal), negative_capacity=felt, **parts | more)


def atoms(formula_amounts):
    total = Counter()
    for formula, amount in formula_amounts.items():
        for element, count in composition(formula).items():
            total[element] += count * amount
    return total


def inside(cell, liquid, metal, dioxide, sulfate, oxygen=0.0):
    """Amounts [mol] of all that reacts in a cell."""
    symbol = METALS[cell.negative].symbol
    solution = {"H2O": liquid.water / molar_mass.si("H2O"), "H2SO4": liquid.acid, f"{symbol}SO4": liquid.salt}
    return atoms(solution | {symbol: metal, "PbO2": dioxide, "PbSO4": sulfate, "O2": oxygen})


@pytest.mark.parametrize("symbol", ["Cu", "Zn"])
@pytest.mark.parametrize("sides", REACTIONS.values(), ids=list(REACTIONS))
def test_reactions_keep_their_atoms(sides, symbol):
    totals = []
    for side in sides:
        counts = Counter()
        for term in side.format(M=symbol).split(" + "):
            number, _, formula = term.rpartition(" ")
            counts[formula] += int(number or 1)
        totals.append(atoms(counts))
    assert totals[0] == totals[1]


def test_by_hand_where_the_metal_limits():
    """50 mL of 1 mol/L: 0.05 mol of copper, 2 F each, a quarter of a mole of O2 for each mole of electrons.

    0.05 × 2 × 96485.33 C = 9648.5 C = 2.680 Ah; O2 = 0.025 mol = 0.025 × 24.465 L (molar volume at 25 °C and 1 atm,
    handbook figure, from memory) = 0.612 L; water 0.05 mol = 0.901 g; the fill brings 1 mol of acid for each of metal.
    """
    first = first_charge(cell_of())
    assert first.charge.magnitude == pytest.approx(2.680, abs=5e-4)
    assert first.oxygen_charge == first.charge
    assert first.oxygen.magnitude == pytest.approx(0.025, rel=1e-9)
    assert first.oxygen_volume.magnitude == pytest.approx(0.025 * 24.465, rel=1e-4)
    assert first.water.magnitude == pytest.approx(0.9008, abs=1e-4)
    assert first.acid_needed.magnitude == pytest.approx(0.05, rel=1e-9)
    assert first.positive.magnitude == pytest.approx(0.35 * 43.2 / 239.2 * 2 * 96485.33 / 3600, rel=1e-4)
    assert first.negative.magnitude == 0


def test_oxygen_against_the_standard():
    """EN IEC 62485-2 counts 0.21 L of oxygen per Ah at 0 °C and 1 atm (from memory)."""
    cold = replace(cell_of(), electrolyte=replace(cell_of().electrolyte, temperature=273.15))
    first = first_charge(cold)
    assert (first.oxygen_volume / first.oxygen_charge).to("L/Ah").magnitude == pytest.approx(0.21, rel=0.01)


def test_a_discharged_positive_takes_it_all():
    first = first_charge(cell_of(positive_charged=False, acid=0.0))
    assert first.charge.magnitude == pytest.approx(2.680, abs=5e-4)
    none = first.positive, first.oxygen_charge, first.oxygen, first.oxygen_volume, first.water, first.acid_needed
    assert [value.magnitude for value in none] == [0] * 6


def test_little_acid_means_more_metal_than_one_discharge_uses():
    """0.5 mol/L acid beside 1 mol/L salt: 0.025 + 0.05 mol of acid after charge serve 0.0375 mol of PbO2."""
    cell = cell_of(acid=500.0)
    first = first_charge(cell)
    assert cell.limiting == "acid"
    assert cell.capacity.to("C").magnitude == pytest.approx(0.0375 * 2 * FARADAY)
    assert first.charge.to("C").magnitude == pytest.approx(0.05 * 2 * FARADAY)
    assert first.acid_needed.magnitude == pytest.approx(0.025)


def test_much_metal_beside_little_lead_dioxide_needs_no_acid_at_first():
    """A tenth of 43.2 g / 239.2 g/mol is 18.1 mmol, which want 36.1 mmol of acid; 50 mmol of copper leave 50 behind."""
    first = first_charge(cell_of(acid=0.0, utilisation=0.1))
    assert first.positive.to("C").magnitude == pytest.approx(0.1 * 43.2 / 239.2 * 2 * FARADAY, rel=1e-4)
    assert first.acid_needed.magnitude == 0


def test_a_lead_cell_has_nothing_to_make_up():
    first = first_charge(ck.cells.read_block("osier_yard_block.csv").lead_cell())
    assert [first.charge.magnitude, first.oxygen.magnitude] == [0, 0]
    assert first.positive.magnitude == pytest.approx(3.1, abs=0.05)  # what the invented block was measured to give
    assert first.negative > first.positive
    # 2 mol for each 53.60 Ah
    assert first.acid_needed.magnitude == pytest.approx(2 * first.positive.to("Ah").magnitude / 53.60, rel=1e-3)


@given(
    metal=st.sampled_from(list(METALS)),
    acid=st.floats(0, 2000),
    salt=st.floats(50, 650),
    felt=st.floats(1e3, 1e5),
    charged=st.booleans(),
)
def test_matter_and_charge_are_kept(metal, acid, salt, felt, charged):
    try:
        cell = cell_of(metal, acid, salt, felt, positive_charged=charged)
    except InputError:
        assume(False)
    first, after = first_charge.si(cell), Cell.at_depth.si(cell, 0.0)
    plated, whole = first.charge / (2 * FARADAY), cell.pbo2 / molar_mass.si("PbO2")
    made = 0.0 if charged else plated
    before_dioxide = whole if charged else 0.0
    before = inside(cell, cell.electrolyte, 0.0, before_dioxide, whole - before_dioxide)
    then = inside(cell, after, plated, before_dioxide + made, whole - before_dioxide - made, first.oxygen)
    for element, amount in before.items():
        assert then[element] == pytest.approx(amount, rel=1e-9, abs=1e-12)
    # every electron taken from the positive arrives at the negative
    assert 4 * first.oxygen + 2 * made == pytest.approx(2 * plated)
    assert first.water == pytest.approx(2 * first.oxygen * molar_mass.si("H2O"))


@given(st.floats(100, 650), st.floats(200, 2000))
def test_the_fill_never_lacks_the_acid_that_it_has_to_bring(salt, acid):
    first = first_charge.si(cell_of("zinc", acid, salt))
    assert first.acid_needed <= acid * 50e-6 * (1 + 1e-9)


@pytest.mark.parametrize("bad", [None, 3.0, "copper", Q_(3, "Ah"), Electrolyte(0.1, 0.1)])
def test_only_a_cell_will_do(bad):
    with pytest.raises(InputError, match=r"Try cell=block.lead_cell"):
        first_charge(bad)
