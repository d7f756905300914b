"""What side reactions take from a construction while it charges and rests, and the charging current that follows."""

import numpy as np

from cellkit.cells.cell import Cell
from cellkit.cells.charge import first_charge
from cellkit.chemistry.activity import activities
from cellkit.chemistry.potentials import CORRODE, corrosion_driving_force
from cellkit.chemistry.side_reactions import (
    CASES,
    dissolution_current_density,
    felt_area,
    hydrogen_current_density,
    value,
)
from cellkit.tables.metals import METALS

NOBLE = tuple(metal for metal in METALS if metal not in CORRODE)
DRAWN = (  # rows of ``data/reference/side_reactions.csv``
    *(f"hydrogen on {metal}" for metal in CORRODE),
    *(f"overpotential of plating {metal}" for metal in CORRODE),
    "fibre diameter",
    *(f"{metal} dissolved by oxygen" for metal in NOBLE),
    *(f"current efficiency of {metal}" for metal in NOBLE),
)
SLOW, FAST = 20 * 3600.0, 5 * 3600.0  # s for a whole charge: smooth metal, a small positive; common practice, no source
GOAL, LEAST = 0.9, 0.5  # share of the charging current that should stay as metal, and without which speed is no help
ENDS = WORST, NOMINAL, BEST = tuple(  # the rows of DRAWN with everything at its poor, middle and good end
    {name: value(name, case if name.startswith(("fibre", "current", "overpotential")) else other) for name in DRAWN}
    for case, other in zip(CASES, CASES[::-1], strict=True)
)


def metal_area(design, fibre):
    """True area of metal on the felts of one cell [m²]: all fibres, as the current in so thin a felt is even."""
    face = design.current_path().area
    return np.maximum(face, felt_area.si(face, design.values["felt thickness"], fibre=fibre))


def losses(design, cell, inputs, depth=0.5):
    """Currents [A] that a metal cell loses while charging and at rest, by the rows ``DRAWN`` in ``inputs``.

    Hydrogen: i0 a(H+)^½ 10^(η/b) on all fibres, with 0.1 V more while charging; at rest less by the overpotential of
    plating. A metal above hydrogen makes none: there oxygen from outside takes what it was seen to take, on the faces.
    """
    metal = cell.negative
    if metal in NOBLE:
        oxygen = dissolution_current_density.si(inputs[f"{metal} dissolved by oxygen"], metal)
        return 0.0 * oxygen, oxygen * design.current_path().area
    acid, salt = Cell.at_depth.si(cell, depth).molalities
    drive = corrosion_driving_force(metal, acid, salt)
    activity = np.exp(activities.si(acid, salt, metal).hydrogen)
    area, plating = metal_area(design, inputs["fibre diameter"]), value(f"overpotential of plating {metal}")
    return tuple(
        area * hydrogen_current_density(drive + more, activity, inputs[f"hydrogen on {metal}"])
        for more in (plating, plating - inputs[f"overpotential of plating {metal}"])
    )


def efficiency(design, cell, current, inputs):
    """Share of a charging ``current`` that stays as metal at half depth: 1 - I_loss / I, zero where the loss is more.

    Of a metal above hydrogen its row. Zinc that corrodes gives back what the loss takes. Source: Kirchhoff.
    """
    if cell.negative in NOBLE:
        return inputs[f"current efficiency of {cell.negative}"]
    return np.maximum(1 - losses(design, cell, inputs)[0] / current, 0.0)


def delivered(design, cell, current, inputs):
    """Share of what is spent at half depth that a load of this ``current`` is delivered: I / (I + I_loss).

    With the loss at rest: while discharging it is less, so this is the poorer end. Source: Kirchhoff.
    """
    return current / (current + losses(design, cell, inputs)[1])


def charge_returned(design, cell, current, inputs):
    """Charge returned: the current efficiency at the charging current times the share that the load is delivered."""
    if cell.negative == "lead":
        return 1.0  # its charge was measured
    return efficiency(design, cell, current, inputs) * delivered(design, cell, design.values["load current"], inputs)


def charging_current(design, cell):
    """Current [A] of the list, or else that at which nominally ``GOAL`` of it stays, in ``FAST`` to ``SLOW`` a charge.

    Where even the fastest keeps less than ``LEAST``, the slowest: more would only make more gas.
    """
    for item in (f"{cell.negative} charging current", "charging current"):
        if (listed := design.values.get(item)) is not None:
            return listed
    if cell.negative == "lead":
        return Cell.capacity.si(cell) / SLOW
    charge = first_charge.si(cell).charge
    loss, _ = losses(design, cell, NOMINAL)
    if efficiency(design, cell, charge / FAST, NOMINAL) < LEAST:
        return charge / SLOW
    return np.clip(loss / (1 - GOAL), charge / SLOW, charge / FAST)
