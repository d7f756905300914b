"""Voltage under a load against the one published copper cell of this kind."""

import numpy as np
from report import CODE, INDEPENDENT, compared, values

import cellkit as ck
from cellkit import Q_
from cellkit.cells.plates import felt_capacity
from cellkit.chemistry.potentials import rest_voltage
from cellkit.chemistry.solution import Electrolyte, from_molarity

ABSTRACT = "abstract, Electrochemistry Communications 2008, single-flow Cu-H2SO4-PbO2 cell, 1000 mA on 2000 mAh"
COULOMBIC, ENERGY = 0.97, 0.83  # efficiencies over 450 cycles, same abstract
FILLS = ((0.25, 1.0), (0.25, 2.0), (0.5, 1.0), (0.5, 1.5), (0.5, 2.0), (0.75, 1.5), (1.0, 1.0))  # mol/L salt, acid


def published():
    """Mean volts on discharge and on charge: energy efficiency is coulombic efficiency times their ratio."""
    (row,) = values("discharge voltage")
    return row["value"], row["value"] * COULOMBIC / ENERGY


@compared(
    "rest voltage of the copper cell, less half way between published discharge and charge",
    "0.25–1 mol/L CuSO4 with 1–2 mol/L H2SO4, 25 °C",
    ABSTRACT,
    109,
    "mV",
    INDEPENDENT,
    why="half the published gap: a rest voltage lies between; the abstract gives no composition",
)
def test_rest_voltage_lies_between_discharge_and_charge():
    half_way = np.mean(published())
    for salt, acid in FILLS:
        fill = from_molarity.si(1e-3, 1000 * acid, 1000 * salt, "copper")
        volts = rest_voltage.si("copper", Electrolyte.acid_molality.si(fill), Electrolyte.salt_molality.si(fill))
        yield (salt, acid), 1000 * (volts - half_way)


@compared(
    "exchange current of copper on felt, poor end of the spread over published × fibre area",
    "1.5 mm of 10 µm fibres on a face",
    "0.034 and 0.024 mA/cm² for the two steps of Cu++ to Cu, abstract, doi:10.1007/bf00620584; fibres from memory",
    0.5,
    "decades",
    CODE,
    why="published values of smooth copper differ by more; felt is copper only where it plated",
)
def test_exchange_current_of_copper():
    values = ck.cells.current_path(ck.cells.read_block("osier_yard_block.csv"), "worst").values
    fibres = (
        4
        * (1 - ck.cells.current_path(ck.cells.read_block("osier_yard_block.csv")).values["felt_porosity"])
        * 0.0015
        / 10e-6
    )
    for published_step in (0.34, 0.24):  # A/m²
        yield published_step, np.log10(values["copper"] / (published_step * fibres))


def two_hour_loss(case):
    """Volts that the Osier Yard copper cell (invented) loses half discharged at the two-hour rate."""
    block = ck.cells.read_block("osier_yard_block.csv")
    fill = from_molarity(Q_(44, "mL"), Q_(1, "mol/L"), Q_(1, "mol/L"), "copper")
    cell = block.rebuilt_cell(fill, Q_(4, "g"), felt_capacity("copper", block.plate_area, Q_(3, "mm")))
    found = ck.cells.voltage_under_load(cell, ck.cells.current_path(block, case), cell.capacity / Q_(2, "hour"))
    return (found.rest - found.terminal).to("mV").magnitude


@compared(
    "loss of the copper cell at the two-hour rate over half the published gap between charge and discharge",
    "middle of the spread",
    ABSTRACT,
    2,
    "×",
    INDEPENDENT,
    why="another cell, with smooth graphite and pumped solution: an order of size",
)
def test_loss_at_the_two_hour_rate():
    discharge, charge = published()
    gap = 500 * (charge - discharge)
    assert two_hour_loss("best") < gap < two_hour_loss("worst")
    yield "two hours", max(two_hour_loss("nominal") / gap, gap / two_hour_loss("nominal"))
