"""A bench log of volts and amperes: read or refused by row, then Ah, Wh, efficiencies, resistance, end voltage."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from cellkit.tables.logger_files import read_table
from cellkit.units import Q_, InputError, gives, one_of

COLUMNS = {"time": ("s", "time_s or time_min"), "voltage": ("V", "voltage_V"), "current": ("A", "current_A or _mA")}
SIGNS = {"positive": 1, "negative": -1}
LOADED = 0.02  # a cell works where the current is at least this share of the largest in the log; below, it rests
FAINT = 1e-12  # A: less than any logger sees
STEP = 0.1  # a jump of the current by this share of the largest tells the resistance
GAP, STEADY = 10, 0.05  # times the usual interval; change of current across it, as a share of the largest


def _apart(rate, interval):
    """Integrals of ``rate``'s positive and of its negative part up to each row, with straight lines between rows."""
    out, size = np.maximum(rate, 0), np.abs(rate)
    out, size = out[1:] + out[:-1], size[1:] + size[:-1]
    share = np.divide(out, size, out=np.zeros_like(out), where=size > 0)  # 0 to 1 where the line crosses zero
    parts = out * share, (size - out) * (1 - share)
    return tuple(np.concatenate([[0.0], np.cumsum(part * interval / 2)]) for part in parts)


def _steps(voltage, current, usable):
    """The intervals in which the current jumps from one steady level to another, and -ΔV/ΔI in each."""
    change, largest = np.diff(current), np.abs(current).max()
    size = np.abs(change) * usable
    quiet = np.maximum(np.append(0, size[:-1]), np.append(size[1:], 0)) <= 0.2 * size
    at = np.flatnonzero((size >= STEP * largest) & (size > FAINT) & quiet)
    return at, -np.diff(voltage)[at] / change[at]


@dataclass(frozen=True, eq=False)
class BenchLog:
    """What a logger wrote: ``time``, ``voltage`` and ``current`` are SI arrays, discharge current positive.

    ``counted`` tells of each interval between rows whether it is integrated; ``remarks`` what was noticed on reading.
    """

    name: str
    time: np.ndarray
    voltage: np.ndarray
    current: np.ndarray
    counted: np.ndarray
    remarks: tuple = ()

    @cached_property
    def _totals(self):
        step = np.diff(self.time) * self.counted
        return {"charge": _apart(self.current, step), "energy": _apart(self.current * self.voltage, step)}

    @gives("C -> Ah")
    def charge_out(self):
        """Charge taken out: trapezoids of the current where it is positive."""
        return self._totals["charge"][0][-1]

    @gives("C -> Ah")
    def charge_in(self):
        """Charge put in."""
        return self._totals["charge"][1][-1]

    @gives("J -> Wh")
    def energy_out(self):
        """Energy taken out: trapezoids of volts × amperes where the current is positive."""
        return self._totals["energy"][0][-1]

    @gives("J -> Wh")
    def energy_in(self):
        """Energy put in."""
        return self._totals["energy"][1][-1]

    @cached_property
    def phases(self):
        """Charges and discharges in turn, each a :class:`Phase`; a rest, with less than ``LOADED``, parts none."""
        size = np.abs(self.current)
        working = np.flatnonzero((size >= LOADED * size.max()) & (size > FAINT))
        runs = np.split(working, np.flatnonzero(np.diff(self.current[working] > 0)) + 1) if working.size else []
        ends = [run[0] for run in runs[1:]] + [self.time.size - 1]
        return tuple(Phase(self, run[0], run[-1], end) for run, end in zip(runs, ends, strict=False))

    @property
    def cycles(self):
        """Each charge with the discharge that follows it, as :class:`Cycle`."""
        return tuple(Cycle(*pair) for pair in zip(self.phases, self.phases[1:]) if pair[0].kind == "charge")  # noqa: B905

    @property
    def resistance(self):
        """Internal resistance, as :class:`Resistance`; an InputError if the current never jumps."""
        at, ohms = _steps(self.voltage, self.current, self.counted)
        if not at.size:
            raise InputError(
                f"{self.name}: the current never jumps by {STEP:.0%} of its largest from one steady level to another. "
                "Switch the load off and on again a few times during the next log."
            )
        low, middle, high = Q_(np.quantile(ohms, [0.1587, 0.5, 0.8413]), "ohm").to("mohm")
        return Resistance(middle, (high - low) / 2, at.size, Q_(np.median(np.diff(self.time)[at]), "s"))

    def __str__(self):
        span = Q_(self.time[-1] - self.time[0], "s").to("hour")
        return "\n  ".join([f"{self.name}: {self.time.size} rows, {span:.1f~P}", *self.remarks])


