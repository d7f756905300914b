"""A block taken apart and weighed: read the learner's list, check that it adds up, turn it into cells."""

from dataclasses import dataclass, replace
from functools import partial

from cellkit.cells.cell import Cell, build_cell
from cellkit.cells.plates import theoretical_capacity
from cellkit.chemistry.solution import Electrolyte, from_density
from cellkit.tables.lists import Optional, measured, read_items
from cellkit.tables.published import FARADAY, molar_mass
from cellkit.units import Constraint, InputError, gives, one_of, positive, quantity, said_of, takes

STATES = ("charged", "discharged")
KINDS = ("glass-mat", "flooded")
_DENSITY = replace(from_density.constraints["reading"], example="1.27,g/mL")
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
    "electrolyte density": _DENSITY,
    "case and lid": _MASS,
    "straps and terminals": _MASS,
    "plate width": positive("m", "40,mm"),
    "plate height": positive("m", "62,mm"),
    "capacity": positive("C", "3.1,Ah"),
    "label capacity": Optional(positive("C", "4,Ah")),
    "positives": Optional(partial(one_of, "positives", options=STATES), STATES[0]),
    "charged density": Optional(_DENSITY),
    "kind of block": Optional(partial(one_of, "kind of block", options=KINDS), KINDS[0]),
    "positive thickness": Optional(positive("m", "2,mm")),
    "mat thickness": Optional(positive("m", "2.5,mm")),
    "jar depth": Optional(positive("m", "28,mm")),
}
PARTS = ("positive plates", "negative plates", "separators", "electrolyte", "case and lid", "straps and terminals")
LEAST_USED = 0.01  # of the PbO2; less is a slip of the pen, such as grams written as kilograms: our own bound
MISSING_MASS = 0.05  # share of the block that may be lost to drips and washing before the list is refused
SHORT_OF_CHARGE = 0.97  # of the capacity that was measured has to be in the weighed lead and acid
ACTIVE_SHARE, LEAD_UTILISATION = 0.6, 0.5  # of a plate's mass; of its lead: both from memory


@dataclass(frozen=True)
class Block:
    """A block as weighed. ``values`` maps each of ``BLOCK_ITEMS`` to its SI value, an array of them, a word or None.

    ``active_share`` is the PbO2 or lead in a charged plate, ``lead_utilisation`` the share of the lead that reacts. A
    block that was opened discharged is counted back by the charge that it gave before: PbSO4 was PbO2 and lead, and
    the acid had 2 mol of H2SO4 more and 2 mol of water less for each of them.
    """

    values: dict
    active_share: float = ACTIVE_SHARE
    lead_utilisation: float = LEAD_UTILISATION

    @property
    def items(self):
        """What was read, as quantities in SI units by item."""
        return {item: measured(value, BLOCK_ITEMS[item]) for item, value in self.values.items()}

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

    @property
    def faces(self):
        """Faces of the positives of one cell that look at a negative."""
        positives, negatives = (self._per_cell(f"number of {sign} plates") for sign in ("positive", "negative"))
        return min(2 * positives, 2 * negatives, positives + negatives - 1)

    @gives("m^2 -> cm^2")
    def plate_area(self):
        """One face of one plate."""
        return self.values["plate width"] * self.values["plate height"]

    @property
    def opened_charged(self):
        """Whether the plates were charged when the block was opened."""
        return self.values["positives"] == STATES[0]

    def _sulfate(self):
        """PbSO4 [mol] in the plates of one polarity of one cell, as opened."""
        return 0.0 if self.opened_charged else self.values["capacity"] / (2 * FARADAY)

    def _charged_plates(self, item, lost):
        """Mass [kg] of the plates of one cell when charged; ``lost`` is what PbSO4 has and they have not."""
        return self._per_cell(item) - self._sulfate() * molar_mass.si(lost)

    @gives("")
    def utilisation(self):
        """Share of the PbO2 that the measured capacity used, if ``active_share`` of each positive plate is PbO2."""
        pbo2 = self.active_share * self._charged_plates("positive plates", "SO2")
        return self.values["capacity"] / theoretical_capacity.si(pbo2, "PbO2")

    def wrung(self):
        """What was wrung or poured out of one cell, by mass and density: an :class:`~cellkit.chemistry.Electrolyte`."""
        return from_density.si(self._per_cell("electrolyte"), self.values["electrolyte density"])

    def electrolyte(self):
        """What one charged cell holds, an :class:`~cellkit.chemistry.Electrolyte`: by ``charged density`` if listed."""
        wrung, gained, listed = self.wrung(), 2 * self._sulfate(), self.values.get("charged density")
        water, acid = wrung.water - gained * molar_mass.si("H2O"), wrung.acid + gained
        if listed is not None:
            return from_density.si(water + acid * molar_mass.si("H2SO4"), listed)
        return Electrolyte(water, acid, temperature=wrung.temperature)

    def _shared(self):
        plates = self._per_cell("positive plates")
        return {
            "positive_plates": plates,
            "active_share": self.active_share * self._charged_plates("positive plates", "SO2") / plates,
            "utilisation": Block.utilisation.si(self),
            "separators": self._per_cell("separators"),
            "other": self._per_cell("case and lid") + self._per_cell("straps and terminals"),
        }

    @takes()
    def lead_cell(self):
        """One cell of the unmodified block, as a :class:`~cellkit.cells.Cell`."""
        negative = self._charged_plates("negative plates", "SO4")
        charge = self.lead_utilisation * theoretical_capacity.si(self.active_share * negative, "Pb")
        shared = self._shared() | {
            "positive_plates": self._charged_plates("positive plates", "SO2"),
            "active_share": self.active_share,
        }
        return build_cell.si(self.electrolyte(), negative_plates=negative, negative_capacity=charge, **shared)

    @takes(negative_plates=positive("kg", 'Q_(6, "g")'), negative_capacity=positive("C", 'Q_(10, "Ah")'))
    def rebuilt_cell(self, electrolyte, negative_plates, negative_capacity, positive_charged=True):
        """One :class:`~cellkit.cells.Cell` with its lead negatives replaced; everything else stays as it was weighed.

        ``electrolyte`` is all that is in the cell when filled, with what the separators still held; ``negative_plates``
        all felt plates of one cell; for ``negative_capacity`` see :func:`cellkit.cells.felt_capacity`. With the
        utilisation of PbO2 found in the unmodified block: an assumption, since weaker acid lowers it.
        """
        return build_cell.si(
            electrolyte,
            negative_plates=negative_plates,
            negative_capacity=negative_capacity,
            positive_charged=positive_charged,
            **self._shared(),
        )


