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
from cellkit import (
    Q_,
    InputError,
    bench_log,
    compare,
    cost,
    design,
    fade,
    load,
    review,
    self_discharge,
    shelf_log,
    solution,
    teardown,
)
from cellkit.figures import Picture
from cellkit.sheet import build_sheet
from cellkit.units import Kind

# Not called by learners: what they are given has been looked at before, or says so where it is called.
INSIDE = {
    "activity.refuse_beyond_fit": "hook of takes",
    "cell.refuse_outside_model": "hook of takes",
    "bench_csv.": "behind teardown.read, design.read, cost.read, recipe.read_plan; test_teardown, test_fuzz_readers",
    "logger_csv.": "behind bench_log.read; test_bench_log, test_fuzz_readers",
    "compare.evaluate": "SI values drawn by compare.draw",
    "compare.spoken": "counts of compare.Comparison",
    "decay.constant_leak": "a curve on SI floats",
    "decay.first_order": "a curve on SI floats",
    "decay.square_root": "a curve on SI floats",
    "decay.fast_and_slow": "a curve on SI floats",
    "decay.spec_of": "text for units.quantity",
    "density.unchecked_density": "SI floats inside solution.from_molarity",
    "environment.check": "says faults in words; test_package",
    "exercises.": "whatever a learner answers gets words, not an error; test_exercises",
    "fade.Band.of": "SI floats of a fit",
    "figures.canvas": "pixels, from other figures",
    "figures.look": "any name has a look",
    "figures.Picture.png": "scale, from Picture.bundle",
    "fitting.": "SI floats behind self_discharge.fit; test_self_discharge",
    "heat.apparent_enthalpy": "SI floats behind heat.dilute",
    "heat.relative_enthalpies": "SI floats behind heat.dilute",
    "panel.control": "numbers of a panel",
    "panel.frame": "bytes of a panel",
    "panel.EnergyChart.png": "numbers of a panel",
    "review.times": "cells of a block",
    "sheet.Section.": "words of a sheet; test_sheet",
    "teardown.checked": "values that teardown.read has read",
    "reference.table": "names of the course's own tables",
    "saving.write": "behind Sheet.save; test_sheet",
    "units.": "what makes the errors; test_units",
}


