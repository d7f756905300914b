"""Reading a learner's list: every form a spreadsheet saves, every slip named by its row, and the block that follows."""

import csv
import io
import itertools
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cellkit import Q_, InputError
from cellkit.cells.block import BLOCK_ITEMS, MISSING_MASS, PARTS, Block, read_block
from cellkit.chemistry.solution import from_molarity
from cellkit.designs.cost import PRICES
from cellkit.designs.design import DESIGN_ITEMS
from cellkit.tables.lists import Optional, read_items
from cellkit.tables.published import data_path
from cellkit.tables.text_files import read_quantity
from cellkit.units import Constraint, positive

LIST = data_path("bench/osier_yard_block.csv").read_text(encoding="utf-8")
ROWS = list(csv.reader(io.StringIO(LIST)))
WHERE = {row[0]: number for number, row in enumerate(ROWS, start=1)}


def written(rows, separator=","):
    text = io.StringIO()
    csv.writer(text, delimiter=separator, lineterminator="\n").writerows(rows)
    return text.getvalue()


def changed(item, value=None, unit=None, note=None):
    """The list with one row changed."""
    new = [list(row) for row in ROWS]
    row = new[WHERE[item] - 1]
    for column, text in ((1, value), (2, unit), (3, note)):
        if text is not None:
            row[column] = text
    return written(new)


@pytest.fixture
def load(tmp_path):
    def load(content):
        path = tmp_path / "my_block.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        return read_block(path)

    return load


def same_block(one, two, rel=1e-9):
    assert one.values.keys() == two.values.keys()
    return all(
        value == (pytest.approx(two.values[k], rel) if isinstance(value, float) else two.values[k])
        for k, value in one.values.items()
    )


# --- forms that read right

FORMS = {
    "as it is": LIST,
    "semicolons": written(ROWS, ";"),
    "tabs": written(ROWS, "\t"),
    "semicolons and quotes": "\n".join(";".join(f'"{field}"' for field in row) for row in ROWS),
    "byte-order mark": LIST.encode("utf-8-sig"),
    "byte-order mark and semicolons": written(ROWS, ";").encode("utf-8-sig"),
    "Windows line ends": LIST.replace("\n", "\r\n"),
    "blank lines": LIST.replace("\n", "\n\n"),
    "empty rows below": LIST + ",,,\n" * 20,
    "capitals and spaces": LIST.replace("cells,3", " Cells , 3 ").replace("item,value", "Item, Value"),
    "another order": written([ROWS[0], *reversed(ROWS[1:])]),
    "no notes": written([row[:3] for row in ROWS]),
    "decimal commas and semicolons": written([[field.replace(".", ",") for field in row] for row in ROWS], ";"),
    "code page 1252": LIST.replace("kitchen", "Küchen").encode("cp1252"),
    "UTF-16": LIST.encode("utf-16"),
    "UTF-16 without a mark": LIST.encode("utf-16-le"),
    "a column more": written([[*row, "x"] for row in ROWS]),
    "a comma in a quoted note": changed("whole block", note="heavy, with the label on"),
}


@pytest.mark.parametrize("content", FORMS.values(), ids=FORMS)
def test_forms_that_spreadsheets_save(load, content):
    assert same_block(load(content), read_block("osier_yard_block.csv"))


@pytest.mark.parametrize(
    ("item", "value", "unit"),
    [
        ("whole block", "0.73", "kg"),
        ("whole block", "25.7499923", "oz"),  # 1 oz = 28.349523125 g
        ("whole block", "730000", "mg"),
        ("plate width", "4", "cm"),
        ("electrolyte density", "1270", "kg/m^3"),
        ("electrolyte density", "1.27", "g/cm^3"),
        ("electrolyte density", "1.27", "kg/L"),
        ("electrolyte density", "1.27", "g/cm3"),
        ("electrolyte density", "1270", "kg/m3"),
        ("electrolyte density", "1.27", "g/cm³"),
        ("electrolyte density", "1.27", "g cm^-3"),
        ("capacity", "3100", "mAh"),
        ("capacity", "11160", "C"),
        ("cells", "3", ""),
        ("cells", "3.0", "1"),
        ("whole block", "7.3e2", "g"),
    ],
)
def test_any_fitting_unit(load, item, value, unit):
    assert same_block(load(changed(item, value, unit)), read_block("osier_yard_block.csv"), 1e-7)


