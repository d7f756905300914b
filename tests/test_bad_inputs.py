"""Every public function and method meets what it cannot use: one table of good calls, the bad ones made from it.

A call ends in a finite result or in an InputError that names the argument and says what to try; never in NaN, another
error or a warning. A new public function, or a new argument, has no row here and turns the test red.
"""

import dataclasses
import importlib
import inspect
import itertools
import pkgutil
import re
import warnings

import numpy as np
import pytest

import cellkit
import cellkit as ck
from cellkit import Q_, InputError
from cellkit.show.figures import Picture
from cellkit.show.live import Live
from cellkit.show.sheet import build_sheet
from cellkit.units import Constraint

# Not called by learners: what they are given has been looked at before, or says so where it is called.
INSIDE = {
    "lists.": "behind read_block, read_design, read_prices; test_teardown, test_fuzz_readers",
    "logger_files.": "behind ck.logs.read_bench_log; test_bench_log, test_fuzz_readers",
    "losses.": "SI values behind ck.designs.compare and Review; test_review",
    "comparison.outcomes": "SI values drawn by ck.designs.compare",
    "comparison.in_words": "counts of ck.designs.Comparison",
    "design.Design.planned": "SI values of the course's own items; test_design",
    "design.Design.carried": "SI values drawn by ck.designs.compare; test_design",
    "block.si_values": "behind read_block, read_design",
    "panels.map_axes": "behind design_map",
    "decay_models.DecayModel.": "SI floats of a fit",
    "text_files.": "texts of files and answers; test_teardown, test_fuzz_readers",
    "load.current_path": "behind ck.designs.Design.current_path",
    "plates.solid_density": "substances of the course's own table",
    "roots.root": "SI functions behind activities, solubility and what makes solutions",
    "properties.fitted_density": "SI floats inside ck.chemistry.from_molarity",
    "activity.within_fit": "behind activities and rest_voltage",
    "cell.checked": "behind build_cell",
    "metals.": "names of the course's own tables; test_metals",
    "environment.check_environment": "says faults in words; test_package",
    "exercises.": "whatever a learner answers gets words, not an error; test_exercises",
    "self_discharge.Estimate.of": "SI floats of a fit",
    "self_discharge.Estimate.of_draws": "SI floats of a fit",
    "self_discharge.ArrheniusFit.parameters_at": "SI floats of a fit",
    "drawings.half_reaction": "names of the course's own tables; test_drawings",
    "drawings.plates_in_turn": "a block that has been read",
    "figures.beyond": "days, from other figures",
    "figures.canvas": "pixels, from other figures",
    "figures.look": "any name has a look",
    "figures.looks": "any name has a look",
    "figures.cell_type": "keys of constructions, from other figures",
    "figures.Picture.png": "scale, from Picture.bundle",
    "side_reactions.value": "SI floats behind side_reaction",
    "side_reactions.ventilation": "SI floats behind Review; test_heat_and_colour",
    "side_reactions.hydrogen_current_density": "SI floats behind hydrogen_loss and losses; test_side_reactions",
    "side_reactions.oxygen_overpotential": "SI floats behind Review; test_side_reactions",
    "side_reactions.oxygen_limited_current": "SI floats behind Review; test_side_reactions",
    "side_reactions.ions_left_behind": "SI floats behind Review; test_side_reactions",
    "potentials.corrosion_driving_force": "SI floats behind hydrogen_loss and losses; test_potentials",
    "fitting.": "SI floats behind ck.logs.fit_self_discharge; test_self_discharge",
    "properties.apparent_enthalpy": "SI floats behind heat.dilute",
    "properties.relative_enthalpies": "SI floats behind heat.dilute",
    "live.": "what panels are made of",
    "review.times": "cells of a block",
    "review.active_share": "SI values of a cell",
    "block.checked": "values that ck.cells.read_block has read",
    "published.table": "names of the course's own tables",
    "published.in_si": "rows of the course's own tables",
    "saving.": "behind Sheet.save and Exercises; test_sheet, test_disk",
    "units.": "what makes the errors; test_units",
}


def _everything():
    """Each public function and method that takes arguments, by its full name."""
    for module in pkgutil.walk_packages(cellkit.__path__, "cellkit."):
        here = importlib.import_module(module.name)
        for name, thing in vars(here).items():
            if name.startswith("_") or getattr(thing, "__module__", None) != here.__name__:
                continue
            found = {f"{module.name.split('.')[-1]}.{name}": thing}
            panel = inspect.isclass(thing) and issubclass(thing, Live)  # called like a function
            if inspect.isclass(thing) and not panel:
                operators = ("__add__", "__call__", "__getitem__")
                inner = {n: getattr(thing, n) for n in vars(thing) if n in operators or not n.startswith("_")}
                found = {f"{module.name.split('.')[-1]}.{name}.{n}": method for n, method in inner.items()}
            for full, function in found.items():
                plain = panel or inspect.isfunction(inspect.unwrap(function)) or inspect.ismethod(function)
                if plain and set(inspect.signature(function).parameters) - {"self"}:
                    yield full, function


