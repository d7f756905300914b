"""A block taken apart and weighed: read the learner's list, check that it adds up, turn it into cells."""

from dataclasses import dataclass

from cellkit.cells.cell import build_cell
from cellkit.cells.plates import theoretical_capacity
from cellkit.chemistry.solution import from_density
from cellkit.tables.lists import read_items
from cellkit.units import Constraint, InputError, gives, positive, quantity, takes

_MASS, _COUNT = positive("kg", "20,g"), Constraint("", "3,1", low=1, high=1000, whole=True)
BLOCK_ITEMS = {
    "cells": _COUNT,
    "whole block": _MASS,
    "positive plates": _MASS,
    "number of positive plates": _COUNT,
    "negative plates": _MASS,
    "number of negative plates": _COUNT,
    "separators": _MASS,
    "electrolyte": _MASS,
    "electrolyte density": Constraint("kg/m^3", "1.27,g/mL", low=1000, high=1300),
    "case and lid": _MASS,
    "straps and terminals": _MASS,
    "plate width": positive("m", "40,mm"),
    "plate height": positive("m", "62,mm"),
    "capacity": positive("C", "3.1,Ah"),
}
PARTS = ("positive plates", "negative plates", "separators", "electrolyte", "case and lid", "straps and terminals")
MISSING_MASS = 0.05  # share of the block that may be lost to drips and washing before the list is refused
ACTIVE_SHARE, LEAD_UTILISATION = 0.6, 0.5  # of a plate's mass; of its lead: both from memory


@dataclass(frozen=True)
class Block:
    """A block as weighed. ``values`` maps each of ``ITEMS`` to its SI value, or to an array of them.

    ``active_share`` is the PbO2 or lead in a plate, ``lead_utilisation`` the share of the lead that reacts.
    """

    values: dict
    active_share: float = ACTIVE_SHARE
    lead_utilisation: float = LEAD_UTILISATION

    @property
    def items(self):
        """What was read, as quantities in SI units by item."""
        return {item: quantity(value, BLOCK_ITEMS[item].unit) for item, value in self.values.items()}

    @gives("kg -> g")
    def unaccounted(self):
        """Mass of the whole block less the sum of its parts."""
        return self.values["whole block"] - sum(self.values[part] for part in PARTS)

    @property
    def cells(self):
        """Number of cells."""
        return int(self.values["cells"])

    def _per_cell(self, item):
        return self.values[item] / self.cells

    @gives("kg -> g")
    def negative_plate(self):
        """Mass of one negative plate."""
        return self.values["negative plates"] / self.values["number of negative plates"]

    @gives("m^2 -> cm^2")
    def plate_area(self):
        """One face of one plate."""
        return self.values["plate width"] * self.values["plate height"]

    @gives("")
    def utilisation(self):
        """Share of the PbO2 that the measured capacity used, if ``active_share`` of each positive plate is PbO2."""
        pbo2 = self.active_share * self._per_cell("positive plates")
        return self.values["capacity"] / theoretical_capacity.si(pbo2, "PbO2")

    def electrolyte(self):
        """What one charged cell holds, from its mass and density: an :class:`~cellkit.chemistry.Electrolyte`."""
        return from_density.si(self._per_cell("electrolyte"), self.values["electrolyte density"])

    def _shared(self):
        return {
            "positive_plates": self._per_cell("positive plates"),
            "active_share": self.active_share,
            "utilisation": Block.utilisation.si(self),
            "separators": self._per_cell("separators"),
            "other": self._per_cell("case and lid") + self._per_cell("straps and terminals"),
        }

    @takes()
    def lead_cell(self):
        """One cell of the unmodified block, as a :class:`~cellkit.cells.Cell`."""
        negative = self._per_cell("negative plates")
        charge = self.lead_utilisation * theoretical_capacity.si(self.active_share * negative, "Pb")
        return build_cell.si(self.electrolyte(), negative_plates=negative, negative_capacity=charge, **self._shared())

    @takes(
        negative_plates=positive("kg", 'Q_(6, "g")'),
        negative_capacity=positive("C", 'Q_(10, "Ah")'),
    )
    def rebuilt_cell(self, electrolyte, negative_plates, negative_capacity, positive_charged=True):
        """One :class:`~cellkit.cells.Cell` with its lead negatives replaced; everything else stays as it was weighed.

        ``electrolyte`` is all that is in the cell when filled, with what the separators still held; ``negative_plates``
        all felt plates of one cell; for ``negative_capacity`` see :func:`cellkit.cells.felt_capacity`. With the
        utilisation of PbO2 found in the unmodified block: an assumption, since weaker acid lowers it.
        """
        shared = self._shared() | {"positive_charged": positive_charged}
        return build_cell.si(
            electrolyte, negative_plates=negative_plates, negative_capacity=negative_capacity, **shared
        )


def read_block(name):
    """Read a tear-down list into a :class:`Block`; see :func:`cellkit.tables.read_items` for the form of the file.

    One row for each of ``BLOCK_ITEMS``, in any order and any fitting unit. Refused by row, also where the parts add up
    to more than the block or to less than 95 % of it, or where the capacity is more than the PbO2 can give.

    >>> block = read_block("otter_lane_block.csv")
    >>> f"{block.cells} cells, negative plate {block.negative_plate:.1f~P}"
    '3 cells, negative plate 17.5 g'
    """
    found, where = read_items(name, BLOCK_ITEMS)
    return checked({item: measured.to(BLOCK_ITEMS[item].unit).magnitude for item, measured in found.items()}, where)


def checked(values, where):
    """The :class:`Block` of a list whose last row is ``where``; an InputError if its parts do not fit the whole."""
    block = Block(values)
    gap, whole = Block.unaccounted.si(block), values["whole block"]
    if gap < -0.01 * whole or gap > MISSING_MASS * whole:
        parts = ", ".join(f"{part} {values[part] * 1000:.0f} g" for part in PARTS)
        raise InputError(
            f"{where}: the parts ({parts}) add up to {(whole - gap) * 1000:.0f} g, the whole block weighs "
            f"{whole * 1000:.0f} g. Weigh again what looks wrong; a loss of up to {MISSING_MASS:.0%} is accepted."
        )
    if Block.utilisation.si(block) > 1:
        measured, most = (quantity(values["capacity"] / u, "C -> Ah") for u in (1, Block.utilisation.si(block)))
        raise InputError(
            f"{where}: a capacity of {measured:.3g~P} is more than the positives of one cell can hold, {most:.3g~P} if "
            f"{ACTIVE_SHARE:.0%} of them is PbO2. Give the capacity of the block as measured on it."
        )
    return block
