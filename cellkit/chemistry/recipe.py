"""What to weigh out: crystals, stock acid and water for an electrolyte, on top of what the cell still holds; soda."""

from collections import namedtuple

import numpy as np

from cellkit.chemistry.side_reactions import ATMOSPHERE
from cellkit.chemistry.solution import Electrolyte, from_molality
from cellkit.tables.metals import HYDRATES, METALS, bound_water, read_label
from cellkit.tables.published import GAS, molar_mass
from cellkit.units import Constraint, InputError, expect, said_of, takes

PURITY = Constraint("", "0.99", low=0.0, high=1.0, open_low=True)
MAKE = "cellkit.chemistry.from_molarity(...)"
STOCK = Constraint("", "0.37", low=0.0, high=0.6, open_low=True)  # stronger acid has no place in this course
TOO_MUCH = {  # of what a cell holds already: the unit, and what to try
    "salt": ("mol", "Press or rinse the cell first, or aim for more salt or volume."),
    "acid": ("mol", "Press or rinse the cell first, or aim for more acid or volume."),
    "water": ("kg", "Press the cell first, take a stronger stock acid, or aim for more volume."),
}


class Recipe(namedtuple("Recipe", "crystals stock_acid water")):
    """What to weigh out: crystals, stock acid and water."""


@takes(returns=dict.fromkeys(Recipe._fields, "kg -> g"), purity=PURITY, stock=STOCK)
def weigh_out(target, crystals, purity=1.0, stock=0.37):
    """The :class:`Recipe` of ``target``, counting the water in the crystals and in the stock acid.

    crystals = n(salt) M(hydrate) / purity; stock acid = n(acid) M(H2SO4) / w; water is what is still missing after the
    water that came with both. ``crystals`` is the formula on the label, one of ``HYDRATES``; ``purity`` the mass
    fraction of it that is the salt named; ``stock`` the mass fraction of H2SO4 in the stock acid (0.37 is ordinary
    battery acid, common practice, no source). On top of what a cell holds: the recipe of :func:`to_pour`.
    Source: mass balance.

    >>> litre = ck.chemistry.from_molarity(Q_(1, "L"), salt=Q_(1, "mol/L"), metal="copper", temperature=Q_(20, "degC"))
    >>> f"{weigh_out(litre, 'CuSO4·5H2O').crystals:.1f~P}"
    '249.7 g'
    """
    name = read_label(crystals)
    expect("target", target, Electrolyte, MAKE)
    if HYDRATES[name].name != target.metal:
        hint = METALS[target.metal].hydrates[0] if target.metal else "another target"
        given = f"crystals is {crystals!r}, a salt of {HYDRATES[name].name}"
        raise InputError(f"{given}, but the target holds {target.metal or 'acid only'}. Try {hint}.")
    stock_mass = target.acid * molar_mass.si("H2SO4") / stock
    brought = target.salt * bound_water(name) * molar_mass.si("H2O") + stock_mass * (1 - stock)
    _none_too_much(water=target.water - brought)
    crystal_mass = target.salt * molar_mass.si(name) / purity
    return Recipe(crystal_mass, stock_mass, np.maximum(target.water - brought, 0.0)[()])


@takes()
def to_pour(target, held):
    """What poured on ``held`` makes ``target``: target less held, both :class:`~cellkit.chemistry.Electrolyte`.

    A cell that already holds more acid, salt or water than the target is refused, and so is a pour that would not
    dissolve before it meets what is held. Source: mass balance.

    >>> wanted = ck.chemistry.from_molarity(Q_(50, "mL"), Q_(1, "mol/L"), Q_(0.6, "mol/L"), "copper")
    >>> poured = to_pour(wanted, ck.chemistry.from_molarity(Q_(8, "mL"), Q_(4.5, "mol/L")))
    >>> f"{poured.acid_molarity:.2f~P} of acid, {poured.salt_molarity:.2f~P} of salt"
    '0.33 mol/L of acid, 0.71 mol/L of salt'
    """
    expect("target", target, Electrolyte, MAKE)
    expect("held", held, Electrolyte, MAKE)
    if held.metal not in (None, target.metal):
        raise InputError(f"the cell still holds {held.metal}, the target holds {target.metal}; rinse it out first.")
    missing = {name: getattr(target, name) - getattr(held, name) for name in TOO_MUCH}
    _none_too_much(**missing)
    poured = Electrolyte(missing["water"], missing["acid"], missing["salt"], target.metal, target.temperature)
    if np.any(poured.salt) or np.any(poured.acid):
        with said_of("before it meets what is held, "):
            from_molality.si(poured.water, *poured.molalities, poured.metal, poured.temperature)
    return poured


def _none_too_much(**missing):
    """An InputError where less than nothing is missing."""
    for what, much in missing.items():
        if np.any(np.asarray(much) < -1e-9):
            unit, hint = TOO_MUCH[what]
            raise InputError(f"there is {-np.min(much):.3g} {unit} more {what} already than the target needs. {hint}")


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

    >>> found = neutralise(ck.chemistry.from_molarity(Q_(100, "mL"), acid=Q_(1, "mol/L")))
    >>> f"{found.bicarbonate:.1f~P} give {found.gas_volume:.1f~P}"
    '16.8 g give 4.9 L'
    """
    expect("spent", spent, Electrolyte, "cell.at_depth(1)")
    gas = 2 * spent.acid
    volume = gas * GAS * spent.temperature / ATMOSPHERE
    return Neutralised(spent.acid, gas * molar_mass.si("NaHCO3"), gas, volume)