def _under(full, name):
    return full == name or (name.endswith(".") and full.startswith(name))


EVERYTHING = dict(_everything())
FUNCTIONS = {full: f for full, f in EVERYTHING.items() if not any(_under(full, name) for name in INSIDE)}

# --- good calls

ABSENT = object()  # an argument that the good call leaves out

G, ML, AH, PLATE = Q_(20, "g"), Q_(60, "mL"), Q_(10, "Ah"), Q_(72, "g")
ACID, SALT = Q_(1, "mol/kg"), Q_(0.5, "mol/kg")
M, HALF = Q_(1, "mol/L"), Q_(0.6, "mol/L")
WARM, DAYS, RATE = Q_(25, "degC"), Q_(np.linspace(0, 40, 20), "day"), Q_(3, "percent/day")
FILL = ck.chemistry.from_molarity(ML, M, HALF, "copper")
BLOCK = ck.cells.read_block("osier_yard_block.csv")
STACK, CELL = ck.cells.current_path(BLOCK), BLOCK.rebuilt_cell(FILL, Q_(6, "g"), AH)
PLAN, PRICES = ck.designs.read_design("osier_yard_design.csv"), ck.designs.read_prices("osier_yard_prices.csv")
LOG = ck.logs.read_shelf_log("self_discharge_zinc.csv")
FADE, WARMTH = ck.logs.fit_self_discharge(LOG.at(WARM)), ck.logs.fit_arrhenius(LOG)
BENCH, FOUND, REVIEW = (
    ck.logs.read_bench_log("log_copper.csv"),
    ck.designs.compare(PLAN, 50),
    ck.designs.Review(PLAN, "copper"),
)
OBJECTS = {
    "bench_log.BenchLog": BENCH,
    "cell.Cell": CELL,
    "comparison.Comparison": FOUND,
    "design.Design": PLAN,
    "self_discharge.SelfDischargeFit": FADE,
    "pilot.Pilot": ck.logs.read_pilot("osier_yard_pilot.csv"),
    "review.Review": REVIEW,
    "sheet.Sheet": build_sheet(PLAN, "copper"),
    "shelf_log.ShelfLog": LOG,
    "solution.Electrolyte": FILL,
    "block.Block": BLOCK,
    "self_discharge.ArrheniusFit": WARMTH,
}
STEPS = {"lead dioxide": Q_(1.7, "V"), "copper": Q_(0.3, "V"), "hydrogen": Q_(0, "V"), "oxygen": Q_(1.2, "V")}
POTENTIAL = {"acid": ACID, "salt": SALT, "temperature": WARM}
SOLUTION = {"salt": HALF, "metal": "copper", "temperature": WARM}
CONSTRUCTION = {"construction": "copper"}
ROWS = {
    "activity.activities": {"acid": ACID, "salt": SALT, "metal": "copper", "stand_in": "Mg"},
    "activity.mean_activity_coefficient": {"acid": ACID, "salt": SALT, "metal": "copper"},
    "charge.first_charge": {"cell": CELL},
    "bench_log.read_bench_log": {
        "name": "log_copper.csv",
        "discharge": "positive",
        "columns": {"time": ("time_min", "min")},
        "offset": Q_(1, "mA"),
    },
    "drawings.block_opened": {"block": BLOCK},
    "drawings.cross_section": {"block": BLOCK, "metal": "copper", "felt": Q_(1.5, "mm")},
    "drawings.composite_plate": {
        "area": Q_(25, "cm^2"),
        "mesh": Q_(19, "mg/cm^2"),
        "filled_polyethylene": Q_(12, "mg/cm^2"),
        "felt": Q_(13, "mg/cm^2"),
    },
    "drawings.gas_path": {"cell": CELL},
    "drawings.plate_balance": {"cell": CELL},
    "drawings.what_moves": {"negative": "copper"},
    "drawings.wiring_diagram": {"current": Q_(100, "mA"), "shunt": Q_(100, "mohm")},
    "sheet.build_sheet": {"design": PLAN, "construction": "copper"},
    "load.carbon_wrap": {"path": STACK, "carbon": Q_(20, "mg/cm^2")},
    "load.carbon_pulse": {
        "time": Q_(2, "s"),
        "plate": Q_(30, "mohm"),
        "capacitance": Q_(180, "F"),
        "resistance": Q_(3, "mohm"),
    },
    "cell.Cell.at_depth": {"depth": 0.5},
    "cell.Cell.rest_voltage": {"depth": 0.5, "ideal": True},
    "cell.Cell.rest_voltage_uncertainty": {"depth": 0.5},
    "cell.Cell.state_of_charge": {"voltage": Q_(1.33, "V")},
    "cell.Cell.mass": {"level": "plates"},
    "cell.Cell.specific_energy": {"level": "plates"},
    "cell.build_cell": {
        "electrolyte": FILL,
        "positive_plates": PLATE,
        "negative_plates": Q_(6, "g"),
        "negative_capacity": AH,
        "active_share": 0.6,
        "utilisation": 0.35,
        "separators": Q_(6, "g"),
        "other": Q_(38, "g"),
        "positive_charged": True,
    },
    "cell.specific_energy_ratio": {"removed": 0.3, "returned": 0.1, "voltage_ratio": 0.9, "charge_ratio": 0.9},
    "properties.transmittance": {"concentration": M, "path": Q_(1, "mm")},
    "comparison.Comparison.specific_energy": CONSTRUCTION,
    "comparison.Comparison.draws_ahead": CONSTRUCTION,
    "comparison.Comparison.sensitivity": CONSTRUCTION,
    "comparison.Comparison.unfounded": CONSTRUCTION,
    "comparison.Comparison.verdict": CONSTRUCTION,
    "comparison.compare": {"design": PLAN, "count": 50, "seed": 1, "known": {"fill volume": Q_(50, "mL")}},
    "properties.conductivity": {"acid": M, **SOLUTION},
    "cost.read_prices": {"name": "osier_yard_prices.csv"},
    "cost.bill": {"design": PLAN, "prices": PRICES, "construction": "copper"},
    "cost.cost_per_energy": {"design": PLAN, "prices": PRICES, "construction": "copper"},
    "decay_models.model_named": {"name": "first order"},
    "properties.density": {"acid": 0.1, "salt": 0.05, "metal": "copper", "temperature": WARM},
    "design.construction_named": {"key": "copper"},
    "design.Design.__getitem__": {"item": "fill volume"},
    "design.Design.varied": {"changes": {"fill volume": Q_(50, "mL")}},
    "design.Design.fresh": CONSTRUCTION,
    "design.Design.recipe": CONSTRUCTION,
    "design.Design.end_voltage": CONSTRUCTION,
    "design.Design.refused": CONSTRUCTION,
    "design.Design.current_path": {"case": "best"},
    "design.Design.felt_room": {"metal": "copper"},
    "design.Design.cell": CONSTRUCTION,
    "design.read_design": {"name": "osier_yard_design.csv"},
    "self_discharge.SelfDischargeFit.value": {"name": "rate"},
    "self_discharge.SelfDischargeFit.standard_error": {"name": "rate"},
    "self_discharge.SelfDischargeFit.interval": {"name": "rate"},
    "self_discharge.SelfDischargeFit.retained": {"time": Q_(30, "day")},
    "self_discharge.SelfDischargeFit.shelf_time": {"left": 0.8},
    "self_discharge.fit_self_discharge": {"log": LOG.at(WARM), "model": "first order"},
    "log_figures.shelf_measurements": {"logs": LOG},
    "log_figures.self_discharge_curves": {"fits": FADE, "left": 0.8},
    "log_figures.residuals": {"fits": FADE},
    "log_figures.rates_by_temperature": {"fits": WARMTH},
    "log_figures.histograms": {
        "estimates": {"fit": np.array([2.9, 3.0, 3.1]), "line": np.array([2.0, 4.0])},
        "truth": 3.0,
        "label": "Rate / 1",
    },
    "figures.mass_bars": {"masses": CELL.masses},
    "figures.energy_bars": {"energies": {"lead": Q_(30, "Wh/kg")}},
    "figures.curves": {
        "x": [0.0, 1.0],
        "lines": {"lead": [2.1, 2.0]},
        "x_label": "Depth",
        "y_label": "Voltage / V",
        "plus_minus": {"lead": 0.01},
        "levels": {"end": 1.9},
        "thin": (),
    },
    "side_reactions.gas_volume": {"charge": AH, "gas": "oxygen", "temperature": WARM},
    "properties.heat_of_dilution": {"stock_mass": G, "water": G, "stock": 0.37, "temperature": WARM},
    "comparison.specific_energy_map": {
        "design": PLAN,
        "construction": "copper",
        "volume": Q_(np.array([20.0, 40.0]), "mL"),
        "plates": Q_(np.array([50.0, 70.0]), "g"),
    },
    "load.voltage_under_load": {"cell": CELL, "path": STACK, "current": Q_(0.1, "A"), "depth": 0.5},
    "load.run_load": {
        "cell": CELL,
        "path": STACK,
        "end": Q_(1, "V"),
        "current": Q_(0.1, "A"),
        "power": ABSENT,
        "resistance": ABSENT,
        "pulse": Q_(0.2, "A"),
        "duty_cycle": 0.05,
    },
    "log_figures.volts_and_amperes": {"log": BENCH, "cell": "copper"},
    "panels.design_map": {"design": PLAN},
    "figures.band_bars": {"found": FOUND},
    "figures.sensitivity_bars": {"found": FOUND, "construction": "copper"},
    "recipe.neutralise": {"spent": FILL},
    "cell.shortcut_ratio": {"removed": 0.3},
    "panels.energy_panel": {"design": PLAN},
    "panels.recipe_panel": {"design": PLAN},
    "panels.load_panel": {"design": PLAN},
    "panels.shelf_panel": {"fit": WARMTH},
    "plates.theoretical_capacity": {"mass": G, "substance": "PbO2"},
    "plates.minimum_volume": {"charge": AH, "concentration": M},
    "plates.felt_plate_mass": {"area": Q_(25, "cm^2")}
    | dict.fromkeys(("mesh", "filled_polyethylene", "felt"), Q_(20, "mg/cm^2")),
    "plates.felt_capacity": {
        "metal": "zinc",
        "area": Q_(25, "cm^2"),
        "thickness": Q_(3, "mm"),
        "fill": 0.3,
    },
    "potentials.half_cell": {"name": "lead"},
    "potentials.electrode_potential": {
        "name": "copper",
        "acid": ACID,
        "salt": SALT,
        "metal": "copper",
        "temperature": WARM,
        "ideal": False,
        "stand_in": "Mg",
    },
    "potentials.rest_voltage": {"negative": "copper", **POTENTIAL, "ideal": True, "stand_in": "Mg"},
    "potentials.rest_voltage_uncertainty": {"negative": "copper", **POTENTIAL},
    "recipe.weigh_out": {
        "target": FILL,
        "crystals": "CuSO4·5H2O",
        "purity": 0.99,
        "stock": 0.37,
    },
    "recipe.to_pour": {"target": FILL, "held": ck.chemistry.from_molarity(Q_(2, "mL"), M)},
    "published.data_path": {"name": "reference"},
    "published.find_file": {"name": "log_copper.csv"},
    "published.composition": {"formula": "CuSO4·5H2O"},
    "published.molar_mass": {"formula": "CuSO4·5H2O"},
    "review.Review.delivered": {"current": Q_(50, "mA")},
    "review.Review.under_load": {"depth": 0.5},
    "review.Review.charging": {"first": True},
    "review.reviews": {"design": PLAN},
    "review.mended": {"design": PLAN, "construction": "copper"},
    "self_discharge.compare_models": {"log": LOG.at(WARM)},
    "self_discharge.compare_cells": {"one": FADE, "other": FADE},
    "self_discharge.simulate_shelf_log": {
        "model": "first order",
        "time": DAYS,
        "error": Q_(8, "mAh"),
        "seed": 1,
        "parameters": {"capacity": Q_(1, "Ah"), "rate": RATE},
    },
    "self_discharge.relative_half_width": {"time": DAYS, "error": Q_(1, "percent"), "rate": RATE},
    "self_discharge.plan_measurements": {"spans": Q_([10, 40], "day"), "error": Q_(1, "percent"), "rate": RATE},
    "sheet.Sheet.save": {"path": "THERE/sheet.txt", "replace": True},
    "shelf_log.ShelfLog.at": {"temperature": WARM},
    "shelf_log.read_shelf_log": {"name": "self_discharge_zinc.csv", "columns": None},
    "properties.solubility": {"metal": "copper", "acid": ACID, "temperature": WARM},
    "solution.Electrolyte.__add__": {"other": FILL},
    "solution.from_molality": {"water": G, "acid": ACID, "salt": SALT, "metal": "copper", "temperature": WARM},
    "solution.from_mass_fraction": {"mass": G, "acid": 0.1, "salt": 0.05, "metal": "copper", "temperature": WARM},
    "solution.from_density": {"mass": G, "reading": Q_(1.27, "g/mL"), "temperature": WARM},
    "solution.from_molarity": {"volume": ML, "acid": M, **SOLUTION},
    "block.Block.rebuilt_cell": {
        "electrolyte": FILL,
        "negative_plates": Q_(6, "g"),
        "negative_capacity": AH,
        "positive_charged": True,
    },
    "block.read_block": {"name": "osier_yard_block.csv"},
    "figures.ladder": {"levels": {"copper": STEPS}},
    "self_discharge.ArrheniusFit.rate_at": {"temperature": WARM},
    "self_discharge.ArrheniusFit.extrapolates": {"temperature": WARM},
    "self_discharge.fit_arrhenius": {"log": LOG, "model": "first order"},
}

