"""Balance of the two plates: how charged each one is when the cell is built, and what the first charge has to do."""

from collections import namedtuple

import numpy as np

from cellkit.cells.cell import Cell
from cellkit.chemistry.side_reactions import gas_volume
from cellkit.tables.published import FARADAY, molar_mass
from cellkit.units import expect, takes

FirstCharge = namedtuple("FirstCharge", "positive negative charge oxygen_charge oxygen oxygen_volume water acid_needed")
FirstCharge.__doc__ = "Charge that waits in each plate as built, what the first charge takes, and what it makes of it."


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

    >>> from cellkit import Q_
    >>> from cellkit.cells import build_cell
    >>> from cellkit.chemistry import from_molarity
    >>> fill = from_molarity(Q_(50, "mL"), acid=Q_(1, "mol/L"), salt=Q_(1, "mol/L"), metal="copper")
    >>> first = first_charge(build_cell(fill, Q_(72, "g"), Q_(6, "g"), Q_(10, "Ah")))
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