def test_a_path_may_be_a_text(tmp_path, monkeypatch):
    (tmp_path / "mine.csv").write_text(LIST, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert same_block(read_block("mine.csv"), read_block(str(tmp_path / "mine.csv")))


# --- slips: what the message has to name

DOT = "decimal point as a dot"
ROW = {item: f"row {number}" for item, number in WHERE.items()}
SLIPS = {
    "text in a number": (changed("separators", "ca 18"), [ROW["separators"], "'ca 18'", "digits only"]),
    "unit in the number": (changed("separators", "18 g"), [ROW["separators"], "'18 g'", "digits only"]),
    "no number": (changed("separators", ""), [ROW["separators"], "not a number"]),
    "not a number": (changed("separators", "nan"), [ROW["separators"], "'nan'", "digits only"]),
    "infinite": (changed("separators", "inf"), [ROW["separators"], "'inf'", "digits only"]),
    "beyond all numbers": (changed("separators", "1e999"), [ROW["separators"], "inf g", "Try"]),
    "a sum": (changed("separators", "9+9"), [ROW["separators"], "'9+9'", "digits only"]),
    "negative": (changed("separators", "-18"), [ROW["separators"], "-18 g", "more than 0 g", "Try"]),
    "zero": (changed("separators", "0"), [ROW["separators"], "0 g", "more than 0 g", "Try"]),
    "no cells": (changed("cells", "0"), [ROW["cells"], "cells is 0", "Try"]),
    "half a cell": (changed("cells", "2.5"), [ROW["cells"], "cells is 2.5", "whole number", "Try"]),
    "half a plate": (
        changed("number of positive plates", "9.5"),
        [ROW["number of positive plates"], "9.5", "whole number", "Try"],
    ),
    "more charge than the PbO2 holds": (changed("capacity", "12"), ["capacity of 12 Ah", "9.68 Ah", "as measured"]),
    "unknown unit": (changed("separators", unit="gramms"), [ROW["separators"], "'gramms'", "try 20,g"]),
    "unreadable unit": (changed("separators", unit="g**"), [ROW["separators"], "'g**'", "try 20,g"]),
    "no unit": (changed("separators", unit=""), [ROW["separators"], "not a mass", "Try"]),
    "wrong dimension": (changed("separators", unit="mL"), [ROW["separators"], "18 mL", "not a mass", "Try"]),
    "count with a unit": (changed("cells", unit="g"), [ROW["cells"], "3 g", "Try"]),
    "specific gravity": (changed("electrolyte density", unit="1"), [ROW["electrolyte density"], "1.27", "Try"]),
    "density of lead": (changed("electrolyte density", "11.3"), [ROW["electrolyte density"], "1 g/mL to 1.3 g/mL"]),
    "decimal comma, quoted": (changed("separators", "18,5"), [ROW["separators"], "'18,5'", DOT]),
    "thousands and decimals": (
        written(ROWS, ";").replace("separators;18;", "separators;1.018,5;"),
        [ROW["separators"], "'1.018,5'", DOT],
    ),
    "decimal comma, commas": (
        LIST.replace("separators,18,g", "separators,18,5,g"),
        [ROW["separators"], "more fields", "separators, 18, 5, g", DOT],
    ),
    "decimal comma, commas, no note": (
        LIST.replace("case and lid,76,g,", "case and lid,76,5,g"),
        [ROW["case and lid"], "unit '5'", "try 20,g"],
    ),
    "comma in a note": (
        LIST.replace("all glass mat; dry", "all glass mat, dry"),
        [ROW["separators"], "more fields", "quotes around a note"],
    ),
    "unknown item": (LIST.replace("separators,", "felt,"), [ROW["separators"], "'felt'", "known are", "separators"]),
    "missing item": (LIST.replace("case and lid,76,g,\n", ""), ["row", "without case and lid", "add a row"]),
    "item twice": (LIST + "cells,3,1,\n", [f"row {len(ROWS) + 1}", "'cells' is there twice"]),
    "missing column": (LIST.replace("item,value,unit", "item,value,dimension"), ["no column unit", "item,value,unit"]),
    "no header": (LIST.split("\n", 1)[1], ["no column item, value, unit"]),
    "header only": ("item,value,unit,note\n", ["without cells, whole block", "add a row"]),
    "empty file": ("", ["no column item, value, unit"]),
    "a picture": (b"\x89PNG\r\n\x1a\n\x81\x8d", ["is not text", "Save it anew as 'CSV UTF-8'"]),
    "parts too light": (changed("whole block", "830"), ["add up to 726 g", "weighs 830 g", "Weigh again", "5%"]),
    "all grams as kilograms": (
        written([[*row[:2], row[2].replace("g", "kg") if row[2] == "g" else row[2], *row[3:]] for row in ROWS]),
        ["a block of 730000 g that gives 3.1 Ah uses 0.0003 of its PbO2", "Are grams written as kilograms"],
    ),
    "one mass in kilograms": (
        changed("positive plates", unit="kg"),
        ["positive plates 216000 g", "Are grams written as kilograms?"],
    ),
    "parts too heavy": (changed("whole block", "700"), ["add up to 726 g", "weighs 700 g", "Weigh again"]),
    "one part in kilograms": (changed("separators", unit="kg"), ["separators 18000 g", "Weigh again"]),
}


@pytest.mark.parametrize(("content", "names"), SLIPS.values(), ids=SLIPS)
def test_slips_are_named(load, content, names):
    with pytest.raises(InputError) as caught:
        load(content)
    message = str(caught.value)
    assert message.startswith("my_block.csv") or "my_block.csv" in message.split(":")[0]
    for name in names:
        assert name in message


def test_the_empty_template_says_where_to_begin():
    with pytest.raises(InputError, match=r"block_template.csv, row 2: the value of 'cells' is ''"):
        read_block("block_template.csv")


BOMBS = [
    "9**9**9",
    "g**9**9**9",
    "V^999999999",
    "9" * 4000,
    "(((g)))",
    "__import__('os')",
    "g if g else g",
    "g" * 10_000,
]


def test_no_text_is_computed(tmp_path):
    """In a process of its own, since pint would compute the first for ever: as value, as unit, and as an answer."""
    for number, text in enumerate(BOMBS):
        (tmp_path / f"{number} value.csv").write_text(changed("separators", text), encoding="utf-8")
        (tmp_path / f"{number} unit.csv").write_text(changed("separators", unit=text), encoding="utf-8")
    code = """
import sys
from cellkit import InputError
from cellkit.cells import read_block
from cellkit.tables.text_files import read_quantity
for number, text in enumerate(sys.argv[1:]):
    for work, given in ((read_block, f"{number} value.csv"), (read_block, f"{number} unit.csv"), (read_quantity, text)):
        try:
            print(work(given))
        except InputError as error:
            print("refused", len(str(error)) < 400)
"""
    command = [sys.executable, "-c", code, *BOMBS]
    said = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, timeout=120, check=True)
    assert said.stdout.splitlines() == ["refused True"] * 3 * len(BOMBS)


