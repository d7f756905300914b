"""Where an argument stops: the last value that is taken and the first that is refused, as the docstrings say.

The bad inputs of test_bad_inputs are made from the ranges in the code; here the ranges themselves stand in numbers.
"""

import dataclasses

import numpy as np
import pytest

import cellkit as ck
from cellkit import Q_, InputError
from cellkit.cells.cell import specific_energy_ratio
from cellkit.cells.charge import cycles
from cellkit.chemistry.activity import activities
from cellkit.chemistry.potentials import electrode_potential
from cellkit.chemistry.properties import (
    BESIDE_ACID,
    DENSITY_ERROR,
    IN_WATER,
    MIXTURE_ERROR,
    conductivity,
    density,
    heat_of_dilution,
    solubility,
)
from cellkit.chemistry.recipe import weigh_out
from cellkit.chemistry.side_reactions import hydrogen_loss
from cellkit.chemistry.solution import from_density, from_mass_fraction, from_molality, from_molarity
from cellkit.designs.design import DESIGN_ITEMS
from cellkit.logs import self_discharge
from cellkit.tables.metals import HYDRATES

G, MOLAL = Q_(100, "g"), Q_(1, "mol/kg")
COPPER = from_molarity(Q_(1, "L"), Q_(0.5, "mol/L"), Q_(0.5, "mol/L"), "copper")

# call of one value, the lowest and highest that it takes, the nearest beyond them
EDGES = {
    "acid of the activities": (lambda x: activities(x * MOLAL), (0, 7), (-0.001, 7.001)),
    "copper sulfate of the activities": (lambda x: activities(MOLAL, x * MOLAL, "copper"), (0, 1.42), (-0.001, 1.421)),
    "zinc sulfate of the activities": (lambda x: activities(MOLAL, x * MOLAL, "zinc"), (0, 3.5), (-0.001, 3.501)),
    "acid alone, shares": (density, (0, 0.6), (-0.001, 0.601)),
    "acid and salt, shares": (lambda x: density(x, 0.2, "zinc"), (0, 0.45), (0.4501,)),
    "stock acid diluted": (lambda x: heat_of_dilution(G, G, x), (1e-6, 0.84), (-0.001, 0, 0.841)),
    "stock acid weighed out": (
        lambda x: weigh_out(COPPER, next(iter(HYDRATES)), stock=x),
        (0.1, 0.6),
        (-0.001, 0, 0.601),
    ),
    "purity": (lambda x: weigh_out(COPPER, next(iter(HYDRATES)), purity=x), (0.01, 1), (-0.001, 0, 1.001)),
    "acid beside a saturated salt": (lambda x: solubility("zinc", x * MOLAL), (0, 3.5), (-0.001, 3.501)),
    "acid by water": (lambda x: from_molality(G, x * MOLAL), (0, 15), (-0.001, 15.001)),
    "acid by mass": (lambda x: from_mass_fraction(G, x), (0, 0.6), (-0.001, 0.601)),
    "hydrometer": (lambda x: from_density(G, Q_(x, "kg/m^3")), (1000, 1300), (999.9, 1300.1)),
    "charge passed over what came out": (
        lambda x: cycles(Q_(1, "Ah"), 0.9, x, 3),
        (1e-3, 10),
        (-0.001, 0, 10.001),
    ),
    "current efficiency": (lambda x: cycles(Q_(1, "Ah"), x, 1.1, 3), (1e-3, 1), (-0.001, 0, 1.001)),
    "number of cycles": (lambda x: cycles(Q_(1, "Ah"), 0.9, 1.1, x), (0, 10_000), (-1, 10_001, 1.5)),
    "share removed": (specific_energy_ratio, (0, 0.95), (-0.001, 0.951)),
}


@pytest.mark.parametrize(("call", "taken", "refused"), EDGES.values(), ids=EDGES)
def test_edges(call, taken, refused):
    for value in taken:
        call(value)
    for value in refused:
        with pytest.raises(InputError):
            call(value)


TRACE = Q_(1e-6, "mol/kg")
NO_METAL = {
    "activities": lambda: activities(MOLAL, TRACE),
    "conductivity": lambda: conductivity(Q_(1, "mol/L"), Q_(1e-6, "mol/L")),
    "density": lambda: density(0.1, 1e-6),
    "from_molality": lambda: from_molality(G, MOLAL, TRACE),
    "from_molarity": lambda: from_molarity(Q_(1, "L"), Q_(1, "mol/L"), Q_(1e-6, "mol/L")),
    "electrode_potential": lambda: electrode_potential("hydrogen", MOLAL, TRACE),
}


