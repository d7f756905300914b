"""Density, conversion between concentrations and solubility against handbook rows and libraries."""

import pitzer_live
from report import CODE, INDEPENDENT, compared, numbers, percent, values

from cellkit import Q_
from cellkit.chemistry.properties import density, solubility
from cellkit.chemistry.solution import Electrolyte, from_mass_fraction, from_molality, from_molarity
from cellkit.tables.published import table

CRC = "CRC Handbook 102nd ed., concentrative properties (secondary copy)"
SALTS = "CRC Handbook 98th ed., solubilities in water and of common salts (secondary copies)"


def _shares(row):
    """Mass fractions of acid and salt, the metal, and kelvin, of a row given in wt%."""
    percentage, celsius = numbers(row["condition"])[:2]
    share, metal = percentage / 100, {"H": None, "C": "copper", "Z": "zinc"}[row["substance"][0]]
    return (share, 0.0, None, celsius + 273.15) if metal is None else (0.0, share, metal, celsius + 273.15)


@compared("density of H2SO4", "2–38 wt%, 20 °C", CRC, 0.3, "%", INDEPENDENT)
def test_density_of_acid():
    for row in values("density", "H2SO4", "CRC Handbook"):
        yield row["condition"], percent(density.si(*_shares(row)), row["value"])


@compared("density of CuSO4", "1–18 wt%, 20 °C", CRC, 0.3, "%", INDEPENDENT)
def test_density_of_copper_sulfate():
    for row in values("density", "CuSO4", "CRC Handbook"):
        yield row["condition"], percent(density.si(*_shares(row)), row["value"])


@compared("density of ZnSO4", "1–16 wt%, 20 °C", CRC, 0.3, "%", INDEPENDENT)
def test_density_of_zinc_sulfate():
    for row in values("density", "ZnSO4", "CRC Handbook"):
        yield row["condition"], percent(density.si(*_shares(row)), row["value"])


@compared("density of CuSO4, ZnSO4", "0.1; 0.5 and 2 mol/kg, 25 °C", "pyEQL 1.7.0, frozen", 0.3, "%", INDEPENDENT)
def test_density_of_salts_by_another_library():
    for row in values("density", r"(Cu|Zn)SO4\(", "pyEQL"):
        metal = "copper" if row["substance"].startswith("Cu") else "zinc"
        solution = from_molality.si(1.0, salt=numbers(row["condition"])[0], metal=metal)
        yield row["condition"], percent(Electrolyte.density.si(solution), row["value"])


@compared("density of H2SO4", "0.1–6 mol/kg, 25 °C", "PHREEQC 3.8.6 with pitzer.dat, live", 0.3, "%", INDEPENDENT)
def test_density_of_acid_live():
    for acid in (0.1, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0):
        ours = Electrolyte.density.si(from_molality.si(1.0, acid))
        yield acid, percent(ours, pitzer_live.solution(acid)["density"])


@compared(
    "density of mixtures", "0.5–1 mol/L salt, 0.5–2 mol/L H2SO4", "mixing rule of thermo 0.6.1, frozen", 0.5, "%", CODE
)
def test_density_of_mixtures():
    for row in values("density", r".*M H2SO4"):
        salt, acid = numbers(row["substance"])
        metal = "copper" if "Cu" in row["substance"] else "zinc"
        mixture = from_molarity.si(1e-3, 1000 * acid, 1000 * salt, metal)
        yield row["substance"], percent(Electrolyte.density.si(mixture), row["value"])


@compared("density of water", "25 °C", "IAPWS-95 by iapws 1.5.5, frozen", 0.01, "%", INDEPENDENT)
def test_density_of_water():
    for row in values("density", "H2O"):
        yield row["condition"], percent(density.si(0.0), row["value"])


