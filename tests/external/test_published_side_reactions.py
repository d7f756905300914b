"""Published current efficiencies, corrosion rates and overpotentials against the model at their conditions.

A deviation from a band is how far a published value lies outside it; 0 is inside. What the range of a row was drawn
from is a check of the code; the rest is independent of it.
"""

import numpy as np
from report import CODE, INDEPENDENT, compared, values

from cellkit.chemistry.potentials import electrode_potential
from cellkit.chemistry.side_reactions import (
    CASES,
    dissolution_current_density,
    from_molarity,
    hydrogen_loss,
    oxygen_limited_current,
    oxygen_overpotential,
    value,
)
from cellkit.tables.published import FARADAY, GAS

# acid and salt [mol/L], temperature [°C], current density of a face [A/m²], published efficiencies
FITTED = {
    "98.8 % at 500 A/m², 50 °C, analytical grade, rotating zinc": (1.07, 0.80, 45, (500,), (98.8,)),
    "89–92 % at 400–600 A/m², plants": (1.78, 0.92, 35, (400, 600), (92, 89)),
}
OTHERS = {
    "98.4 % at 890 A/m², 61 °C, very pure": (1.07, 0.80, 45, (890,), (98.4,)),
    "93.7 % at 400 A/m², 40 °C, with an additive": (1.5, 0.85, 40, (400,), (93.7,)),
}


def band(acid, salt, celsius, current_density):
    """Lowest, nominal and highest current efficiency [%] on a flat face while it is plated."""
    fill = from_molarity.si(1e-3, 1000 * acid, 1000 * salt, "zinc")
    solution = fill.acid / fill.water, fill.salt / fill.water, celsius + 273.15
    overpotential = value("overpotential of plating zinc")
    losses = [hydrogen_loss.si("zinc", *solution, overpotential, case=case) for case in CASES]
    return [float(100 * max(1 - loss / current_density, 0)) for loss in losses[::-1]]


def outside(published, low, high):
    """How far a value lies outside an interval."""
    return max(low - published, published - high, 0.0)


def _efficiencies(conditions):
    for label, (acid, salt, celsius, densities, published) in conditions.items():
        for density, seen in zip(densities, published, strict=True):
            low, nominal, high = band(acid, salt, celsius, density)
            yield f"{label}: {low:.0f}–{nominal:.0f}–{high:.1f} %", outside(seen, low, high)


@compared(
    "current efficiency of plating zinc, outside the band",
    "1.07–1.78 mol/L acid, 35–50 °C",
    "98.8 % in high-purity solution, J. Appl. Electrochem., abstract; 89–92 % in plants, a paper of 2021/22, page read",
    0,
    "percentage points",
    CODE,
    why="the range of the table was drawn from these; 50 °C taken at 45 °C",
)
def test_efficiencies_that_made_the_band_lie_in_it():
    yield from _efficiencies(FITTED)


@compared(
    "current efficiency of plating zinc, outside the band",
    "1.07–1.5 mol/L acid, 40–61 °C",
    "98.4 % in a solution of 99.9999 % zinc, J. Appl. Electrochem., abstract; 93.7 %, same journal 39 (2009) 1207",
    0,
    "percentage points",
    INDEPENDENT,
    why="beyond 45 °C taken at 45 °C",
)
def test_other_efficiencies_lie_in_the_band():
    yield from _efficiencies(OTHERS)


@compared(
    "current efficiency in 1 mol/L acid: low end of the band short of 90 %",
    "20–30 mA/cm², 25 °C",
    "Chinese Journal of Chemical Engineering 2016: more than 90 % coulombic, abstract",
    0,
    "percentage points",
    CODE,
    why="their current was not read; 20–30 mA/cm² is the range of the sister paper, J. Appl. Electrochem. 43",
)
def test_one_molar_acid_keeps_more_than_nine_tenths():
    for density in (200, 300):
        yield f"{density / 10:.0f} mA/cm²", max(90 - band(1.0, 1.25, 25, density)[0], 0.0)


@compared(
    "corrosion current of zinc at unit activities, decades outside the band",
    "25 °C",
    "lecture notes MAE 324, Princeton University: 0.119 mA/cm², page read",
    0,
    "decades",
    CODE,
)
def test_schoolbook_corrosion_current_lies_in_the_band():
    # 1.35 mol/kg of acid beside 1 mol/kg of zinc sulfate is about unit activity of H+
    losses = [np.log10(hydrogen_loss.si("zinc", 1.35, 1.0, case=case)) for case in CASES]
    yield "0.119 mA/cm²", outside(np.log10(1.19), losses[0], losses[-1])


