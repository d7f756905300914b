"""Laws that hold for every function or across modules; each draws its own cases.

The other laws stand beside the module they are about:
conservation of Pb, metal, S, H, O and charge, of a closed cell's mass, of the first charge: test_cell, test_balance;
of matter in mixing and weighing out: test_solution, test_recipe; of heat: test_heat_and_colour; atoms and charge of the
half-reactions: test_potentials; Gibbs-Duhem, Debye-Hückel limiting law, Raoult's law, bisulfate: test_activity.
More electrolyte, more dead mass, plates of no mass, volts along a discharge: test_cell. More current, no current, no
losses, more load: test_load. More salt or acid on the volts, infinite dilution: test_potentials. More acid, more warmth
on density and solubility: test_solution. Carbon at the ends of its range: test_load. Decay curves: test_self_discharge.
"""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from test_bad_inputs import ABSENT, FUNCTIONS, OBJECTS, PLAIN, ROWS, _numbers, _plain
from test_cell import cells

import cellkit as ck
from cellkit import Q_, InputError
from cellkit.cells.cell import Cell, specific_energy_ratio
from cellkit.chemistry.properties import conductivity, heat_of_dilution, solubility
from cellkit.chemistry.recipe import neutralise
from cellkit.chemistry.solution import Electrolyte, from_molarity
from cellkit.tables.metals import METALS
from cellkit.tables.published import FARADAY

