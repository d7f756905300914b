"""One cell as a value: what it weighs, what limits its charge, what it delivers per kilogram.

A rebuilt cell is described as filled, with all its metal still dissolved. Charging plates metal and makes acid;
discharging takes 2 mol of H2SO4 for each mol of PbO2 and gives back 2 mol of water.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from cellkit.chemistry.potentials import rest_voltage, rest_voltage_uncertainty
from cellkit.chemistry.roots import root
from cellkit.chemistry.solution import Electrolyte
from cellkit.tables.metals import METALS
from cellkit.tables.published import FARADAY, molar_mass
from cellkit.units import (
    Constraint,
    InputError,
    expect,
    fraction,
    gives,
    non_negative,
    one_of,
    only_where,
    positive,
    quantity,
    quietly,
    said_of,
    speaking,
    takes,
)

LEVELS = ("reacting", "plates", "block")
MASS = non_negative("kg", 'Q_(20, "g")')

# Depths and weights that average over one discharge: Gauss-Legendre in t, with x = t³ (10 - 15 t + 6 t²). A reagent
# that runs out lets the voltage fall like a logarithm of what is left; in t that is smooth.
_POINTS, _SHARES = np.polynomial.legendre.leggauss(8)
_T = (_POINTS + 1) / 2
NODES, WEIGHTS = _T**3 * (10 - 15 * _T + 6 * _T**2), _SHARES * 15 * _T**2 * (1 - _T) ** 2


@dataclass(frozen=True)
class Cell:
    """One cell, made by :func:`build_cell`. Fields are SI floats or arrays; the properties are quantities.

    ``electrolyte`` is as filled; its metal names the negative, None for lead. ``pbo2`` and ``positive_rest`` [kg] make
    the positive plates; ``utilisation`` is the share of the PbO2 that reacts. ``negative_mass`` [kg] is lead negatives
    or bare felt plates, ``negative_capacity`` [C] the most charge they hold. ``separator`` is dry, ``other`` this
    cell's share of case, lid, straps and terminals [kg]. ``positive_charged``: whether the positives are PbO2 when
    the cell is filled; if so the first charge gives oxygen, not PbO2.
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
        """``"lead"`` or the name of the metal that plates."""
        return self.electrolyte.metal or "lead"

    def _limits(self):
        """Charge [C] that each reagent allows, by name; the acid is that of the cell when charged."""
        mol = 2 * FARADAY
        limits = {"PbO2": self.pbo2 / molar_mass.si("PbO2") * self.utilisation * mol}
        if self.negative == "lead":
            return limits | {"lead": self.negative_capacity, "acid": self.electrolyte.acid / 2 * mol}
        limits |= {"metal ions": self.electrolyte.salt * mol, "felt": self.negative_capacity}
        plated = np.minimum(limits["metal ions"], limits["felt"])
        return limits | {"acid": (self.electrolyte.acid * mol + self._acid_per_metal * plated) / 2}

    @property
    def _acid_per_metal(self):
        return 1 if self.positive_charged else 2  # mol that the first charge makes for each mol that it plates

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
            # plated is what a discharge uses, or more where only that makes the acid which the discharge takes
            plated = np.maximum(used, (2 * used - fill.acid) / self._acid_per_metal)
            acid, salt = acid + self._acid_per_metal * plated, salt - plated
        shape = np.broadcast_shapes(np.shape(used), np.shape(fill.temperature))
        back = np.reshape(depth, np.shape(depth) + (1,) * len(shape)) * used
        water = fill.water - (acid - fill.acid - 2 * back) * molar_mass.si("H2O")
        if fill.metal:  # what rounding leaves of a reagent that is gone is nothing
            salt = np.where(salt + back > 1e-12 * fill.salt, salt + back, 0.0)[()]
        acid = np.where(acid - 2 * back > 1e-12 * acid, acid - 2 * back, 0.0)[()]
        return Electrolyte(water, acid, salt, fill.metal, fill.temperature)

    def _voltage(self, depth, function, **options):
        now = Cell.at_depth.si(self, depth)
        return function.si(self.negative, *now.molalities, now.temperature, **options)

    @takes(returns="V", depth=fraction())
    def rest_voltage(self, depth, ideal=False):
        """Rest voltage at a depth of discharge from 0 to 1; ±infinite where a reagent is gone."""
        with quietly():  # an end without a reagent is no mistake
            return self._voltage(depth, rest_voltage, ideal=ideal)

    @takes(returns="V -> mV", depth=fraction())
    def rest_voltage_uncertainty(self, depth):
        """Half-width of the band around :meth:`rest_voltage`."""
        with quietly():
            return self._voltage(depth, rest_voltage_uncertainty)

    @takes(returns="", voltage=positive("V", 'Q_(1.2, "V")'))
    def state_of_charge(self, voltage):
        """Share of the charge that is left in a rested cell: 1 - depth where :meth:`rest_voltage` is ``voltage``.

        Of one cell, at the temperature of its electrolyte. It may be off by :meth:`rest_voltage_uncertainty` over the
        slope of the curve there. Refused, or NaN, outside the volts of the full and the empty cell.

        >>> cell = ck.cells.read_block("osier_yard_block.csv").lead_cell()
        >>> f"{cell.state_of_charge(cell.rest_voltage(0.3)).to('percent'):.1f~P}"
        '70.0 %'
        """
        voltage, ends = np.asarray(voltage, float), (1e-9, 1 - 1e-9)  # at 0 and 1 volts may be infinite
        full, empty = Cell.rest_voltage.si(self, ends)
        if np.ndim(full):
            raise InputError(f"this cell stands for {full.size}; the state of charge is that of one. Build one alone.")
        with quietly():
            middle = np.full(voltage.shape, 0.5)
            depth = root(lambda x: self._voltage(x, rest_voltage) - voltage, middle, -0.1, *ends, close=1e-10)
        known, allowed = np.isfinite(depth), f"allowed is from {empty:.4g} V (this cell empty) to {full:.4g} V (full)"
        why = "voltage is {:.4g} V; {}. Let it rest until its volts stand still, or mend its fill.".format
        return only_where(known, 1 - depth, lambda: why(voltage[~known].flat[0], allowed))

    @cached_property
    def _mean_volts(self):
        return np.tensordot(WEIGHTS, self._voltage(NODES, rest_voltage), axes=1)

    @gives("V")
    def mean_voltage(self):
        """Rest voltage averaged over one discharge: ∫ E dx over depth x, within 0.05 mV by 8 nodes."""
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

    @takes(returns="kg -> g")
    def mass(self, level="block"):
        """Mass at a level: ``"reacting"`` (PbO2, metal and acid that react), ``"plates"`` (plates, electrolyte and
        separators) or ``"block"`` (with this cell's share of case, lid, straps and terminals)."""
        if one_of("level", level, LEVELS) == "reacting":
            metal = "Pb" if self.negative == "lead" else METALS[self.negative].symbol
            per_mol = sum(n * molar_mass.si(f) for n, f in ((1, "PbO2"), (1, metal), (2, "H2SO4")))
            return Cell.capacity.si(self) / (2 * FARADAY) * per_mol
        return sum(self._masses().values()) - (self.other if level == "plates" else 0.0)

    @takes(returns="J/kg -> Wh/kg")
    def specific_energy(self, level="block"):
        """Energy at rest voltage per mass at a level; see :meth:`mass`."""
        return Cell.energy.si(self) / Cell.mass.si(self, level)