@dataclass(frozen=True)
class Resistance:
    """Volts lost per ampere: ``median`` of the ``steps`` of a log, ``scatter`` is half the width of their middle 68 %.

    A step is seen ``within`` one interval of the log: the longer that is, the more of the slow sag counts in.
    """

    median: Q_
    scatter: Q_
    steps: int
    within: Q_

    def __str__(self):
        return (
            f"{self.median.magnitude:.0f} ± {self.scatter.magnitude:.0f} mΩ "
            f"(scatter of {self.steps} steps, each seen within {self.within:.2g~P})"
        )


@dataclass(frozen=True, eq=False)
class Phase:
    """One charge or discharge of a log: rows ``first`` to ``last`` carry its current; at ``until`` the next starts."""

    log: BenchLog
    first: int
    last: int
    until: int

    @property
    def kind(self):
        """``"discharge"`` or ``"charge"``."""
        return "discharge" if self.log.current[self.first] > 0 else "charge"

    def _total(self, what, rows):
        total = self.log._totals[what][0 if self.kind == "discharge" else 1]
        return total[rows] - total[max(self.first - 1, 0)]

    @gives("C -> Ah")
    def charge(self):
        """Charge that went through."""
        return self._total("charge", self.until)

    @gives("J -> Wh")
    def energy(self):
        """Energy that went through."""
        return self._total("energy", self.until)

    @gives("V")
    def mean_voltage(self):
        """Energy over charge."""
        return Phase.energy.si(self) / Phase.charge.si(self)

    @gives("V")
    def end_voltage(self):
        """Voltage in the last row under current."""
        return self.log.voltage[self.last]

    rows = property(lambda self: slice(self.first, self.last + 1), doc="Rows under current, for the arrays of the log.")

    @gives("C -> Ah")
    def passed(self):
        """Charge that has gone through by each of :attr:`rows`."""
        return self._total("charge", self.rows)

    def __str__(self):
        hours = Q_(self.log.time[self.last] - self.log.time[self.first], "s").to("hour")
        return (
            f"{self.kind}: {self.charge:.3f~P}, {self.energy:.3f~P} in {hours:.1f~P}, "
            f"mean {self.mean_voltage:.3f~P}, end {self.end_voltage:.3f~P}"
        )


@dataclass(frozen=True, eq=False)
class Cycle:
    """A charge and the discharge after it. The efficiencies hold if the cell ends as empty as it began."""

    charge: Phase
    discharge: Phase

    @gives("-> percent")
    def coulombic_efficiency(self):
        """Charge out over charge in."""
        return Phase.charge.si(self.discharge) / Phase.charge.si(self.charge)

    @gives("-> percent")
    def energy_efficiency(self):
        """Energy out over energy in."""
        return Phase.energy.si(self.discharge) / Phase.energy.si(self.charge)


