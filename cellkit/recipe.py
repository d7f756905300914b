"""What to weigh out: crystals, stock acid and water for an electrolyte, on top of what the cell still holds."""

from typing import NamedTuple

import numpy as np

from cellkit.activity import salt_formula
from cellkit.reference import METALS, composition, molar_mass
from cellkit.solution import Electrolyte
from cellkit.units import InputError, Kind, takes

HYDRATES = ("CuSO4·5H2O", "CuSO4", "ZnSO4·7H2O", "ZnSO4·H2O", "ZnSO4")
PURITY = Kind("", "0.99", low=0.0, high=1.0, open_low=True)
STOCK = Kind("", "0.37", low=0.0, high=0.6, open_low=True)


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
    >>> from cellkit.solution import from_molarity
    >>> litre = from_molarity(Q_(1, "L"), salt=Q_(1, "mol/L"), metal="copper", temperature=Q_(20, "degC"))
    >>> f"{weigh_out(litre, 'CuSO4·5H2O').crystals:.1f~P}"
    '249.7 g'
    """
    name = str(crystals).replace(".", "·").replace("*", "·")
    if name not in HYDRATES:
        raise InputError(
            f"crystals is {crystals!r}; allowed are {', '.join(HYDRATES)}. Look for one of them on the label."
        )
    if not name.startswith(salt_formula(target.metal)):
        raise InputError(
            f"crystals is {crystals!r}, but the target holds {target.metal}; try {METALS[target.metal]}SO4."
        )
    held = held or Electrolyte(0.0, 0.0, 0.0, target.metal, target.temperature)
    salt, acid = target.salt - held.salt, target.acid - held.acid
    crystal_mass = salt * molar_mass.si(name) / purity
    stock_mass = acid * molar_mass.si("H2SO4") / stock
    bound = salt * (composition(name)["O"] - 4) * molar_mass.si("H2O")
    water = target.water - held.water - bound - stock_mass * (1 - stock)
    for what, missing in (("salt", salt), ("acid", acid), ("water", water)):
        if np.any(np.asarray(missing) < -1e-9):
            raise InputError(
                f"the target needs less {what} than is there already "
                f"({np.min(missing):.3g} {'kg' if what == 'water' else 'mol'}). "
                "Rinse the cell first, take a stronger stock acid, or aim for more volume or acid."
            )
    return Recipe(crystal_mass, stock_mass, np.maximum(water, 0.0)[()])