def checked(cell):
    """``cell``; in a learner's call words about one without charge, or whose rest voltage the model cannot give."""
    if not speaking():
        return cell
    np.broadcast_arrays(Cell.capacity.si(cell), *cell._masses().values())  # or the mass of all would fail, later
    empty = [name for name, charge in cell._limits().items() if np.any(charge == 0)]
    if empty:
        raise InputError(f"the cell holds no charge: no {' and no '.join(empty)} to react. Give it some.")
    with said_of("from charged to empty this cell leaves the range of the activity model: "):
        Cell.mean_voltage.si(cell)
    return cell


@takes(
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

    ``positive_plates``, ``negative_plates`` are all plates of one cell; ``active_share`` is the PbO2 per mass of
    positive plate (about 0.6, from memory) and ``utilisation`` the share of it that reacts. ``negative_capacity``:
    for felt see :func:`cellkit.cells.felt_capacity`. Valid where acid stays within the activity model and salt within
    its solubility over the whole discharge; ``.si`` gives a cell with NaN among its volts.
    Source: mass balance of PbO2 + M + 2 H2SO4 = PbSO4 + MSO4 + 2 H2O.

    >>> fill = ck.chemistry.from_molarity(Q_(60, "mL"), acid=Q_(1, "mol/L"), salt=Q_(1, "mol/L"), metal="zinc")
    >>> cell = build_cell(fill, Q_(72, "g"), Q_(6, "g"), Q_(10, "Ah"))
    >>> f"{cell.capacity:.2f~P} limited by {cell.limiting}"
    '3.22 Ah limited by metal ions'
    """
    expect("electrolyte", electrolyte, Electrolyte, "cellkit.chemistry.from_molarity(...)")
    pbo2 = positive_plates * active_share
    plates = pbo2, utilisation, positive_plates - pbo2, negative_plates, negative_capacity
    return checked(Cell(electrolyte, *plates, separators, other, positive_charged))


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

    ``removed`` f and ``returned`` r are mass taken out and put back, as shares of the mass before. Above 1 the rebuild
    is ahead. Source: arithmetic of W = V Q / m.

    >>> f"{specific_energy_ratio(1 / 3):.2f~P}"
    '1.50'
    """
    return voltage_ratio * np.asarray(charge_ratio) / (1 - np.asarray(removed) + returned)


@takes(returns="", removed=fraction("0.35"))
def shortcut_ratio(removed):
    """Energy per mass after over before as the shortcut has it: 1 + f, the share removed read as a gain.

    Never valid: :func:`specific_energy_ratio` divides by what is left. Shown to be compared with it.
    Source: common practice, no source.

    >>> f"{shortcut_ratio(1 / 3):.2f~P}"
    '1.33'
    """
    return 1 + np.asarray(removed)
