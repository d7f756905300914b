"""Heat of dilution, conductivity and gas volumes against library values and remembered handbook rows."""

import numpy as np
from report import CODE, INDEPENDENT, compared, numbers, percent, values

from cellkit.chemistry.properties import apparent_enthalpy, conductivity, density, heat_of_dilution
from cellkit.chemistry.side_reactions import gas_volume, ventilation
from cellkit.tables.published import molar_mass

NBS = "NBS tables as in Felder & Rousseau, table B.11, edition not known, from memory"
KOHLRAUSCH = "Kohlrausch in Kaye & Laby, edition not known, from memory"
INFINITE_DILUTION = -95.3  # kJ/mol, H2SO4(l) -> 2H+ + SO4--, CRC heats of formation by chemicals 1.5.2
WATER_PER_ACID = 1 / molar_mass.si("H2O")  # mol/kg of acid with one mole of water


def _of_solution(row):
    """Our integral enthalpy of solution [kJ/mol] at the row's moles of water per mole of acid."""
    (waters,) = numbers(row["condition"].replace("n=", "").split(",")[0])
    return float(apparent_enthalpy(WATER_PER_ACID / waters)) / 1000 + INFINITE_DILUTION


@compared(
    "integral enthalpy of solution of H2SO4",
    "n = 10–1000",
    "Clegg, Rard & Pitzer 1994 by pytzer 0.6.0",
    0.5,
    "kJ/mol",
    CODE,
)
def test_heat_by_library():
    for row in values("integral enthalpy", "H2SO4", "CRP94"):
        yield row["condition"], _of_solution(row) - row["value"]


def _by_handbook(tabulated):
    """Above 6 mol/kg our own table holds these values."""
    for row in values("integral enthalpy", "H2SO4", "NBS"):
        waters = numbers(row["condition"].replace("n=", ""))[0]
        if (WATER_PER_ACID / waters > 6) == tabulated:
            yield row["condition"], _of_solution(row) - row["value"]


@compared("integral enthalpy of solution of H2SO4", "n = 10–1000", NBS, 2, "kJ/mol", INDEPENDENT)
def test_heat_by_handbook():
    yield from _by_handbook(tabulated=False)


@compared("integral enthalpy of solution of H2SO4", "n = 1–5", NBS, 2, "kJ/mol", CODE)
def test_heat_by_handbook_in_strong_acid():
    yield from _by_handbook(tabulated=True)


@compared("heat of diluting 1 mol H2SO4 from n = 2 to n = 100", "25 °C", NBS, 2, "kJ", CODE)
def test_heat_set_free():
    rows = {numbers(r["condition"].replace("n=", ""))[0]: r["value"] for r in values("integral", "H2SO4", "NBS")}
    water, acid = molar_mass.si("H2O"), molar_mass.si("H2SO4")
    found = heat_of_dilution.si(acid + 2 * water, 98 * water, acid / (acid + 2 * water))
    yield "n=2 to n=100", found.heat / 1000 - (rows[2] - rows[100])


def _conductivities(substance, source, metal):
    for row in values("conductivity", substance, source):
        percentage, celsius = numbers(row["condition"])[:2]
        shares = (0.0, percentage / 100) if metal else (percentage / 100, 0.0)
        total = density.si(*shares, metal, celsius + 273.15)
        moles = [s * total / molar_mass.si(f) for s, f in zip(shares, ("H2SO4", substance.split("\\")[0]), strict=True)]
        yield row["condition"], percent(conductivity.si(*moles, metal, celsius + 273.15), row["value"])


@compared("conductivity of CuSO4", "2.5–15 wt%, 18 °C", KOHLRAUSCH, 6, "%", INDEPENDENT)
def test_conductivity_of_copper_sulfate():
    yield from _conductivities(r"CuSO4\(aq\)", "Kohlrausch", "copper")


@compared("conductivity of ZnSO4", "5–15 wt%, 18 °C", KOHLRAUSCH, 6, "%", INDEPENDENT)
def test_conductivity_of_zinc_sulfate():
    yield from (pair for pair in _conductivities(r"ZnSO4\(aq\)", "Kohlrausch", "zinc") if numbers(pair[0])[0] <= 15)


@compared(
    "conductivity of ZnSO4 over that of MnSO4",
    "1–15 wt%, 20 °C",
    "CRC Handbook 91st ed., electrical conductivity of aqueous solutions (secondary copies)",
    15,
    "%",
    INDEPENDENT,
    why="another metal of the same charge: an order of size, since the zinc rows are from memory",
)
def test_zinc_sulfate_conducts_like_its_neighbour():
    for row in values("conductivity", r"MnSO4\(aq\)", "CRC Handbook"):
        percentage, celsius = numbers(row["condition"])[:2]
        if percentage <= 15:
            moles = (
                percentage / 100 * density.si(0.0, percentage / 100, "zinc", celsius + 273.15) / molar_mass.si("ZnSO4")
            )
            yield row["condition"], percent(conductivity.si(0.0, moles, "zinc", celsius + 273.15), row["value"])


@compared("conductivity of H2SO4", "5 wt%, 20 °C", "CRC Handbook, edition not known, from memory", 6, "%", INDEPENDENT)
def test_conductivity_of_acid():
    yield from (pair for pair in _conductivities(r"H2SO4\(aq\)", "CRC", None) if numbers(pair[0])[0] == 5)


@compared(
    "rise of conductivity with temperature, 10 wt% H2SO4",
    "18 °C",
    "1.28 % per kelvin, table of temperature coefficients in a conductivity meter's manual, page read",
    0.02,
    "% per kelvin",
    CODE,
)
def test_conductivity_rises_with_temperature():
    acid = 0.1 * density.si(0.1, 0.0, None, 291.15) / molar_mass.si("H2SO4")
    colder, warmer = (conductivity.si(acid, temperature=kelvin) for kelvin in (291.15, 292.15))
    yield "10 wt%", 100 * (warmer / colder - 1) - 1.28


@compared(
    "conductivity of copper electrolyte: steps that go the other way with less copper, more acid, more heat",
    "40–60 g/L Cu, 160–220 g/L H2SO4, 35–45 °C",
    "Kalliomäki et al., Minerals 6 (2016) 59, doi:10.3390/min6030059, abstract",
    0,
    "steps",
    INDEPENDENT,
    why="measured at 50–70 °C; its numbers were not read, so that the directions are all that is compared",
)
def test_conductivity_of_mixtures_goes_the_published_way():
    acid, copper = np.meshgrid(np.linspace(1630, 2240, 4), np.linspace(630, 940, 4), indexing="ij")
    found = [conductivity.si(acid, copper, "copper", kelvin) for kelvin in (308.15, 318.15)]
    yield "more acid", np.sum(np.diff(found[0], axis=0) <= 0)
    yield "less copper", np.sum(np.diff(found[0], axis=1) >= 0)
    yield "warmer", np.sum(found[1] <= found[0])


@compared(
    "hydrogen and oxygen, L per Ah", "0 °C, 1 atm", "EN IEC 62485-2: 0.42 and 0.21, from memory", 1, "%", INDEPENDENT
)
def test_gas_per_ampere_hour():
    for gas, litres in (("hydrogen", 0.42), ("oxygen", 0.21)):
        yield gas, percent(1000 * gas_volume.si(3600, gas, 273.15), litres)


@compared("air per cell and ampere, m³/h", "", "24-fold dilution × 0.42 L/Ah × safety 5, from memory", 1.5, "%", CODE)
def test_ventilation_follows_from_the_gas():
    yield "one cell, one ampere", percent(3600 * ventilation(1, 1.0), 24 * 0.42e-3 * 5)
