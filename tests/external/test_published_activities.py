"""Activities against PHREEQC with pitzer.dat (live), other libraries (frozen) and handbooks (from memory).

The same parameters in two programs have to agree far better than 1 %: there a slip in an equation is looked for.
"""

import re
from pathlib import Path

import numpy as np
import phreeqc
import pitzer_live
import pytest
from report import CODE, INDEPENDENT, compared, numbers, percent, values

from cellkit.chemistry.activity import ROOM, STAND_INS, activities, mean_activity_coefficient
from cellkit.chemistry.potentials import rest_voltage_uncertainty
from cellkit.tables.metals import METALS
from cellkit.tables.published import FARADAY, GAS, molar_mass, table

ACIDS = (0.1, 0.2, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0)
SALTS = {"copper": (0.1, 0.2, 0.5, 1.0, 1.4), "zinc": (0.1, 0.2, 0.5, 1.0, 1.4, 2.0, 3.0)}
MIXED = [(acid, salt, metal) for metal in METALS for acid in ACIDS for salt in (0.01, 0.05, *SALTS[metal])]
MILLIVOLT = 1000 * GAS * ROOM / (2 * FARADAY)
LIVE = "PHREEQC 3.8.6 with pitzer.dat, live"
MAY = "PHREEQC with pitzer.dat and May et al. 2011 (doi:10.1021/je2009329) added, live"
LIBRARIES = ("pyEQL 1.7.0 native", "phreeqc 1.1.1")
STOKES = "Robinson & Stokes, Electrolyte Solutions, edition not known, from memory"
CLEGG = "Clegg, Rard & Pitzer 1994 by pytzer 0.6.0, frozen"


def osmotic(ln_water, ions, molality):
    """Osmotic coefficient of a solute that is taken to give ``ions`` ions."""
    return -ln_water / (molar_mass.si("H2O") * ions * molality)


def live_acid_coefficient(acid):
    """Stoichiometric mean coefficient of H2SO4 by PHREEQC."""
    found = pitzer_live.solution(acid)
    return np.exp((2 * found["H"] + found["SO4"]) / 3) / (4 * acid**3) ** (1 / 3)


@compared("water activity of H2SO4", "0.1–6 mol/kg", LIVE, 0.2, "%", CODE)
def test_acid_water_activity_live():
    for acid in ACIDS:
        yield acid, percent(np.exp(activities.si(acid).water), np.exp(pitzer_live.solution(acid)["W"]))


@compared("osmotic coefficient of H2SO4", "0.1–6 mol/kg", LIVE, 0.2, "%", CODE)
def test_acid_osmotic_coefficient_live():
    for acid in ACIDS:
        yield acid, percent(activities.si(acid).water, pitzer_live.solution(acid)["W"])


@compared("γ± of H2SO4", "0.1–6 mol/kg", LIVE, 0.2, "%", CODE)
def test_acid_coefficient_live():
    for acid in ACIDS:
        yield acid, percent(mean_activity_coefficient.si(acid), live_acid_coefficient(acid))


@compared("γ± of H2SO4 over that at 1 mol/kg", "0.1–6 mol/kg", LIVE, 0.2, "%", CODE)
def test_acid_coefficient_ratios_live():
    for acid in ACIDS:
        ours = mean_activity_coefficient.si(acid) / mean_activity_coefficient.si(1.0)
        yield acid, percent(ours, live_acid_coefficient(acid) / live_acid_coefficient(1.0))


@compared("molality of HSO4- in H2SO4", "0.1–6 mol/kg", LIVE, 0.2, "%", CODE)
def test_acid_bisulfate_live():
    for acid in ACIDS:
        yield acid, percent(activities.si(acid).bisulfate, pitzer_live.solution(acid)["HSO4"])


@compared("water activity of H2SO4", "0.05 and 3 mol/kg", CLEGG, 1, "%", INDEPENDENT)
def test_acid_water_activity_frozen():
    for row in values("water activity", r"H2SO4\(", "CRP94"):
        yield row["condition"], percent(np.exp(activities.si(numbers(row["condition"])[0]).water), row["value"])


@compared("osmotic coefficient of H2SO4", "0.05 and 3 mol/kg", CLEGG, 1, "%", INDEPENDENT)
def test_acid_osmotic_coefficient_frozen():
    for row in values("osmotic coefficient", r"H2SO4\(", "CRP94"):
        acid = numbers(row["condition"])[0]
        yield acid, percent(osmotic(activities.si(acid).water, 3, acid), row["value"])


@compared("γ± of H2SO4", "0.05 and 3 mol/kg", CLEGG, 2, "%", INDEPENDENT)
def test_acid_coefficient_frozen():
    for row in values("mean molal", r"H2SO4\(", "CRP94"):
        yield row["condition"], percent(mean_activity_coefficient.si(numbers(row["condition"])[0]), row["value"])


