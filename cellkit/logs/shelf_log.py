"""Logs of cells that stand on the shelf: read from CSV with errors by row, charge from rest voltage, made-up logs."""

import re
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from pint import DimensionalityError, UndefinedUnitError

from cellkit.tables.lists import open_table
from cellkit.units import Q_, Constraint, InputError, fraction, only_where, positive, takes, to_si, ureg

DAY = 86400.0
EXAMPLE = 'cellkit.logs.read_shelf_log("self_discharge_zinc.csv")'
SHELF = Constraint("K", 'Q_(25, "degC")', low=253.15, high=333.15)
PLACE = replace(SHELF, single=True)
REPEATS_NEEDED = 5  # degrees of freedom below which repeats say less about the error than the scatter about a curve
_DAYS = Constraint("s", 'Q_(30, "day")', low=0.0, high=3.2e9)  # a century; more is a slip of the pen
_CHARGE = Constraint("C", 'Q_(900, "mAh")', low=0.0, high=3.6e9, open_low=True)  # a million Ah
_KINDS = {
    "time": _DAYS,
    "capacity": _CHARGE,
    "capacity_error": _CHARGE,
    "rest_voltage": positive("V", 'Q_(1.2, "V")'),
    "rest_voltage_error": positive("V", 'Q_(0.002, "V")'),
    "temperature": SHELF,
}
_SHARE = Constraint("", "Q_(95, 'percent')", low=0.0, high=1000.0, open_low=True)
_SHARES = {"capacity": _SHARE, "capacity_error": _SHARE}


def _sorted(volts, charge):
    """Both columns of a curve, emptiest first."""
    volts, charge = np.broadcast_arrays(np.atleast_1d(volts), np.atleast_1d(charge))
    order = np.argsort(charge)
    return volts[order], charge[order]


@takes(
    returns="",
    voltage=positive("V", 'Q_(1.2, "V")'),
    curve_voltage=positive("V", 'Q_([1.1, 1.3], "V")'),
    curve_charge=fraction("[0, 1]"),
)
def state_of_charge(voltage, curve_voltage, curve_charge):
    """State of charge where a cell's rest-voltage curve has the rested ``voltage``, by straight lines between points.

    Parameters
    ----------
    voltage : Quantity [V]
        After a rest long enough that it no longer moves.
    curve_voltage, curve_charge : Quantity [V], array [-]
        The cell's rest voltage and the state of charge (0 to 1) that goes with it.

    Returns
    -------
    Quantity [-]
        No better than the curve: 10 mV on a cell that spans 100 mV is a tenth of its charge.

    Raises
    ------
    InputError
        If the curve does not rise all the way, or a voltage lies beyond its ends.

    Examples
    --------
    >>> f"{state_of_charge(Q_(1.22, 'V'), Q_([1.1, 1.2, 1.3], 'V'), [0, 0.5, 1]).m:.2f}"
    '0.60'

    References
    ----------
    Linear interpolation of the caller's own curve.
    """
    volts, charge = _sorted(curve_voltage, curve_charge)
    words = "The rest-voltage curve has to rise with charge all the way: one voltage, one state of charge."
    volts = only_where((np.diff(volts) > 0).all(), volts, lambda: words)
    outside = (np.asarray(voltage) < volts[0]) | (np.asarray(voltage) > volts[-1])

    def why():
        return (
            f"{np.sum(outside)} rest voltage(s) lie beyond the curve's {volts[0]:.4g} to {volts[-1]:.4g} V. "
            "Let the cell rest longer after charging, or take the curve of this very cell at this temperature."
        )

    return only_where(~outside & np.isfinite(volts).all(), np.interp(voltage, volts, charge), why)


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

    @property
    def temperatures(self):
        """The temperatures in the log, coldest first."""
        return Q_(np.unique(np.round(self.temperature, 2)), "K").to("degC")

    @property
    def places(self):
        """The temperatures in words."""
        return ", ".join(f"{t:.3g}" for t in self.temperatures.magnitude) + " °C"

    def at(self, temperature):
        """The part of the log at one temperature; what is known about the error stays known."""
        chosen = np.abs(self.temperature - to_si("temperature", temperature, PLACE)) < 0.02
        if not chosen.any():
            raise InputError(f"The log has no row at {temperature:.4g~P}; it has rows at {self.places}.")
        error = None if self.error is None else self.error[chosen]
        rows = {"time": self.time[chosen], "capacity": self.capacity[chosen], "temperature": self.temperature[chosen]}
        return replace(self, error=error, **rows)

    def __str__(self):
        known = "unknown, to be taken from the scatter about a curve"
        if self.error is not None:
            size = Q_(np.mean(self.error), "" if ureg.Unit(self.unit).dimensionless else "C").to(self.unit)
            known = f"{size:.2g~P}, " + ("given" if np.isinf(self.error_dof) else f"from {self.error_dof} repeats")
        days = f"{self.time.min() / DAY:.3g} to {self.time.max() / DAY:.3g} days on the shelf"
        return (
            f"{self.cell}: {self.time.size} measurements, {days}, at {self.places}\nerror of one measurement: {known}"
        )


