"""One list for a design, and the five cells that it becomes, weighed by hand."""

import csv
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cellkit as ck
from cellkit import Q_, InputError
from cellkit.cells.cell import Cell
from cellkit.designs.design import CONSTRUCTIONS, DESIGN_ITEMS, PLANNED, Design, read_design
from cellkit.tables.published import FARADAY, data_path

LIST = data_path("bench/otter_lane_design.csv").read_text(encoding="utf-8")
DESIGN = read_design("otter_lane_design.csv")


def grams(cell, part):
    return cell.masses[part].to("g").magnitude


@pytest.fixture
def load(tmp_path):
    def load(*change):
        path = tmp_path / "mine.csv"
        path.write_text(LIST.replace(*change), encoding="utf-8")
        return read_design(path)

    return load


# --- the list


def test_it_holds_the_tear_down_list_as_it_is():
    block = data_path("bench/otter_lane_block.csv").read_text(encoding="utf-8")
    assert LIST.startswith(block)
    assert DESIGN.block == ck.cells.read_block("otter_lane_block.csv")


def test_template_asks_for_what_is_read():
    text = data_path("bench/design_template.csv").read_text(encoding="utf-8")
    assert [row["item"] for row in csv.DictReader(text.splitlines())] == list(DESIGN_ITEMS)


def test_items_are_quantities_or_labels():
    assert f"{DESIGN['fill salt'].to('mol/L'):.2f~P}" == "1.00 mol/L"
    assert f"{DESIGN['cells']:.0f~P}" == "3"
    assert DESIGN["copper crystals"] == "CuSO4·5H2O"
    with pytest.raises(InputError, match="'salt'; allowed are 'cells"):
        DESIGN["salt"]


@pytest.mark.parametrize(
    ("change", "names"),
    [
        (("fill salt,1.0,", 'fill salt,"1,0",'), ["row 17", "'1,0'", "decimal point as a dot"]),
        (("fill volume,40,mL", "fill volume,40,g"), ["row 16", "40 g", "Try"]),
        (("felt fill,30,percent", "felt fill,130,percent"), ["row 22", "130 %", "Try"]),
        (("copper crystals,CuSO4·5H2O", "copper crystals,ZnSO4·7H2O"), ["row 29", "holds no copper", "label"]),
        (("zinc crystals,ZnSO4·7H2O", "zinc crystals,salt"), ["row 30", "'salt'", "ZnSO4·H2O"]),
        (("stock acid,37,", "stock acid,97,"), ["row 32", "97 %", "Try"]),
        (("whole block,730,g", "whole block,930,g"), ["row 32", "weighs 930 g", "Weigh again"]),
        (("end voltage,", "final voltage,"), ["row 28", "'final voltage'", "end voltage"]),
    ],
)
def test_slips_are_named_by_row(load, change, names):
    with pytest.raises(InputError) as caught:
        load(*change)
    assert [name for name in ["mine.csv", *names] if name not in str(caught.value)] == []


# --- the five cells


def test_the_lead_cell_is_that_of_the_tear_down():
    before = ck.cells.read_block("otter_lane_block.csv").lead_cell()
    assert DESIGN.cell("lead").masses == before.masses
    assert DESIGN.cell("lead").capacity == before.capacity


def test_otter_lane_by_hand():
    """Add up the (invented) list: 6 faces of 40 mm × 62 mm; 40 mL and 20 mL of 1 mol/L; 2 F = 53.6 Ah/mol."""
    cells = {name: DESIGN.cell(name) for name in CONSTRUCTIONS}
    assert grams(cells["lead"], "negative plates") == pytest.approx(70)
    assert grams(cells["carbon-wrapped lead"], "negative plates") == pytest.approx(70 + 6 * 24.8 * 0.020)
    for metal in ("copper", "zinc"):
        assert grams(cells[metal], "negative plates") == pytest.approx(6)
        assert cells[metal].capacity.to("Ah").magnitude == pytest.approx(0.040 * 53.604, rel=1e-4)
        assert cells[metal].limiting == "metal ions"
        # 30 % of the empty 93 % of 6 faces × 1.5 mm, times 8.96 or 7.134 g/mL (CRC) and 0.8435 or 0.8199 Ah/g
        per_volume = {"copper": 8.96 * 0.8435, "zinc": 7.134 * 0.8199}[metal]
        room = 6 * 24.8 * 0.15 * 0.93 * 0.3
        assert cells[metal].limits["felt"].to("Ah").magnitude == pytest.approx(room * per_volume, rel=2e-3)
    tank = cells["copper with tank"]
    assert tank.limits["metal ions"].to("Ah").magnitude == pytest.approx(0.060 * 53.604, rel=1e-4)
    assert tank.limiting == "PbO2"
    assert grams(tank, "electrolyte") - 10 == pytest.approx(1.5 * (grams(cells["copper"], "electrolyte") - 10))
    other = "case, lid, straps and terminals"
    assert grams(tank, other) - grams(cells["copper"], other) == pytest.approx(15)


def test_acid_is_what_is_poured_and_what_is_held():
    """10 g of battery acid at 1.27 g/mL hold 36.2 % H2SO4 (CRC: 1.2719 at 36 %, 20 °C), so 37 mmol, with 20 mmol."""
    assert DESIGN.cell("copper").electrolyte.acid == pytest.approx(0.0370 + 0.020, abs=0.0005)
    assert DESIGN.fresh("copper").acid == pytest.approx(0.020)
    assert DESIGN.fresh("copper with tank").salt == pytest.approx(0.060)