MILLIAMPERE = Q_(50, "mA")
ROWS |= {  # side reactions, and what comes back
    "charge.cycles": {"charge": AH, "efficiency": 0.9, "factor": 1.1, "number": 10},
    "charge.cycles_until_reversal": {"depth": 0.8, "difference": 0.05, "factor": 1.1},
    "charge.leak_current": {
        "voltage": Q_(2, "V"),
        "conductivity": Q_(40, "S/m"),
        "area": Q_(1, "mm^2"),
        "length": Q_(30, "mm"),
    },
    "charge.rest_loss": {"charge": AH, "loss": Q_(5, "mA")},
    "pilot.Pilot.exchange_current_density": {"form": "flat"},
    "pilot.Pilot.fit": {"form": "felt"},
    "pilot.Pilot.loss": {"form": "felt", "name": "loss while plating"},
    "pilot.pilot_area": {"resolution": Q_(1, "mg"), "loss": Q_(0.5, "mA/cm^2")},
    "pilot.read_pilot": {"name": "osier_yard_pilot.csv"},
    "plates.plate_layers": {"felt_thickness": Q_(1.5, "mm")},
    "side_reactions.dissolution_current_density": {"rate": Q_(2.7, "g/(m^2*day)"), "metal": "copper"},
    "side_reactions.exchange_current_density": {
        "loss": Q_(0.4, "mA/cm^2"),
        "negative": "zinc",
        "acid": ACID,
        "salt": SALT,
        "temperature": WARM,
    },
    "side_reactions.felt_area": {
        "face": Q_(25, "cm^2"),
        "thickness": Q_(1.5, "mm"),
        "fibre": Q_(12, "um"),
    },
    "side_reactions.hydrogen_loss": {
        "negative": "zinc",
        **POTENTIAL,
        "overpotential": Q_(0.1, "V"),
        "case": "low",
    },
    "side_reactions.hydrogen_upper_bound": {
        "area": Q_(50, "cm^2"),
        "charge": AH,
        "acid": ACID,
        "salt": SALT,
        "charging_current": Q_(0.1, "A"),
        "temperature": WARM,
    },
    "side_reactions.impurities": {"metal": "zinc"},
    "side_reactions.side_reaction": {"name": "hydrogen on zinc"},
}