@pytest.mark.parametrize(
    ("text", "means"),
    [
        ("0.34 V", Q_(0.34, "V")),
        ("1,5 mA", Q_(1.5, "mA")),
        ("-2e-3V", Q_(-0.002, "V")),
        ("3", Q_(3, "")),
        ("25 °C", Q_(25, "degC")),
        ("5 %", Q_(5, "percent")),
        ("3 percent/day**0.5", Q_(3, "percent/day**0.5")),
    ],
)
def test_an_answer_is_a_number_with_a_unit(text, means):
    assert read_quantity(text) == means


# --- rows that may be missing, and money

ITEMS = {"cells": Constraint("", "3,1"), "vent plugs": Optional(positive("kg", "5,g")), "rest": Optional(str, "none")}


@pytest.fixture
def items(tmp_path):
    def items(rows, asked):
        (tmp_path / "list.csv").write_text("item,value,unit\n" + rows, encoding="utf-8")
        return read_items(tmp_path / "list.csv", asked)[0]

    return items


def test_a_row_may_be_blank_or_missing_where_its_entry_says_so(items):
    assert items("cells,3,1\n", ITEMS) == {"cells": 3, "vent plugs": None, "rest": "none"}
    assert items("vent plugs,,g\ncells,3,1\n", ITEMS) == {"cells": 3, "vent plugs": None, "rest": "none"}
    assert items("vent plugs,4,g\ncells,3,1\nrest,new\n", ITEMS)["vent plugs"] == Q_(4, "g")
    with pytest.raises(InputError, match=r"row 2: vent plugs is 0 g"):
        items("vent plugs,0,g\n", ITEMS)
    with pytest.raises(InputError, match=r"row 2: the list ends without cells"):
        items("rest,new,\n", ITEMS)


