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
from cellkit.tables.lists import Optional
from cellkit.tables.published import FARADAY, data_path
from cellkit.units import Constraint

LIST = data_path("bench/osier_yard_design.csv").read_text(encoding="utf-8")
DESIGN = read_design("osier_yard_design.csv")


def at(item):
    return f"row {[line.split(',')[0] for line in LIST.splitlines()].index(item) + 1}"


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
    block = data_path("bench/osier_yard_block.csv").read_text(encoding="utf-8")
    assert LIST.startswith(block)
    assert DESIGN.block == ck.cells.read_block("osier_yard_block.csv")


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
        (("fill salt,1.0,", 'fill salt,"1,0",'), [at("fill salt"), "'1,0'", "decimal point as a dot"]),
        (("fill volume,40,mL", "fill volume,40,g"), [at("fill volume"), "40 g", "Try"]),
        (("felt fill,30,percent", "felt fill,130,percent"), [at("felt fill"), "130 %", "Try"]),
        (
            ("copper crystals,CuSO4·5H2O", "copper crystals,ZnSO4·7H2O"),
            [at("copper crystals"), "holds no copper", "label"],
        ),
        (("zinc crystals,ZnSO4·7H2O", "zinc crystals,salt"), [at("zinc crystals"), "'salt'", "ZnSO4·H2O"]),
        (("stock acid,37,", "stock acid,97,"), [at("stock acid"), "97 %", "Try"]),
        (("whole block,730,g", "whole block,930,g"), [f"row {len(LIST.splitlines())}", "weighs 930 g", "Weigh again"]),
        (("end voltage,", "final voltage,"), [at("end voltage"), "'final voltage'", "end voltage"]),
    ],
)
def test_slips_are_named_by_row(load, change, names):
    with pytest.raises(InputError) as caught:
        load(*change)
    assert [name for name in ["mine.csv", *names] if name not in str(caught.value)] == []


# --- the five cells


def test_the_lead_cell_is_that_of_the_tear_down():
    before = ck.cells.read_block("osier_yard_block.csv").lead_cell()
    assert DESIGN.cell("lead").masses == before.masses
    assert DESIGN.cell("lead").capacity == before.capacity


def test_osier_yard_by_hand():
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


def test_the_recipe_of_all_cells_by_hand():
    """0.12 mol of salt and 0.06 mol of acid in three cells of 40 mL: 249.69, 287.58 and 98.08 g/mol, 99 %, 37 %."""
    for metal, molar in (("copper", 249.69), ("zinc", 287.58)):
        weighed = DESIGN.recipe(metal)
        assert weighed.crystals.to("g").magnitude == pytest.approx(0.12 * molar / 0.99, abs=0.02)
        assert weighed.stock_acid.to("g").magnitude == pytest.approx(0.06 * 98.08 / 0.37, abs=0.02)
    tank = DESIGN.recipe("copper with tank").crystals / DESIGN.recipe("copper").crystals
    assert tank.magnitude == pytest.approx(60 / 40)  # 20 mL outside for each cell


def test_a_metal_that_does_not_dissolve_leaves_the_other(load):
    strong = load("fill salt,1.0", "fill salt,2.0")
    assert strong.metals() == ["zinc"]
    assert DESIGN.metals() == ["copper", "zinc"]
    with pytest.raises(InputError, match=r"copper: .*dissolves.*zinc: .*dissolves"):
        load("fill salt,1.0", "fill salt,4.0").metals()


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


def test_a_changed_design_says_so_once():
    once = DESIGN.varied({"fill volume": Q_(58, "mL")})
    twice = once.varied({"fill salt": Q_(0.8, "mol/L")})
    assert (DESIGN.listed_in, once.listed_in) == ("osier_yard_design.csv", "osier_yard_design.csv, changed")
    assert twice.listed_in == once.listed_in


def test_only_a_metal_below_hydrogen_corrodes_and_copper_ends_as_listed():
    """Zinc -0.76 V, copper +0.34 V, from memory; lead stops at 1.75 V: common practice, no source."""
    assert "corrodes" in CONSTRUCTIONS["zinc"].left_out
    assert "corrodes" not in CONSTRUCTIONS["copper"].left_out + CONSTRUCTIONS["copper with tank"].left_out
    low = DESIGN.varied({"end voltage": Q_(0.9, "V")})
    assert low.end_voltage("copper") == pytest.approx(0.9)
    assert low.end_voltage("lead") == 1.75


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
        kind = getattr(kind, "kind", kind)
        if isinstance(kind, Constraint):
            value, unit = kind.example.split(",") if "," in kind.example else (kind.example, "")
            assert kind.within(Q_(float(value), unit).to(kind.unit).magnitude), item


# --- rows that may be left out, and a block discharged before it was opened


def without(*items):
    return "\n".join(line for line in LIST.splitlines() if line.split(",")[0] not in items) + "\n"


def test_lists_of_before_are_read(load):
    """A list without any of the optional rows, as templates asked for until now."""
    optional = [item for item, kind in DESIGN_ITEMS.items() if isinstance(kind, Optional)]
    older = load(LIST, without(*optional))
    assert older.cell("zinc").masses == DESIGN.cell("zinc").masses
    assert older["coldest place"].to("degC").magnitude == pytest.approx(10)


