"""Electrolytes as amounts: what is in the cell, how dense it is and how strong, in mol/L, mol/kg and percent."""

from dataclasses import dataclass

import numpy as np

from cellkit.chemistry.activity import ROOM, salt_formula
from cellkit.chemistry.properties import BESIDE, BESIDE_ACID, SHARE, density, solubility, unchecked_density
from cellkit.tables.published import METALS, molar_mass
from cellkit.units import TEMPERATURE, Constraint, InputError, expect, gives, non_negative, positive, quantity, takes

MOLALITY = Constraint("mol/kg", 'Q_(1, "mol/kg")', low=0.0, high=15.0)
CONCENTRATION = non_negative("mol/m^3", 'Q_(1, "mol/L")')


@dataclass(frozen=True)
class Electrolyte:
    """An amount of solution. Fields are SI floats or arrays; the properties are quantities.

    Parameters
    ----------
    water : float [kg]
    acid, salt : float [mol]
        H2SO4 and metal sulfate.
    metal : str or None
        ``"copper"``, ``"zinc"`` or None for battery acid.
    temperature : float [K]

    Make one with :func:`from_molarity`, :func:`from_molality` or :func:`from_mass_fraction`; add two to mix them.
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
            raise InputError(f"one solution holds {self.metal}, the other {other.metal}; cellkit mixes one metal only.")
        mine, yours = Electrolyte.mass.si(self), Electrolyte.mass.si(other)
        temperature = (mine * self.temperature + yours * other.temperature) / (mine + yours)
        total = (self.water + other.water, self.acid + other.acid, self.salt + other.salt)
        return Electrolyte(*total, self.metal or other.metal, temperature)

    def _solute_masses(self):
        salt = self.salt * molar_mass.si(salt_formula(self.metal)) if self.metal else 0.0
        return self.acid * molar_mass.si("H2SO4"), salt

    @gives("kg -> g")
    def mass(self):
        """Mass of the solution."""
        return self.water + sum(self._solute_masses())

    @gives("kg/m^3 -> g/mL")
    def density(self):
        """Density; see :func:`density`."""
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

    @gives("mol/kg")
    def acid_molality(self):
        """H2SO4 per mass of water."""
        return self.acid / self.water

    @gives("mol/kg")
    def salt_molality(self):
        """Metal sulfate per mass of water."""
        return self.salt / self.water

    @property
    def mass_fractions(self):
        """Mass fractions of H2SO4 and of the anhydrous salt, in percent."""
        return tuple(quantity(m / Electrolyte.mass.si(self), " -> percent") for m in self._solute_masses())


def _refuse_undissolved(arguments, solution):
    """An :class:`InputError` where a new electrolyte holds NaN: more salt than dissolves, or not known at all."""
    water, acid, salt, kelvin = np.broadcast_arrays(
        solution.water, solution.acid, solution.salt, np.asarray(solution.temperature, float)
    )
    bad = np.isnan(water + acid + salt)
    if not bad.any():
        return
    spec = {"volume": "mol/m^3 -> mol/L", "water": "mol/kg", "mass": " -> percent"}[next(iter(arguments))]
    given = " with ".join(
        f"{name} {quantity(np.max(arguments[key]), spec):.3g~P}"
        for name, key in (("H2SO4", "acid"), (METALS.get(solution.metal, "") + "SO4", "salt"))
        if np.any(arguments[key])
    )
    molality, most = (acid / water)[bad][0], np.nan
    if solution.metal and molality <= BESIDE.high:
        most = float(solubility.si(solution.metal, molality, kelvin[bad][0]))
    if np.isnan(most):
        raise InputError(
            f"{given} is no solution that cellkit knows; it knows H2SO4 up to 60 wt% alone, up to {BESIDE.high:g} mol "
            "per kg of water beside salt. Try less of it, or more water."
        )
    litre = Electrolyte(1.0, molality, most, solution.metal, kelvin[bad][0])
    beside = f" (an estimate beside acid, ±{BESIDE_ACID:.0%})" if molality else ""
    raise InputError(
        f"{given} is more than dissolves at {kelvin[bad][0] - 273.15:.0f} °C: at most {most:.2f} mol per kg of water, "
        f"about {litre.salt_molarity:.2f~P} here{beside}. Try less salt, less acid or a warmer solution."
    )


def _new(water, acid, salt, metal, temperature):
    """An :class:`Electrolyte` with NaN as its salt where more is asked for than dissolves."""
    if metal is None:
        if np.any(np.asarray(salt) > 0):
            raise InputError("there is salt but no metal; try metal='copper' or metal='zinc'.")
        return Electrolyte(water, acid, salt, metal, temperature)
    with np.errstate(invalid="ignore", divide="ignore"):
        most = solubility.si(metal, acid / water, temperature)
        dissolved = (salt / water <= most * 1.0001) & (water > 0)
    return Electrolyte(water, acid, np.where(dissolved, salt, np.nan)[()], metal, temperature)


@takes(
    refuse=_refuse_undissolved,
    water=positive("kg", 'Q_(100, "g")'),
    acid=MOLALITY,
    salt=MOLALITY,
    temperature=TEMPERATURE,
)
def from_molality(water, acid=0.0, salt=0.0, metal=None, temperature=ROOM):
    """An :class:`Electrolyte` from moles per kilogram of water; see :func:`from_molarity`."""
    return _new(water, acid * water, salt * water, metal, temperature)


@takes(
    refuse=_refuse_undissolved,
    mass=positive("kg", 'Q_(100, "g")'),
    acid=SHARE,
    salt=SHARE,
    temperature=TEMPERATURE,
)
def from_mass_fraction(mass, acid=0.0, salt=0.0, metal=None, temperature=ROOM):
    """An :class:`Electrolyte` from mass fractions of H2SO4 and anhydrous salt; see :func:`from_molarity`."""
    salt_mass = 1.0 if metal is None else molar_mass.si(salt_formula(metal))
    water = np.where(np.asarray(acid) + salt < 1, mass * (1 - acid - salt), np.nan)[()]
    return _new(water, mass * acid / molar_mass.si("H2SO4"), mass * salt / salt_mass, metal, temperature)


@takes(
    mass=positive("kg", 'Q_(100, "g")'),
    reading=Constraint("kg/m^3", 'Q_(1.27, "g/mL")', low=1000.0, high=1300.0),
    temperature=TEMPERATURE,
)
def from_density(mass, reading, temperature=ROOM):
    """Battery acid from its mass and the density a float shows; see :func:`from_molarity`."""
    low, high = np.zeros(np.broadcast_shapes(np.shape(reading), np.shape(temperature))), 0.42
    for _ in range(50):
        acid = (low + high) / 2
        dense = density.si(acid, temperature=temperature) > reading
        low, high = np.where(dense, low, acid), np.where(dense, acid, high)
    acid = np.where(np.isnan(reading * np.asarray(temperature)), np.nan, acid)[()]
    return Electrolyte(mass * (1 - acid), mass * acid / molar_mass.si("H2SO4"), temperature=temperature)


@takes(
    refuse=_refuse_undissolved,
    volume=positive("m^3", 'Q_(40, "mL")'),
    acid=CONCENTRATION,
    salt=CONCENTRATION,
    temperature=TEMPERATURE,
)
def from_molarity(volume, acid=0.0, salt=0.0, metal=None, temperature=ROOM):
    """An :class:`Electrolyte` from moles per litre of finished solution.

    The water is what fills the rest of the volume: it solves mass(water) + Σ mass(i) = ρ · volume by substitution.

    Parameters
    ----------
    volume : Quantity [m³]
    acid, salt : Quantity [mol/m³]
        H2SO4 and metal sulfate per volume of solution.
    metal : str or None
        ``"copper"``, ``"zinc"`` or None.
    temperature : Quantity [K]

    Returns
    -------
    Electrolyte
        Valid where :func:`density` is.

    Raises
    ------
    InputError
        For a plain number, a negative amount, or more salt than dissolves (:func:`saturation`). ``.si`` gives NaN.

    Examples
    --------
    >>> from cellkit import Q_
    >>> fill = from_molarity(Q_(1, "L"), salt=Q_(1, "mol/L"), metal="copper", temperature=Q_(20, "degC"))
    >>> f"{fill.mass:.0f~P}, {fill.salt_molality:.3f~P}"
    '1154 g, 1.006 mol/kg'

    References
    ----------
    As :func:`cellkit.chemistry.density` and :func:`cellkit.chemistry.solubility`.
    """
    acid_mass, salt_mass = acid * volume * molar_mass.si("H2SO4"), 0.0
    if metal is not None:
        salt_mass = salt * volume * molar_mass.si(salt_formula(metal))
    water = np.asarray(volume * 1000.0)
    for _ in range(60):
        mass = water + acid_mass + salt_mass
        shares = acid_mass / mass, salt_mass / mass
        short = volume - mass / unchecked_density(*shares, metal, temperature)
        water = np.maximum(water + 997.0 * short, 1e-6 * volume)
        if np.all(np.abs(short) <= 1e-12 * volume):
            break
    known = (np.abs(short) <= 1e-9 * volume) & np.isfinite(density.si(*shares, metal, temperature))
    return _new(np.where(known, water, np.nan)[()], acid * volume, salt * volume, metal, temperature)