@compared(
    "hydrogen on zinc with 4–14 µg/L of antimony, beyond the upper bound",
    "400 A/m², 35 °C",
    "Ault & Frazer, J. Appl. Electrochem. 18 (1988) 583: 5 and 50 % lost, abstract",
    0,
    "A/m²",
    CODE,
)
def test_traces_of_antimony_stay_below_the_upper_bound():
    for lost in (0.05, 0.5):
        yield f"{lost:.0%}", max(lost * 400 - value("hydrogen while plating zinc", "high"), 0.0)


@compared(
    "copper in aerated acid: loss beyond what oxygen can feed",
    "0.001–1.0 mol/L, 25–55 °C: 1.7–4.4 g/m² a day",
    "weight loss of copper in sulfuric acid, page read",
    0,
    "mA/m²",
    INDEPENDENT,
    why="an unstirred layer of 0.1 mm, from memory",
)
def test_copper_loses_what_oxygen_can_feed():
    most = float(oxygen_limited_current(1.0, 1e-4, case="high"))
    for grams in (1.7, 4.4):
        seen = float(dissolution_current_density.si(grams / 1000 / 86400))
        yield f"{grams} g/m² a day", 1000 * max(seen - most, 0.0)


@compared(
    "loss of copper in aerated acid, outside the row of the table",
    "0.001–1.0 mol/L, 25–55 °C: 1.7–4.4 g/m² a day",
    "weight loss of copper in sulfuric acid, page read",
    1e-6,
    "mA/m²",
    CODE,
)
def test_copper_loses_what_the_table_says():
    low, _, high = (float(dissolution_current_density.si(value("copper dissolved by oxygen", c))) for c in CASES)
    for grams in (1.7, 4.4):
        seen = float(dissolution_current_density.si(grams / 1000 / 86400))
        yield f"{grams} g/m² a day", 1000 * outside(seen, low, high)


@compared(
    "oxygen overpotential of a lead anode",
    "500 A/m², 1.53 mol/L H2SO4 with 0.3 mol/L ZnSO4",
    "948 mV on Pb-0.76 % Ag, abstract, doi:10.1039/d1ra09100j",
    100,
    "mV",
    INDEPENDENT,
    why="a factor of ten in exchange current; silver lowers it a little",
)
def test_oxygen_overpotential_of_a_lead_anode():
    fill = from_molarity.si(1e-3, 1530.0, 300.0, "zinc")
    solution = fill.acid / fill.water, fill.salt / fill.water, "zinc"
    plate, gas = (electrode_potential.si(name, *solution) for name in ("lead dioxide", "oxygen"))
    yield "948 mV", 1000 * (oxygen_overpotential(500.0, *solution) + plate - gas) - 948


@compared(
    "Tafel slope of oxygen on lead dioxide",
    "lead and lead-calcium anodes in sulfuric acid",
    "about 100 mV, abstract of a study of oxygen on lead alloy anodes, authors not shown",
    5,
    "mV",
    INDEPENDENT,
)
def test_oxygen_tafel_slope():
    one, ten = oxygen_overpotential(np.array([10.0, 100.0]), 1.0)
    yield "b", 1000 * (ten - one) - 100


@compared(
    "diffusion of Zn++, published, outside what conductivity and viscosity give as for the row of copper",
    "1–1.5 mol/L H2SO4 with 1.25 mol/L ZnSO4",
    "4.6e-6 cm²/s, abstract, doi:10.1007/s10800-013-0538-1; CRC Handbook 95th ed. (ionic conductivity, by chemicals "
    "1.5.2) and 102nd ed. (viscosity, secondary copy)",
    0,
    "1e-10 m²/s",
    INDEPENDENT,
)
def test_diffusion_by_conductivity_and_viscosity():
    (row,) = values("limiting molar ionic conductivity", r"Zn\+2")
    infinite = GAS * 298.15 * 2 * row["value"] * 1e-4 / (2 * FARADAY) ** 2  # of the equivalent, as CRC gives it
    thickest = 1.282 / 1.002 * 2.152 / 1.002  # 12 wt% acid, 16 wt% zinc sulfate, over water, mPa s at 20 °C
    low, high = infinite / thickest, infinite / (1.282 / 1.002)
    yield f"{low:.2g} to {high:.2g}", 1e10 * outside(4.6e-10, low, high)
