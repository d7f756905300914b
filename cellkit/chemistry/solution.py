"""Electrolytes as amounts: what is in the cell, how dense it is and how strong, in mol/L, mol/kg and percent."""

from dataclasses import dataclass, replace

import numpy as np

from cellkit.chemistry.activity import ROOM
from cellkit.chemistry.properties import BESIDE, BESIDE_ACID, CONCENTRATION, SHARE, density, fitted_density, solubility
from cellkit.chemistry.roots import root
from cellkit.tables.metals import METALS, dissolved_metal
from cellkit.tables.published import molar_mass
from cellkit.units import (
    TEMPERATURE,
    Constraint,
    InputError,
    expect,
    gives,
    only_where,
    positive,
    quantity,
    quietly,
    takes,
)

MOLALITY = Constraint("mol/kg", 'Q_(1, "mol/kg")', low=0.0, high=15.0)
AMOUNT = positive("kg", 'Q_(100, "g")')


@dataclass(frozen=True)
class Electrolyte:
    """An amount of solution: ``water`` [kg], ``acid`` (H2SO4) and ``salt`` (metal sulfate) [mol], ``temperature`` [K].

    Fields are SI floats or arrays; the properties are quantities. ``metal`` is its name, or None for battery acid. Make
    one with :func:`from_molarity`, :func:`from_molality` or :func:`from_mass_fraction`; add two to mix them.
    """

    water: float
    acid: float
    salt: float = 0.0
    metal: str | None = None
    temperature: float = ROOM

    def __add__(self, other):
        """Both poured together. The temperature is the mass-weighted mean, without heat of mixing; whether all of it
        stays dissolved is not checked.
        """
        expect("other", other, Electrolyte, "cellkit.chemistry.from_molarity(...)")
        if None not in (self.metal, other.metal) and self.metal != other.metal:
            raise InputError(f"one solution holds {self.metal}, the other {other.metal}. Keep to one metal.")
        mine, yours = Electrolyte.mass.si(self), Electrolyte.mass.si(other)
        temperature = (mine * self.temperature + yours * other.temperature) / (mine + yours)
        total = (self.water + other.water, self.acid + other.acid, self.salt + other.salt)
        return Electrolyte(*total, self.metal or other.metal, temperature)

    def _solute_masses(self):
        salt = self.salt * molar_mass.si(METALS[self.metal].salt) if self.metal else 0.0
        return self.acid * molar_mass.si("H2SO4"), salt

    @gives("kg -> g")
    def mass(self):
        """Mass of the solution."""
        return self.water + sum(self._solute_masses())

    @gives("kg/m^3 -> g/mL")
    def density(self):
        """Density; see :func:`cellkit.chemistry.density`."""
        acid, salt = (m / Electrolyte.mass.si(self) for m in self._solute_masses())
        return density.si(acid, salt, self.metal, self.temperature)

    @gives("m^3 -> mL")
    def volume(self):
        """Volume of the solution."""
        return Electrolyte.mass.si(self) / Electrolyte.density.si(self)

    @gives("mol/m^3 -> mol/L")
    def acid_molarity(self):
        """H2SO4 per volume of solution."""
        return self.acid / Electrolyte.volume.si(self)

    @gives("mol/m^3 -> mol/L")
    def salt_molarity(self):
        """Metal sulfate per volume of solution."""
        return self.salt / Electrolyte.volume.si(self)

    @property
    def molalities(self):
        """H2SO4 and metal sulfate [mol] per kilogram of water; infinite without any."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.divide(self.acid, self.water), np.divide(self.salt, self.water)

    @gives("mol/kg")
    def acid_molality(self):
        """H2SO4 per mass of water."""
        return self.molalities[0]

    @gives("mol/kg")
    def salt_molality(self):
        """Metal sulfate per mass of water."""
        return self.molalities[1]

    @property
    def mass_fractions(self):
        """Mass fractions of H2SO4 and of the anhydrous salt, in percent."""
        return tuple(quantity(m / Electrolyte.mass.si(self), " -> percent") for m in self._solute_masses())


def _undissolved(metal, given, molality, kelvin):
    """Why a solution at a molality of acid cannot be, in words: more salt than dissolves, or not known at all."""
    with quietly():
        most = float(solubility.si(metal, molality, kelvin)) if metal else np.nan
    if np.isnan(most):
        return (
            f"{given} is no solution that cellkit knows; it knows H2SO4 up to {SHARE.high:.0%} of the mass alone, up "
            f"to {BESIDE.high:g} mol per kg of water beside salt. Try less of it, or more water."
        )
    litre = Electrolyte(1.0, molality, most, metal, kelvin)
    beside = f" (an estimate beside acid, ±{BESIDE_ACID:.0%})" if molality else ""
    return (
        f"{given} is more than dissolves at {kelvin - 273.15:.0f} °C: at most {most:.2f} mol per kg of water, "
        f"about {litre.salt_molarity:.2f~P} here{beside}. Try less salt, less acid or a warmer solution."
    )


def _dissolved(solution, acid, salt, spec, known=np.True_):
    """``solution``, with NaN for its salt (its water, of acid alone) where it does not dissolve or is not ``known``.

    ``acid`` and ``salt`` are as they were asked for, shown as ``spec`` has it.
    """
    metal, (beside, dissolved) = dissolved_metal(solution.metal, solution.salt), solution.molalities
    with quietly(), np.errstate(invalid="ignore"):
        if metal:
            known = known & (dissolved <= solubility.si(metal.name, beside, solution.temperature) * 1.0001)

    def why():  # of the first that is not known
        names, values = ("H2SO4", metal and metal.salt), (acid, salt, beside, solution.temperature)
        *asked, molality, kelvin = (np.broadcast_to(x, known.shape)[~known][0] for x in values)
        given = [f"{name} {quantity(much, spec):.3g~P}" for name, much in zip(names, asked, strict=True) if much]
        return _undissolved(solution.metal, " with ".join(given), molality, kelvin)

    missing = "salt" if metal else "water"
    return replace(solution, **{missing: only_where(known, getattr(solution, missing), why)})


@takes(water=AMOUNT, acid=MOLALITY, salt=MOLALITY, temperature=TEMPERATURE)
def from_molality(water, acid=0.0, salt=0.0, metal=None, temperature=ROOM):
    """An :class:`Electrolyte` from moles per kilogram of water; see :func:`from_molarity`."""
    return _dissolved(Electrolyte(water, acid * water, salt * water, metal, temperature), acid, salt, "mol/kg")


@takes(mass=AMOUNT, acid=SHARE, salt=SHARE, temperature=TEMPERATURE)
def from_mass_fraction(mass, acid=0.0, salt=0.0, metal=None, temperature=ROOM):
    """An :class:`Electrolyte` from mass fractions of H2SO4 and anhydrous salt; see :func:`from_molarity`."""
    known = dissolved_metal(metal, salt)
    moles = mass * salt / molar_mass.si(known.salt) if known else 0.0 * mass * salt
    solution = Electrolyte(mass * (1 - acid - salt), mass * acid / molar_mass.si("H2SO4"), moles, metal, temperature)
    return _dissolved(solution, acid, salt, " -> percent")


@takes(mass=AMOUNT, reading=Constraint("kg/m^3", 'Q_(1.27, "g/mL")', low=1000.0, high=1300.0), temperature=TEMPERATURE)
def from_density(mass, reading, temperature=ROOM):
    """Battery acid from its mass and the density that a hydrometer shows; see :func:`from_molarity`."""
    start = 0.2 + np.zeros(np.broadcast_shapes(np.shape(reading), np.shape(temperature)))
    acid = root(lambda acid: reading - density.si(acid, temperature=temperature), start, -700.0, 0.0, 0.45, 1e-9)[()]
    return Electrolyte(mass * (1 - acid), mass * acid / molar_mass.si("H2SO4"), temperature=temperature)


@takes(volume=positive("m^3", 'Q_(40, "mL")'), acid=CONCENTRATION, salt=CONCENTRATION, temperature=TEMPERATURE)
def from_molarity(volume, acid=0.0, salt=0.0, metal=None, temperature=ROOM):
    """An :class:`Electrolyte` from moles of H2SO4 and of one metal's sulfate per litre of finished solution.

    The water is what fills the rest of the volume: it solves mass(water) + Σ mass(i) = ρ · volume by secants.
    Valid where :func:`cellkit.chemistry.density` is and the salt dissolves.

    >>> fill = from_molarity(Q_(1, "L"), salt=Q_(1, "mol/L"), metal="copper", temperature=Q_(20, "degC"))
    >>> f"{fill.mass:.0f~P}, {fill.salt_molality:.3f~P}"
    '1154 g, 1.006 mol/kg'
    """
    known = dissolved_metal(metal, salt)
    acid_mass = acid * volume * molar_mass.si("H2SO4")
    salt_mass = salt * volume * molar_mass.si(known.salt) if known else 0.0

    def short(water):
        mass = water + acid_mass + salt_mass
        return volume - mass / fitted_density(acid_mass / mass, salt_mass / mass, metal, temperature)

    water = root(short, 900.0 * volume, -1e-3, 1e-6 * volume, 1100.0 * volume, close=1e-12 * volume)
    solution = Electrolyte(water[()], acid * volume, salt * volume, metal, temperature)
    with quietly():
        settled = np.isfinite(Electrolyte.density.si(solution))
    return _dissolved(solution, acid, salt, "mol/m^3 -> mol/L", settled)
