"""A learner's plan for an electrolyte: what is read, what is refused by row, and that the balance closes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

import cellkit as ck
from cellkit import Q_, InputError
from cellkit.chemistry.solution import Electrolyte
from cellkit.tables.published import data_path

OSIER_YARD = data_path("bench/osier_yard_electrolyte.csv").read_text(encoding="utf-8")


def changed(tmp_path, old, new):
    assert old in OSIER_YARD
    path = tmp_path / "my_electrolyte.csv"
    path.write_text(OSIER_YARD.replace(old, new, 1), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("0.6,mol/L", '"0,6",mol/L', "row 3: the value of 'target salt' is '0,6', not a number"),
        ("0.6,mol/L", "0,6,mol/L", "row 3 has more fields"),
        ("0.6,mol/L", "0.6,g/L", "row 3: target salt is 0.6 g/L, which is not a concentration"),
        ("CuSO4·5H2O", "CuSO4·3H2O", "row 5: crystals is 'CuSO4·3H2O'; allowed are"),
        ("99,percent", "99,1", "row 6: purity is 99; allowed is"),
        ("20,degC", "20,C", "row 7: temperature is 20 C, which is not a temperature"),
        ("24,mL", "-24,mL", "row 9: held volume is -24 mL"),
        ("24,mL", ",mL", "row 9: the value of 'held volume' is ''"),
        ("1.27,g/mL", "37,percent", "row 10: held acid is 37 %"),
        ("37,percent", "96,percent", "row 11: stock acid is 96 %"),
        ("stock acid", "purity", "row 11: 'purity' is there twice"),
        ("stock acid", "stock", "row 11: item 'stock' is not known"),
        ("purity,99,percent,as it stands on the bag\n", "", "ends without purity"),
    ],
)
def test_bad_rows_are_named(tmp_path, old, new, message):
    with pytest.raises(InputError) as error:
        ck.chemistry.read_electrolyte_plan(changed(tmp_path, old, new))
    assert message in str(error.value)


def test_template_has_the_rows_that_are_asked_for():
    rows = data_path("bench/electrolyte_template.csv").read_text(encoding="utf-8").splitlines()[1:]
    assert [row.split(",")[0] for row in rows] == list(ck.chemistry.recipe.PLAN_ITEMS)


def test_dry_mats_hold_nothing(tmp_path):
    plan = ck.chemistry.read_electrolyte_plan(changed(tmp_path, "24,mL", "0,mL"))
    held = plan.held()
    assert (held.water, held.acid, held.salt) == (0, 0, 0)
    alone = ck.chemistry.weigh_out(plan.target(), plan.items["crystals"], None, 0.99, 0.37)
    assert [part.magnitude for part in plan.recipe()] == pytest.approx([part.magnitude for part in alone])


def test_held_acid_by_float_or_by_molarity(tmp_path):
    by_float = ck.chemistry.read_electrolyte_plan("osier_yard_electrolyte.csv")
    strength = by_float.held().acid_molarity.to("mol/L").magnitude
    by_molarity = ck.chemistry.read_electrolyte_plan(changed(tmp_path, "1.27,g/mL", f"{strength},mol/L"))
    assert by_molarity.recipe().stock_acid.m == pytest.approx(by_float.recipe().stock_acid.m, abs=1e-3)  # g


def test_a_bottle_that_cannot_dissolve_is_refused(tmp_path):
    crowded = OSIER_YARD.replace("0.6,mol/L", "0.7,mol/L").replace("24,mL", "70,mL").replace("1.27,g/mL", "2.1,mol/L")
    path = tmp_path / "my_electrolyte.csv"
    path.write_text(crowded, encoding="utf-8")
    plan = ck.chemistry.read_electrolyte_plan(path)
    plan.target()  # it is the bottle that is too strong, not what the cells hold in the end
    with pytest.raises(InputError, match="before the bottle meets what is held"):
        plan.recipe()


@given(
    volume=st.floats(100, 500),
    salt=st.floats(0.1, 0.6),
    acid=st.floats(0.8, 1.2),
    held=st.just(0.0) | st.floats(0.01, 15),  # mL: nobody measures less
    crystals=st.sampled_from(sorted(ck.tables.HYDRATES)),
)
def test_bottle_and_what_is_held_make_the_target(volume, salt, acid, held, crystals):
    items = dict(ck.chemistry.read_electrolyte_plan("osier_yard_electrolyte.csv").items)
    items |= {"target volume": Q_(volume, "mL"), "target salt": Q_(salt, "mol/L"), "target acid": Q_(acid, "mol/L")}
    items |= {"held volume": Q_(held, "mL"), "crystals": crystals, "purity": Q_(1, "")}
    plan = ck.chemistry.ElectrolytePlan(items)
    both, weighed = plan.bottle() + plan.held(), plan.recipe()
    assert both.volume.to("mL").magnitude == pytest.approx(volume, rel=1e-6)
    assert both.salt_molarity.magnitude == pytest.approx(salt, rel=1e-6)
    assert both.acid_molarity.magnitude == pytest.approx(acid, rel=1e-6)
    assert sum(weighed).to("kg").magnitude == pytest.approx(Electrolyte.mass.si(plan.bottle()), rel=1e-4)