# --- bad calls, made from the good ones

NAN, INF = float("nan"), float("inf")
OTHER_UNITS = ("kg", "m^3", "s", "K", "mol", "V")
# nearly right, and the usual slips
NEAR = {"mol/m^3": "mol/kg", "mol/kg": "mol/L", "C": "Wh", "A": "Ah", "kg": "mL", "ohm*m^2": "ohm"}
# what Kinds there are where a function turns its arguments into SI floats by hand
BY_HAND = {
    "bench_log.read_bench_log": {"offset": ck.logs.bench_log.OFFSET},
    "self_discharge.SelfDischargeFit.retained": {
        "time": ck.logs.self_discharge.TIME,
    },
    "self_discharge.SelfDischargeFit.shelf_time": {
        "left": ck.logs.self_discharge.SHARE_LEFT,
    },
    "log_figures.self_discharge_curves": {"left": ck.logs.self_discharge.SHARE_LEFT},
    "review.Review.delivered": {"current": ck.cells.charge.CURRENT},
    "review.Review.under_load": {"depth": Constraint("", "0.5", low=0.0, high=1.0)},
    "self_discharge.simulate_shelf_log": {
        "time": ck.logs.self_discharge.TIME,
        "error": ck.logs.self_discharge.ERROR,
        "seed": ck.logs.self_discharge.SEED,
    },
    "self_discharge.relative_half_width": {
        "time": ck.logs.self_discharge.TIME,
        "error": ck.logs.self_discharge.SHARE,
        "rate": ck.logs.self_discharge.RATE,
    },
    "self_discharge.plan_measurements": {
        "spans": ck.logs.self_discharge.TIME,
        "error": ck.logs.self_discharge.SHARE,
        "rate": ck.logs.self_discharge.RATE,
    },
    "shelf_log.ShelfLog.at": {"temperature": ck.logs.shelf_log.SHELF},
    "self_discharge.ArrheniusFit.rate_at": {"temperature": ck.logs.shelf_log.SHELF},
    "self_discharge.ArrheniusFit.extrapolates": {"temperature": ck.logs.shelf_log.SHELF},
}
TEXTS = {"none": None, "number": 5, "nan": NAN, "quantity": Q_(1, "g"), "list": ["gold"], "object": CELL}
TEXTS |= {"unknown": "gold", "empty": "", "two at once": np.array(["copper", "zinc"]), "bytes": b"copper"}
THINGS = {"none": None, "number": 5.0, "nan": NAN, "text": "copper", "quantity": Q_(20, "g"), "empty": [], "dict": {}}
FLAGS = {"text": "no", "none": None, "number": 2, "nan": NAN, "quantity": Q_(1, "g"), "list": [True, False]}
WHOLES = {"text": "1", "fraction": 1.5, "negative": -1, "nan": NAN, "quantity": Q_(1, "g"), "list": [1]}
LISTS = {"none": None, "number": 5.0, "nan": NAN, "text": "copper", "quantity": Q_(20, "g"), "unknown": {"gold": 1.0}}


