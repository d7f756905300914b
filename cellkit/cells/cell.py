"""One cell as a value: what it weighs, what limits its charge, what it delivers per kilogram.

A rebuilt cell is described as filled, with all its metal still dissolved. Charging plates metal and makes acid;
discharging takes 2 mol of H2SO4 for each mol of PbO2 and gives back 2 mol of water.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from cellkit.chemistry.activity import ACID, SALT_LIMIT, salt_formula
from cellkit.chemistry.potentials import rest_voltage, rest_voltage_uncertainty
from cellkit.chemistry.solution import Electrolyte
from cellkit.tables.published import FARADAY, METALS, molar_mass
from cellkit.units import (
    Constraint,
    InputError,
    expect,
    fraction,
    gives,
    non_negative,
    one_of,
    positive,
    quantity,
    takes,
)

LEVELS = ("reacting", "plates", "block")
MASS = non_negative("kg", 'Q_(20, "g")')


@dataclass(frozen=True)
class Cell:
    """One cell, made by :func:`build`. Fields are SI floats or arrays that broadcast; the properties are quantities.

    Parameters
    ----------
    electrolyte : Electrolyte
        As filled. Its metal names the negative: copper, zinc, or None for lead.
    pbo2, positive_rest : float [kg]
        Active material and the rest of the positive plates.
    utilisation : float [1]
        Share of the PbO2 that reacts.
    negative_mass : float [kg]
        Lead negatives, or bare felt plates.
    negative_capacity : float [C]
        Most charge the negatives can hold.
    separator, other : float [kg]
        Dry separators; this cell's share of case, lid, straps and terminals.
    positive_charged : bool
        Whether the positives are PbO2 when the cell is filled. If so the first charge gives oxygen, not PbO2.
    """

    electrolyte: Electrolyte
    pbo2: float
    utilisation: float
    positive_rest: float
    negative_mass: float
    negative_capacity: float
    separator: float = 0.0
    other: float = 0.0
    positive_charged: bool = True

    @property
    def negative(self):
        """``"lead"``, ``"copper"`` or ``"zinc"``."""
        return self.electrolyte.metal or "lead"

    def _limits(self):
        """Charge [C] that each reagent allows, by name."""
        mol = 2 * FARADAY
        limits = {"PbO2": self.pbo2 / molar_mass.si("PbO2") * self.utilisation * mol}
        if self.negative == "lead":
            return limits | {"lead": self.negative_capacity, "acid": self.electrolyte.acid / 2 * mol}
        limits |= {"metal ions": self.electrolyte.salt * mol, "felt": self.negative_capacity}
        plated = np.minimum(limits["metal ions"], limits["felt"])
        return limits | {"acid": (self.electrolyte.acid * mol + self._acid_per_metal * plated) / 2}

    @property
    def _acid_per_metal(self):
        return 1 if self.positive_charged else 2

    @property
    def limits(self):
        """Charge that each reagent alone would allow, as a dict of quantities by name."""
        return {name: quantity(charge, "C -> Ah") for name, charge in self._limits().items()}

    @property
    def limiting(self):
        """Name of the reagent that runs out first (an array of names for an array of cells)."""
        limits = self._limits()
        charges = np.stack(np.broadcast_arrays(*limits.values()))
        return np.array(list(limits))[np.argmin(charges, axis=0)]

    @gives("C -> Ah")
    def capacity(self):
        """Charge of one discharge: the least of :attr:`limits`."""
        return np.minimum.reduce(np.broadcast_arrays(*self._limits().values()))

    @takes(depth=fraction())
    def at_depth(self, depth):
        """The :class:`Electrolyte` at a depth of discharge: 0 charged, 1 when the limiting reagent is used up.

        Several depths of several cells get axes of their own, depths first.
        """
        fill, used = self.electrolyte, Cell.capacity.si(self) / (2 * FARADAY)
        acid, salt = fill.acid, fill.salt
        if self.negative != "lead":
            plated = np.maximum(used, (2 * used - fill.acid) / self._acid_per_metal)
            acid, salt = acid + self._acid_per_metal * plated, salt - plated
        shape = np.broadcast_shapes(np.shape(used), np.shape(fill.temperature))
        back = np.reshape(depth, np.shape(depth) + (1,) * len(shape)) * used
        water = fill.water - (acid - fill.acid - 2 * back) * molar_mass.si("H2O")
        salt = np.maximum(salt + back, 0.0) if fill.metal else 0.0
        return Electrolyte(water, np.maximum(acid - 2 * back, 0.0), salt, fill.metal, fill.temperature)

    def _voltage(self, depth, function, **options):
        now = Cell.at_depth.si(self, depth)
        return function.si(self.negative, now.acid / now.water, now.salt / now.water, now.temperature, **options)

    @takes(returns="V", depth=fraction())
    def rest_voltage(self, depth, ideal=False):
        """Rest voltage at a depth of discharge from 0 to 1; ±infinite where a reagent is gone."""
        return self._voltage(depth, rest_voltage, ideal=ideal)

    @takes(returns="V -> mV", depth=fraction())
    def rest_voltage_uncertainty(self, depth):
        """Half-width of the band around :meth:`rest_voltage`."""
        return self._voltage(depth, rest_voltage_uncertainty)

    @cached_property
    def _mean_volts(self):
        nodes, weights = np.polynomial.legendre.leggauss(16)
        return np.tensordot(weights / 2, Cell.rest_voltage.si(self, (nodes + 1) / 2), axes=1)

    @gives("V")
    def mean_voltage(self):
        """Rest voltage averaged over one discharge (16-point Gauss-Legendre)."""
        return self._mean_volts

    @gives("J -> Wh")
    def energy(self):
        """Charge × mean rest voltage: what a discharge without losses would deliver. A load gets less."""
        return Cell.capacity.si(self) * Cell.mean_voltage.si(self)

    def _masses(self):
        return {
            "positive plates": self.pbo2 + self.positive_rest,
            "negative plates": self.negative_mass,
            "electrolyte": Electrolyte.mass.si(self.electrolyte),
            "separators": self.separator,
            "case, lid, straps and terminals": self.other,
        }

    @property
    def masses(self):
        """Mass by part, as a dict of quantities."""
        return {part: quantity(mass, "kg -> g") for part, mass in self._masses().items()}

    def _mass(self, level):
        if one_of("level", level, LEVELS) == "reacting":
            metal = METALS.get(self.negative, "Pb")
            per_mol = sum(n * molar_mass.si(f) for n, f in ((1, "PbO2"), (1, metal), (2, "H2SO4")))
            return Cell.capacity.si(self) / (2 * FARADAY) * per_mol
        return sum(self._masses().values()) - (self.other if level == "plates" else 0.0)

    @takes(returns="kg -> g")
    def mass(self, level="block"):
        """Mass at a level: ``"reacting"`` (PbO2, metal and acid that react), ``"plates"`` (plates, electrolyte and
        separators) or ``"block"`` (with this cell's share of case, lid, straps and terminals)."""
        return self._mass(level)

    @takes(returns="J/kg -> Wh/kg")
    def specific_energy(self, level="block"):
        """Energy at rest voltage per mass at a level; see :meth:`mass`."""
        return Cell.energy.si(self) / self._mass(level)


def refuse_outside_model(arguments, cell):
    """An :class:`InputError` for a cell without charge, or one whose rest voltage the activity model cannot give."""
    np.broadcast_arrays(Cell.capacity.si(cell), *cell._masses().values())  # or the mass of all would fail, later
    empty = [name for name, charge in cell._limits().items() if np.any(charge == 0)]
    if empty:
        raise InputError(f"the cell holds no charge: no {' and no '.join(empty)} to react. Give it some.")
    with np.errstate(invalid="ignore"):
        if not np.any(np.isnan(Cell.mean_voltage.si(cell))):
            return
    ends = [Cell.at_depth.si(cell, depth) for depth in (0.0, 1.0)]
    acid, salt = (
        " to ".join(f"{np.max(getattr(end, name) / end.water):.3g}" for end in ends) for name in ("acid", "salt")
    )
    allowed = ", ".join(f"{limit:g} of {salt_formula(metal)}" for metal, limit in SALT_LIMIT.items())
    raise InputError(
        f"from charged to empty this cell leaves the range of the activity model: acid {acid} mol/kg, metal sulfate "
        f"{salt} mol/kg; allowed are {ACID.high:g} of acid, {allowed}. Try a weaker fill, or more of it."
    )


@takes(
    refuse=refuse_outside_model,
    positive_plates=MASS,
    active_share=fraction("0.6"),
    utilisation=fraction("0.35"),
    negative_plates=MASS,
    negative_capacity=positive("C", 'Q_(10, "Ah")'),
    separators=MASS,
    other=MASS,
)
def build_cell(
    electrolyte,
    positive_plates,
    negative_plates,
    negative_capacity,
    active_share=0.6,
    utilisation=0.35,
    separators=0.0,
    other=0.0,
    positive_charged=True,
):
    """A :class:`Cell` from what a scale and a label tell.

    Parameters
    ----------
    electrolyte : Electrolyte
        As filled; its metal decides the negative.
    positive_plates, negative_plates : Quantity [kg]
        All plates of one cell.
    negative_capacity : Quantity [C]
        Most charge the negatives hold; :func:`cellkit.cells.felt_capacity` for felt.
    active_share, utilisation : float [1]
        PbO2 per mass of positive plate (about 0.6, from memory), and the share of it that reacts.
    separators, other : Quantity [kg]
    positive_charged : bool
        See :class:`Cell`.

    Returns
    -------
    Cell
        Valid where acid stays within 0–7 mol/kg and salt within its solubility over the whole discharge.

    Raises
    ------
    InputError
        For masses below zero, a reagent that is missing, or a composition that leaves the range of the activity model.
        ``.si`` gives a cell with NaN among its volts.

    Examples
    --------
    >>> from cellkit import Q_
    >>> from cellkit.chemistry.solution import from_molarity
    >>> fill = from_molarity(Q_(60, "mL"), acid=Q_(1, "mol/L"), salt=Q_(1, "mol/L"), metal="zinc")
    >>> cell = build_cell(fill, Q_(72, "g"), Q_(6, "g"), Q_(10, "Ah"))
    >>> f"{cell.capacity:.2f~P} limited by {cell.limiting}"
    '3.22 Ah limited by metal ions'

    References
    ----------
    Mass balance of PbO2 + M + 2 H2SO4 = PbSO4 + MSO4 + 2 H2O.
    """
    expect("electrolyte", electrolyte, Electrolyte, "cellkit.chemistry.from_molarity(...)")
    pbo2 = positive_plates * active_share
    rest = positive_plates - pbo2
    return Cell(
        electrolyte, pbo2, utilisation, rest, negative_plates, negative_capacity, separators, other, positive_charged
    )


RATIO = positive("", "0.6")


@takes(
    returns="",
    removed=Constraint("", "0.35", low=0.0, high=0.95),
    returned=fraction("0.05"),
    voltage_ratio=RATIO,
    charge_ratio=RATIO,
)
def specific_energy_ratio(removed, returned=0.0, voltage_ratio=1.0, charge_ratio=1.0):
    """Energy per mass after a rebuild over that before: (V'/V)(Q'/Q) / (1 - f + r).

    Parameters
    ----------
    removed, returned : float [1]
        f and r: mass taken out and put back, as shares of the mass before.
    voltage_ratio, charge_ratio : float [1]
        V'/V and Q'/Q.

    Returns
    -------
    Quantity [1]
        Above 1 the rebuild is ahead.

    Raises
    ------
    InputError
        For a share removed above 0.95, or ratios that are not more than zero.

    Examples
    --------
    >>> f"{specific_energy_ratio(1 / 3):.2f~P}"
    '1.50'

    References
    ----------
    Arithmetic of W = V Q / m.
    """
    return voltage_ratio * np.asarray(charge_ratio) / (1 - np.asarray(removed) + returned)