def test_positives_that_keep_less_of_their_charge():
    half = Design.varied.si(DESIGN, {"charge kept by positives": 0.5})
    assert half.cell("zinc").capacity.to("Ah").magnitude == pytest.approx(3.1 / 2)
    assert half.cell("lead").capacity == DESIGN.cell("lead").capacity


def test_the_share_of_pbo2_cancels():
    """The measured charge stands for it: with more PbO2 in the plates, a smaller share of it reacted."""
    other = Design.varied.si(DESIGN, {"active share": 0.5})
    for name in CONSTRUCTIONS:
        assert other.cell(name).energy.magnitude == pytest.approx(DESIGN.cell(name).energy.magnitude)


def test_arrays_are_one_evaluation():
    volumes = np.array([20e-6, 40e-6, 60e-6])
    many = Design.cell.si(Design.varied.si(DESIGN, {"fill volume": volumes}), "copper")
    for k, volume in enumerate(volumes):
        one = Design.varied.si(DESIGN, {"fill volume": volume}).cell("copper")
        assert Cell.specific_energy.si(many, "block")[k] == pytest.approx(
            one.specific_energy("block").to("J/kg").magnitude
        )


def test_what_cannot_be_is_refused_in_words_and_nan_in_arrays():
    strong = Design.varied.si(DESIGN, {"fill salt": 1500.0})
    with pytest.raises(InputError, match=r"CuSO4 1.5 mol/L is more than dissolves"):
        strong.cell("copper")
    assert np.isnan(Cell.energy.si(Design.cell.si(strong, "copper")))
    beside = Design.varied.si(DESIGN, {"fill salt": 1300.0, "fill acid": 0.0, "held electrolyte": 0.020})
    with pytest.raises(InputError, match=r"with what the mats hold, .* is more than dissolves"):
        beside.cell("copper")
    assert np.isnan(Cell.energy.si(Design.cell.si(beside, "copper")))
    with pytest.raises(InputError, match="construction is 'gold'; allowed are 'lead', 'copper'"):
        DESIGN.cell("gold")
    assert [construction.metal for construction in CONSTRUCTIONS.values()] == [None, "copper", "zinc", None, "copper"]


def test_the_stack_has_the_felt_of_the_list():
    """6 faces of 24.8 cm²; thickness as listed."""
    stack = Design.varied.si(DESIGN, {"felt thickness": 0.002}).current_path("worst")
    assert Q_(stack.area, "m^2").to("cm^2").magnitude == pytest.approx(6 * 24.8)
    assert stack.values["felt"] == 0.002


def test_varied_takes_quantities_and_si():
    by_hand = DESIGN.varied({"fill volume": Q_(58, "mL")})
    assert by_hand.values["fill volume"] == pytest.approx(58e-6)
    assert DESIGN.values["fill volume"] == pytest.approx(40e-6)
    with pytest.raises(InputError, match="fill volume is 58 g"):
        DESIGN.varied({"fill volume": Q_(58, "g")})
    with pytest.raises(InputError, match="'volume'; allowed are"):
        DESIGN.varied({"volume": 1.0})


# --- properties


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(sorted(CONSTRUCTIONS)),
    st.sampled_from(["separators", "case and lid", "new negative plates", "tank and tubing", "carbon wrap"]),
    st.floats(1.0, 3.0),
)
def test_dead_mass_never_raises_energy_per_mass(construction, item, times):
    heavier = Design.varied.si(DESIGN, {item: DESIGN.values[item] * times})
    before, after = (Cell.specific_energy.si(Design.cell.si(d, construction), "block") for d in (DESIGN, heavier))
    assert after <= before * (1 + 1e-12)


@settings(max_examples=10, deadline=None)
@given(st.floats(500.0, 950.0))
def test_a_huge_tank_tends_to_the_limit_of_its_solution(salt):
    """With plates that hold any charge, W/m tends to V × 2 F n / m of the solution: Faraday's law, by hand."""
    design = Design.varied.si(DESIGN, {"fill salt": salt, "tank volume": 1.0})
    cell = replace(Design.cell.si(design, "copper with tank"), utilisation=1e9, negative_capacity=1e12)
    poured = design.fresh("copper with tank")
    charge = min(poured.salt, (poured.acid + poured.salt) / 2) * 2 * FARADAY
    limit = Cell.mean_voltage.si(cell) * charge / poured.mass.to("kg").magnitude
    assert Cell.specific_energy.si(cell, "block") == pytest.approx(limit, rel=0.002)  # cell and mats weigh 0.1 kg


def test_a_tank_beyond_what_the_lead_dioxide_can_use_only_weighs():
    tanks = Design.varied.si(DESIGN, {"tank volume": np.linspace(0, 200e-6, 41)})
    cell = Design.cell.si(tanks, "copper with tank")
    density = Cell.specific_energy.si(cell, "block")
    best = np.argmax(density)
    assert 0 < best < 40
    assert set(cell.limiting[: best - 1]) == {"metal ions"}
    assert set(cell.limiting[best:]) == {"PbO2"}
    assert np.all(np.diff(density[best:]) < 0)


def test_planned_items_say_an_example_that_works():
    for item, kind in PLANNED.items():
        if hasattr(kind, "example"):
            value, unit = kind.example.split(",") if "," in kind.example else (kind.example, "")
            assert kind.within(Q_(float(value), unit).to(kind.unit).magnitude), item