def _of_kind(kind):
    """Values by name that a :class:`Kind` has to refuse."""
    unit, most, least = kind.unit, kind.high, kind.low
    inside = least + 1 if most == INF else (least + most) / 2
    inside = 1.0 if inside == -INF else inside
    bad = {"text": "20 g", "none": None, "true": True, "bytes": b"1", "dict": {}, "another object": CELL}
    bad |= {"nan": Q_(NAN, unit), "infinite": Q_(INF, unit), "below all": Q_(-INF, unit), "complex": Q_(1j, unit)}
    bad |= {"empty": Q_(np.array([]), unit), "nan among them": Q_(np.array([inside, NAN]), unit)}
    bad |= {"texts": Q_(np.array(["a"]), unit)}
    wrong = next(other for other in OTHER_UNITS if not Q_(1, unit).check(other))
    bad |= {"wrong dimension": Q_(1, wrong), "nearly right": Q_(inside, NEAR.get(unit, wrong))}
    bad |= {"difference": Q_(25, "delta_degC")} if unit == "K" else {}
    if unit:
        bad |= {"plain number": inside, "plain array": np.array([inside, inside]), "dimensionless": Q_(inside, "")}
    if least > -INF:
        bad["below"] = Q_(least - 0.01 * abs(least) - 1e-6, unit)
        bad["one below"] = Q_(np.array([inside, least - 1.0]), unit)
    if most < INF:
        bad["above"] = Q_(1.01 * most + 1e-6, unit)
    if kind.open_low:
        bad["at the open end"] = Q_(least, unit)
    if kind.single:
        bad["two at once"] = Q_(np.array([inside, inside]), unit)
    if kind.whole:
        bad["fraction"] = 2.5
    return bad


