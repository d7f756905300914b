"""A bench log of volts and amperes: read or refused by row, then Ah, Wh, efficiencies, resistance, end voltage."""

import re
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from cellkit.tables.logger_files import DAY, Column, read_table
from cellkit.units import Q_, Constraint, InputError, gives, one_of, to_si

COLUMNS = {
    "time": Column(("s",), "time_s or time_min"),
    "voltage": Column(("V",), "voltage_V"),
    "current": Column(("A",), "current_A or current_mA"),
    "state": Column((), "state", optional=True),
}
STATES = (("dis|dch|dsg|entl|^d$", 1), ("ch|lad|^c$", -1), ("rest|idle|pause|off|stop|ruh|open|^r$|^$", 0))
SIGNS = {"positive": 1, "negative": -1}
LOADED = 0.02  # a cell works where the current is at least this share of the largest in the log; below, it rests
FAINT = 1e-12  # A: less than any logger sees
STEP = 0.1  # a jump of the current by this share of the largest tells the resistance
SPIKE, LEAST_RESISTANCE = 10, 1e-4  # times all else; ohm, less than any small cell has
RECOVERY = 0.005  # share of the voltage that it moves against its current only where that paused
OFFSET = Constraint("A", 'Q_(2, "mA")', single=True)
GAP, STEADY = 10, 0.05  # times the usual interval; change of current across it, as a share of the largest


def _apart(rate, interval):
    """Integrals of ``rate``'s positive and of its negative part up to each row, with straight lines between rows."""
    cross = np.flatnonzero(rate[1:] * rate[:-1] < 0)
    size = np.abs(rate[cross]) + np.abs(rate[cross + 1])
    for sign in (1, -1):
        part = sign * rate
        np.maximum(part, 0, out=part)
        total = np.zeros(rate.size)
        step = np.add(part[1:], part[:-1], out=total[1:])
        step[cross] *= step[cross] / size  # the share of the interval before or after the line crosses zero
        step *= interval
        step /= 2
        yield np.cumsum(total, out=total)


def _steps(voltage, current, usable):
    """The intervals in which the current jumps from one steady level to another, and -ΔV/ΔI in each."""
    size, largest = np.append(np.abs(np.diff(current)) * usable, 0), max(current.max(), -current.min())
    at = np.flatnonzero((size >= STEP * largest) & (size > FAINT))
    at = at[np.maximum(np.where(at > 0, size[at - 1], 0), size[at + 1]) <= 0.2 * size[at]]
    return at, (voltage[at] - voltage[at + 1]) / (current[at + 1] - current[at])


def _whole(what, side, words):
    """A property of a log: all that went out (side 0) or in (1)."""

    def total(self):
        return self._totals[what][side][-1]

    total.__doc__ = words
    return gives({"charge": "C -> Ah", "energy": "J -> Wh"}[what])(total)


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
        charge = tuple(_apart(self.current, step))
        return {"charge": charge, "energy": tuple(_apart(self.current * self.voltage, step))}

    charge_out = _whole("charge", 0, "Charge taken out: trapezoids of the current where it is positive.")
    charge_in = _whole("charge", 1, "Charge put in.")
    energy_out = _whole("energy", 0, "Energy taken out: trapezoids of volts × amperes where the current is positive.")
    energy_in = _whole("energy", 1, "Energy put in.")

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
        """Each charge with the discharge that follows it, as :class:`Cycle`; an InputError if there is none."""
        found = tuple(Cycle(*pair) for pair in zip(self.phases, self.phases[1:]) if pair[0].kind == "charge")  # noqa: B905
        if not found:
            raise InputError(f"{self.name}: no charge with a discharge after it. Log both, the charge first.")
        return found

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


