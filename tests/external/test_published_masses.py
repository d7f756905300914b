"""Molar masses and Faraday's law against a library and handbook figures."""

import molmass
import pytest
from report import INDEPENDENT, compared, percent

from cellkit import Q_
from cellkit.cells.plates import minimum_volume, theoretical_capacity
from cellkit.tables.metals import HYDRATES
from cellkit.tables.published import molar_mass

FORMULAS = ("H2O", "H2SO4", "Na2SO4", "PbO2", "PbSO4", "Pb", "Cu", "Zn", "C", *HYDRATES)


@compared(
    "molar masses",
    f"{len(FORMULAS)} substances",
    "molmass, live",
    0.02,
    "%",
    INDEPENDENT,
    why="sulfur's natural composition varies by 1 in 10 000",
)
def test_molar_masses():
    for formula in FORMULAS:
        parts = [part.lstrip("0123456789") for part in formula.split("·")]
        counts = [int(part[: len(part) - len(bare)] or 1) for part, bare in zip(formula.split("·"), parts, strict=True)]
        theirs = sum(n * molmass.Formula(bare).mass for n, bare in zip(counts, parts, strict=True))
        yield formula, percent(1000 * molar_mass.si(formula), theirs)


@compared(
    "charge per mass, Ah/kg", "Pb 259, PbO2 224, Cu 844, Zn 820", "handbook figures, from memory", 0.2, "%", INDEPENDENT
)
def test_charge_per_mass():
    for substance, capacity in {"Pb": 258.7, "PbO2": 224.1, "Cu": 843.5, "Zn": 819.9}.items():
        yield substance, percent(theoretical_capacity(Q_(1, "kg"), substance).to("Ah").magnitude, capacity)


@pytest.mark.parametrize(
    ("current", "hours", "substance", "grams"),
    [
        (1.0, 1.0, "Cu", 1.186),  # electrochemical equivalent of copper, g/Ah; from memory
        (1.0, 1.0, "Zn", 1.220),  # of zinc; from memory
        (1.0, 1.0, "Pb", 3.866),  # of lead; from memory
        (10.0, 1.0, "Cu", 11.86),  # plating 10 A for an hour, the schoolbook case
    ],
)
def test_faraday_worked_numbers(current, hours, substance, grams):
    charge = theoretical_capacity(Q_(grams, "g"), substance)
    assert charge.to("Ah").magnitude == pytest.approx(current * hours, rel=5e-4)


def test_one_molar_solution_holds_53_6_ampere_hours_per_litre():
    """2 × 26.80 Ah/mol, the faraday in ampere-hours; handbook figure, from memory."""
    assert minimum_volume(Q_(53.6, "Ah"), Q_(1, "mol/L")).to("L").magnitude == pytest.approx(1, rel=1e-3)
