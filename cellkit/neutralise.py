"""Spent electrolyte: how much bicarbonate its acid takes, and how much gas comes off."""

from collections import namedtuple

from cellkit.gas import ATMOSPHERE
from cellkit.reference import GAS, molar_mass
from cellkit.solution import Electrolyte
from cellkit.units import expect, takes

Neutralised = namedtuple("Neutralised", "acid bicarbonate carbon_dioxide gas_volume")
Neutralised.__doc__ = "Acid that is there, bicarbonate that it takes, and the carbon dioxide that comes off."


@takes(returns={"acid": "mol", "bicarbonate": "kg -> g", "carbon_dioxide": "mol", "gas_volume": "m^3 -> L"})
def with_bicarbonate(spent):
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
    >>> from cellkit.solution import from_molarity
    >>> found = with_bicarbonate(from_molarity(Q_(100, "mL"), acid=Q_(1, "mol/L")))
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
