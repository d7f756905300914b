"""What a solution of H2SO4 and one metal sulfate is like: heat, density, solubility, conductivity, colour."""

import functools
from collections import namedtuple

import numpy as np

from cellkit.chemistry.activity import ROOM, activities
from cellkit.chemistry.roots import root
from cellkit.tables.metals import METALS, bound_water, dissolved_metal, metal_named
from cellkit.tables.published import molar_mass, table
from cellkit.units import TEMPERATURE, Constraint, non_negative, only_where, positive, takes

CP_WATER, CP_ACID = 4180.0, 1400.0  # J/(kg K), from memory; mass-weighted they hit 20-50 wt% acid within 6 %
DENSITY_ERROR = 0.003  # share by which a density may be off, from the comparison with CRC; mixtures: twice 1.39 kg/m³
DENSEST = 0.65  # largest share of the mass that all solutes together may have
IN_WATER = 0.02  # share by which the interpolated solubilities may be off, from the comparison with CRC
BESIDE_ACID = 0.2  # share by which the estimate beside acid may be off: a judgement, no published check here
MIXTURE_ERROR = 0.2  # share by which a mixture's conductivity may be off: a judgement, published are directions only
ABSORPTIVITY = 1.2  # m²/mol (12 L/(mol cm)) of Cu++ in sulfate near 810 nm, from memory
STOCK = Constraint("", "0.37", low=0.0, high=0.84, open_low=True)
SHARE = Constraint("", "0.1", low=0.0, high=0.6)
BESIDE = Constraint("mol/kg", 'Q_(1, "mol/kg")', low=0.0, high=3.5)
CONCENTRATION = non_negative("mol/m^3", 'Q_(1, "mol/L")')


@functools.lru_cache
def _enthalpy_curve():
    """Interpolator of the apparent relative molal enthalpy [J/mol] over ln(mol/kg), and its lowest molality."""
    from scipy.interpolate import PchipInterpolator

    rows = table("sulfuric_acid_enthalpy")
    molality = [row["molality_mol_per_kg"] for row in rows]
    enthalpy = [1000 * row["apparent_relative_molal_enthalpy_kJ_per_mol"] for row in rows]
    return PchipInterpolator(np.log(molality), enthalpy), molality[0]


def apparent_enthalpy(molality):
    """Apparent relative molal enthalpy L_phi [J/mol] of H2SO4 at 25 °C, held constant below 0.05 mol/kg."""
    curve, lowest = _enthalpy_curve()
    return curve(np.log(np.maximum(molality, lowest)))


def relative_enthalpies(molality):
    """Relative partial molal enthalpies [J/mol] of H2SO4, L_phi + m dL_phi/dm, and of water, -M m² dL_phi/dm."""
    curve, lowest = _enthalpy_curve()
    at = np.log(np.maximum(molality, lowest))
    slope = curve(at, 1)
    return curve(at) + slope, -molar_mass.si("H2O") * molality * slope


class Dilution(namedtuple("Dilution", "heat final hottest_acid_into_water hottest_water_into_acid")):
    """Heat set free and temperatures reached when no heat leaves the vessel."""


@takes(
    returns={"heat": "J -> kJ"} | dict.fromkeys(Dilution._fields[1:], "K -> degC"),
    stock_mass=positive("kg", 'Q_(100, "g")'),
    water=positive("kg", 'Q_(100, "g")'),
    stock=STOCK,
    temperature=TEMPERATURE,
)
def heat_of_dilution(stock_mass, water, stock=0.37, temperature=ROOM):
    """The :class:`Dilution` of stock acid, a mass fraction ``stock`` of H2SO4, with water.

    q = n [L_phi(before) - L_phi(after)]; ΔT = q / (m c_p). The hottest temperatures are the highest on the way from
    nothing poured to all poured, for each order of pouring, everything well stirred. Heat within 2 kJ per mole of acid,
    temperature rise within 10 %, up to battery acid (0.37, common practice, no source); at 0.84 within 25 kJ. Where a
    stream of water first meets strong acid it is hotter than the stirred mean and may spit: acid into water, always.
    Stronger acid has no place in this course. Source: ``data/reference/sulfuric_acid_enthalpy.csv``.

    >>> f"{heat_of_dilution(Q_(100, 'g'), Q_(100, 'g')).final:.0f~P}"
    '28 °C'
    """
    moles, dry = stock_mass * stock / molar_mass.si("H2SO4"), stock_mass * (1 - stock)
    before = apparent_enthalpy(moles / dry)

    def freed(acid_share, water_share):
        molality = moles * acid_share / (dry * acid_share + water * water_share)
        return acid_share * moles * (before - apparent_enthalpy(molality))

    def warm(acid_share, water_share):
        capacity = acid_share * stock_mass * (stock * CP_ACID + (1 - stock) * CP_WATER) + water_share * water * CP_WATER
        return temperature + freed(acid_share, water_share) / capacity

    poured = np.linspace(0, 1, 101).reshape(-1, *[1] * np.ndim(stock_mass * water * stock * temperature))
    return Dilution(freed(1.0, 1.0), warm(1.0, 1.0), warm(poured, 1.0).max(axis=0), warm(1.0, poured).max(axis=0))


