"""What to weigh out: crystals, stock acid and water for an electrolyte, on top of what the cell still holds."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from cellkit.activity import salt_formula
from cellkit.bench_csv import read_items
from cellkit.reference import METALS, composition, molar_mass
from cellkit.solution import Electrolyte, from_density, from_molality, from_molarity
from cellkit.units import Q_, InputError, Kind, expect, not_negative, positive, shown, takes

HYDRATES = ("CuSO4·5H2O", "CuSO4", "ZnSO4·7H2O", "ZnSO4·H2O", "ZnSO4")
PURITY = Kind("", "0.99", low=0.0, high=1.0, open_low=True)
MAKE = "cellkit.solution.from_molarity(...)"
STOCK = Kind("", "0.37", low=0.0, high=0.6, open_low=True)


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
    >>> from cellkit.solution import from_molarity
    >>> litre = from_molarity(Q_(1, "L"), salt=Q_(1, "mol/L"), metal="copper", temperature=Q_(20, "degC"))
    >>> f"{weigh_out(litre, 'CuSO4·5H2O').crystals:.1f~P}"
    '249.7 g'

    References
    ----------
    Mass balance; constants as in :mod:`cellkit.reference`.
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


_MOLARITY = not_negative("mol/m^3", "1,mol/L")
ITEMS = {
    "target volume": positive("m^3", "150,mL"),
    "target salt": _MOLARITY,
    "target acid": _MOLARITY,
    "crystals": _label,
    "purity": PURITY,
    "temperature": Kind("K", "20,degC", low=273.15, high=318.15),
    "coldest storage": Kind("K", "5,degC", low=273.15, high=318.15),
    "held volume": not_negative("m^3", "30,mL"),
    "held acid": (Kind("kg/m^3", "1.27,g/mL", low=1000.0, high=1300.0), _MOLARITY),
    "stock acid": STOCK,
}


@dataclass(frozen=True)
class Plan:
    """What a learner wants to have in the cells. ``items`` maps each of ``ITEMS`` to what the list says."""

    items: dict

    @property
    def metal(self):
        """``"copper"`` or ``"zinc"``: what the crystals hold."""
        return next(metal for metal, symbol in METALS.items() if self.items["crystals"].startswith(symbol))

    def target(self):
        """The finished :class:`~cellkit.solution.Electrolyte`; an :class:`InputError` if it cannot dissolve."""
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
        """What the recipe makes before it meets what is held, an :class:`~cellkit.solution.Electrolyte`."""
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


def read_plan(name):
    """Read a plan for an electrolyte; see :func:`cellkit.bench_csv.read_items` for the form of the file.

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
    >>> plan = read_plan("otter_lane_electrolyte.csv")
    >>> f"{plan.metal}: {plan.recipe().crystals:.1f~P} of {plan.items['crystals']}"
    'copper: 22.7 g of CuSO4·5H2O'
    """
    return Plan(read_items(name, ITEMS)[0])