@pytest.mark.parametrize("unit", ["money/kg", "EUR/kg", "€/kg", "$/kg", "kr/kg", "/kg", "1/kg"])
def test_any_currency_or_none(items, unit):
    assert items(f"lead,2,{unit}\n", {"lead": positive("money/kg", "2,money/kg")}) == {"lead": Q_(2, "money/kg")}


def test_two_currencies_are_refused(items):
    kinds = {"lead": positive("money/kg", "2,money/kg"), "block": positive("money", "5,money")}
    assert items("lead,2,EUR/kg\nblock,9,EUR\n", kinds)["block"] == Q_(9, "money")
    assert items("lead,2,/kg\nblock,9,\n", kinds)["block"] == Q_(9, "money")
    with pytest.raises(InputError, match=r"row 3: prices in '\$' and 'EUR'; keep to one currency"):
        items("lead,2,EUR/kg\nblock,9,$\n", kinds)


@pytest.mark.parametrize("name", ["block", "design", "prices"])
def test_a_template_says_which_rows_are_optional(name):
    kinds = {"block": BLOCK_ITEMS, "design": DESIGN_ITEMS, "prices": PRICES}[name]
    rows = csv.DictReader(data_path(f"bench/{name}_template.csv").read_text(encoding="utf-8").splitlines())
    assert {row["item"]: "optional" in row["note"] for row in rows} == {
        item: isinstance(kind, Optional) for item, kind in kinds.items()
    }


def test_a_blank_row_counts_as_the_template_says(load):
    template = csv.DictReader(data_path("bench/block_template.csv").read_text(encoding="utf-8").splitlines())
    notes = {row["item"]: row["note"].partition("blank counts as ")[2] for row in template}
    block = load(LIST.replace("positives,charged", "positives,").replace("kind of block,glass-mat", "kind of block,"))
    for item in ("positives", "kind of block"):
        assert block.values[item] == notes[item]
    assert block.opened_charged


def test_a_missing_file_lists_what_the_course_has(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError, match=r"no file 'mine.csv' in .* it has .*osier_yard_block.csv"):
        read_block("mine.csv")


def test_template_asks_for_what_is_read():
    template = list(csv.DictReader(data_path("bench/block_template.csv").read_text(encoding="utf-8").splitlines()))
    assert [row["item"] for row in template] == list(BLOCK_ITEMS)
    assert set(PARTS) <= set(BLOCK_ITEMS)


