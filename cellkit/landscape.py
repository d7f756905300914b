"""Energy per mass of one construction over two choices: how much electrolyte, and how heavy its positive plates."""

from typing import NamedTuple

import numpy as np

from cellkit.cell import Cell
from cellkit.design import EXAMPLE, Design, metal_of
from cellkit.units import Kind, expect, takes

NODES = 15  # along each axis, where the mean voltage is computed; between them it is interpolated


class Landscape(NamedTuple):
    """Energy per mass, charge by reagent and the name of the least, over plates (rows) and volumes (columns)."""

    density: object
    limits: dict
    limiting: object


@takes(
    returns={"density": "J/kg -> Wh/kg"},
    volume=Kind("m^3", 'Q_([20, 40, 60], "mL")', low=0.0, open_low=True),
    plates=Kind("kg", 'Q_([40, 60, 80], "g")', low=0.0, open_low=True),
)
def landscape(design, construction, volume, plates):
    """Wh/kg of the whole block at rest voltage on a grid; all else is as the design has it.

    Parameters
    ----------
    design : Design
    construction : str
        One of :data:`cellkit.design.CONSTRUCTIONS`.
    volume : Quantity [m³]
        Rising. Poured into each cell on top of what is held; all the acid of a cell that stays lead.
    plates : Quantity [kg]
        Rising. Positives of one cell; the same share of their PbO2 reacts whatever they weigh, though thick plates
        give less of it.

    Returns
    -------
    Landscape
        Whether volume and plates fit into the case is not asked. NaN where the solution does not exist. The mean
        voltage is interpolated between 15 × 15 points: within 0.2 Wh/kg on the grid of the design map.

    Raises
    ------
    InputError
        For volumes or plates that are not more than zero, or an unknown construction.

    Examples
    --------
    >>> from cellkit import Q_
    >>> from cellkit.design import read
    >>> here = landscape(read("otter_lane_design.csv"), "zinc", Q_([20, 40], "mL"), Q_([50, 72], "g"))
    >>> f"{here.density[1, 1]:.0f~P}, first to run out: {here.limiting[1, 1]}"
    '29 Wh/kg, first to run out: metal ions'

    References
    ----------
    As :class:`cellkit.cell.Cell`.
    """
    values, cells = expect("design", design, Design, EXAMPLE).values, design.block.cells

    def cell(volume, plates):
        grown = plates * cells / values["positive plates"]
        changes = {"positive plates": plates * cells, "capacity": values["capacity"] * grown}
        if metal_of(construction):
            changes["fill volume"] = volume
        else:
            changes["electrolyte"] = volume * values["electrolyte density"] * cells
        return Design.cell.si(Design.varied.si(design, changes), construction)

    volume, plates = np.atleast_1d(volume), np.atleast_1d(plates)
    whole = cell(volume[None, :], plates[:, None])
    nodes = [np.linspace(axis[0], axis[-1], min(len(axis), NODES)) for axis in (volume, plates)]
    volts = Cell.mean_voltage.si(cell(nodes[0][None, :], nodes[1][:, None]))
    columns, rows = (_between(axis, at) for axis, at in zip((volume, plates), nodes, strict=True))
    missing = rows @ np.isnan(volts).astype(float) @ columns.T > 1e-9
    volts = np.where(missing, np.nan, rows @ np.nan_to_num(volts) @ columns.T)
    limits = {name: np.broadcast_to(charge, volts.shape) for name, charge in whole._limits().items()}
    density = Cell.capacity.si(whole) * volts / Cell.mass.si(whole, "block")
    return Landscape(density, limits, whole.limiting)


def _between(axis, nodes):
    """Matrix that interpolates values at ``nodes`` to the points of ``axis``."""
    return np.stack([np.interp(axis, nodes, one) for one in np.eye(len(nodes))], axis=1)