@compared("density of water", "0–45 °C", "handbook figures, from memory", 0.002, "%", INDEPENDENT)
def test_density_of_water_along_temperature():
    for celsius, theirs in {0: 999.84, 4: 999.97, 10: 999.70, 20: 998.21, 30: 995.65, 40: 992.22, 45: 990.21}.items():
        yield celsius, percent(density.si(0.0, temperature=celsius + 273.15), theirs)


def _dissolving(quantity):
    """Rows of the concentrative table; above 16 wt% copper sulfate no longer dissolves at 20 °C."""
    for row in values(quantity, None, "CRC"):
        if row["substance"].startswith("H2SO4") or numbers(row["condition"])[0] <= 16:
            yield row


def _rounded(ours, printed):
    """Deviation in percent beyond half a unit of the third decimal, in which the table is printed."""
    apart = ours - printed
    beyond = max(abs(apart) - 0.0005, 0.0) * (1 if apart > 0 else -1)
    return 100 * beyond / printed


@compared(
    "wt% to mol/kg", "H2SO4 0.5–40, CuSO4 0.5–16 wt%, 20 °C", CRC, 0.3, "% beyond the table's rounding", INDEPENDENT
)
def test_molality_from_mass_fraction():
    for row in _dissolving("molality"):
        solution = from_mass_fraction.si(1.0, *_shares(row))
        ours = Electrolyte.salt_molality if solution.metal else Electrolyte.acid_molality
        yield (row["substance"], row["condition"]), _rounded(float(ours.si(solution)), row["value"])


@compared(
    "wt% to mol/L", "H2SO4 0.5–40, CuSO4 0.5–16 wt%, 20 °C", CRC, 0.3, "% beyond the table's rounding", INDEPENDENT
)
def test_molarity_from_mass_fraction():
    for row in _dissolving("molarity"):
        solution = from_mass_fraction.si(1.0, *_shares(row))
        ours = Electrolyte.salt_molarity if solution.metal else Electrolyte.acid_molarity
        yield (row["substance"], row["condition"]), _rounded(float(ours.si(solution)) / 1000, row["value"])


@compared(
    "mol/L to mol/kg", "H2SO4 2–40, CuSO4 4–16 wt%, 20 °C", CRC, 0.6, "%", INDEPENDENT, why="the table rounds both"
)
def test_molality_from_molarity():
    molal = {(r["substance"], r["condition"]): r["value"] for r in values("molality", None, "CRC")}
    for row in _dissolving("molarity"):
        if row["value"] < 0.2:
            continue  # rounding alone exceeds 0.25 %
        _, salt, metal, kelvin = _shares(row)
        amounts = (0.0, 1000 * row["value"], metal) if salt else (1000 * row["value"], 0.0, None)
        solution = from_molarity.si(1e-3, *amounts, kelvin)
        ours = Electrolyte.salt_molality if metal else Electrolyte.acid_molality
        yield row["condition"], percent(ours.si(solution), molal[row["substance"], row["condition"]])


def _solubilities(tabulated):
    """Rows that are in our table too, or those that are not."""
    ours = {(row["salt"], row["temperature_degC"], row["molality_mol_per_kg"]) for row in table("solubility")}
    for row in values("solubility"):
        metal, celsius = "copper" if row["substance"] == "CuSO4" else "zinc", numbers(row["condition"])[0]
        if ((row["substance"], celsius, round(row["value"], 3)) in ours) == tabulated:
            found = solubility(metal, temperature=Q_(celsius, "degC")).magnitude
            yield (row["substance"], row["condition"], row["source"][:60]), percent(found, row["value"])


@compared("solubility of CuSO4, ZnSO4 in water", "0–40 °C", SALTS, 2, "%", CODE)
def test_solubility_as_tabulated():
    yield from _solubilities(tabulated=True)


@compared("solubility of CuSO4, ZnSO4 in water", "15–40 °C", SALTS, 2, "%", INDEPENDENT)
def test_solubility_between_the_table():
    yield from _solubilities(tabulated=False)