few = settings(max_examples=settings().max_examples // 3)
some = settings(max_examples=max(settings().max_examples // 12, 5))  # for each of fifty functions
PLAN, BLOCK = ck.designs.read_design("osier_yard_design.csv"), ck.cells.read_block("osier_yard_block.csv")
STACK = ck.cells.current_path(BLOCK)
CELLS = {name: PLAN.cell(name) for name in ("lead", "copper", "zinc")}

# --- every function of the table of test_bad_inputs

UNITS = {  # 1 oz = 28.349523125 g, 1 inch = 25.4 mm, exactly
    "kg": ("g", "oz"),
    "m^3": ("mL", "L", "inch^3"),
    "K": ("degC", "degF"),
    "mol/m^3": ("mol/L", "mmol/mL"),
    "mol/kg": ("mmol/g",),
    "C": ("Ah", "mAh"),
    "A": ("mA",),
    "s": ("day", "hour"),
    "V": ("mV",),
    "W": ("mW",),
    "ohm": ("mohm",),
    "m": ("mm", "inch"),
    "m^2": ("cm^2", "inch^2"),
    "kg/m^2": ("mg/cm^2", "oz/inch^2"),
    "kg/m^3": ("g/mL", "oz/inch^3"),
    "F": ("mF",),
    "A/m^2": ("mA/cm^2", "A/inch^2"),
    "S/m": ("mS/cm",),
    "kg/m^2/s": ("g/m^2/day",),
    "": ("percent",),
}
VECTORISED = [name for name in PLAIN if name != "comparison.specific_energy_map"]


def _si_row(name):
    """The good call of a function with its quantities as SI floats."""
    kinds = PLAIN[name]
    return {a: _plain(v, kinds[a]) if a in kinds else v for a, v in ROWS[name].items() if v is not ABSENT}


def _owner(name):
    owner = name.rpartition(".")[0]
    return (OBJECTS[owner],) if owner in OBJECTS else ()


def _leaves(result):
    return [np.asarray(leaf) for leaf in _numbers(result)]


def _answer(name, row):
    try:
        return _leaves(FUNCTIONS[name](*_owner(name), **row))
    except InputError:
        return None


def test_every_unit_has_another_name():
    assert {kind.unit for kinds in PLAIN.values() for kind in kinds.values()} == set(UNITS)


@pytest.mark.parametrize("name", PLAIN)
@some
@given(st.data())
def test_the_unit_of_a_question_does_not_matter(name, data):
    """Each quantity of a call in SI and in a unit drawn for it; 1e-9 is what rounding of degrees costs near a root."""
    mine, yours = dict(ROWS[name]), dict(ROWS[name])
    for argument, good in _si_row(name).items():
        if argument in PLAIN[name] and not PLAIN[name][argument].whole:
            unit, value = PLAIN[name][argument].unit, good * data.draw(st.floats(0.97, 1.03))
            mine[argument] = Q_(value, unit)
            yours[argument] = mine[argument].to(data.draw(st.sampled_from(UNITS[unit])))
    given, converted = (_answer(name, {a: v for a, v in row.items() if v is not ABSENT}) for row in (mine, yours))
    assert (given is None) == (converted is None)
    assume(given is not None)
    for one, other in zip(given, converted, strict=True):
        np.testing.assert_allclose(one, other, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("name", VECTORISED)
@some
@given(st.data())
def test_a_single_value_is_an_element_of_the_array(name, data):
    row = _si_row(name)
    arguments = [a for a in row if a in PLAIN[name]]
    points = [{a: row[a] * data.draw(st.floats(0.9, 1.1)) for a in arguments} for _ in range(3)]
    points = points if not any(PLAIN[name][a].whole for a in arguments) else [{a: row[a] for a in arguments}] * 3
    together = {a: np.array([point[a] for point in points]) for a in arguments}
    found = _leaves(FUNCTIONS[name].si(*_owner(name), **row | together))
    for i, point in enumerate(points):
        alone = _leaves(FUNCTIONS[name].si(*_owner(name), **row | point))
        assert len(alone) == len(found)
        for one, many in zip(alone, found, strict=True):
            element = np.broadcast_to(many, (3,))[i] if one.size == 1 else many
            np.testing.assert_allclose(element, one[0] if one.size == 1 else one, rtol=1e-9, atol=1e-15)


# --- conservation across modules


@few
@given(st.sampled_from(list(CELLS)), st.floats(0.05, 0.4), st.floats(0, 0.3), st.floats(1.1, 3), st.floats(0.1, 0.9))
def test_a_run_passes_what_its_load_draws(name, current, share, times, depth):
    """Charge = mean current × time; energy = power × time; and the sulfate that the charge moved is in the liquid."""
    cell = CELLS[name]
    end = ck.cells.voltage_under_load.si(cell, STACK, times * current, depth).terminal
    assume(np.isfinite(end))
    pulsed = ck.cells.run_load.si(cell, STACK, end, current=current, pulse=times * current, duty_cycle=share)
    assert pulsed.charge == pytest.approx(pulsed.time * current * (1 + share * (times - 1)), rel=1e-9)
    steady = ck.cells.run_load.si(cell, STACK, end, power=current)
    assume(np.isfinite(steady.time))  # the power may be more than the cell has at this end
    assert steady.energy == pytest.approx(steady.time * current, rel=1e-9)
    before, after = (Cell.at_depth.si(cell, depth) for depth in (0.0, steady.depth))
    assert before.acid - after.acid == pytest.approx(2 * steady.charge / (2 * FARADAY), rel=1e-9)


electrolytes = st.builds(
    lambda litres, acid, salt, kelvin: from_molarity.si(litres / 1000, acid, salt, "copper", kelvin),
    st.floats(0.01, 1),
    st.floats(0, 1500),
    st.floats(0, 500),
    st.floats(285, 315),
)


@few
@given(electrolytes, electrolytes, electrolytes)
def test_the_order_of_pouring_does_not_matter(a, b, c):
    one, other = (a + b) + c, a + (c + b)
    for part in ("water", "acid", "salt", "temperature"):
        assert getattr(one, part) == pytest.approx(getattr(other, part), rel=1e-12)


@few
@given(electrolytes, st.floats(0.6, 0.99), st.floats(0.1, 0.5), st.floats(0, 0.3))
def test_sulfate_of_what_is_weighed_neutralises_as_the_target_does(target, purity, stock, share):
    """Acid by way of the scale (recipe), of the bottle (solution) and of the soda (2 mol for each): one amount."""
    held = Electrolyte(share * target.water, share * target.acid, share * target.salt, "copper", target.temperature)
    try:
        made = ck.chemistry.weigh_out.si(ck.chemistry.to_pour.si(target, held), "CuSO4·5H2O", purity, stock)
    except InputError:
        assume(False)
    acid = made.stock_acid * stock / 0.098072 + held.acid  # kg/mol of H2SO4, IUPAC weights, from memory
    assert neutralise.si(target).acid == pytest.approx(acid, rel=1e-4, abs=1e-12)
    assert neutralise.si(target).carbon_dioxide == pytest.approx(2 * acid, rel=1e-4, abs=1e-12)


# --- monotony


@few
@given(cells(), st.sampled_from(["pbo2", "utilisation", "negative_capacity", "acid", "salt"]), st.floats(1.0, 2.0))
def test_more_of_a_reagent_never_lowers_the_capacity(cell, what, times):
    if what in ("acid", "salt"):
        liquid = vars(cell.electrolyte)
        more = Cell(**vars(cell) | {"electrolyte": Electrolyte(**liquid | {what: times * liquid[what]})})
    else:
        more = Cell(**vars(cell) | {what: times * getattr(cell, what)})
    assert Cell.capacity.si(more) >= Cell.capacity.si(cell) * (1 - 1e-12)


@few
@given(st.sampled_from(["copper", "zinc", "copper with tank"]), st.floats(0, 60), st.floats(1, 40), st.floats(0.01, 1))
def test_more_in_the_tank_never_lowers_the_charge_and_more_tank_never_raises_its_density(name, millilitres, more, kg):
    """Through a whole design: from the list to Wh/kg of the block."""
    small, large = (PLAN.varied({"tank volume": Q_(ml, "mL")}) for ml in (millilitres, millilitres + more))
    assert Cell.capacity.si(large.cell(name)) >= Cell.capacity.si(small.cell(name)) * (1 - 1e-12)
    heavy = PLAN.varied({"tank and tubing": PLAN["tank and tubing"] + Q_(kg, "kg")})
    assert heavy.cell(name).specific_energy() <= PLAN.cell(name).specific_energy()
    assert (heavy.cell(name).specific_energy() < PLAN.cell(name).specific_energy()) == name.endswith("tank")


@few
@given(st.floats(0, 0.9), st.floats(0, 0.9), st.floats(0.001, 0.05), st.floats(0.3, 1.5))
def test_taking_off_never_lowers_the_ratio_and_putting_back_never_raises_it(removed, returned, more, volts):
    ratio = specific_energy_ratio.si(removed, returned, volts)
    assert (
        specific_energy_ratio.si(removed + more, returned, volts)
        > ratio
        > specific_energy_ratio.si(removed, returned + more, volts)
    )


@few
@given(st.sampled_from(list(METALS)), st.floats(0.0, 3.4), st.floats(273.15, 313.15), st.floats(0.1, 5))
def test_what_is_dissolved_warm_and_weak_may_fall_out_cold_or_strong(metal, acid, kelvin, more):
    here = solubility.si(metal, acid, kelvin)
    assert solubility.si(metal, acid, kelvin + more) >= here >= solubility.si(metal, min(acid + more, 3.5), kelvin)


@few
@given(st.floats(1, 200), st.floats(0.5, 200), st.sampled_from(["first order", "constant leak", "square root of time"]))
def test_longer_on_the_shelf_never_leaves_more(days, more, model):
    rate = {"square root of time": Q_(2, "percent/day**0.5")}.get(model, Q_(0.2, "percent/day"))
    log = ck.logs.simulate_shelf_log(
        model, Q_([days, days + more], "day"), Q_(0, "mAh"), capacity=Q_(900, "mAh"), rate=rate
    )
    assert log.capacity[1] < log.capacity[0] < Q_(900, "mAh").to("C").magnitude


# --- limits


@few
@given(st.floats(0.01, 0.84), st.floats(275, 315))
def test_a_drop_of_water_changes_nothing(strength, kelvin):
    found = heat_of_dilution.si(1.0, 1e-9, strength, kelvin)
    assert found.final == pytest.approx(kelvin, abs=1e-5)
    assert found.heat == pytest.approx(0.0, abs=1e-2)


@few
@given(electrolytes)
def test_a_drop_more_changes_nothing(liquid):
    drop = from_molarity.si(1e-12, 1000.0, 0.0)
    both = liquid + drop
    for part in (Electrolyte.acid_molality, Electrolyte.salt_molality, Electrolyte.density):
        assert part.si(both) == pytest.approx(part.si(liquid), rel=1e-5, abs=1e-5)


@few
@given(st.sampled_from(list(METALS)), st.floats(1e-3, 1))
def test_conductivity_fades_with_what_is_dissolved(metal, concentration):
    """Below 1 mol/m³ in proportion, and nothing conducts nothing; to 10 %, since the table's rows lie far apart."""
    for parts in ((1.0, 0.0), (0.0, 1.0)):
        whole, half = (conductivity.si(*(f * concentration * p for p in parts), metal) for f in (1, 0.5))
        assert half == pytest.approx(whole / 2, rel=0.1)
    assert conductivity.si(0.0, 0.0, metal) == 0


@few
@given(st.floats(0, 0.95), st.floats(0.1, 2), st.floats(0.1, 2))
def test_putting_back_what_was_taken_off_leaves_volts_and_charge(share, volts, charge):
    assert specific_energy_ratio.si(share, share, volts, charge) == pytest.approx(volts * charge, rel=1e-12)