def _kinds(name):
    return getattr(FUNCTIONS[name], "constraints", {}) | BY_HAND.get(name, {})


def _bad(name):
    """(argument, what is wrong with it, value) for each bad value of a function's row."""
    for argument, good in ROWS[name].items():
        if argument in _kinds(name):
            values = _of_kind(_kinds(name)[argument])
        elif isinstance(good, bool):
            values = FLAGS
        elif isinstance(good, int):
            values = WHOLES
        elif isinstance(good, str) or good is None:
            values = TEXTS
        elif isinstance(good, dict | list | np.ndarray):
            values = LISTS
        else:
            values = THINGS | {"another object": CELL if isinstance(good, ck.chemistry.Electrolyte) else FILL}
        for what, value in (values | MORE.get(name, {}).get(argument, {})).items():
            if f"{argument}: {what}" not in FINE.get(name, ()):
                yield argument, what, value


# What only looks bad: it means that nothing is given, or it can be shown as it is.
FINE = {
    "activity.activities": ["stand_in: none"],
    "bench_log.read_bench_log": ["discharge: none", "columns: none", "offset: none"],
    "comparison.compare": ["known: none"],
    "log_figures.self_discharge_curves": ["left: none"],
    "log_figures.histograms": ["estimates: unknown", "truth: number", *(f"label: {what}" for what in TEXTS)],
    "figures.curves": ["plus_minus: none", "levels: none", "levels: unknown", "lines: unknown"]
    + [f"{axis}_label: {what}" for axis in "xy" for what in ("unknown", "empty")],
    "load.run_load": [f"{load}: none" for load in ("current", "power", "resistance", "pulse")],
    "potentials.electrode_potential": ["stand_in: none"],
    "potentials.rest_voltage": ["stand_in: none"],
    "published.data_path": ["name: empty"],
    "shelf_log.read_shelf_log": ["columns: none"],
}
# What no kind of argument shows: too much for the solution or the model, and things that do not go together.
ALL_OF_IT = Q_(30, "mol/L")
MORE = {
    "activity.activities": {"salt": {"past its fit": Q_(1.5, "mol/kg")}, "metal": {"none for salt": None}},
    "activity.mean_activity_coefficient": {"salt": {"past its fit": Q_(1.5, "mol/kg"), "zero": 0 * SALT}},
    "bench_log.read_bench_log": {"discharge": {"contradicts the volts": "negative"}},
    "cell.build_cell": {
        "electrolyte": {
            "past the model": ck.chemistry.from_molarity(ML, Q_(6.5, "mol/L")),
            "no ions": ck.chemistry.from_molarity(ML, M, 0 * M, "copper"),
        },
        "positive_plates": {"of nothing": Q_(0, "g")},
    },
    "properties.conductivity": {"acid": {"past the table": 9 * M}},
    "properties.density": {"salt": {"past the fit": 0.5}},
    "load.run_load": {
        "end": {"above rest": Q_(2, "V")},
        "current": {"left out": ABSENT, "far too much": Q_(300, "A")},
        "power": {"a second load": Q_(1, "W")},
    },
    "load.voltage_under_load": {
        "current": {"short circuit": Q_(300, "A")},
        "depth": {"full, no acid left to make": 0.0},
    },
    "plates.felt_capacity": {"metal": {"one that does not plate": "lead"}},
    "plates.theoretical_capacity": {"substance": {"a name": "lead"}},
    "potentials.rest_voltage": {"acid": {"none": 0 * ACID}, "salt": {"no ions": 0 * SALT, "past its fit": 3 * SALT}},
    "potentials.electrode_potential": {"metal": {"the other": "zinc"}, "salt": {"no ions": 0 * SALT}},
    "potentials.rest_voltage_uncertainty": {"salt": {"no ions": 0 * SALT, "past its fit": 3 * SALT}},
    "recipe.weigh_out": {
        "crystals": {"another metal": "ZnSO4·7H2O", "another hydrate": "CuSO4·3H2O"},
        "target": {"without salt": ck.chemistry.from_molarity(ML, M)},
    },
    "recipe.to_pour": {
        "held": {"another metal": ck.chemistry.from_molarity(ML, M, HALF, "zinc"), "too much": FILL + FILL},
    },
    "published.composition": {
        "formula": {"nonsense": "CuSO4·", "no dot": "CuSO45H2O", "zero for O": "H20", "no atom": "H0"}
    },
    "published.molar_mass": {"formula": {"element": "FeSO4", "nonsense": "CuSO4·"}},
    "side_reactions.exchange_current_density": {
        "negative": {"above hydrogen": "copper"},
        "salt": {"no ions": 0 * SALT},
    },
    "side_reactions.hydrogen_loss": {
        "acid": {"none": 0 * ACID},
        "salt": {"no ions": 0 * SALT, "past its fit": 9 * SALT},
    },
    "side_reactions.hydrogen_upper_bound": {"salt": {"no ions": 0 * SALT, "past its fit": 9 * SALT}},
    "shelf_log.ShelfLog.at": {"temperature": {"not in the log": Q_(7, "degC")}},
    "solution.Electrolyte.__add__": {"other": {"another metal": ck.chemistry.from_molarity(ML, M, HALF, "zinc")}},
    "solution.from_molality": {"salt": {"undissolved": Q_(3, "mol/kg")}, "metal": {"none for salt": None}},
    "solution.from_mass_fraction": {"salt": {"undissolved": 0.4}, "acid": {"no water left": 0.6}},
    "solution.from_molarity": {"salt": {"undissolved": 2 * M, "solid": ALL_OF_IT}, "acid": {"pure": ALL_OF_IT}},
    "self_discharge.fit_arrhenius": {"log": {"one temperature": LOG.at(WARM)}},
}