@compared("(RT/F) ln(a(H2SO4)/a(w))", "0.05–6 mol/kg", CLEGG, 2, "mV", INDEPENDENT)
def test_acid_activity_frozen():
    rows = values("EMF computed, .*CRC dGf")
    e0 = values("EMF computed, .*CRC dGf")[0]["value"] - values(r"\(RT/F\)", None, "CRP94")[0]["value"]
    for row in rows:
        ln = activities.si(numbers(row["condition"])[0])
        yield row["condition"], 2 * MILLIVOLT * (2 * ln.hydrogen + ln.sulfate - ln.water) - 1000 * (row["value"] - e0)


@compared(
    "γ± of H2SO4 × 1.076",
    "3 mol/kg",
    STOKES,
    3,
    "%",
    INDEPENDENT,
    why="handbooks normalise to another E°: exp(2F · 2.85 mV/3RT), Hamer 1972, doi:10.6028/jres.076A.024",
)
def test_acid_coefficient_of_the_older_convention():
    e0 = {row["substance"][-4:]: row["value"] for row in values("standard electrode potential", "Hg2SO4")}
    older = np.exp(2 * FARADAY * (e0["1935"] - e0["1965"]) / (3 * GAS * ROOM))
    for row in values("mean molal", r"H2SO4\(", "Robinson"):
        yield (
            row["condition"],
            percent(older * mean_activity_coefficient.si(numbers(row["condition"])[0]), row["value"]),
        )


@compared("osmotic coefficient of H2SO4", "3 mol/kg", STOKES, 1, "%", INDEPENDENT)
def test_acid_osmotic_coefficient_of_the_handbook():
    for row in values("osmotic", r"H2SO4\(", "Robinson"):
        acid = numbers(row["condition"])[0]
        yield acid, percent(osmotic(activities.si(acid).water, 3, acid), row["value"])


def _salts():
    return [(metal, salt, pitzer_live.solution(0.0, salt, metal, "Mg")) for metal in METALS for salt in SALTS[metal]]


@compared("γ± of CuSO4, ZnSO4", "0.1–1.4, 0.1–3 mol/kg", MAY, 0.2, "%", CODE)
def test_salt_coefficient_live():
    for metal, salt, theirs in _salts():
        live = np.exp((theirs["M"] + theirs["SO4"]) / 2) / salt
        yield (metal, salt), percent(mean_activity_coefficient.si(0.0, salt, metal), live)


@compared("osmotic coefficient of CuSO4, ZnSO4", "0.1–1.4, 0.1–3 mol/kg", MAY, 0.2, "%", CODE)
def test_salt_osmotic_coefficient_live():
    for metal, salt, theirs in _salts():
        yield (metal, salt), percent(activities.si(0.0, salt, metal).water, theirs["W"])


def _frozen_salts(quantity, *sources):
    for source in sources:
        for row in values(quantity, r"(Cu|Zn)SO4\(", source):
            metal = "copper" if row["substance"].startswith("Cu") else "zinc"
            yield row, metal, numbers(row["condition"])[0]


@compared("γ± of CuSO4, ZnSO4", "0.1; 0.5 and 2 mol/kg", "pyEQL 1.7.0 and PHREEQC, frozen", 1, "%", CODE)
def test_salt_coefficient_frozen():
    for row, metal, salt in _frozen_salts("mean molal", *LIBRARIES):
        yield (metal, salt), percent(mean_activity_coefficient.si(0.0, salt, metal), row["value"])


@compared(
    "osmotic coefficient of CuSO4, ZnSO4", "0.1; 0.5 and 2 mol/kg", "pyEQL 1.7.0 and PHREEQC, frozen", 1, "%", CODE
)
def test_salt_osmotic_coefficient_frozen():
    for row, metal, salt in _frozen_salts("osmotic", *LIBRARIES):
        yield (metal, salt), percent(osmotic(activities.si(0.0, salt, metal).water, 2, salt), row["value"])


@compared("water activity of CuSO4, ZnSO4", "0.1; 0.5 and 2 mol/kg", "pyEQL 1.7.0 and PHREEQC, frozen", 0.1, "%", CODE)
def test_salt_water_activity_frozen():
    for row, metal, salt in _frozen_salts("water activity", *LIBRARIES):
        yield (metal, salt), percent(np.exp(activities.si(0.0, salt, metal).water), row["value"])


@compared("γ± of CuSO4, ZnSO4", "0.1; 0.5 and 2 mol/kg", STOKES, 5, "%", INDEPENDENT)
def test_salt_coefficient_of_the_handbook():
    for row, metal, salt in _frozen_salts("mean molal", "Robinson"):
        yield (metal, salt), percent(mean_activity_coefficient.si(0.0, salt, metal), row["value"])


def millivolts(hydrogen, sulfate, metal, water):
    """(RT/2F) ln[a(H)^4 a(SO4) / (a(M) a(w)^2)] in mV."""
    return MILLIVOLT * float(4 * hydrogen + sulfate - metal - 2 * water)


def _ours(acid, salt, metal, stand_in=None):
    ln = activities.si(acid, salt, metal, stand_in)
    return millivolts(ln.hydrogen, ln.sulfate, ln.metal, ln.water)