def _water_density(celsius):
    """Density of water [kg/m³], 0–100 °C; formula of Kell 1975, doi:10.1021/je60064a005, as carried by thermo 0.6."""
    powers = -2.8054253e-10, 1.0556302e-7, -4.6170461e-5, -7.9870401e-3, 16.945176, 999.83952
    return np.polyval(powers, celsius) / (1 + 0.01687985 * celsius)


@functools.lru_cache
def _density_fit(formula):
    return next(row for row in table("density") if row["solute"] == formula)


@takes(returns="kg/m^3 -> g/mL", acid=SHARE, salt=SHARE, temperature=TEMPERATURE)
def density(acid, salt=0.0, metal=None, temperature=ROOM):
    """Density of a solution from the mass fractions of H2SO4 and of the anhydrous metal sulfate.

    1/ρ = w(water)/ρ(water) + Σ w(i)/ρ_app(i), with ρ_app(i) = (c0 w + c1) exp[10⁻⁶ (t + c4)²] / (w + c2 + c3 t) and
    w the mass fraction of all solutes together, t in °C; where w is beyond a solute's own fit, the fit's last w serves.
    Within ``DENSITY_ERROR`` of CRC at 20 °C up to 40 wt% acid or 15 wt% salt; of mixtures of two or more electrolytes
    the rule met 1,600 published points with a standard deviation of 1.39 kg/m³. The fit starts at 10 °C (CuSO4) and
    15 °C (ZnSO4); below that it is extrapolated. Source: Laliberté 2009, doi:10.1021/je8008123, coefficients as
    tabulated in chemicals 1.5.2; for mixtures Laliberté & Cooper, J. Chem. Eng. Data 49 (2004) 1141, abstract.

    >>> f"{density(0.10):.3f~P}"
    '1.065 g/mL'
    """
    known = dissolved_metal(metal, salt)
    most = _density_fit(known.salt)["max_mass_fraction"] if known else 0.0

    def why():
        limits = ", ".join(f"{m.salt} up to {_density_fit(m.salt)['max_mass_fraction']:.0%}" for m in METALS.values())
        return (
            f"acid {np.max(acid):.3g}, salt {np.max(salt):.3g} is beyond the density fit; allowed as shares of the "
            f"mass are H2SO4 up to {SHARE.high:.0%}, {limits}, {DENSEST:.0%} together. Try a weaker solution."
        )

    inside = (np.asarray(salt) <= most) & (np.asarray(acid) + salt <= DENSEST)
    return only_where(inside, fitted_density(acid, salt, metal, temperature), why)


def fitted_density(acid, salt, metal, temperature):
    """Density [kg/m³] by the fit alone, without a look at its range."""
    celsius, solutes = np.asarray(temperature) - 273.15, np.asarray(acid) + salt
    volume = (1 - solutes) / _water_density(celsius)
    for share, formula in ((acid, "H2SO4"), (salt, METALS[metal].salt if metal else None)):
        if formula:
            fit = _density_fit(formula)
            c0, c1, c2, c3, c4 = (fit[f"c{i}"] for i in range(5))
            w = np.minimum(solutes, fit["max_mass_fraction"])
            apparent = (c0 * w + c1) * np.exp(1e-6 * (celsius + c4) ** 2) / (w + c2 + c3 * celsius)
            volume = volume + share / apparent
    return 1 / volume


@takes(returns="mol/kg", acid=BESIDE, temperature=TEMPERATURE)
def solubility(metal, acid=0.0, temperature=ROOM):
    """Most metal sulfate that dissolves per kilogram of water, beside ``acid``.

    Tabulated solubility in water (its logarithm interpolated in temperature) times the share that is left with acid
    present, for which the activity product a(M) a(SO4) a(water)^n of the saturated solution stays constant at 25 °C.
    In water within ``IN_WATER`` of CRC; above 40 °C towards a remembered value at 50 °C. With acid an estimate that may
    be off by ``BESIDE_ACID``: the metal-bisulfate parameters are stand-ins. Beside more acid than allowed other
    hydrates crystallise, which the estimate does not know.
    Source: CRC Handbook, 98th ed.; ``data/reference/solubility.csv``.

    >>> f"{solubility('copper', temperature=Q_(20, 'degC')):.2f~P}"
    '1.26 mol/kg'
    """
    grid, left = _common_ion(metal_named(metal).name)
    return _in_water(metal, temperature) * np.interp(acid, grid, left)