def read_block(name):
    """Read a tear-down list into a :class:`Block`; see :func:`cellkit.tables.read_items` for the form of the file.

    One row for each of ``BLOCK_ITEMS``, in any order and any fitting unit. Refused by row, also where the parts add up
    to more than the block or to less than 95 % of it, or where the capacity is more than the PbO2 can give.

    >>> block = read_block("osier_yard_block.csv")
    >>> f"{block.cells} cells, negative plate {block.negative_plate:.1f~P}"
    '3 cells, negative plate 17.5 g'
    """
    found, where = read_items(name, BLOCK_ITEMS)
    with said_of(f"{where}: "):
        return checked(si_values(found))


def si_values(found):
    """What was read of a list, with SI floats in place of quantities."""
    return {item: given.to_base_units().m if hasattr(given, "units") else given for item, given in found.items()}


def checked(values):
    """The :class:`Block` of a list; an InputError if its parts do not fit the whole."""
    block = Block(values)
    for sign in ("positive", "negative"):
        plates = int(values[f"number of {sign} plates"])
        if plates % block.cells:
            raise InputError(f"{plates} {sign} plates do not divide by {block.cells} cells. Count those of all cells.")
    gap, whole = Block.unaccounted.si(block), values["whole block"]
    if gap < -0.01 * whole or gap > MISSING_MASS * whole:
        parts = ", ".join(f"{part} {values[part] * 1000:.0f} g" for part in PARTS)
        raise InputError(
            f"the parts ({parts}) add up to {(whole - gap) * 1000:.0f} g, the whole block weighs "
            f"{whole * 1000:.0f} g. Weigh again what looks wrong; a loss of up to {MISSING_MASS:.0%} is accepted."
            f"{'' if 0.01 * (whole - gap) < whole < 100 * (whole - gap) else ' Are grams written as kilograms?'}"
        )
    used, capacity = Block.utilisation.si(block), quantity(values["capacity"], "C -> Ah")
    if used < LEAST_USED:
        raise InputError(
            f"a block of {quantity(whole, 'kg -> g'):.6g~P} that gives {capacity:.3g~P} uses {used:.1g} of its PbO2. "
            f"Are grams written as kilograms, or Ah as mAh?"
        )
    if used > 1:
        raise InputError(
            f"a capacity of {capacity:.3g~P} is more than the positives of one cell can hold, "
            f"{capacity / used:.3g~P} if {ACTIVE_SHARE:.0%} of them is PbO2. Give the capacity as it was measured."
        )
    cell = block.lead_cell()
    if Cell.capacity.si(cell) < SHORT_OF_CHARGE * values["capacity"]:
        hint = f"Weigh the negatives again ({ACTIVE_SHARE:.0%} of them as lead, {LEAD_UTILISATION:.0%} of that in "
        hint += "use, is from memory)"
        if cell.limiting == "acid":
            hint = "If the block was discharged before it was opened, add a row positives,discharged; if not, weigh "
            hint += "the acid and read its density again"
        raise InputError(
            f"the capacity is {capacity:.3g~P}, but the {cell.limiting} of one cell, as listed, holds "
            f"{cell.capacity:.3g~P}. {hint}."
        )
    return block
