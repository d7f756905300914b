"""Make the three invented bench logs of the Osier Yard makerspace. Nothing in them was measured.

Run it in any directory: the same seed writes the same bytes. The truth is in TRUTH and in `volts`; lesson 05 tries to
find it again. The rest voltages are not those of cellkit, so that the lesson's residual is one. What the logs lose
follows rates of data/reference/side_reactions.csv, as tests hold:

- copper keeps 97 % of its charge (published), less what oxygen dissolves on 149 cm² of face (published, 1.4 mA);
- zinc lies on flat plates, without felt, and is charged fast, at 2.9 mA/cm² of face, to about 1 Ah. The hydrogen that
  it makes at rest is that of its shelf log, in the upper half of the published range; while it plates, 0.1 V lower,
  seven times as much. On felt at 100 mA the same rates would leave nothing to log;
- lead loses what a small block may: invented, no rate stands behind it.
"""

import itertools
import math
import random
from pathlib import Path
from typing import NamedTuple

SEED = 2605
SLOW = 400  # s, how long the slow sag takes
EMPTY = 0.985  # depth of discharge where each log starts
EVERY = 120  # s between rows; a step of the current has one more a second before it
PAUSE, WORK = 360, 3600  # s without current and with it, in turn


class Truth(NamedTuple):
    """One cell, or for lead the whole block of three."""

    capacity: float  # Ah from depth 0 to 1
    coulombic: float  # share of the charging current that is stored
    resistance: float  # ohm, at once
    sag: float  # ohm more, after SLOW
    middle: float  # V at rest at half depth
    fall: float  # V from depth 0 to 1, without the ends
    bend: float  # V, how strongly the ends bend
    charge: float  # A
    discharge: float  # A
    end: float  # V, where the discharge is stopped
    full: float = 0.02  # depth where the charge ends
    hydrogen: float = 0.0  # A at rest with all the charge on the plates; by exp(-FALL × depth) less with less


TRUTH = {
    "lead": Truth(2.95, 0.94, 0.110, 0.10, 6.19, 0.30, 0.012, 0.40, 0.50, 5.40),
    "copper": Truth(1.98, 0.955, 0.150, 0.09, 1.329, 0.110, 0.006, 0.25, 0.30, 1.00),
    "zinc": Truth(1.00, 1.0, 0.100, 0.08, 2.395, 0.060, 0.010, 0.43, 0.30, 2.00, 0.06, 0.028),
}
FALL = 1.36  # as in make_self_discharge.py: with less zinc there is less acid beside it
PLATING = 7.0  # times the hydrogen at rest, 0.1 V lower; Tafel slope of 0.118 V
# unit of time, volts and amperes, and how a discharge is written: three loggers, three habits
FORMAT = {"lead": ("h", "V", "A", 1), "copper": ("min", "V", "mA", 1), "zinc": ("s", "mV", "A", -1)}
SIZE = {"h": 3600.0, "min": 60.0, "s": 1.0, "V": 1.0, "mV": 1e-3, "A": 1.0, "mA": 1e-3}
DIGITS = {"h": 5, "min": 3, "s": 0, "V": 4, "mV": 1, "A": 4, "mA": 1}


def volts(cell, depth, amperes, sag):
    """Voltage at a depth of discharge under a discharge current, with the slow ``sag`` in V."""
    depth = min(max(depth, 0.0), 1.0)
    rest = cell.middle + cell.fall * (0.5 - depth) + cell.bend * math.log((1.001 - depth) / (depth + 0.001))
    left = 1.0 - depth if amperes > 0 else depth  # of what is running out
    return rest - amperes * cell.resistance * (1 + 0.05 / (left + 0.002)) - sag


def passed(cell, depth, amperes):
    """Amperes that the charge on the plates loses under a discharge current; less than none while it grows."""
    gas = cell.hydrogen * math.exp(-FALL * depth) * (PLATING if amperes < 0 else 1.0)
    return (cell.coulombic if amperes < 0 else 1.0) * amperes + gas


def rows(name):
    """Seconds, volts and amperes of each row: a charge with pauses, a discharge with pauses, a rest."""
    cell, noise = TRUTH[name], random.Random(f"{SEED} {name}")
    time, depth, sag = 0, EMPTY, 0.0
    for work in (-cell.charge, cell.discharge, 0.0):
        for second in itertools.count():
            within = second % (PAUSE + WORK)
            amperes = work if within >= PAUSE else 0.0
            here = volts(cell, depth, amperes, sag)
            last = depth <= cell.full if work < 0 else here < cell.end if work else second == PAUSE
            if last or within % EVERY == 0 or within in (PAUSE - 1, PAUSE + WORK - 1):
                yield time, here + noise.gauss(0, 8e-4), amperes * (1 + noise.gauss(0, 4e-4))
            depth = min(depth + passed(cell, depth, amperes) / 3600 / cell.capacity, 1.0)
            sag += (amperes * cell.sag - sag) / SLOW
            time += 1
            if last:
                break


def main():
    """Write the files beside this one."""
    for name, (clock, volt, ampere, sign) in FORMAT.items():
        lines = [f"time_{clock},voltage_{volt},current_{ampere}"]
        for row in rows(name):
            shown = zip(row, (clock, volt, ampere), (1, 1, sign), strict=True)
            lines.append(",".join(f"{value * way / SIZE[unit] + 0.0:.{DIGITS[unit]}f}" for value, unit, way in shown))
        text = "\n".join(lines) + "\n"
        Path(__file__).with_name(f"log_{name}.csv").write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