def read_bench_log(name, discharge=None):
    """Read a log with the columns ``time_<unit>``, ``voltage_<unit>`` and ``current_<unit>``; others are ignored.

    Parameters
    ----------
    name : str or path
        The learner's own CSV, or the name of a file in ``data/bench``. Where its header stands again, as loggers write
        it after a restart, a section starts: between sections nothing is counted.
    discharge : str, optional
        How the file writes a discharge current, ``"positive"`` or ``"negative"``. Without it the steps of the current
        tell: a cell's voltage falls as the discharge grows.

    Returns
    -------
    Log

    Raises
    ------
    InputError
        Naming the row: what :func:`cellkit.tables.read_table` refuses, time that goes back, a voltage below zero, a
        gap longer than ``GAP`` usual intervals over which the current changes by more than ``STEADY``. Also if the
        steps do not tell the sign of a discharge, or contradict ``discharge``.

    Examples
    --------
    >>> log = read_bench_log("log_copper.csv")
    >>> [phase.kind for phase in log.phases]
    ['charge', 'discharge']
    """
    table = read_table(name, COLUMNS)
    file, (time, voltage, current) = table.path.name, table.values.T
    if time.size < 2:
        raise InputError(f"{file}: {time.size} rows of measurements; it takes two or more below the header.")
    table.refuse(voltage < 0, lambda i: f"{voltage[i]:g} V. Are the probes swapped? Or has the cell reversed?")
    ahead, counted = np.diff(time), np.ones(time.size - 1, dtype=bool)
    joins = table.starts[1:] - 1
    counted[joins] = False
    table.refuse(
        np.append(False, counted & (ahead < 0)),
        lambda i: (
            f"time goes back by {time[i - 1] - time[i]:g} s. Sort the rows by time; after a "
            "restart of the logger put the header in again."
        ),
    )
    _run_on(time, joins, ahead)
    ahead[joins] = 0
    remarks = _gaps(table, ahead, current)
    remarks.insert(0, _sign(file, current, discharge, _steps(voltage, current, counted)[1]))
    if joins.size:
        remarks.append(f"{joins.size + 1} sections, each below a header; nothing is counted between them")
    return BenchLog(file, time, voltage, current, counted, tuple(remarks))


def _run_on(time, joins, ahead):
    """Let each section whose clock began anew follow the one before; the first row is at zero. In place."""
    shift = np.zeros(time.size)
    shift[joins + 1] = np.maximum(-ahead[joins], 0)
    time += np.cumsum(shift, out=shift)
    time -= time[0]


def _sign(file, current, discharge, ohms):
    """Turn ``current`` so that discharge is positive; how that was found, in words."""
    one_of("discharge", discharge, (*SIGNS, None))
    agree = max(np.mean(ohms > 0), np.mean(ohms < 0)) if ohms.size else 0
    told = None if agree < 0.8 else "positive" if np.median(ohms) > 0 else "negative"
    seen = f"{agree:.0%} of {ohms.size} steps of the current" if ohms.size else "no step of the current"
    if told is None and discharge is None:
        raise InputError(
            f"{file}: is a discharge current written positive or negative? The volts do not tell: {seen} agree. "
            "Say discharge='positive' or 'negative'."
        )
    if discharge and told and discharge != told:
        seen += f": the voltage falls as the current gets more {told}"
        raise InputError(f"{file}: discharge={discharge!r} contradicts {seen}. Leave discharge out.")
    current *= SIGNS[discharge or told]
    how = "as you said" if discharge else f"told by {seen}: the voltage falls as a discharge grows"
    return f"the file writes discharge as {discharge or told} current ({how})"


def _gaps(table, interval, current):
    """Remarks on gaps and repeated times; an InputError for a gap over which the current changes."""
    usual = np.median(interval[interval > 0]) if (interval > 0).any() else 0
    gap = interval > GAP * usual
    change = np.abs(np.diff(current)) > STEADY * np.abs(current).max()
    table.refuse(
        np.append(False, gap & change),
        lambda i: (
            f"{interval[i - 1]:g} s after the row before, where {usual:g} s are usual, with another current. Put the "
            "header in again above this row: then nothing is counted across the gap."
        ),
    )
    remarks = []
    if gap.any():
        hours = Q_(interval[gap].sum(), "s").to("hour")
        remarks.append(f"gaps: {gap.sum()}, {hours:.2g~P} in all, counted with the steady current at both ends of each")
    if repeated := np.sum(interval == 0) - (table.starts.size - 1):
        remarks.append(f"rows with the time of the row before: {repeated}; a jump, which adds no charge")
    return remarks