def _call(name, row, tmp_path):
    row = {key: str(tmp_path / value[6:]) if str(value).startswith("THERE") else value for key, value in row.items()}
    function, (owner, _, method) = FUNCTIONS[name], name.rpartition(".")
    if owner in OBJECTS:
        function = getattr(OBJECTS[owner], method)
    args, kwargs = [], {}
    for key, parameter in inspect.signature(function).parameters.items():
        if row[key] is ABSENT:
            continue
        if parameter.kind is parameter.VAR_POSITIONAL:
            args += [row[key]]
        elif parameter.kind is parameter.VAR_KEYWORD:
            kwargs |= row[key] if isinstance(row[key], dict) else {"rate": row[key]}
        else:
            kwargs[key] = row[key]
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return function(*args, **kwargs)


def _numbers(thing):
    """All numbers in a result, however deep, as flat arrays; words count as NaN where they speak of it."""
    if isinstance(thing, Q_):
        thing = thing.magnitude
    if isinstance(thing, Picture):
        thing = thing.sentence
    if isinstance(thing, str):
        yield np.array([NAN if re.search(r"\bnan\b", thing) else 0.0])
    elif isinstance(thing, int | float | np.number | np.ndarray) and np.asarray(thing).dtype.kind in "fiub":
        yield np.ravel(np.asarray(thing, dtype=float))
    elif dataclasses.is_dataclass(thing):
        for field in dataclasses.fields(thing):
            yield from _numbers(getattr(thing, field.name))
    elif isinstance(thing, dict | list | tuple):
        for inner in thing.values() if isinstance(thing, dict) else thing:
            yield from _numbers(inner)