def _error_from_repeats(time, capacity, temperature):
    """Error of one row and its degrees of freedom from rows with the same time and temperature, if there are enough."""
    group = np.unique(np.column_stack([temperature, time]), axis=0, return_inverse=True)[1].ravel()
    dof = int(group.size - group.max() - 1)
    if dof < REPEATS_NEEDED:
        return None, np.inf
    gap = capacity - (np.bincount(group, capacity) / np.bincount(group))[group]
    return np.full(group.size, np.sqrt(np.sum(gap**2) / dof)), dof


def read_shelf_log(name, charge_curve=None):
    """A self-discharge log from a CSV file with a header row and points in decimals.

    Columns: ``time_<unit>`` and ``capacity_<unit>`` (mAh, Ah or percent) or ``rest_voltage_<unit>``; if known,
    ``temperature_<unit>``, ``capacity_error_<unit>`` or ``rest_voltage_error_<unit>``, and ``cell``. Others are
    ignored. Rows with the same time and temperature are repeats; where no error is given they tell it.

    Parameters
    ----------
    name : str or Path
        A file of yours, or the name of one in ``data/bench``.
    charge_curve : tuple of Quantity [V] and array [-], optional
        For rest voltages: the arguments of :func:`charge_from_voltage` after the first.

    Returns
    -------
    Log
        Without a temperature column 25 °C is noted down.

    Raises
    ------
    InputError
        Naming the row (as a spreadsheet counts) and the column that cannot be used.

    Examples
    --------
    >>> print(read_shelf_log("self_discharge_copper.csv").cell)
    copper, invented
    """
    if not (charge_curve is None or (isinstance(charge_curve, tuple | list) and len(charge_curve) == 2)):
        raise InputError('charge_curve has to be a pair. Try charge_curve=(Q_([1.1, 1.3], "V"), [0, 1]).')
    file, header, rows = open_table(name)
    for where, row in rows:
        if len(row) != len(header):
            raise InputError(
                f"{where}: {len(row)} values for {len(header)} columns. A decimal comma splits a number in two: "
                "write 1.5, not 1,5."
            )
    titles = {m[1]: m[0] for m in (re.fullmatch(rf"({'|'.join(_KINDS)})_([^_]+)", title) for title in header) if m}
    reading = "capacity" if charge_curve is None else "rest_voltage"
    for needed in ("time", reading):
        if needed not in titles:
            hint = " For rest voltages give charge_curve=(volts, charge)." if "rest_voltage" in titles else ""
            raise InputError(f"{file} has no column {needed}_<unit>; its header is {', '.join(header)}.{hint}")
    if not rows:
        raise InputError(f"{file} has a header but no measurements. Fill in one row for each.")
    cells = {row[header.index("cell")] for _, row in rows} if "cell" in header else {Path(file).stem}
    if len(cells) > 1:
        raise InputError(f"{file} holds several cells: {', '.join(sorted(cells))}. Give each a file of its own.")
    unit = titles[reading].rsplit("_", 1)[1]
    kinds = _KINDS | (_SHARES if unit in ureg and ureg.Unit(unit).dimensionless else {})
    data = {key: _numbers(title, header.index(title), rows, kinds[key]) for key, title in titles.items()}
    capacity, error = data[reading], data.get(f"{reading}_error")
    if charge_curve is not None:
        if error is not None:
            low, high = (np.clip(capacity + sign * error, *_ends(charge_curve)) for sign in (-1, 1))
            low, high = (state_of_charge(Q_(volts, "V"), *charge_curve).magnitude for volts in (low, high))
            error = (high - low) / 2
        capacity, unit = state_of_charge(Q_(capacity, "V"), *charge_curve).magnitude, "percent"
    columns = data["time"], capacity, data.get("temperature", np.full(len(rows), 298.15))
    known = _error_from_repeats(*columns) if error is None else (error, np.inf)
    return ShelfLog(cells.pop(), *columns, *known, unit)


def _ends(charge_curve):
    volts = to_si("charge_curve", charge_curve[0], _KINDS["rest_voltage"])
    return np.min(volts), np.max(volts)


def _numbers(title, at, rows, kind):
    """SI values of one column."""
    unit, values = title.rsplit("_", 1)[1], []
    for where, row in rows:
        where, text = f"{where}, {title}", row[at]
        try:
            value = Q_(float(text.replace("_", "?")), unit).to(kind.unit).magnitude
        except ValueError:
            hint = "Leave none empty." if not re.fullmatch(r"\S+,\d+", text) else "Write 1.5, not 1,5."
            raise InputError(f"{where}: {text!r} is not a number. {hint}") from None
        except (UndefinedUnitError, DimensionalityError):
            raise InputError(f"{where}: {unit!r} is no unit for this column. Try the one in {kind.example}.") from None
        if not kind.within(value):
            raise InputError(f"{where}: {text} {unit} cannot be; allowed is {kind.allowed(unit)}.")
        values.append(value)
    return np.array(values)