def _everything():
    """Each public function and method that takes arguments, by its full name."""
    for module in pkgutil.iter_modules(cellkit.__path__):
        here = importlib.import_module(f"cellkit.{module.name}")
        for name, thing in vars(here).items():
            if name.startswith("_") or getattr(thing, "__module__", None) != here.__name__:
                continue
            found = {f"{module.name}.{name}": thing}
            if inspect.isclass(thing):
                operators = ("__add__", "__call__", "__getitem__")
                inner = {n: getattr(thing, n) for n in vars(thing) if n in operators or not n.startswith("_")}
                found = {f"{module.name}.{name}.{n}": method for n, method in inner.items()}
            for full, function in found.items():
                plain = inspect.isfunction(inspect.unwrap(function)) or inspect.ismethod(function)
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
FILL = solution.from_molarity(ML, M, HALF, "copper")
BLOCK = teardown.read("otter_lane_block.csv")
STACK, CELL = load.stack(BLOCK), BLOCK.rebuilt_cell(FILL, Q_(6, "g"), AH)
PLAN, PRICES = design.read("otter_lane_design.csv"), cost.read("otter_lane_prices.csv")
LOG = shelf_log.read("self_discharge_zinc.csv")
FADE, WARMTH = fade.fit(LOG.at(WARM)), self_discharge.arrhenius(LOG)
BENCH, FOUND, REVIEW = bench_log.read("log_copper.csv"), compare.draw(PLAN, 50), review.Review(PLAN, "copper")
OBJECTS = {
    "bench_log.Log": BENCH,
    "cell.Cell": CELL,
    "compare.Comparison": FOUND,
    "design.Design": PLAN,
    "fade.Fade": FADE,
    "review.Review": REVIEW,
    "sheet.Sheet": build_sheet(PLAN, "copper"),
    "shelf_log.Log": LOG,
    "solution.Electrolyte": FILL,
    "teardown.Block": BLOCK,
    "warmth.Warmth": WARMTH,
}
STEPS = {"lead dioxide": Q_(1.7, "V"), "copper": Q_(0.3, "V"), "hydrogen": Q_(0, "V"), "oxygen": Q_(1.2, "V")}
POTENTIAL = {"acid": ACID, "salt": SALT, "temperature": WARM}
SOLUTION = {"salt": HALF, "metal": "copper", "temperature": WARM}
FITTED = {"time": DAYS, "error": Q_(1, "percent"), "level": 0.95, "parameters": {"rate": RATE}}
CONSTRUCTION = {"construction": "copper"}
ROWS = {
    "activity.salt_formula": {"metal": "copper"},
    "activity.activities": {"acid": ACID, "salt": SALT, "metal": "copper", "stand_in": "Mg"},
    "activity.mean_coefficient": {"acid": ACID, "salt": SALT, "metal": "copper"},
    "balance.first_charge": {"cell": CELL},
    "bench_log.read": {"name": "log_copper.csv", "discharge": "positive"},
    "carbon.wrap": {"stack": STACK, "carbon": Q_(20, "mg/cm^2")},
    "carbon.pulse": {
        "time": Q_(2, "s"),
        "plate": Q_(30, "mohm"),
        "capacitance": Q_(180, "F"),
        "resistance": Q_(3, "mohm"),
    },
    "cell.Cell.at_depth": {"depth": 0.5},
    "cell.Cell.rest_voltage": {"depth": 0.5, "ideal": True},
    "cell.Cell.rest_voltage_uncertainty": {"depth": 0.5},
    "cell.Cell.mass": {"level": "plates"},
    "cell.Cell.energy_density": {"level": "plates"},
    "cell.build": {
        "electrolyte": FILL,
        "positive_plates": PLATE,
        "negative_plates": Q_(6, "g"),
        "negative_charge": AH,
        "active_share": 0.6,
        "utilisation": 0.35,
        "separators": Q_(6, "g"),
        "other": Q_(38, "g"),
        "positive_charged": True,
    },
    "cell.energy_ratio": {"removed": 0.3, "returned": 0.1, "voltage_ratio": 0.9, "charge_ratio": 0.9},
    "colour.transmittance": {"concentration": M, "path": Q_(1, "mm")},
    "compare.Comparison.energy_density": CONSTRUCTION,
    "compare.Comparison.wins": CONSTRUCTION,
    "compare.Comparison.odds": CONSTRUCTION,
    "compare.Comparison.ranking": CONSTRUCTION,
    "compare.Comparison.verdict": CONSTRUCTION,
    "compare.draw": {"design": PLAN, "count": 50, "seed": 1, "known": {"fill volume": Q_(50, "mL")}},
    "conductivity.conductivity": {"acid": M, **SOLUTION},
    "cost.read": {"name": "otter_lane_prices.csv"},
    "cost.bill": {"design": PLAN, "prices": PRICES, "construction": "copper"},
    "cost.per_energy": {"design": PLAN, "prices": PRICES, "construction": "copper"},
    "decay.model_named": {"name": "first order"},
    "density.density": {"acid": 0.1, "salt": 0.05, "metal": "copper", "temperature": WARM},
    "design.metal_of": CONSTRUCTION,
    "design.Design.__getitem__": {"item": "fill volume"},
    "design.Design.varied": {"changes": {"fill volume": Q_(50, "mL")}},
    "design.Design.fresh": CONSTRUCTION,
    "design.Design.stack": {"case": "good"},
    "design.Design.cell": CONSTRUCTION,
    "design.read": {"name": "otter_lane_design.csv"},
    "fade.Fade.value": {"name": "rate"},
    "fade.Fade.standard_error": {"name": "rate"},
    "fade.Fade.interval": {"name": "rate", "level": 0.9},
    "fade.Fade.retained": {"time": Q_(30, "day"), "level": 0.9},
    "fade.Fade.shelf_time": {"left": 0.8, "level": 0.9},
    "fade.tails": {"level": 0.9},
    "fade.fit": {"log": LOG.at(WARM), "model": "first order"},
    "fade_figures.measurements": {"logs": LOG},
    "fade_figures.fading": {"fades": FADE, "left": 0.8},
    "fade_figures.residuals": {"fades": FADE},
    "fade_figures.rates": {"warmths": WARMTH},
    "fade_figures.spread": {
        "estimates": {"fit": np.array([2.9, 3.0, 3.1]), "line": np.array([2.0, 4.0])},
        "truth": 3.0,
        "label": "Rate / 1",
    },
    "figures.mass_bars": {"masses": CELL.masses},
    "figures.energy_bars": {"energies": {"lead": Q_(30, "Wh/kg")}},
    "figures.curves": {
        "x": [0.0, 1.0],
        "lines": {"lead": [2.1, 2.0]},
        "x_label": "Depth / 1",
        "y_label": "Voltage / V",
        "plus_minus": {"lead": 0.01},
        "levels": {"end": 1.9},
    },
    "gas.gas_volume": {"charge": AH, "gas": "oxygen", "temperature": WARM},
    "gas.ventilation": {"cells": 3, "gas_current": Q_(0.4, "A")},
    "heat.dilute": {"stock_mass": G, "water": G, "stock": 0.37, "temperature": WARM},
    "landscape.landscape": {
        "design": PLAN,
        "construction": "copper",
        "volume": Q_(np.array([20.0, 40.0]), "mL"),
        "plates": Q_(np.array([50.0, 70.0]), "g"),
    },
    "load.stack": {
        "block": BLOCK,
        "case": "good",
        "separator": Q_(1, "mm"),
        "felt": Q_(1.5, "mm"),
        "polyethylene": Q_(2, "ohm*cm^2"),
        "mesh": Q_(0.06, "ohm"),
        "leads": Q_(5, "mohm"),
    },
    "load.volts": {"cell": CELL, "stack": STACK, "current": Q_(0.1, "A"), "depth": 0.5},
    "load.run": {
        "cell": CELL,
        "stack": STACK,
        "end": Q_(1, "V"),
        "current": Q_(0.1, "A"),
        "power": ABSENT,
        "resistance": ABSENT,
        "pulse": Q_(0.2, "A"),
        "share": 0.05,
    },
    "log_figures.volts_and_amperes": {"log": BENCH, "cell": "copper"},
    "map_figures.design_map": {"design": PLAN},
    "map_figures.band_bars": {"found": FOUND},
    "map_figures.ranking_bars": {"found": FOUND, "construction": "copper", "most": 5},
    "neutralise.with_bicarbonate": {"spent": FILL},
    "panel.shortcut": {"removed": 0.3},
    "panel.energy_panel": {"block": BLOCK, "level": "plates", "acid": M},
    "plates.theoretical_charge": {"mass": G, "substance": "PbO2"},
    "plates.least_volume": {"charge": AH, "concentration": M},
    "plates.felt_plate_mass": {"area": Q_(25, "cm^2")}
    | dict.fromkeys(("mesh", "filled_polyethylene", "felt"), Q_(20, "mg/cm^2")),
    "plates.felt_charge": {
        "metal": "zinc",
        "area": Q_(25, "cm^2"),
        "thickness": Q_(3, "mm"),
        "porosity": 0.9,
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
    "potentials.corrosion_drive": {"metal": "copper", **POTENTIAL},
    "recipe.weigh_out": {
        "target": FILL,
        "crystals": "CuSO4·5H2O",
        "held": solution.from_molarity(Q_(2, "mL"), M),
        "purity": 0.99,
        "stock": 0.37,
    },
    "recipe.read_plan": {"name": "otter_lane_electrolyte.csv"},
    "reference.data_path": {"name": "reference"},
    "reference.find_file": {"name": "log_copper.csv"},
    "reference.composition": {"formula": "CuSO4·5H2O"},
    "reference.molar_mass": {"formula": "CuSO4·5H2O"},
    "review.Review.under_load": {"depth": 0.5},
    "review.Review.charging": {"first": True},
    "review.reviews": {"plan": PLAN},
    "self_discharge.compare": {"log": LOG.at(WARM), "models": ["first order"]},
    "self_discharge.compare_cells": {"one": FADE, "other": FADE, "level": 0.9},
    "self_discharge.log_line": {"log": LOG.at(WARM)},
    "self_discharge.simulate": {
        "model": "first order",
        "time": DAYS,
        "error": Q_(8, "mAh"),
        "seed": 1,
        "parameters": {"capacity": Q_(1, "Ah"), "rate": RATE},
    },
    "self_discharge.half_width": {"model": "first order", **FITTED},
    "self_discharge.plan": {
        "model": "first order",
        "spans": Q_([10, 40], "day"),
        "error": Q_(1, "percent"),
        "goal": 0.1,
        "most": 20,
        "parameters": {"rate": RATE},
    },
    "self_discharge.corrosion": {"capacity": AH, "rate": RATE, "temperature": WARM, "cells": 3},
    "sheet.build_sheet": {"design": PLAN, "construction": "copper", "title": "Footpath counter"},
    "sheet.Sheet.save": {"path": "THERE/sheet.txt", "replace": True},
    "shelf_log.charge_from_voltage": {
        "voltage": Q_(1.2, "V"),
        "curve_voltage": Q_(np.array([1.1, 1.3]), "V"),
        "curve_charge": np.array([0.0, 1.0]),
    },
    "shelf_log.Log.at": {"temperature": WARM},
    "shelf_log.read": {"name": "self_discharge_zinc.csv", "charge_curve": None},
    "solubility.saturation": {"metal": "copper", "acid": ACID, "temperature": WARM},
    "solution.Electrolyte.__add__": {"other": FILL},
    "solution.from_molality": {"water": G, "acid": ACID, "salt": SALT, "metal": "copper", "temperature": WARM},
    "solution.from_mass_fraction": {"mass": G, "acid": 0.1, "salt": 0.05, "metal": "copper", "temperature": WARM},
    "solution.from_density": {"mass": G, "reading": Q_(1.27, "g/mL"), "temperature": WARM},
    "solution.from_molarity": {"volume": ML, "acid": M, **SOLUTION},
    "teardown.Block.rebuilt_cell": {
        "electrolyte": FILL,
        "negative_plates": Q_(6, "g"),
        "negative_charge": AH,
        "positive_charged": True,
    },
    "teardown.read": {"name": "otter_lane_block.csv"},
    "volt_figures.ladder": {"levels": {"copper": STEPS}},
    "warmth.Warmth.rate_at": {"temperature": WARM},
    "warmth.Warmth.extrapolates": {"temperature": WARM},
    "warmth.arrhenius": {"log": LOG, "model": "first order"},
}

# --- bad calls, made from the good ones

NAN, INF = float("nan"), float("inf")
OTHER_UNITS = ("kg", "m^3", "s", "K", "mol", "V")
# nearly right, and the usual slips
NEAR = {"mol/m^3": "mol/kg", "mol/kg": "mol/L", "C": "Wh", "A": "Ah", "kg": "mL", "ohm*m^2": "ohm"}
# what Kinds there are where a function turns its arguments into SI floats by hand
BY_HAND = {
    "fade.Fade.interval": {"level": fade.LEVEL},
    "fade.tails": {"level": fade.LEVEL},
    "fade.Fade.retained": {"time": fade.TIME, "level": fade.LEVEL},
    "fade.Fade.shelf_time": {"left": fade.SHARE_LEFT, "level": fade.LEVEL},
    "fade_figures.fading": {"left": fade.SHARE_LEFT},
    "panel.energy_panel": {"acid": solution.CONCENTRATION},
    "review.Review.under_load": {"depth": Kind("", "0.5", low=0.0, high=1.0)},
    "self_discharge.compare_cells": {"level": fade.LEVEL},
    "self_discharge.simulate": {"time": fade.TIME, "error": self_discharge.ERROR, "seed": self_discharge.SEED},
    "self_discharge.half_width": {"time": fade.TIME, "error": self_discharge.SHARE, "level": fade.LEVEL},
    "self_discharge.plan": {
        "spans": fade.TIME,
        "error": self_discharge.SHARE,
        "goal": self_discharge.GOAL,
        "most": self_discharge.MOST,
    },
    "shelf_log.Log.at": {"temperature": shelf_log.SHELF},
    "warmth.Warmth.rate_at": {"temperature": shelf_log.SHELF},
    "warmth.Warmth.extrapolates": {"temperature": shelf_log.SHELF},
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
    return getattr(FUNCTIONS[name], "kinds", {}) | BY_HAND.get(name, {})


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
            values = THINGS | {"another object": CELL if isinstance(good, solution.Electrolyte) else FILL}
        for what, value in (values | MORE.get(name, {}).get(argument, {})).items():
            if f"{argument}: {what}" not in FINE.get(name, ()):
                yield argument, what, value


# What only looks bad: it means that nothing is given, or it can be shown as it is.
FINE = {
    "activity.activities": ["stand_in: none"],
    "bench_log.read": ["discharge: none"],
    "compare.draw": ["known: none"],
    "fade_figures.fading": ["left: none"],
    "fade_figures.spread": ["estimates: unknown", "truth: number", *(f"label: {what}" for what in TEXTS)],
    "figures.curves": ["plus_minus: none", "levels: none", "levels: unknown", "lines: unknown"],
    "load.run": [f"{load}: none" for load in ("current", "power", "resistance", "pulse")],
    "load.stack": [f"{part}: none" for part in ("separator", "felt", "polyethylene", "mesh", "leads")],
    "potentials.electrode_potential": ["stand_in: none"],
    "potentials.rest_voltage": ["stand_in: none"],
    "recipe.weigh_out": ["held: none"],
    "reference.data_path": ["name: empty"],
    "sheet.build_sheet": [f"title: {what}" for what in TEXTS],
    "shelf_log.read": ["charge_curve: none"],
}
# What no kind of argument shows: too much for the solution or the model, and things that do not go together.
ALL_OF_IT = Q_(30, "mol/L")
MORE = {
    "activity.activities": {"salt": {"past its fit": Q_(1.5, "mol/kg")}, "metal": {"none for salt": None}},
    "activity.mean_coefficient": {"salt": {"past its fit": Q_(1.5, "mol/kg"), "zero": 0 * SALT}},
    "bench_log.read": {"discharge": {"contradicts the volts": "negative"}},
    "cell.build": {
        "electrolyte": {
            "past the model": solution.from_molarity(ML, Q_(6.5, "mol/L")),
            "no ions": solution.from_molarity(ML, M, 0 * M, "copper"),
        },
        "positive_plates": {"of nothing": Q_(0, "g")},
    },
    "conductivity.conductivity": {"acid": {"past the table": 9 * M}},
    "density.density": {"salt": {"past the fit": 0.5}},
    "load.run": {
        "end": {"above rest": Q_(2, "V")},
        "current": {"left out": ABSENT, "far too much": Q_(300, "A")},
        "power": {"a second load": Q_(1, "W")},
    },
    "load.volts": {"current": {"short circuit": Q_(300, "A")}, "depth": {"full, no acid left to make": 0.0}},
    "plates.felt_charge": {"metal": {"one that does not plate": "lead"}},
    "plates.theoretical_charge": {"substance": {"a name": "lead"}},
    "potentials.rest_voltage": {"acid": {"none": 0 * ACID}, "salt": {"no ions": 0 * SALT, "past its fit": 3 * SALT}},
    "potentials.electrode_potential": {"metal": {"the other": "zinc"}, "salt": {"no ions": 0 * SALT}},
    "potentials.corrosion_drive": {"salt": {"no ions": 0 * SALT, "past its fit": 3 * SALT}},
    "potentials.rest_voltage_uncertainty": {"salt": {"no ions": 0 * SALT, "past its fit": 3 * SALT}},
    "recipe.weigh_out": {
        "crystals": {"another metal": "ZnSO4·7H2O", "another hydrate": "CuSO4·3H2O"},
        "held": {"another metal": solution.from_molarity(ML, M, HALF, "zinc"), "too much": FILL + FILL},
        "target": {"without salt": solution.from_molarity(ML, M)},
    },
    "reference.composition": {"formula": {"nonsense": "CuSO4·"}},
    "reference.molar_mass": {"formula": {"element": "FeSO4", "nonsense": "CuSO4·"}},
    "shelf_log.Log.at": {"temperature": {"not in the log": Q_(7, "degC")}},
    "shelf_log.charge_from_voltage": {
        "voltage": {"beyond the curve": Q_(1.4, "V")},
        "curve_voltage": {"falls": Q_(np.array([1.3, 1.1]), "V"), "one point": Q_(1.2, "V")},
    },
    "solution.Electrolyte.__add__": {"other": {"another metal": solution.from_molarity(ML, M, HALF, "zinc")}},
    "solution.from_molality": {"salt": {"undissolved": Q_(3, "mol/kg")}, "metal": {"none for salt": None}},
    "solution.from_mass_fraction": {"salt": {"undissolved": 0.4}, "acid": {"no water left": 0.6}},
    "solution.from_molarity": {"salt": {"undissolved": 2 * M, "solid": ALL_OF_IT}, "acid": {"pure": ALL_OF_IT}},
    "warmth.arrhenius": {"log": {"one temperature": LOG.at(WARM)}},
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
    r"|press|store|one metal only|the curve of"
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
    "landscape.landscape": [("volume", "plates")],
    "recipe.weigh_out": [("purity", "stock")],
    "shelf_log.charge_from_voltage": [("voltage", "curve_voltage"), ("voltage", "curve_charge")],
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

NOT_VECTORISED = ("compare.draw",)
PLAIN = {n: FUNCTIONS[n].kinds for n in ROWS if getattr(FUNCTIONS[n], "kinds", None) and n not in NOT_VECTORISED}


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