def _in_water(metal, temperature):
    """Solubility [mol/kg] in water alone."""
    rows = [row for row in table("solubility") if row["salt"] == METALS[metal].salt]
    celsius, molality = ([row[column] for row in rows] for column in ("temperature_degC", "molality_mol_per_kg"))
    return np.exp(np.interp(np.asarray(temperature) - 273.15, celsius, np.log(molality)))


@functools.lru_cache
def _common_ion(metal):
    """Acid molalities and the share of the solubility in water that is left there, at 25 °C."""
    waters = bound_water(METALS[metal].crystal)

    def ln_product(acid, salt):
        ln = activities.si(acid, salt, metal)
        return ln.metal + ln.sulfate + waters * ln.water

    full = min(float(_in_water(metal, ROOM)), METALS[metal].salt_limit)
    grid, target = np.linspace(0, BESIDE.high, 15), ln_product(0.0, full)
    salt = root(lambda salt: target - ln_product(grid, salt), np.full(15, full), -1.0, 1e-3, full, close=1e-9)
    return grid, salt / full


@functools.lru_cache
def _conductivity_curve(metal):
    """Interpolator over one solute's concentration [mol/m³]: conductivity [S/m] at 25 °C and its rise [S/m/K]."""
    from scipy.interpolate import PchipInterpolator

    solute = METALS[metal].salt if metal else "H2SO4"
    concentration, found = [0.0], [(0.0, 0.0)]
    for row in (r for r in table("conductivity") if r["solute"] == solute):
        share, kelvin = row["mass_percent"] / 100, row["temperature_degC"] + 273.15
        shares = (0.0, share) if metal else (share, 0.0)
        concentration.append(share * density.si(*shares, metal, kelvin) / molar_mass.si(solute))
        rise = row["conductivity_S_per_m"] * row["slope_percent_per_K"] / 100
        found.append((row["conductivity_S_per_m"] + rise * (ROOM - kelvin), rise))
    return PchipInterpolator(concentration, found)


@takes(returns="S/m", acid=CONCENTRATION, salt=CONCENTRATION, temperature=TEMPERATURE)
def conductivity(acid, salt=0.0, metal=None, temperature=ROOM):
    """Conductivity of a solution of H2SO4 and one metal sulfate.

    κ = Σ (c(i)/c) κ(i)(c): each solute counts by its share of the total sulfate c, with the conductivity its own
    solution has at that total. In temperature each κ(i) is a straight line; stronger acid rises more steeply. Pure
    solutions within 5 %; mixtures may be off by ``MIXTURE_ERROR``. Above the last tabulated concentration (CuSO4 1.1,
    ZnSO4 2.0 mol/L) a salt's share keeps the last value; the acid's table ends at 5.3 mol/L in all. Source:
    ``data/reference/conductivity.csv``; the acid and zinc rows are from memory, and so are the slopes in temperature.

    >>> salt_only = conductivity(Q_(0, "mol/L"), Q_(1, "mol/L"), "copper")
    >>> with_acid = conductivity(Q_(1, "mol/L"), Q_(1, "mol/L"), "copper")
    >>> f"{salt_only:.1f~P}, {with_acid:.0f~P}"
    '4.5 S/m, 35 S/m'
    """
    acid, salt = np.asarray(acid, float), np.asarray(salt, float)
    known, total, result = dissolved_metal(metal, salt), acid + salt, 0.0
    for solute, amount in ({None: acid, metal: salt} if known else {None: acid}).items():
        curve = _conductivity_curve(solute)
        at_room, rise = np.moveaxis(curve(np.minimum(total, curve.x[-1])), -1, 0)
        share = np.divide(amount, total, out=np.zeros_like(total), where=total > 0)
        result = result + share * (at_room + rise * (np.asarray(temperature) - ROOM))
    most = _conductivity_curve(None).x[-1]
    why = "{:.3g} mol/L in all is beyond the table; allowed is {:.1f} mol/L. Try a weaker one.".format
    return only_where((total <= most) | (total == salt), result, lambda: why(np.max(total) / 1000, most / 1000))


@takes(returns="", concentration=CONCENTRATION, path=positive("m", 'Q_(1, "cm")'))
def transmittance(concentration, path):
    """Share of near-infrared light (810 nm) that passes a copper sulfate solution: T = 10^(-ε c d).

    ``path`` is the length that the light travels. Compare two samples in the same glass; ε is good to about 10 %. Below
    T = 0.01 stray light decides, so thin the layer. The eye judges red light, where the solution absorbs less but in
    the same order. Source: Beer-Lambert law; ε from memory.

    >>> f"{transmittance(Q_(0.1, 'mol/L'), Q_(1, 'cm')):.3f~P}"
    '0.063'
    """
    return 10.0 ** (-ABSORPTIVITY * np.asarray(concentration) * path)
