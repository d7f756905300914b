"""What to weigh out: crystals, stock acid and water for an electrolyte, on top of what the cell still holds."""

from collections import namedtuple
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from cellkit.chemistry.activity import salt_formula
from cellkit.chemistry.side_reactions import ATMOSPHERE
from cellkit.chemistry.solution import Electrolyte, from_density, from_molality, from_molarity
from cellkit.tables.lists import read_items
from cellkit.tables.published import GAS, METALS, composition, molar_mass
from cellkit.units import Q_, Constraint, InputError, expect, non_negative, positive, shown, takes

HYDRATES = ("CuSO4·5H2O", "CuSO4", "ZnSO4·7H2O", "ZnSO4·H2O", "ZnSO4")
PURITY = Constraint("", "0.99", low=0.0, high=1.0, open_low=True)
MAKE = "cellkit.chemistry.from_molarity(...)"
STOCK = Constraint("", "0.37", low=0.0, high=0.6, open_low=True)


def _label(crystals):
    """The formula of ``HYDRATES`` that a label means."""
    name = str(crystals).replace(" ", "").replace(".", "·").replace("*", "·")
    if name not in HYDRATES:
        raise InputError(f"crystals is {shown(crystals)}; allowed are {', '.join(HYDRATES)}. Read the label again.")
    return name


class Recipe(NamedTuple):
    """What to weigh out: crystals, stock acid and water."""

    crystals: object
    stock_acid: object
    water: object


@takes(returns=dict.fromkeys(Recipe._fields, "kg -> g"), purity=PURITY, stock=STOCK)
def weigh_out(target, crystals, held=None, purity=1.0, stock=0.37):
    """Masses that make ``target``, counting the water in the crystals and whatever the cell still holds.

    crystals = (n_target - n_held)(salt) M(hydrate) / purity; stock acid = (n_target - n_held)(acid) M(H2SO4) / w;
    water is what is still missing after the water that came with both.

    Parameters
    ----------
    target : Electrolyte
        What has to be in the cell when all is mixed.
    crystals : str
        The salt on the label, one of ``HYDRATES``.
    held : Electrolyte or None
        What separator and plates still hold.
    purity : float [1]
        Mass fraction of ``crystals`` that is the salt named.
    stock : float [1]
        Mass fraction of H2SO4 in the stock acid; 0.37 is ordinary battery acid (common practice, no source).

    Returns
    -------
    Recipe [g]
        Named tuple ``crystals``, ``stock_acid``, ``water``.

    Raises
    ------
    InputError
        For crystals that are not known or of the other metal, or where the cell already holds more acid, salt or
        water than the target.

    Examples
    --------
    >>> from cellkit import Q_
    >>> from cellkit.chemistry.solution import from_molarity
    >>> litre = from_molarity(Q_(1, "L"), salt=Q_(1, "mol/L"), metal="copper", temperature=Q_(20, "degC"))
    >>> f"{weigh_out(litre, 'CuSO4·5H2O').crystals:.1f~P}"
    '249.7 g'

    References
    ----------
    Mass balance; constants as in :mod:`cellkit.tables.published`.
    """
    name = _label(crystals)
    expect("target", target, Electrolyte, MAKE)
    held = Electrolyte(0.0, 0.0, 0.0, target.metal, target.temperature) if held is None else held
    expect("held", held, Electrolyte, MAKE)
    if held.metal not in (None, target.metal):
        raise InputError(f"the cell still holds {held.metal}, the target holds {target.metal}; rinse it out first.")
    if not name.startswith(salt_formula(target.metal)):
        raise InputError(
            f"crystals is {crystals!r}, but the target holds {target.metal}; try {METALS[target.metal]}SO4."
        )
    salt, acid = target.salt - held.salt, target.acid - held.acid
    crystal_mass = salt * molar_mass.si(name) / purity
    stock_mass = acid * molar_mass.si("H2SO4") / stock
    bound = salt * (composition(name)["O"] - 4) * molar_mass.si("H2O")
    water = target.water - held.water - bound - stock_mass * (1 - stock)
    tries = {
        "salt": (salt, "mol", "Press or rinse the cell first, or aim for more salt or volume."),
        "acid": (acid, "mol", "Press or rinse the cell first, or aim for more acid or volume."),
        "water": (water, "kg", "Press the cell first, take a stronger stock acid, or aim for more volume."),
    }
    for what, (missing, unit, hint) in tries.items():
        if np.any(np.asarray(missing) < -1e-9):
            excess = -np.min(missing)
            raise InputError(f"there is {excess:.3g} {unit} more {what} already than the target needs. {hint}")
    return Recipe(crystal_mass, stock_mass, np.maximum(water, 0.0)[()])


_MOLARITY = non_negative("mol/m^3", "1,mol/L")
PLAN_ITEMS = {
    "target volume": positive("m^3", "150,mL"),
    "target salt": _MOLARITY,
    "target acid": _MOLARITY,
    "crystals": _label,
    "purity": PURITY,
    "temperature": Constraint("K", "20,degC", low=273.15, high=318.15),
    "coldest storage": Constraint("K", "5,degC", low=273.15, high=318.15),
    "held volume": non_negative("m^3", "30,mL"),
    "held acid": (Constraint("kg/m^3", "1.27,g/mL", low=1000.0, high=1300.0), _MOLARITY),
    "stock acid": STOCK,
}


