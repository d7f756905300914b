"""A metal is rows in tables: an invented fourth one runs through everything without a line of code for it.

The course is copied, rows are added to the copied tables, and a Python of its own works with the copy.
"""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from cellkit import InputError
from cellkit.tables.metals import HYDRATES, METALS, bound_water, dissolved_metal, metal_named, read_label

ROOT = Path(__file__).parent.parent
# element X weighs as much as zinc; everything else that a metal has is invented, between copper and zinc
ROWS = {
    "atomic_weights": "X,65.38",
    "metals": "fourthium,X,XSO4·6H2O XSO4,XSO4·6H2O,2.0,#3a7d2c,--,invented for a test",
    "half_cells": "fourthium,X++ + 2e- = X,-0.25,0.1,5,invented for a test",
    "ion_interaction": "X,SO4,0.2,2.6,-40,0.02,1.4,12,invented for a test",
    "density": "XSO4,19.3998326,36.9810553,-0.0887657848,0.00106893138,2058.60218,15,60,0.3",
    "pure_substances": "X,8900,invented for a test",
    "solubility": "XSO4,0,1.5,invented\nXSO4,25,2.2,invented\nXSO4,50,3.0,invented",
    "kinetics": "fourthium,50,200,10,A/m^2,invented for a test",
    "side_reactions": "hydrogen on fourthium,1e-9,1e-8,1e-7,A/cm^2,invented,invented\n"
    "overpotential of plating fourthium,0.05,0.1,0.15,V,invented,invented\n"
    "diffusion of fourthium,4e-10,6e-10,8e-10,m^2/s,invented,invented",
}
WORK = """
import json
import cellkit as ck
from cellkit import Q_

metal, found = "fourthium", {}
fill = ck.chemistry.from_molarity(Q_(40, "mL"), Q_(0.5, "mol/L"), Q_(1, "mol/L"), metal)
found["crystals"] = ck.chemistry.weigh_out(fill, "XSO4·6H2O").crystals.to("g").magnitude
found["dissolves"] = ck.chemistry.solubility(metal, Q_(1, "mol/kg")).magnitude
found["conducts"] = ck.chemistry.conductivity(Q_(0.5, "mol/L"), Q_(1, "mol/L"), metal).magnitude
design = ck.designs.read_design(LIST)
cell = design.cell(metal)
found["volts"] = cell.rest_voltage(0.5).magnitude
found["limited by"] = str(cell.limiting)
found["under load"] = ck.cells.voltage_under_load(cell, design.current_path(), Q_(0.1, "A")).terminal.magnitude
found["constructions"] = list(ck.designs.CONSTRUCTIONS)
compared = ck.designs.compare(design, 200)
found["verdict"] = compared.verdict(metal)
found["decides"] = len(compared.sensitivity(metal))
prices = ck.designs.read_prices(PRICES)
found["bill"] = sum(ck.designs.bill(design, prices, metal).values()).magnitude
found["questions"] = len(ck.designs.Review(design, metal).findings())
found["sheet"] = ck.show.build_sheet(design, metal).text
found["colour"] = ck.show.figures.look(metal)["color"]
found["map"] = ck.show.design_map(design).sentence
ck.show.energy_panel(design)
ck.show.VoltPanel()
for panel in (ck.show.recipe_panel(design), ck.show.load_panel(design)):
    panel.choice.value = metal
print(json.dumps(found))
"""


def with_rows(path, rows):
    """Add ``rows`` to a copied table, each with as many fields as its header."""
    header = path.read_text(encoding="utf-8").splitlines()[0]
    rows = [row + "," * max(header.count(",") - row.count(","), 0) for row in rows.split("\n")]
    path.write_text("\n".join([path.read_text(encoding="utf-8").rstrip("\n"), *rows, ""]), encoding="utf-8")


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    course = tmp_path_factory.mktemp("course")
    for folder in ("cellkit", "data"):
        shutil.copytree(ROOT / folder, course / folder, ignore=shutil.ignore_patterns("__pycache__"))
    for table, rows in ROWS.items():
        with_rows(course / "data" / "reference" / f"{table}.csv", rows)
    conductivity = course / "data" / "reference" / "conductivity.csv"
    zinc = [line for line in conductivity.read_text(encoding="utf-8").splitlines() if line.startswith("ZnSO4,")]
    with_rows(conductivity, "\n".join(line.replace("ZnSO4", "XSO4") for line in zinc))
    lists = {}
    for name, row in (("design", "fourthium crystals,XSO4·6H2O,,"), ("prices", "fourthium crystals,10,money/kg,")):
        example = next(path for path in (course / "data" / "bench").glob(f"*_{name}.csv"))
        lists[name] = course / f"my_{name}.csv"
        lists[name].write_text(f"{example.read_text(encoding='utf-8').rstrip()}\n{row}\n", encoding="utf-8")
    code = WORK.replace("LIST", repr(str(lists["design"]))).replace("PRICES", repr(str(lists["prices"])))
    surroundings = os.environ | {"PYTHONPATH": str(course), "PYTHONIOENCODING": "utf-8"}
    command = [sys.executable, "-c", code]
    done = subprocess.run(command, cwd=course, env=surroundings, capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


def test_it_is_a_construction_of_its_own(found):
    assert found["constructions"].count("fourthium") == 1
    assert set(found["constructions"]) > {"lead", *METALS}


def test_its_recipe_is_that_of_its_hydrate(found):
    """40 mL of 1 mol/L as XSO4·6H2O: 0.04 × (65.38 + 96.06 + 6 × 18.015) g, IUPAC atomic weights."""
    assert found["crystals"] == pytest.approx(0.04 * (65.38 + 32.06 + 4 * 15.999 + 6 * 18.015), rel=1e-3)


def test_it_dissolves_less_beside_acid_than_in_water(found):
    assert 0.5 < found["dissolves"] < 2.2


def test_its_volts_lie_between_those_of_copper_and_zinc(found):
    """Its standard potential does: 0.34 > -0.25 > -0.76 V."""
    assert 1.4 < found["under load"] < found["volts"] < 2.2
    assert found["limited by"] in ("PbO2", "metal ions", "felt", "acid")


def test_it_is_compared_billed_and_reviewed(found):
    assert "fourthium rebuild" in " ".join(found["verdict"].split())
    assert found["decides"] > 10
    assert found["bill"] > 0
    assert found["questions"] == 12


def test_it_has_a_sheet_and_a_look(found):
    assert "Fourthium rebuild" in found["sheet"]
    assert "XSO4·6H2O" in found["sheet"]
    assert found["colour"] == "#3a7d2c"


def test_every_metal_has_its_rows():
    for metal in METALS.values():
        assert metal.crystal in metal.hydrates
        assert HYDRATES[metal.hydrates[0]] is metal
        assert bound_water(metal.salt) == 0 < bound_water(metal.hydrates[0])


@pytest.mark.parametrize(
    "label", ["CuSO4·5H2O", "CuSO4.5H2O", "CuSO4*5H2O", "CuSO4 x 5H2O", "CuSO4 × 5 H2O", "CuSO₄ • 5 H₂O", "cuso4 5h2o"]
)
def test_labels_as_bags_write_them(label):
    assert read_label(label) == "CuSO4·5H2O"


def test_salt_of_no_metal_is_refused_in_one_way():
    with pytest.raises(InputError, match="salt but no metal"):
        dissolved_metal(None, [0.0, 0.1])
    with pytest.raises(InputError, match="allowed are 'copper', 'zinc'"):
        metal_named("gold")
    assert dissolved_metal(None, 0.0) is None