# --- the block that follows


def test_osier_yard_by_hand():
    """Divide the (invented) list by hand: 210 g / 12 plates; 40 mm × 62 mm; 730 - (216+210+18+168+76+38) g."""
    block = read_block("osier_yard_block.csv")
    assert block.cells == 3
    assert block.negative_plate.to("g").magnitude == pytest.approx(17.5)
    assert block.plate_area.to("cm^2").magnitude == pytest.approx(24.8)
    assert block.unaccounted.to("g").magnitude == pytest.approx(4)
    # 3.1 Ah over 72 g × 0.6 × 0.2241 Ah/g
    assert block.utilisation.magnitude == pytest.approx(3.1 / (72 * 0.6 * 0.2241), rel=1e-3)
    assert block.electrolyte().density.to("g/mL").magnitude == pytest.approx(1.27, abs=1e-4)
    assert block.electrolyte().mass.to("g").magnitude == pytest.approx(56)
    assert f"{block.items['whole block'].to('g'):.0f~P}" == "730 g"


def test_faces_are_the_gaps_between_unlike_plates():
    """Counted in stacks as they stand in a cell, from one wall to the other."""
    values, signs = read_block("osier_yard_block.csv").values, {"positive": "+", "negative": "-"}
    for stack in ("-+-+-+-", "+-+-+-", "+-+-+-+", "+-", "--+--", "++-++"):
        plates = {f"number of {word} plates": 3 * stack.count(sign) for word, sign in signs.items()}
        assert Block(values | plates).faces == sum(one != other for one, other in itertools.pairwise(stack)), stack


def test_the_lead_cell_gives_back_the_measured_capacity():
    cell = read_block("osier_yard_block.csv").lead_cell()
    assert cell.capacity.to("Ah").magnitude == pytest.approx(3.1)
    assert cell.limiting == "PbO2"
    assert cell.mass("block").to("g").magnitude == pytest.approx(726 / 3)
    # 70 g of negatives × 0.6 × 0.5 at 0.2587 Ah/g of lead (handbook figure, from memory)
    assert cell.limits["lead"].to("Ah").magnitude == pytest.approx(70 * 0.6 * 0.5 * 0.2587, rel=1e-3)


def test_a_rebuilt_cell_keeps_all_but_its_negatives():
    block = read_block("osier_yard_block.csv")
    fill = from_molarity(Q_(55, "mL"), Q_(1, "mol/L"), Q_(0.6, "mol/L"), "copper")
    old, new = block.lead_cell(), block.rebuilt_cell(fill, Q_(6, "g"), Q_(10, "Ah"))
    kept = set(old.masses) - {"negative plates", "electrolyte"}
    assert all(new.masses[part].magnitude == old.masses[part].magnitude for part in kept)
    assert new.masses["negative plates"].to("g").magnitude == pytest.approx(6)
    assert new.utilisation == old.utilisation
    assert new.positive_charged is True


@settings(max_examples=25)
@given(st.floats(-0.009, MISSING_MASS - 0.001))
def test_a_few_lost_drops_are_accepted(gap):
    parts = sum(float(ROWS[WHERE[part] - 1][1]) for part in PARTS)
    values = read_block("osier_yard_block.csv").values | {"whole block": parts / (1 - gap) / 1000}
    assert Block(values).unaccounted.to("g").magnitude == pytest.approx(gap * parts / (1 - gap), abs=1e-6)


@pytest.mark.parametrize(("grams", "accepted"), [(720, True), (718, False), (764, True), (765, False)])
def test_where_the_sum_is_refused(load, grams, accepted):
    """726 g of parts: 1 % more than the block or 5 % less (rounded outwards to whole grams) is where it turns."""
    content = changed("whole block", str(grams))
    if accepted:
        assert load(content).cells == 3
    else:
        with pytest.raises(InputError, match="add up to 726 g"):
            load(content)
