"""Electrolytes as amounts: what is in the cell, how dense it is and how strong, in mol/L, mol/kg and percent."""

import functools
from dataclasses import dataclass, replace

import numpy as np

from cellkit.activity import ROOM, salt_formula
from cellkit.reference import molar_mass, table
from cellkit.solubility import MOLALITY, saturation
from cellkit.units import TEMPERATURE, InputError, Kind, gives, not_negative, positive, quantity, takes

SHARE = Kind("", "0.1", low=0.0, high=0.6)
CONCENTRATION = not_negative("mol/m^3", 'Q_(1, "mol/L")')


def _water_density(celsius):
    """Density of water [kg/m³], 0–100 °C; formula of Kell 1975, doi:10.1021/je60064a005, as carried by thermo 0.6."""
    t = celsius
    top = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-4.6170461e-5 + t * (1.0556302e-7 - t * 2.8054253e-10)))
    )
    return top / (1 + 0.01687985 * t)


@takes(returns="kg/m^3 -> g/mL", acid=SHARE, salt=SHARE, temperature=TEMPERATURE)
def density(acid, salt=0.0, metal=None, temperature=ROOM):
    """Density of a solution of H2SO4 and one metal sulfate.

    1/ρ = w(water)/ρ(water) + Σ w(i)/ρ_app(i), with ρ_app(i) = (c0 w + c1) exp[10⁻⁶ (t + c4)²] / (w + c2 + c3 t) and
    w the mass fraction of all solutes together, t in °C.

    Parameters
    ----------
    acid, salt : float [1]
        Mass fractions of H2SO4 and of the anhydrous salt.
    metal : str or None
        ``"copper"``, ``"zinc"`` or None for acid alone.
    temperature : Quantity [K]

    Returns
    -------
    Quantity [g/mL]
        Within 0.3 % of CRC at 20 °C up to 40 wt% acid or 15 wt% salt. The fit starts at 10 °C (CuSO4) and 15 °C
        (ZnSO4); below that it is extrapolated.

    Raises
    ------
    InputError
        For mass fractions above 0.6 or temperatures outside 0–45 °C.

    Examples
    --------
    >>> f"{density(0.10):.3f~P}"
    '1.065 g/mL'

    References
    ----------
    Laliberté 2009, doi:10.1021/je8008123, coefficients as tabulated in chemicals 1.5.2.
    """
    celsius, solutes = np.asarray(temperature) - 273.15, np.asarray(acid) + salt
    volume = (1 - solutes) / _water_density(celsius)
    for share, formula in ((acid, "H2SO4"), (salt, salt_formula(metal) if metal else None)):
        if formula:
            c0, c1, c2, c3, c4 = _density_coefficients(formula)
            apparent = (c0 * solutes + c1) * np.exp(1e-6 * (celsius + c4) ** 2) / (solutes + c2 + c3 * celsius)
            volume = volume + share / apparent
    return 1 / volume


@functools.lru_cache
def _density_coefficients(formula):
    row = next(r for r in table("density") if r["solute"] == formula)
    return tuple(row[f"c{i}"] for i in range(5))


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
        """Both poured together; temperature by mass-weighted mean (heat of mixing left out)."""
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


@takes(water=positive("kg", 'Q_(100, "g")'), acid=MOLALITY, salt=MOLALITY, temperature=TEMPERATURE)
def from_molality(water, acid=0.0, salt=0.0, metal=None, temperature=ROOM):
    """An :class:`Electrolyte` from moles per kilogram of water; see :func:`from_molarity`."""
    return _checked(Electrolyte(water, acid * water, salt * water, metal, temperature))


@takes(mass=positive("kg", 'Q_(100, "g")'), acid=SHARE, salt=SHARE, temperature=TEMPERATURE)
def from_mass_fraction(mass, acid=0.0, salt=0.0, metal=None, temperature=ROOM):
    """An :class:`Electrolyte` from mass fractions of H2SO4 and anhydrous salt; see :func:`from_molarity`."""
    salt_mass = molar_mass.si(salt_formula(metal)) if metal else np.inf
    moles = mass * acid / molar_mass.si("H2SO4"), mass * salt / salt_mass
    return _checked(Electrolyte(mass * (1 - acid - salt), *moles, metal, temperature))


@takes(
    mass=positive("kg", 'Q_(100, "g")'),
    reading=Kind("kg/m^3", 'Q_(1.27, "g/mL")', low=1000.0, high=1300.0),
    temperature=TEMPERATURE,
)
def from_density(mass, reading, temperature=ROOM):
    """Battery acid from its mass and the density a float shows; see :func:`from_molarity`."""
    shares = np.linspace(0, 0.42, 421)
    acid = np.interp(reading, density.si(shares, temperature=temperature), shares)
    return Electrolyte(mass * (1 - acid), mass * acid / molar_mass.si("H2SO4"), temperature=temperature)


@takes(volume=positive("m^3", 'Q_(40, "mL")'), acid=CONCENTRATION, salt=CONCENTRATION, temperature=TEMPERATURE)
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
    """
    recipe = Electrolyte(volume * 1000.0, acid * volume, salt * volume, metal, temperature)
    for _ in range(60):
        short = volume - Electrolyte.volume.si(recipe)
        water = np.maximum(recipe.water + 997.0 * short, 1e-6 * volume)
        recipe = replace(recipe, water=water)
        if np.all(np.abs(short) <= 1e-12 * volume) or not np.any(np.isfinite(short)):
            break
    full = np.abs(short) <= 1e-9 * volume
    return _checked(replace(recipe, water=np.where(full, recipe.water, np.nan)[()]))


def _checked(solution):
    """``solution``, with NaN as its salt (or an error, for a single one) where more is asked for than dissolves."""
    if solution.metal is None:
        if np.any(np.asarray(solution.salt) > 0):
            raise InputError("there is salt but no metal; try metal='copper' or metal='zinc'.")
        return solution
    most = saturation.si(solution.metal, solution.acid / solution.water, np.minimum(solution.temperature, 313.15))
    molality = np.asarray(solution.salt / solution.water)
    too_much = molality > most * 1.0001
    if molality.ndim == 0 and too_much:
        litre = replace(solution, water=1.0, acid=solution.acid / solution.water, salt=float(most))
        raise InputError(
            f"{salt_formula(solution.metal)} at {molality:.2f} mol per kg of water is more than dissolves at "
            f"{solution.temperature - 273.15:.0f} °C: at most {float(most):.2f} mol/kg, about "
            f"{litre.salt_molarity:.2f~P} here. Try less salt, less acid or a warmer solution."
        )
    return replace(solution, salt=np.where(too_much, np.nan, solution.salt)[()])
