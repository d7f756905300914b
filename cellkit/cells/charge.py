"""Charging: what the first charge has to do, and what comes back of any: efficiency, rest, cycles, leaks."""

from collections import namedtuple

import numpy as np

from cellkit.cells.cell import Cell
from cellkit.chemistry.side_reactions import gas_volume
from cellkit.tables.published import FARADAY, molar_mass
from cellkit.units import Constraint, expect, non_negative, positive, takes

CHARGE = positive("C", 'Q_(1, "Ah")')
CURRENT = positive("A", 'Q_(50, "mA")')
EFFICIENCY = Constraint("", "0.9", low=0.0, high=1.0, open_low=True)
FACTOR = Constraint("", "1.1", low=0.0, high=10.0, open_low=True)
COUNT = Constraint("", "10", low=0, high=10000, whole=True)

FirstCharge = namedtuple("FirstCharge", "positive negative charge oxygen_charge oxygen oxygen_volume water acid_needed")
FirstCharge.__doc__ = "Charge that waits in each plate as built, what the first charge takes, and what it makes of it."


class RestLoss(namedtuple("RestLoss", "rate time")):
    """Share of a full charge lost per time, and the time until nothing is left."""


class Cycles(namedtuple("Cycles", "charge hydrogen oxygen water")):
    """Charge of the negative after some cycles; hydrogen and oxygen of all of them, the water of the oxygen."""


@takes(
    returns=dict.fromkeys(("positive", "negative", "charge", "oxygen_charge"), "C -> Ah")
    | {"oxygen": "mol", "oxygen_volume": "m^3 -> L", "water": "kg -> g", "acid_needed": "mol"}
)
def first_charge(cell):
    """What it takes to bring the negative of a new cell level with its positive, as :class:`FirstCharge`.

    Discharged positive: PbSO4 + MSO4 + 2 H2O → PbO2 + M + 2 H2SO4. Charged positive, which can take nothing more:
    MSO4 + H2O → M + H2SO4 + ½ O2. Both pass 2 F for each mol of metal.

    ``positive`` and ``negative``: charge ready in each as built; their difference is out of balance. ``charge``: what
    to pass. ``oxygen_charge``: the part of it that the positive cannot take, and so the oxygen, its volume (dry, at one
    atmosphere, at the temperature of the fill) and the ``water`` that it was made of. ``acid_needed``: acid that has to
    be in the cell as filled, so that a whole discharge finds its two mol for each mol of PbO2. What the cell holds
    afterwards is ``cell.at_depth(0)``. Hydrogen and other side reactions come on top.
    Source: Faraday's law and the balance of both reactions; the ideal gas.

    >>> fill = ck.chemistry.from_molarity(Q_(50, "mL"), acid=Q_(1, "mol/L"), salt=Q_(1, "mol/L"), metal="copper")
    >>> first = first_charge(ck.cells.build_cell(fill, Q_(72, "g"), Q_(6, "g"), Q_(10, "Ah")))
    >>> f"{first.charge:.2f~P}, oxygen {first.oxygen_volume:.2f~P}"
    '2.68 Ah, oxygen 0.61 L'
    """
    expect("cell", cell, Cell, "block.lead_cell()")
    mol = 2 * FARADAY
    capacity = Cell.capacity.si(cell)
    dioxide = cell.pbo2 / molar_mass.si("PbO2") * cell.utilisation * mol
    if cell.negative == "lead":
        return FirstCharge(dioxide, cell.negative_capacity, *[0.0 * capacity] * 5, 2 * capacity / mol)
    charge = (cell.electrolyte.salt - Cell.at_depth.si(cell, 0.0).salt) * mol
    gas = charge if cell.positive_charged else 0.0 * charge
    ready = dioxide if cell.positive_charged else 0.0 * dioxide
    oxygen = gas / (2 * mol)
    volume = gas_volume.si(gas, "oxygen", cell.electrolyte.temperature)
    # discharged positives give two of acid for each metal atom plated, all that the discharge wants
    acid = np.maximum(2 * capacity - charge, 0.0) / mol if cell.positive_charged else 0.0 * charge
    return FirstCharge(ready, 0.0 * capacity, charge, gas, oxygen, volume, 2 * oxygen * molar_mass.si("H2O"), acid)


