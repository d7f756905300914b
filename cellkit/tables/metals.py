"""The metals that plate into the felt: an object for each row of ``data/reference/metals.csv``.

Their potentials, ion-interaction parameters, densities, solubilities and conductivities stand in the published tables
beside it, in rows of the metal, its symbol or its salt. A new metal is a row in each.
"""

import re
import unicodedata
from dataclasses import dataclass

import numpy as np

from cellkit.tables.published import composition, table
from cellkit.units import InputError, one_of, shown


@dataclass(frozen=True)
class Metal:
    """A metal with its sulfate: ``hydrates`` as a bag may name them, the usual one first; ``crystal`` forms in the jar.

    The activity model holds up to ``salt_limit`` [mol/kg]; ``colour`` and ``line`` are those of its cells in pictures.
    """

    name: str
    symbol: str
    hydrates: tuple
    crystal: str
    salt_limit: float
    colour: str
    line: str

    @property
    def salt(self):
        """Formula of the anhydrous sulfate."""
        return f"{self.symbol}SO4"


def bound_water(formula):
    """Molecules of water in one of a sulfate's hydrate."""
    return composition(formula)["O"] - 4


def _metal(metal, symbol, hydrates, crystal, salt_limit_mol_per_kg, colour, line, **_):
    return Metal(metal, symbol, tuple(hydrates.split()), crystal, salt_limit_mol_per_kg, colour, line)


METALS = {row["metal"]: _metal(**row) for row in table("metals")}
HYDRATES = {formula: metal for metal in METALS.values() for formula in metal.hydrates}


def metal_named(name):
    """The :class:`Metal` of a name, or an :class:`InputError` that lists them."""
    return METALS[one_of("metal", name, METALS)]


def dissolved_metal(name, salt):
    """The :class:`Metal` of a solution, None for acid alone; an :class:`InputError` for salt of no metal."""
    if name is None and np.any(np.asarray(salt) > 0):
        raise InputError(f"there is salt but no metal; try metal={' or metal='.join(map(repr, METALS))}.")
    return None if name is None else metal_named(name)


def read_label(text):
    """The formula in ``HYDRATES`` that a label means, such as ``"CuSO4.5H2O"`` or ``"ZnSO4 x 7 H2O"``."""

    def letters(formula):  # and digits, small ones too; whatever stands for the dot goes
        return re.sub("[^0-9A-Z]|X", "", unicodedata.normalize("NFKC", str(formula)).upper())

    meant = {letters(formula): formula for formula in HYDRATES}
    if letters(text) not in meant:
        raise InputError(f"crystals is {shown(text)}; allowed are {', '.join(HYDRATES)}. Read the label again.")
    return meant[letters(text)]