def test_a_blank_plan_is_asked_for_where_it_is_needed(load):
    only_weighed = load(LIST, without(*PLANNED))
    assert only_weighed.block.lead_cell().capacity == DESIGN.cell("lead").capacity
    with pytest.raises(InputError, match="fill volume is blank in this list.* Add a row such as fill volume,40,mL"):
        only_weighed.cell("copper")
    no_tank = load(LIST, without("tank volume"))
    assert no_tank.cell("copper").capacity == DESIGN.cell("copper").capacity
    with pytest.raises(InputError, match="tank volume is blank"):
        no_tank.cell("copper with tank")
    # crystals as they are mostly sold: common practice, no source
    no_label = load(LIST, without("copper crystals", "zinc crystals"))
    for row in ("copper crystals,CuSO4·5H2O", "zinc crystals,ZnSO4·7H2O"):
        with pytest.raises(InputError, match=f"Add a row such as {row}"):
            no_label.values[row.split(",")[0]]


def test_a_row_of_one_metal_is_its_own(load):
    stronger = load("fill salt,1.0,", "zinc fill salt,1.3,mol/L,\nfill salt,1.0,")
    assert stronger.cell("copper").masses == DESIGN.cell("copper").masses
    assert stronger.fresh("zinc").salt == pytest.approx(0.040 * 1.3)
    assert stronger.varied({"fill salt": Q_(0.8, "mol/L")}).fresh("zinc").salt == pytest.approx(0.040 * 0.8)
    slip = stronger.carried({"fill salt": np.array([900.0, 1100.0])})
    assert slip["zinc fill salt"] == pytest.approx([1170, 1430])
    assert [DESIGN.end_voltage(name) for name in ("copper", "zinc", "lead")] == [1.13, 1.9, 1.75]


def opened_discharged(load, density="1.09"):
    """The block of the example as if it had been emptied first: masses move as 3.1 Ah in each of three cells say.

    By hand: 3.1 Ah is 3.1/53.604 = 57.83 mmol; three cells make 173.5 mmol. SO2 is 64.06 g/mol, SO4 96.06 g/mol.
    """
    moved = 3 * 3.1 / 53.604
    text = LIST.replace("positive plates,216,", f"positive plates,{216 + 64.06 * moved},")
    text = text.replace("negative plates,210,", f"negative plates,{210 + 96.06 * moved},")
    text = text.replace("electrolyte,168,", f"electrolyte,{168 - 160.12 * moved},")
    text = text.replace("density,1.27,", f"density,{density},").replace("positives,charged", "positives,discharged")
    return load(LIST, text)


def test_discharge_first_gives_the_same_block_when_charged(load):
    acid = DESIGN.block.electrolyte()
    water, left = acid.water + 2 * 3.1 / 53.604 * 0.018015, acid.acid - 2 * 3.1 / 53.604
    weak = ck.chemistry.from_molality(Q_(water, "kg"), Q_(left / water, "mol/kg")).density.to("g/mL").magnitude
    emptied = opened_discharged(load, f"{weak:.6f}")
    before, after = DESIGN.cell("lead"), emptied.cell("lead")
    assert after.mass("block").magnitude == pytest.approx(before.mass("block").magnitude, rel=1e-5)
    assert after.capacity.magnitude == pytest.approx(before.capacity.magnitude, rel=1e-5)
    assert after.electrolyte.acid == pytest.approx(before.electrolyte.acid, rel=1e-3)
    assert after.mean_voltage.magnitude == pytest.approx(before.mean_voltage.magnitude, abs=1e-3)
    assert emptied.held().acid < 0.6 * DESIGN.held().acid
    listed = ck.cells.block.Block(emptied.block.values | {"charged density": 1270.0}).electrolyte()
    assert [listed.mass.m, listed.density.m] == pytest.approx([56, 1.27], rel=1e-4)  # 168 g in three cells, as the list
    copper = emptied.cell("copper")
    assert not copper.positive_charged
    assert ck.cells.first_charge(copper).oxygen.magnitude == 0


def test_a_lead_cell_that_cannot_hold_its_charge_is_refused(load):
    with pytest.raises(InputError, match="3.1 Ah, but the acid of one cell, as listed, holds .* positives,discharged"):
        load("density,1.27,", "density,1.09,")


@pytest.mark.parametrize(
    ("row", "given"), [("number of positive plates,9", "10"), ("number of negative plates,12", "13")]
)
def test_plates_have_to_divide_by_the_cells(load, row, given):
    with pytest.raises(InputError, match=f"{given} (positive|negative) plates do not divide by 3 cells"):
        load(row, row.rsplit(",", 1)[0] + "," + given)


@pytest.mark.parametrize("row", ["positives,full", "kind of block,gel"])
def test_words_that_are_not_known_are_refused(load, row):
    item = row.split(",")[0]
    with pytest.raises(InputError, match=f"{item} is .*; allowed are"):
        load(next(line for line in LIST.splitlines() if line.startswith(item + ",")), row + ",,")