@pytest.mark.parametrize("call", NO_METAL.values(), ids=NO_METAL)
def test_a_trace_of_salt_wants_its_metal(call):
    with pytest.raises(InputError, match="salt but no metal"):
        call()


ITEM_EDGES = {  # of the learner's lists and of what is not called here at its edges, in SI units
    "fill salt": (DESIGN_ITEMS["fill salt"], (1e-3,), (0, -1e-3)),
    "fill acid": (DESIGN_ITEMS["fill acid"], (0, 1e-3), (-1e-3,)),
    "held electrolyte": (DESIGN_ITEMS["held electrolyte"], (0, 1e-6), (-1e-6,)),
    "draws": (ck.designs.compare.constraints["count"], (1, 1_000_000), (0, 1_000_001, 2.5)),
    "seed": (ck.designs.compare.constraints["seed"], (0, 2**32), (-1, 0.5)),
    "overpotential": (hydrogen_loss.constraints["overpotential"], (-5, 5), (-5.001, 5.001)),
    "felt fill": (DESIGN_ITEMS["felt fill"], (1e-3, 1), (-0.001, 0, 1.001)),
    "charge kept by positives": (DESIGN_ITEMS["charge kept by positives"], (1e-3, 1), (-0.001, 0, 1.001)),
    "coldest place": (DESIGN_ITEMS["coldest place"].kind, (273.15, 318.15), (273.1, 318.2)),
    "cells": (ck.cells.block.BLOCK_ITEMS["cells"], (1, 1000), (0, 1001, 1.5)),
    "number of plates": (ck.cells.block.BLOCK_ITEMS["number of positive plates"], (1, 1000), (0, 1001, 1.5)),
    "electrolyte density": (ck.cells.block.BLOCK_ITEMS["electrolyte density"], (1000, 1300), (999.9, 1300.1)),
    "plates": (ck.cells.block.BLOCK_ITEMS["positive plates"], (1e-9,), (0, -1e-9)),
    "seed of a log": (self_discharge.SEED, (0, 2**32), (-1, 0.5)),
    "error of a simulated log": (self_discharge.ERROR, (0, 1e-9), (-1e-9,)),
    "error of a planned one": (self_discharge.SHARE, (1e-9,), (0, -1e-9)),
    "rate to plan for": (self_discharge.RATE, (1e-12,), (0, -1e-12)),
    "time on the shelf": (self_discharge.TIME, (0, 1e9), (-1e-9,)),
    "share left on the shelf": (self_discharge.SHARE_LEFT, (0.01, 0.99), (0.009, 0.991)),
}


@pytest.mark.parametrize(("kind", "taken", "refused"), ITEM_EDGES.values(), ids=ITEM_EDGES)
def test_edges_of_the_lists(kind, taken, refused):
    assert kind.within(np.array(taken)).all()
    assert not kind.within(np.array(refused)).any()


BLOCK = ck.cells.read_block("osier_yard_block.csv")
PLAN, SHELF = ck.designs.read_design("osier_yard_design.csv"), ck.logs.read_shelf_log("self_discharge_copper.csv")
VALUES = (
    COPPER,
    BLOCK,
    BLOCK.lead_cell(),
    ck.cells.current_path(BLOCK),
    PLAN,
    ck.designs.reviews(PLAN)["copper"],
    ck.logs.DECAY_MODELS["first order"],
    ck.logs.fit_self_discharge(SHELF.at(Q_(25, "degC"))),
    ck.logs.fit_arrhenius(SHELF),
    ck.logs.compare_models(SHELF.at(Q_(25, "degC"))),
)


@pytest.mark.parametrize("value", VALUES, ids=lambda value: type(value).__name__)
def test_values_cannot_be_changed_in_place(value):
    """A cell remembers its mean voltage, a fit its draws: changed under them they would go on showing the old ones."""
    field = dataclasses.fields(value)[0].name
    with pytest.raises(dataclasses.FrozenInstanceError):
        setattr(value, field, getattr(value, field))


def test_errors_stated_to_the_learner():
    """0.3 % and 2 % are what external/test_published_solutions holds against CRC; both 20 % are judgements."""
    assert (DENSITY_ERROR, IN_WATER) == (0.003, 0.02)
    assert (BESIDE_ACID, MIXTURE_ERROR) == (0.2, 0.2)