def _live(acid, salt, metal, stand_in):
    found = pitzer_live.solution(acid, salt, metal, stand_in)
    return millivolts(found["H"], found["SO4"], found["M"], found["W"])


@compared(
    "(RT/2F) ln Q, same parameters", "H2SO4 0.1–6 with CuSO4 0.01–1.4 or ZnSO4 0.01–3 mol/kg", MAY, 0.3, "mV", CODE
)
def test_mixtures_live():
    for stand_in in STAND_INS:
        for acid, salt, metal in MIXED:
            yield (stand_in, acid, salt, metal), _ours(acid, salt, metal, stand_in) - _live(acid, salt, metal, stand_in)


@compared(
    "(RT/2F) ln Q, mean parameters, over the stated uncertainty",
    "H2SO4 0.1–6 with CuSO4 0.01–1.4 or ZnSO4 0.01–3 mol/kg",
    MAY + ", each stand-in",
    1,
    "× `rest_voltage_uncertainty`",
    CODE,
)
def test_mixtures_lie_in_the_stated_band():
    for stand_in in STAND_INS:
        for acid, salt, metal in MIXED:
            band = 1000 * rest_voltage_uncertainty.si(metal, acid, salt)
            yield (stand_in, acid, salt, metal), (_ours(acid, salt, metal) - _live(acid, salt, metal, stand_in)) / band


def _mixture(row):
    """Molalities of acid and salt and the metal of a row about a mixture."""
    salt, acid = numbers(row["substance"])
    return acid, salt, "copper" if "Cu" in row["substance"] else "zinc"


@compared("(RT/2F) ln Q, each stand-in", "ten mixtures", "PHREEQC with the same parameters, frozen", 1, "mV", CODE)
def test_mixtures_frozen():
    for row in values(r"\(RT/2F\)"):
        theirs = dict(zip(("Fe(II)", "Mg"), re.findall(r"(?:Fe|Mg) (-?[\d.]+)", row["note"]), strict=True))
        for stand_in, volts in theirs.items():
            yield (row["substance"], stand_in), _ours(*_mixture(row), stand_in) - 1000 * float(volts)


@compared("(RT/2F) ln Q, mean parameters", "ten mixtures", "mean of both stand-ins by PHREEQC, frozen", 1, "mV", CODE)
def test_mean_of_mixtures_frozen():
    for row in values(r"\(RT/2F\)"):
        yield row["substance"], _ours(*_mixture(row)) - 1000 * row["value"]


@compared("(RT/2F) ln of activity products", "five mixtures", "PHREEQC with the same parameters, frozen", 1, "mV", CODE)
def test_activity_products_frozen():
    for row in values("activity product"):
        ln = activities.si(*_mixture(row), "Fe(II)" if "Fe-HSO4" in row["source"] else "Mg")
        product = ln.metal + ln.sulfate if "M+2" in row["quantity"] else 2 * ln.hydrogen + ln.sulfate
        yield (row["quantity"], row["substance"]), MILLIVOLT * float(product - np.log(row["value"]))


@compared("water activity of mixtures", "five mixtures", "PHREEQC with the same parameters, frozen", 1, "%", CODE)
def test_water_activity_of_mixtures_frozen():
    for row in values("water activity", r".* \+ "):
        ln = activities.si(*_mixture(row), "Fe(II)" if "Fe-HSO4" in row["source"] else "Mg")
        yield row["substance"], percent(np.exp(ln.water), row["value"])


def test_parameters_are_those_of_the_database():
    text = (Path(phreeqc.__file__).parent / "databases" / "pitzer.dat").read_text(encoding="utf-8", errors="replace")
    blocks = dict(re.findall(r"^-(B0|B1|B2|C0)\b[^\n]*\n(.*?)(?=^-)", text[text.index("\nPITZER") :], re.M | re.S))
    ions = {"H": r"H\+", "Fe(II)": r"Fe\+2", "Mg": r"Mg\+2", "HSO4": "HSO4-", "SO4": "SO4-2"}
    checked = 0
    for row in table("ion_interaction"):
        if not row["source"].startswith("pitzer.dat"):
            continue
        a, b = ions[row["cation"]], ions[row["anion"]]
        for block, column in (("B0", "beta0"), ("B1", "beta1"), ("B2", "beta2"), ("C0", "cphi")):
            found = re.search(rf"^ *(?:{a} +{b}|{b} +{a}) +(-?[\d.]+(?:[eE][+-]?\d+)?)", blocks[block], re.M)
            assert row[column] == (float(found[1]) if found else 0.0), (row, block)
            checked += 1
    assert checked == 16


@pytest.mark.parametrize("metal", METALS)
def test_fit_reaches_its_limit(metal):
    """The fit in May et al. 2011 ends at 1.42 mol/kg (Cu) and 3.5 mol/kg (Zn), below saturation at 40 °C."""
    assert np.isfinite(activities.si(1.0, METALS[metal].salt_limit, metal).metal)
    assert np.isnan(activities.si(1.0, METALS[metal].salt_limit * 1.001, metal).metal)
