"""The price list and the bill, added up by hand."""

import csv

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cellkit as ck
from cellkit import Q_, InputError
from cellkit.designs.cost import PRICES, bill, cost_per_energy, read_prices
from cellkit.tables.published import data_path

LIST = data_path("bench/osier_yard_prices.csv").read_text(encoding="utf-8")
DESIGN, COSTS = ck.designs.read_design("osier_yard_design.csv"), read_prices("osier_yard_prices.csv")


def total(construction, prices=COSTS):
    return sum(bill(DESIGN, prices, construction).values()).to("money").magnitude


def test_the_copper_bill_by_hand():
    """3 cells × 40 mL × 1 mol/L × 249.7 g/mol at 99 %; 3 × 40 mL × 0.5 mol/L × 98.08 g/mol at 37 %; 3 × 149 cm²."""
    parts = {item: money.magnitude for item, money in bill(DESIGN, COSTS, "copper").items()}
    assert parts["copper crystals"] == pytest.approx(0.120 * 0.2497 / 0.99 * 14, rel=1e-3)
    assert parts["stock acid"] == pytest.approx(0.120 * 0.5 * 0.09808 / 0.37 * 3.5, rel=1e-3)
    assert parts["felt plates"] == pytest.approx(3 * 6 * 0.040 * 0.062 * 260)
    assert parts["consumables"] == 5
    assert parts["scrap lead"] == pytest.approx(-0.210 * 0.9)
    # water: 1.0 kg/L less 36 % of crystals and what came with the acid, so some 97 g
    assert 0.08 < parts["distilled water"] < 0.12


def test_the_other_bills_by_hand():
    assert bill(DESIGN, COSTS, "lead") == {"new block": Q_(15, "money")}
    assert total("carbon-wrapped lead") == pytest.approx(3 * 6 * 24.8e-4 * 0.2 * 45 + 5)
    tank = bill(DESIGN, COSTS, "copper with tank")
    assert tank["tank and tubing"].magnitude == pytest.approx(12)
    assert tank["copper crystals"] / bill(DESIGN, COSTS, "copper")["copper crystals"] == pytest.approx(60 / 40)


def test_money_per_watt_hour_by_hand():
    """15 money over 3 × 3.1 Ah × 2.056 V (lesson 01)."""
    assert cost_per_energy(DESIGN, COSTS, "lead").to("money/Wh").magnitude == pytest.approx(
        15 / (3 * 3.1 * 2.056), rel=1e-3
    )


@settings(max_examples=10, deadline=None)
@given(st.sampled_from(sorted(PRICES)), st.floats(1.0, 5.0))
def test_a_dearer_item_never_makes_it_cheaper_but_scrap(item, times):
    dearer = COSTS | {item: COSTS[item] * times}
    for construction in ck.designs.CONSTRUCTIONS:
        change = total(construction, dearer) - total(construction)
        assert change <= 1e-12 if item == "scrap lead" else change >= -1e-12


@pytest.mark.parametrize(
    ("change", "names"),
    [
        (("copper crystals,14,money/kg", "copper crystals,14,kg"), ["row 2", "14 kg", "Try"]),
        (("stock acid,3.5,", 'stock acid,"3,5",'), ["row 4", "'3,5'", "decimal point as a dot"]),
        (("felt plates,260,money/m^2", "felt plates,260,money/kg"), ["row 6", "260 money/kg"]),
        (("scrap lead,0.9,", "scrap lead,-0.9,"), ["row 10", "-0.9", "at least 0"]),
        (("new block,15,money", "new block,15,EUR"), ["row 11", "'EUR' and 'money'", "keep to one currency"]),
        (("consumables,", "gloves,"), ["row 9", "'gloves'", "consumables"]),
    ],
)
def test_slips_are_named_by_row(tmp_path, change, names):
    path = tmp_path / "mine.csv"
    path.write_text(LIST.replace(*change), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_prices(path)
    assert [name for name in ["mine.csv", *names] if name not in str(caught.value)] == []


def test_any_fitting_unit(tmp_path):
    path = tmp_path / "mine.csv"
    path.write_text(LIST.replace("stock acid,3.5,money/kg", "stock acid,0.0035,money/g"), encoding="utf-8")
    assert read_prices(path)["stock acid"].to("money/kg").magnitude == pytest.approx(3.5)


def test_template_asks_for_what_is_read():
    text = data_path("bench/prices_template.csv").read_text(encoding="utf-8")
    assert [row["item"] for row in csv.DictReader(text.splitlines())] == list(PRICES)


def test_what_cannot_be_has_no_bill():
    with pytest.raises(InputError, match="prices is .*, no price list"):
        bill(DESIGN, {"felt": 3}, "copper")
    with pytest.raises(InputError, match="construction is 'gold'"):
        bill(DESIGN, COSTS, "gold")
    with pytest.raises(InputError, match="more than dissolves"):
        bill(ck.designs.Design.varied.si(DESIGN, {"fill salt": 1500.0}), COSTS, "copper")


def test_a_metal_that_is_not_planned_needs_no_price(tmp_path):
    """Only the rebuild that buys its crystals asks for the row."""
    rows = data_path("bench/osier_yard_prices.csv").read_text(encoding="utf-8").splitlines()
    path = tmp_path / "my_prices.csv"
    path.write_text("\n".join(row for row in rows if not row.startswith("zinc crystals")), encoding="utf-8")
    prices = read_prices(path)
    assert sum(bill(DESIGN, prices, "copper").values()) == sum(bill(DESIGN, COSTS, "copper").values())
    with pytest.raises(InputError, match="no zinc crystals; add a row"):
        bill(DESIGN, prices, "zinc")