def read_bench_log(name, discharge=None, columns=None, offset=None):
    """Read a logger's file with time, voltage and current; :func:`cellkit.tables.logger_files.read_table` says how.

    Rows without a reading (blank, OL) are left out. Nothing is counted between sections, each below a header again.
    What was noticed stands in the remarks of the log; what cannot be told apart from a mistake is refused by its row.

    ``name``: the learner's own file, or the name of one in ``data/bench``. ``discharge``: How the file writes a
    discharge current, ``"positive"`` or ``"negative"``. Without it the steps of the current tell (a cell's voltage
    falls as the discharge grows), or a column of states where all currents are positive. ``columns``: titles and units
    that are not found by themselves, such as ``{"current": ("shunt", "mA")}``. ``offset``: what the logger shows when
    no current flows, with its sign in the file; it is subtracted.

    >>> log = read_bench_log("log_copper.csv")
    >>> [phase.kind for phase in log.phases]
    ['charge', 'discharge']
    """
    one_of("discharge", discharge, (*SIGNS, None))
    table = read_table(name, COLUMNS, "cellkit.logs.read_bench_log", columns)
    file, remarks = table.path.name, table.remarks
    read = np.all([np.isfinite(table.data[key]) for key in ("time", "voltage", "current")], axis=0)
    if not read.all():
        remarks.append(f"rows without a reading: {np.sum(~read)}, the first is row {table.rows[~read][0]}; left out")
        table.keep(read)
    time, voltage, current = (table.data[key] for key in ("time", "voltage", "current"))
    if time.size < 2:
        raise InputError(f"{file}: {time.size} rows of measurements; it takes two or more below the header.")
    table.refuse(voltage < 0, lambda i: f"{voltage[i]:g} V. Are the probes swapped? Or has the cell reversed?")
    _refuse_spikes(table)
    if offset is not None:
        current -= to_si("offset", offset, OFFSET)
    ahead, counted = np.diff(time), np.ones(time.size - 1, dtype=bool)
    joins = np.flatnonzero(np.diff(table.section))
    counted[joins] = False
    if table.local:
        remarks += _clock_changes(time, ahead, counted)
    hour = "; an hour as when clocks are set back" if (np.abs(ahead + 3600) < 60).any() else ""
    table.refuse(
        np.append(False, counted & (ahead < 0)),
        lambda i: (
            f"time goes back by {-ahead[i - 1]:g} s{hour}. Sort the rows by time; after a restart of the logger put "
            "the header in again."
        ),
    )
    shift = np.zeros(time.size)  # a section whose clock began anew follows the one before; the first row is at zero
    shift[joins + 1] = np.maximum(-ahead[joins], 0)
    time += np.cumsum(shift) - time[0]
    ahead[joins] = 0
    sign, how = _sign(table, current, discharge, voltage, counted)
    remarks = [how, *remarks, *_gaps(table, ahead, current, voltage)]
    remarks += _at_rest(time, current, sign) if offset is None else []
    if joins.size:
        remarks.append(f"{joins.size + 1} sections, each below a header; nothing is counted between them")
    return BenchLog(file, time, voltage, current, counted, tuple(remarks))