def _silent(thing):
    return any(np.isnan(numbers).any() for numbers in _numbers(thing))


# A message names the argument, or shows what was given; and it says what would do.
WAY_OUT = (
    r"(?i)\btry\b|allowed|known are|it has|has to|make one|read one|name a file|write|takes|knows|leave|give|rinse"
    r"|press|store|keep to"
)
RAW = r"operands|ufunc|unhashable|has no attribute|ambiguous|invalid literal|Cannot convert|object is not|<Quantity"


def _told(message, argument, value):
    shown = {argument, repr(value), type(value).__name__} | ({f"{value:.6g~P}"} if isinstance(value, Q_) else set())
    return any(words in message for words in shown)


def _fault(name, argument, what, value, tmp_path):
    """What is wrong with the answer to a bad value, in words; None if it is right."""
    try:
        result = _call(name, ROWS[name] | {argument: value}, tmp_path)
    except InputError as error:
        message = str(error)
        named = (
            what in MORE.get(name, {}).get(argument, {}) or argument == "parameters" or _told(message, argument, value)
        )
        right = named and re.search(WAY_OUT, message) and not re.search(RAW, message)
        return None if right else f"says {message!r}"
    except Exception as error:  # any other is what this test is here to find
        return f"{type(error).__name__}: {error}"
    return "gives NaN" if _silent(result) else "is taken"


def test_every_public_function_has_its_row():
    assert set(ROWS) == set(FUNCTIONS)
    assert not [name for name in INSIDE if not any(_under(full, name) for full in EVERYTHING)]
    for name, row in ROWS.items():
        assert list(row) == [p for p in inspect.signature(FUNCTIONS[name]).parameters if p != "self"], name


@pytest.mark.parametrize("name", ROWS)
def test_what_cannot_be_used_is_refused(name, tmp_path):
    assert not _silent(_call(name, ROWS[name], tmp_path))
    faults = {
        f"{argument}: {what}": fault
        for argument, what, value in _bad(name)
        if (fault := _fault(name, argument, what, value, tmp_path))
    }
    assert not faults


# --- arrays of two lengths

AXES = {  # pairs that have an axis each, or nothing to do with each other
    "comparison.specific_energy_map": [("volume", "plates")],
    "recipe.weigh_out": [("purity", "stock")],
}

SEVERAL = {
    name: [a for a, kind in _kinds(name).items() if not kind.single and not kind.whole and ROWS[name][a] is not ABSENT]
    for name in ROWS
}


def _times(value, count):
    first = np.ravel(value.magnitude if isinstance(value, Q_) else value)[0]
    magnitude = first * (1 + 0.001 * np.arange(count))
    return Q_(magnitude, value.units) if isinstance(value, Q_) else magnitude


@pytest.mark.parametrize("name", [name for name, arguments in SEVERAL.items() if len(arguments) > 1])
def test_arrays_that_do_not_go_together(name, tmp_path):
    for one, other in itertools.combinations(SEVERAL[name], 2):
        row = ROWS[name] | {one: _times(ROWS[name][one], 2), other: _times(ROWS[name][other], 3)}
        said = rf"(?=.*\b{one} has 2)(?=.*\b{other} has 3).*Try one value, or as many"
        if (one, other) not in AXES.get(name, ()):
            with pytest.raises(InputError, match=said):
                _call(name, row, tmp_path)


# --- the plain form

NOT_VECTORISED = ("comparison.compare",)
PLAIN = {
    n: FUNCTIONS[n].constraints for n in ROWS if getattr(FUNCTIONS[n], "constraints", None) and n not in NOT_VECTORISED
}


def _plain(value, kind):
    return value.to(kind.unit).magnitude if isinstance(value, Q_) else value


@pytest.mark.parametrize("name", PLAIN)
def test_plain_form_gives_nan_out_of_range(name):
    function, (owner, _, _) = FUNCTIONS[name].si, name.rpartition(".")
    row = {a: _plain(v, PLAIN[name][a]) if a in PLAIN[name] else v for a, v in ROWS[name].items() if v is not ABSENT}
    start = {"self": OBJECTS[owner]} if owner in OBJECTS else {}
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert not _silent(function(**start, **row))
        for argument, kind in PLAIN[name].items():
            if argument not in row:
                continue
            bad = {NAN, INF, -INF, kind.low - 1, kind.high + 1} | ({kind.low} if kind.open_low else set())
            for value in bad:
                like = np.full(np.shape(row[argument]), value)[()]
                assert _silent(function(**start, **row | {argument: like})), (argument, value)
