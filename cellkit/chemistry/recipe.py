"""What to weigh out: crystals, stock acid and water for an electrolyte, on top of what the cell still holds; soda."""

from collections import namedtuple
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from cellkit.chemistry.side_reactions import ATMOSPHERE
from cellkit.chemistry.solution import CONCENTRATION, Electrolyte, from_density, from_molality, from_molarity
from cellkit.tables.lists import read_items
from cellkit.tables.metals import HYDRATES, bound_water, read_label
from cellkit.tables.published import GAS, molar_mass
from cellkit.units import Q_, TEMPERATURE, Constraint, InputError, expect, non_negative, positive, said_of, takes

PURITY = Constraint("", "0.99", low=0.0, high=1.0, open_low=True)
MAKE = "cellkit.chemistry.from_molarity(...)"
STOCK = Constraint("", "0.37", low=0.0, high=0.6, open_low=True)


class Recipe(NamedTuple):
    """What to weigh out: crystals, stock acid and water."""

    crystals: object
    stock_acid: object
    water: object


@takes(returns=dict.fromkeys(Recipe._fields, "kg -> g"), purity=PURITY, stock=STOCK)
def weigh_out(target, crystals, held=None, purity=1.0, stock=0.37):
    """The :class:`Recipe` of ``target``, counting the water in the crystals and whatever the cell still holds.

    crystals = (n_target - n_held)(salt) M(hydrate) / purity; stock acid = (n_target - n_held)(acid) M(H2SO4) / w;
    water is what is still missing after the water that came with both. ``crystals`` is the formula on the label, one of
    ``HYDRATES``; ``purity`` the mass fraction of it that is the salt named; ``stock`` the mass fraction of H2SO4 in the
    stock acid (0.37 is ordinary battery acid, common practice, no source). A cell that already holds more acid, salt or
    water than the target is refused.

    Source: mass balance.

    >>> from cellkit import Q_
    >>> from cellkit.chemistry import from_molarity
    >>> litre = from_molarity(Q_(1, "L"), salt=Q_(1, "mol/L"), metal="copper", temperature=Q_(20, "degC"))
    >>> f"{weigh_out(litre, 'CuSO4·5H2O').crystals:.1f~P}"
    '249.7 g'
    """
    name = read_label(crystals)
    expect("target", target, Electrolyte, MAKE)
    held = Electrolyte(0.0, 0.0, 0.0, target.metal, target.temperature) if held is None else held
    expect("held", held, Electrolyte, MAKE)
    if held.metal not in (None, target.metal):
        raise InputError(f"the cell still holds {held.metal}, the target holds {target.metal}; rinse it out first.")
    if HYDRATES[name].name != target.metal:
        raise InputError(
            f"crystals is {crystals!r}, a salt of {HYDRATES[name].name}, but the target holds "
            f"{target.metal or 'acid only'}. "
            f"Try {next((label for label, metal in HYDRATES.items() if metal.name == target.metal), 'another target')}."
        )
    salt, acid = target.salt - held.salt, target.acid - held.acid
    crystal_mass = salt * molar_mass.si(name) / purity
    stock_mass = acid * molar_mass.si("H2SO4") / stock
    water = target.water - held.water - salt * bound_water(name) * molar_mass.si("H2O") - stock_mass * (1 - stock)
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


PLAN_ITEMS = {
    "target volume": positive("m^3", "150,mL"),
    "target salt": CONCENTRATION,
    "target acid": CONCENTRATION,
    "crystals": read_label,
    "purity": PURITY,
    "temperature": TEMPERATURE,
    "coldest storage": TEMPERATURE,
    "held volume": non_negative("m^3", "30,mL"),
    "held acid": (Constraint("kg/m^3", "1.27,g/mL", low=1000.0, high=1300.0), CONCENTRATION),
    "stock acid": STOCK,
}


@dataclass(frozen=True)
class ElectrolytePlan:
    """What a learner wants to have in the cells. ``items`` maps each of ``PLAN_ITEMS`` to what the list says."""

    items: dict

    @property
    def metal(self):
        """Name of the metal that the crystals hold."""
        return HYDRATES[self.items["crystals"]].name

    def target(self):
        """The finished :class:`~cellkit.chemistry.Electrolyte`; an :class:`InputError` if it cannot dissolve."""
        volume, salt, acid = (self.items[f"target {what}"] for what in ("volume", "salt", "acid"))
        return from_molarity(volume, acid, salt, self.metal, self.items["temperature"])

    def held(self):
        """What separator and plates still hold: battery acid by its density or its mol/L, nothing if they are dry."""
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
        with said_of("before the bottle meets what is held, "):
            return from_molality(Q_(water, "kg"), *strengths, self.metal, Q_(target.temperature, "K"))

    def _weigh_out(self):
        items = self.items
        return weigh_out(self.target(), items["crystals"], self.held(), items["purity"], items["stock acid"])


def read_electrolyte_plan(name):
    """Read an :class:`ElectrolytePlan`, a list with a row for each of ``PLAN_ITEMS``.

    ``name`` is the learner's own CSV or a file in ``data/bench``. The unit of ``held acid`` says whether a hydrometer
    read it (g/mL) or it is known in mol/L.

    >>> plan = read_electrolyte_plan("osier_yard_electrolyte.csv")
    >>> f"{plan.metal}: {plan.recipe().crystals:.1f~P} of {plan.items['crystals']}"
    'copper: 22.7 g of CuSO4·5H2O'
    """
    return ElectrolytePlan(read_items(name, PLAN_ITEMS)[0])


Neutralised = namedtuple("Neutralised", "acid bicarbonate carbon_dioxide gas_volume")
Neutralised.__doc__ = "Acid that is there, bicarbonate that it takes, and the carbon dioxide that comes off."


@takes(returns={"acid": "mol", "bicarbonate": "kg -> g", "carbon_dioxide": "mol", "gas_volume": "m^3 -> L"})
def neutralise(spent):
    """What the acid of a spent electrolyte takes, as :class:`Neutralised`: 2 NaHCO3 + H2SO4 → Na2SO4 + 2 H2O + 2 CO2.

    Add it slowly, in a wide open vessel, goggles on: it foams. The metal stays, dissolved or as sludge, and stays
    poisonous: it goes to the local hazardous-waste point, nothing down the drain. Local rules say whether they want
    it neutralised at all; many places take battery acid as it is.

    The least that neutralises the acid; the gas dry, at one atmosphere and the temperature of ``spent``. Metal sulfate
    takes up to 2 mol more for each mol, as it falls out as sludge. Stop when it no longer fizzes and a test paper says
    6 to 8. Source: balance of the reaction; the ideal gas.

    >>> from cellkit import Q_
    >>> from cellkit.chemistry import from_molarity
    >>> found = neutralise(from_molarity(Q_(100, "mL"), acid=Q_(1, "mol/L")))
    >>> f"{found.bicarbonate:.1f~P} give {found.gas_volume:.1f~P}"
    '16.8 g give 4.9 L'
    """
    expect("spent", spent, Electrolyte, "cell.at_depth(1)")
    gas = 2 * spent.acid
    volume = gas * GAS * spent.temperature / ATMOSPHERE
    return Neutralised(spent.acid, gas * molar_mass.si("NaHCO3"), gas, volume)