def _refuse_spikes(table):
    """Refuse what a logger writes when it overflows: far above all else; a pulse of a cell shows in its volts."""
    volts = table.data["voltage"]
    middle = np.median(volts)
    for key, unit in (("voltage", "V"), ("current", "A")):
        size = np.abs(table.data[key])
        most = max(1, size.size // 10)
        usual = np.partition(size, -most - 1)[-most - 1]
        if usual > FAINT:
            far = size > SPIKE * usual
            if key == "current":
                far[far] = np.abs(volts[far] - middle) < LEAST_RESISTANCE * size[far]
            table.refuse(
                far,
                lambda i, size=size, unit=unit, usual=usual: (
                    f"{size[i]:g} {unit}, where {usual:.3g} {unit} are the most otherwise: a spike of the logger? "
                    "Leave its field blank: such rows are left out."
                ),
            )


def _usual(interval):
    """The median of the intervals that are more than nothing, zero if none is."""
    return np.median(interval[interval > 0]) if (interval > 0).any() else 0


def _clock_changes(time, ahead, counted):
    """Undo the hour of summer time where the interval shows it; in place, with remarks."""
    usual, remarks = _usual(ahead[counted]), []
    day = np.floor(time[:-1] / DAY)  # since 1970, where there are dates; day 3 was a Sunday
    small_hours = (time[:-1] - day * DAY < 4 * 3600) & (day % 7 == 3) & (day > 365)
    for jump, way, when in ((-3600, "back", True), (3600, "forward", small_hours)):  # an hour more may also be a pause
        hit = counted & when & (np.abs(ahead - jump - usual) <= 0.5 * usual) & (0 < usual < 1800)
        if hit.any():
            ahead[hit] -= jump
            time[1:] -= jump * np.cumsum(hit)
            remarks.append(f"clocks were set {way} by an hour, as the interval shows; undone")
    return remarks


def _sign(table, current, discharge, voltage, counted):
    """Turn ``current`` so that discharge is positive; by which factor, and how that was found, in words."""
    file, one_sided = table.path.name, current.min() >= 0 or current.max() <= 0
    if one_sided and discharge is None and (states := _states(table, current)) is not None:
        current[:] = np.abs(current) * states
        ohms = _steps(voltage, current, counted)[1]
        if ohms.size and np.mean(ohms > 0) < 0.8:
            why = "they fall as a discharge grows. Correct its words, or take the column out."
            raise InputError(f"{file}: the column of states contradicts the volts: {why}")
        return 1, "the file writes all currents with one sign; charge and discharge are told by its column of states"
    _, ohms = _steps(voltage, current, counted)
    agree = max(np.mean(ohms > 0), np.mean(ohms < 0)) if ohms.size else 0
    told = None if agree < (0.95 if one_sided else 0.8) else "positive" if np.median(ohms) > 0 else "negative"
    seen = f"{100 * agree:.0f} % of {ohms.size} steps of the current" if ohms.size else "no steps of the current"
    if told is None and discharge is None:
        both = " Or are all currents written positive? Then a column 'state' with charge and discharge tells."
        raise InputError(
            f"{file}: is a discharge current written positive or negative? The volts do not tell: {seen} agree. "
            f"Say discharge='positive' or 'negative'.{both if one_sided else ''}"
        )
    if discharge and told and discharge != told:
        seen += f": the voltage falls as the current gets more {told}"
        raise InputError(f"{file}: discharge={discharge!r} contradicts {seen}. Leave discharge out.")
    sign = SIGNS[discharge or told]
    current *= sign
    how = "as you said" if discharge else f"told by {seen}: the voltage falls as a discharge grows"
    return sign, f"the file writes discharge as {discharge or told} current\n  ({how})"


def _states(table, current):
    """1 for discharge, -1 for charge, 0 for rest in each row; None where a row under current says none of these."""
    if "state" not in table.data:
        return None
    words, which = np.unique(np.char.lower(table.data["state"]), return_inverse=True)
    sign = np.array([next((s for part, s in STATES if re.search(part, word)), np.nan) for word in words])[which]
    working = np.abs(current) >= max(FAINT, LOADED * np.abs(current).max())
    return np.nan_to_num(sign) if np.isin(sign[working], (1, -1)).all() else None


def _gaps(table, interval, current, voltage):
    """Remarks on gaps and repeated times; an InputError for a gap that hides a change of the current."""
    usual, largest = _usual(interval), np.abs(current).max()
    at = np.flatnonzero(interval > GAP * usual)  # the rows before the gaps
    before, after, volts, seconds = current[at], current[at + 1], voltage[at], interval[at]
    bad = np.zeros(current.size, bool)
    bad[at + 1] = np.abs(after - before) > STEADY * largest
    table.refuse(
        bad,
        lambda i: (
            f"{interval[i - 1]:g} s after the row before, where {usual:g} s are usual, with another current. Put the "
            "header in again above this row: then nothing is counted across the gap."
        ),
    )
    loaded = np.minimum(np.abs(before), np.abs(after)) >= max(LOADED * largest, FAINT)
    bad[at + 1] = loaded & ((voltage[at + 1] - volts) * np.sign(after) > RECOVERY * volts)
    table.refuse(
        bad,
        lambda i: (
            f"the voltage went from {voltage[i - 1]:g} to {voltage[i]:g} V within a gap of {interval[i - 1]:g} s, the "
            "wrong way for its current: did the current pause? Put the header in again above this row."
        ),
    )
    remarks = []
    if at.size:
        hours, most = Q_(seconds.sum(), "s").to("hour"), Q_(np.sum(seconds * np.abs(before + after) / 2), "C").to("Ah")
        remarks.append(
            f"gaps: {at.size}, {hours:.2g~P} in all, counted with the steady current at both ends of each: "
            f"{most:.3g~P}, too much if it paused"
        )
    for row in table.rows[at + 1][np.abs(seconds - 3600 - usual) <= 0.5 * min(usual, 600)][:3]:
        remarks.append(f"row {row}: an hour more than usual since the row before; was a clock set forward?")
    if repeated := np.sum(interval == 0) - np.sum(np.diff(table.section) > 0):
        remarks.append(f"rows with the time of the row before: {repeated}; a jump, which adds no charge")
    return remarks


def _at_rest(time, current, sign):
    """A remark on a current that is shown though the cell rests."""
    largest = np.abs(current).max()
    rest = current[np.abs(current) < LOADED * largest]
    shown = np.median(rest) if rest.size >= 10 else 0
    if abs(shown) <= 1e-3 * largest or np.mean(rest * shown > 0) < 0.9:
        return []
    charge, amperes = Q_(abs(shown) * time[-1], "C").to("mAh"), Q_(sign * shown, "A").to("mA")
    return [
        f"at rest the current reads {amperes:.3g~P}: over the whole log {charge:.3g~P}. If none flowed, "
        f'try offset=Q_({amperes.magnitude:.3g}, "mA")'
    ]