@dataclass(frozen=True)
class ElectrolytePlan:
    """What a learner wants to have in the cells. ``items`` maps each of ``ITEMS`` to what the list says."""

    items: dict

    @property
    def metal(self):
        """``"copper"`` or ``"zinc"``: what the crystals hold."""
        return next(metal for metal, symbol in METALS.items() if self.items["crystals"].startswith(symbol))

    def target(self):
        """The finished :class:`~cellkit.chemistry.Electrolyte`; an :class:`InputError` if it cannot dissolve."""
        volume, salt, acid = (self.items[f"target {what}"] for what in ("volume", "salt", "acid"))
        return from_molarity(volume, acid, salt, self.metal, self.items["temperature"])

    def held(self):
        """What separators and plates still hold: battery acid by its density or its mol/L, nothing if they are dry."""
        volume, acid, temperature = (self.items[name] for name in ("held volume", "held acid", "temperature"))
        if volume.magnitude == 0:
            return Electrolyte(0.0, 0.0, temperature=temperature.to("K").magnitude)
        if acid.check("[mass]/[volume]"):
            return from_density(volume * acid, acid, temperature)
        return from_molarity(volume, acid, temperature=temperature)

    def recipe(self):
        """What to weigh out for the bottle, a :class:`Recipe`; an :class:`InputError` if it would not dissolve."""
        self.bottle()
        return self._weigh_out()

    def bottle(self):
        """What the recipe makes before it meets what is held, an :class:`~cellkit.chemistry.Electrolyte`."""
        self._weigh_out()
        target, held = self.target(), self.held()
        water, acid = target.water - held.water, target.acid - held.acid
        strengths = Q_(acid / water, "mol/kg"), Q_(target.salt / water, "mol/kg")
        try:
            return from_molality(Q_(water, "kg"), *strengths, self.metal, Q_(target.temperature, "K"))
        except InputError as error:
            raise InputError(f"before the bottle meets what is held, {error}") from None

    def _weigh_out(self):
        items = self.items
        return weigh_out(self.target(), items["crystals"], self.held(), items["purity"], items["stock acid"])


def read_electrolyte_plan(name):
    """Read a plan for an electrolyte; see :func:`cellkit.tables.read_items` for the form of the file.

    Parameters
    ----------
    name : str or path
        The learner's own CSV, or the name of a file in ``data/bench``; one row for each of ``ITEMS``. The unit of
        ``held acid`` says whether a float read it (g/mL) or it is known in mol/L.

    Returns
    -------
    Plan

    Raises
    ------
    InputError
        Naming the row.

    Examples
    --------
    >>> plan = read_electrolyte_plan("otter_lane_electrolyte.csv")
    >>> f"{plan.metal}: {plan.recipe().crystals:.1f~P} of {plan.items['crystals']}"
    'copper: 22.7 g of CuSO4·5H2O'
    """
    return ElectrolytePlan(read_items(name, PLAN_ITEMS)[0])


Neutralised = namedtuple("Neutralised", "acid bicarbonate carbon_dioxide gas_volume")
Neutralised.__doc__ = "Acid that is there, bicarbonate that it takes, and the carbon dioxide that comes off."


@takes(returns={"acid": "mol", "bicarbonate": "kg -> g", "carbon_dioxide": "mol", "gas_volume": "m^3 -> L"})
def neutralise(spent):
    """What the acid of a spent electrolyte takes: 2 NaHCO3 + H2SO4 → Na2SO4 + 2 H2O + 2 CO2.

    Add it slowly, in a wide open vessel, goggles on: it foams. The metal stays, dissolved or as sludge, and stays
    poisonous: it goes to the local hazardous-waste point, nothing down the drain. Local rules say whether they want
    it neutralised at all; many places take battery acid as it is.

    Parameters
    ----------
    spent : Electrolyte
        All of it: several cells are ``cell + cell``, or amounts that many times larger.

    Returns
    -------
    Neutralised [mol], [g], [L]
        The least that neutralises the acid; the gas dry, at one atmosphere and the temperature of ``spent``. Metal
        sulfate takes up to 2 mol more for each mol, as it falls out as sludge. Stop when it no longer fizzes and a
        test paper says 6 to 8.

    Raises
    ------
    InputError
        For anything that is not an electrolyte.

    Examples
    --------
    >>> from cellkit import Q_
    >>> from cellkit.chemistry.solution import from_molarity
    >>> found = neutralise(from_molarity(Q_(100, "mL"), acid=Q_(1, "mol/L")))
    >>> f"{found.bicarbonate:.1f~P} give {found.gas_volume:.1f~P}"
    '16.8 g give 4.9 L'

    References
    ----------
    Balance of the reaction; the ideal gas.
    """
    expect("spent", spent, Electrolyte, "cell.at_depth(1)")
    gas = 2 * spent.acid
    volume = gas * GAS * spent.temperature / ATMOSPHERE
    return Neutralised(spent.acid, gas * molar_mass.si("NaHCO3"), gas, volume)