@takes(returns={"rate": "1/s -> percent/day", "time": "s -> hour"}, charge=CHARGE, loss=CURRENT)
def rest_loss(charge, loss):
    """Self-discharge of a cell at rest: rate I_loss / Q, and the time Q / I_loss until nothing is left.

    ``loss``: true area times :func:`cellkit.chemistry.hydrogen_loss`, or for copper times the row ``copper dissolved
    by oxygen``. It stays the same as long as area and solution do, so the charge falls along a straight line and not by
    first order. Source: conservation of charge.

    >>> lost = rest_loss(Q_(1, "Ah"), Q_(5, "mA"))
    >>> f"{lost.rate:.0f~P}, {lost.time:.0f~P}"
    '12 %/d, 200 h'
    """
    return RestLoss(np.asarray(loss) / charge, np.asarray(charge) / loss)


@takes(
    returns={"charge": "C -> Ah", "hydrogen": "C -> Ah", "oxygen": "C -> Ah", "water": "kg -> g"},
    charge=CHARGE,
    efficiency=EFFICIENCY,
    factor=FACTOR,
    number=COUNT,
)
def cycles(charge, efficiency, factor, number):
    """After n cycles: Q_n = Q (f CE)^n, never more than Q; each makes hydrogen of what is passed and not kept.

    ``factor`` f is charge passed over charge that came out; 1/CE keeps the cell as it is. The positive, which keeps
    all, makes oxygen of what it gets beyond what it gave, f - 1; water goes with the oxygen.
    Source: conservation of charge at each plate.

    >>> after = cycles(Q_(1, "Ah"), 0.9, 1.0, 10)
    >>> f"{after.charge:.2f~P} left; hydrogen {after.hydrogen:.2f~P}"
    '0.35 Ah left; hydrogen 0.65 Ah'
    """
    kept, n = np.minimum(np.asarray(factor) * efficiency, 1.0), np.asarray(number)
    with np.errstate(invalid="ignore", divide="ignore"):
        total = charge * np.where(kept < 1, (1 - kept**n) / (1 - kept), n)
    passed = total * factor
    oxygen = passed - total * np.minimum(factor, 1.0)
    hydrogen = passed - total * kept
    return Cycles(charge * kept**n, hydrogen, oxygen, oxygen / (2 * FARADAY) * molar_mass.si("H2O"))


@takes(depth=EFFICIENCY, difference=EFFICIENCY, factor=FACTOR)
def cycles_until_reversal(depth, difference, factor=1.0):
    """Cycles until the weaker cell of a block runs out first and is reversed: n = (1 - x) / (x f ΔCE).

    ``depth`` x: share that each discharge takes; ``difference`` ΔCE between the best cell and the weakest; ``factor`` f
    as in :func:`cycles`. Before that, strip: discharge each cell alone to nothing, so that all start equal.
    Source: conservation of charge: the gap grows by x f ΔCE in each cycle, the reserve is 1 - x.

    >>> f"{cycles_until_reversal(0.8, 0.05):.0f}"
    '5'
    """
    return (1 - np.asarray(depth)) / (np.asarray(depth) * factor * difference)


@takes(
    returns="A -> mA",
    voltage=positive("V", 'Q_(2, "V")'),
    conductivity=non_negative("S/m", 'Q_(40, "S/m")'),
    area=positive("m^2", 'Q_(1, "mm^2")'),
    length=positive("m", 'Q_(30, "mm")'),
)
def leak_current(voltage, conductivity, area, length):
    """Current through liquid that joins two cells, in a common tank or on a wet lid: I = ΔE κ a / L.

    ``area`` and ``length`` of a tube, or of a film on a lid (its thickness times its width). The plates' own
    polarisation would make it less. Source: Ohm's law.

    >>> f"{leak_current(Q_(2, 'V'), Q_(40, 'S/m'), Q_(1, 'mm^2'), Q_(30, 'mm')):.1f~P}"
    '2.7 mA'
    """
    return np.asarray(voltage) * conductivity * area / length
