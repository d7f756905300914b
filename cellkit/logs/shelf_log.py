"""Logs of cells that stand on the shelf: read with errors by row."""

from dataclasses import dataclass, replace

import numpy as np

from cellkit.chemistry.potentials import NEGATIVES
from cellkit.tables.logger_files import DAY, Column, read_table
from cellkit.tables.text_files import read_unit
from cellkit.units import Q_, Constraint, InputError, one_of, to_si, ureg

EXAMPLE = 'cellkit.logs.read_shelf_log("self_discharge_zinc.csv")'
SHELF = Constraint("K", 'Q_(25, "degC")', low=253.15, high=333.15)
PLACE = replace(SHELF, single=True)
REPEATS_NEEDED = 5  # degrees of freedom below which repeats say less about the error than the scatter about a curve
_CHARGE = Constraint("C", 'Q_(900, "mAh")', low=0.0, high=3.6e9, open_low=True)  # a million Ah
_SHARE = Constraint("", "Q_(95, 'percent')", low=0.0, high=1000.0, open_low=True)
_DAYS = Constraint("s", 'Q_(30, "day")', low=0.0, high=3.2e9)  # a century; more is a slip of the pen
COLUMNS = {
    "time": Column(("s",), "time_day"),
    "capacity": Column(("C", ""), "capacity_mAh"),
    "capacity_error": Column(("C", ""), "capacity_error_mAh", optional=True),
    "temperature": Column(("K",), "temperature_degC", optional=True),
    "cell": Column((), "cell", optional=True),
    "negative": Column((), "negative", optional=True),
}


@dataclass(frozen=True)
class ShelfLog:
    """Capacity left after standing, in SI arrays of one row per measurement; ``capacity`` in C, or a share of full.

    ``error`` is the standard error of each row, known to ``error_dof`` degrees of freedom; None where nothing is known.
    """

    cell: str
    time: np.ndarray
    capacity: np.ndarray
    temperature: np.ndarray
    error: np.ndarray | None = None
    error_dof: float = np.inf
    unit: str = "mAh"
    noted: bool = True  # whether the log has temperatures of its own
    negative: str = ""  # ``"lead"``, the metal, or not known; it gives the cell its colour
    rows: np.ndarray | None = None  # of the file

    @property
    def temperatures(self):
        """The temperatures in the log, coldest first."""
        return Q_(np.unique(np.round(self.temperature, 2)), "K").to("degC")

    @property
    def places(self):
        """The temperatures in words."""
        return ", ".join(f"{t:.3g}" for t in self.temperatures.magnitude) + " °C" + ("" if self.noted else " (assumed)")

    def at(self, temperature):
        """The part of the log at one temperature; what is known about the error stays known."""
        chosen = np.abs(self.temperature - to_si("temperature", temperature, PLACE)) < 0.02
        if not chosen.any():
            raise InputError(f"The log has no row at {temperature:.4g~P}; it has rows at {self.places}.")
        parts = {key: getattr(self, key) for key in ("time", "capacity", "temperature", "error", "rows")}
        return replace(self, **{key: part if part is None else part[chosen] for key, part in parts.items()})

    def __str__(self):
        known = "unknown, to be taken from the scatter about a curve"
        if self.error is not None:
            size = Q_(np.mean(self.error), "" if ureg.Unit(self.unit).dimensionless else "C").to(self.unit)
            known = f"{size:.2g~P}, " + (f"from {self.error_dof} repeats" if np.isfinite(self.error_dof) else "given")
        days = f"{self.time.min() / DAY:.3g} to {self.time.max() / DAY:.3g} days on the shelf"
        what = f"{self.cell}: {self.time.size} measurements, {days}, at {self.places}"
        return f"{what}\nerror of one measurement: {known}"


def _error_from_repeats(time, capacity, temperature):
    """Error of one row and its degrees of freedom from rows with the same time and temperature, if there are enough."""
    group = np.unique(np.column_stack([temperature, time]), axis=0, return_inverse=True)[1].ravel()
    dof = int(group.size - group.max() - 1)
    gap = capacity - (np.bincount(group, capacity) / np.bincount(group))[group]
    error = np.sqrt(np.sum(gap**2) / max(dof, 1))
    if dof < REPEATS_NEEDED or error <= 1e-9 * np.abs(capacity).max():  # repeats that are copies tell nothing
        return None, np.inf
    return np.full(group.size, error), dof


def read_shelf_log(name, columns=None):
    """Read a log of self-discharge; :func:`cellkit.tables.logger_files.read_table` says how a file may look.

    Columns: time and capacity (mAh, Ah or percent); if known ``capacity_error``, temperature, ``cell`` and
    ``negative``. Dates count from the first. Rows with the same time and temperature are repeats; where no error is
    given they tell it. Without a temperature 25 °C is assumed, and said to be.

    ``name``: A file of yours, or the name of one in ``data/bench``. ``columns``: titles and units that are not found by
    themselves, such as ``{"capacity": ("left", "mAh")}``.

    >>> print(read_shelf_log("self_discharge_copper.csv").cell)
    copper, invented
    """
    table = read_table(name, COLUMNS, "cellkit.logs.read_shelf_log", columns)
    data, file, shown = table.data, table.path.name, table.shown
    if not table.rows.size:
        raise InputError(f"{file} has a header but no measurements. Fill in one row for each.")
    cells, negatives = (set(data.pop(key, [other])) for key, other in (("cell", table.path.stem), ("negative", "")))
    if len(cells) > 1 or len(negatives) > 1:
        raise InputError(f"{file} holds several cells: {', '.join(sorted(cells))}. Give each a file of its own.")
    negative = one_of("negative", str(negatives.pop()).lower(), (*NEGATIVES, ""))
    if table.dated:
        data["time"], shown["time"] = data["time"] - np.nanmin(data["time"]), "day"
    unit = read_unit(shown["capacity"])
    amount = _SHARE if unit.dimensionless else _CHARGE
    kinds = {"time": _DAYS, "temperature": SHELF, "capacity": amount, "capacity_error": amount}
    if read_unit(shown.get("capacity_error", shown["capacity"])).dimensionless != unit.dimensionless:
        raise InputError(f"{file}: capacity in {unit:~P}, its error in {shown['capacity_error']}. Use one unit.")
    for key, values in data.items():
        _refuse_outside(table, key, values, kinds[key], read_unit(shown[key]))
    measured = data["time"], data["capacity"], data.get("temperature", np.full(table.rows.size, 298.15))
    error = (data["capacity_error"], np.inf) if "capacity_error" in data else _error_from_repeats(*measured)
    return ShelfLog(str(cells.pop()), *measured, *error, str(unit), "temperature" in data, negative, table.rows)


def _refuse_outside(table, key, values, kind, unit):
    def says(i):
        shown = "blank" if np.isnan(values[i]) else f"{Q_(values[i], kind.unit).to(unit):.6g~P}"
        return f"{key} is {shown}, which cannot be; allowed is {kind.allowed(unit)}."

    table.refuse(~kind.within(values), says)
