"""Tables, formulas and molar masses. Comparisons with a library are in external/."""

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from cellkit import FOLDERS, InputError
from cellkit.logs import read_bench_log
from cellkit.tables.metals import METALS
from cellkit.tables.published import FARADAY, GAS, composition, data_path, find_file, in_si, molar_mass, table

TABLES = ("atomic_weights", "density", "half_cells", "ion_interaction", "pure_substances", "solubility")


@pytest.mark.parametrize("name", TABLES)
def test_tables_are_read_as_numbers(name):
    rows = table(name)
    assert rows
    for row in rows:
        assert None not in row, f"a comma too many: {row}"
        assert any(isinstance(value, float) for value in row.values())


@pytest.mark.parametrize(
    ("unit", "written", "meant"),
    [
        ("g/(m^2*day)", 86.4, 1e-6),  # 86.4 g a day are 86,400 mg in 86,400 s: a milligram a second
        ("A/cm^2", 2.5e-11, 2.5e-7),
        ("ohm*cm^2", 2.0, 2e-4),
        (1.0, 0.9, 0.9),  # how a "1" in the file is read
    ],
)
def test_a_row_in_si(unit, written, meant):
    assert in_si({"unit": unit, "low": written, "high": 2 * written}, "low", "high") == pytest.approx(
        [meant, 2 * meant]
    )


@pytest.mark.parametrize("name", [name for name in TABLES if name not in ("atomic_weights", "density")])
def test_every_row_says_where_it_is_from(name):
    assert all(len(row["source"]) > 5 for row in table(name))


def test_constants_are_those_of_the_si():
    """Charge, Avogadro and Boltzmann constants are exact since 2019, as scipy.constants carries them (CODATA)."""
    assert pytest.approx(constants.e * constants.N_A, rel=1e-15) == FARADAY
    assert pytest.approx(constants.k * constants.N_A, rel=1e-15) == GAS


def test_importing_everything_loads_no_part_of_scipy():
    """A page in a browser waits for what is imported; pint looks only whether there is a scipy."""
    code = f"import sys; from cellkit import {', '.join(FOLDERS)}; "
    code += "print([name for name in sys.modules if name.startswith('scipy.') and name.count('.') == 1])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    parts = {
        "cluster",
        "constants",
        "fft",
        "integrate",
        "interpolate",
        "linalg",
        "ndimage",
        "optimize",
        "sparse",
        "special",
    }
    assert [part for part in parts if f"scipy.{part}" in done.stdout] == []


@pytest.mark.parametrize(
    ("formula", "atoms"),
    [
        ("PbO2", {"Pb": 1, "O": 2}),
        ("H2SO4", {"H": 2, "S": 1, "O": 4}),
        ("CuSO4·5H2O", {"Cu": 1, "S": 1, "O": 9, "H": 10}),
        ("ZnSO4·H2O", {"Zn": 1, "S": 1, "O": 5, "H": 2}),
        ("ZnSO4.7H2O", {"Zn": 1, "S": 1, "O": 11, "H": 14}),
        ("ZnSO4*7H2O", {"Zn": 1, "S": 1, "O": 11, "H": 14}),
        ("C12H22O11", {"C": 12, "H": 22, "O": 11}),
    ],
)
def test_atoms_are_counted(formula, atoms):
    """Hand counts."""
    assert composition(formula) == atoms


@pytest.mark.parametrize("text", ["", "cuso4", "Cu SO4", "CuSO4·", "·5H2O", "CuSO4·x", "Pb(SO4)", "5", "-", None, 5])
def test_what_is_no_formula(text):
    with pytest.raises(InputError, match="is not a formula; write it like 'CuSO4·5H2O'"):
        composition(text)


@pytest.mark.parametrize("formula", ["FeSO4", "NiSO4·6H2O", "Xx"])
def test_unknown_elements_are_named(formula):
    with pytest.raises(InputError, match=r"holds (Fe|Ni|Xx); cellkit knows H, C, O"):
        molar_mass(formula)


@pytest.mark.parametrize(
    ("formula", "printed"),
    [("CuSO4·5H2O", 249.68), ("ZnSO4·7H2O", 287.55), ("ZnSO4·H2O", 179.46), ("PbO2", 239.2), ("H2SO4", 98.08)],
)
def test_molar_masses_as_labels_print_them(formula, printed):
    """Labels of the crystals, common practice, no source; 0.02 is their rounding and sulfur's spread."""
    assert molar_mass(formula).to("g/mol").magnitude == pytest.approx(printed, abs=0.02)


@given(
    st.lists(st.sampled_from(["Pb", "Cu", "Zn", "S", "O", "H"]), min_size=1, max_size=6, unique=True), st.integers(1, 9)
)
def test_molar_mass_is_additive(elements, waters):
    formula = "".join(elements)
    whole = molar_mass.si(f"{formula}·{waters}H2O")
    assert whole == pytest.approx(sum(map(molar_mass.si, elements)) + waters * molar_mass.si("H2O"), rel=1e-12)


@pytest.mark.parametrize("find", [find_file, data_path])
def test_a_name_that_no_disk_knows_is_refused(find):
    with pytest.raises(InputError, match="data has no"):
        find("x" * 300)


def test_a_file_that_may_not_be_read_says_why(monkeypatch):
    def shut(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.open", shut)
    with pytest.raises(InputError, match=r"log_copper\.csv cannot be read: Permission denied\. Try a copy"):
        read_bench_log("log_copper.csv")


def test_missing_file_lists_what_there_is():
    with pytest.raises(InputError, match=r"data has no 'reference/gold.csv'; it has .*solubility.csv"):
        data_path("reference/gold.csv")
    with pytest.raises(InputError, match=r"data has no 'nowhere/gold.csv'; it has bench, reference"):
        data_path("nowhere/gold.csv")
    with pytest.raises(InputError, match="data has no"):
        table("gold")


def test_metals_have_all_they_need():
    weights = {row["element"] for row in table("atomic_weights")}
    densities = {row["substance"] for row in table("pure_substances")}
    salts = {row["salt"] for row in table("solubility")}
    for name, metal in METALS.items():
        symbol = metal.symbol
        assert symbol in weights & densities
        assert f"{symbol}SO4" in salts
        assert name in {row["half_cell"] for row in table("half_cells")}
