"""Heat of sulfuric acid and water: relative enthalpies, and how hot a dilution gets."""

import functools
from typing import NamedTuple

import numpy as np

from cellkit.chemistry.activity import ROOM, SALT_LIMIT, activities, salt_formula
from cellkit.tables.published import METALS, molar_mass, table
from cellkit.units import TEMPERATURE, Constraint, InputError, non_negative, one_of, positive, takes

CP_WATER, CP_ACID = 4180.0, 1400.0  # J/(kg K), from memory; mass-weighted they hit 20-50 wt% acid within 6 %
STOCK = Constraint("", "0.37", low=0.0, high=0.84, open_low=True)


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


class Dilution(NamedTuple):
    """Heat set free and temperatures reached when no heat leaves the vessel."""

    heat: object
    final: object
    hottest_acid_into_water: object
    hottest_water_into_acid: object


@takes(
    returns={"heat": "J -> kJ"} | dict.fromkeys(Dilution._fields[1:], "K -> degC"),
    stock_mass=positive("kg", 'Q_(100, "g")'),
    water=positive("kg", 'Q_(100, "g")'),
    stock=STOCK,
    temperature=TEMPERATURE,
)
def heat_of_dilution(stock_mass, water, stock=0.37, temperature=ROOM):
    """Heat and temperatures when stock acid and water are mixed.

    q = n [L_phi(before) - L_phi(after)]; ΔT = q / (m c_p). The hottest temperatures are the highest on the way from
    nothing poured to all poured, for each order of pouring, everything well stirred.

    Parameters
    ----------
    stock_mass, water : Quantity [kg]
        Stock acid, and the water it meets.
    stock : float [1]
        Mass fraction of H2SO4 in the stock acid, up to 0.84. Stronger acid has no place in this course: buy battery
        acid (about 0.37, common practice, no source).
    temperature : Quantity [K]
        Of both before.

    Returns
    -------
    Dilution [kJ], [°C]
        Heat within 2 kJ per mole of acid, temperature rise within 10 %. Where a stream of water first meets strong
        acid it is hotter than the stirred mean and may spit: acid into water, always.

    Raises
    ------
    InputError
        For amounts that are not more than zero or acid above 84 %.

    Examples
    --------
    >>> from cellkit import Q_
    >>> f"{heat_of_dilution(Q_(100, 'g'), Q_(100, 'g')).final:.0f~P}"
    '28 °C'

    References
    ----------
    ``data/reference/sulfuric_acid_enthalpy.csv``.
    """
    moles, dry = stock_mass * stock / molar_mass.si("H2SO4"), stock_mass * (1 - stock)
    before = apparent_enthalpy(moles / dry)

    def warm(acid_share, water_share):
        heat = (
            acid_share
            * moles
            * (before - apparent_enthalpy(moles * acid_share / (dry * acid_share + water * water_share)))
        )
        capacity = acid_share * stock_mass * (stock * CP_ACID + (1 - stock) * CP_WATER) + water_share * water * CP_WATER
        return temperature + heat / capacity

    poured = np.linspace(0, 1, 101).reshape(-1, *[1] * np.ndim(stock_mass * water * stock * temperature))
    heat = moles * (before - apparent_enthalpy(moles / (dry + water)))
    return Dilution(heat, warm(1.0, 1.0), warm(poured[1:], 1.0).max(axis=0), warm(1.0, poured).max(axis=0))


SHARE = Constraint("", "0.1", low=0.0, high=0.6)
DENSITY_ERROR = 0.003  # share by which a density may be off, from the comparison with CRC


def _water_density(celsius):
    """Density of water [kg/m³], 0–100 °C; formula of Kell 1975, doi:10.1021/je60064a005, as carried by thermo 0.6."""
    t = celsius
    top = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-4.6170461e-5 + t * (1.0556302e-7 - t * 2.8054253e-10)))
    )
    return top / (1 + 0.01687985 * t)


def _refuse_dense(arguments, result):
    """An :class:`InputError` where a density came out as NaN."""
    if np.any(np.isnan(result)):
        most = {METALS[m] + "SO4": _density_fit(METALS[m] + "SO4")["max_mass_fraction"] for m in METALS}
        limits = ", ".join(f"{formula} up to {share:.0%}" for formula, share in most.items())
        raise InputError(
            f"acid {np.max(arguments['acid']):.3g}, salt {np.max(arguments['salt']):.3g} is beyond the density fit; "
            f"allowed as shares of the mass are H2SO4 up to 60%, {limits}, 65% together. Try a weaker solution."
        )


@takes(returns="kg/m^3 -> g/mL", refuse=_refuse_dense, acid=SHARE, salt=SHARE, temperature=TEMPERATURE)
def density(acid, salt=0.0, metal=None, temperature=ROOM):
    """Density of a solution of H2SO4 and one metal sulfate.

    1/ρ = w(water)/ρ(water) + Σ w(i)/ρ_app(i), with ρ_app(i) = (c0 w + c1) exp[10⁻⁶ (t + c4)²] / (w + c2 + c3 t) and
    w the mass fraction of all solutes together, t in °C; where w is beyond a solute's own fit, the fit's last w serves.

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
        Within ``DENSITY_ERROR`` of CRC at 20 °C up to 40 wt% acid or 15 wt% salt. The fit starts at 10 °C (CuSO4)
        and 15 °C (ZnSO4); below that it is extrapolated.

    Raises
    ------
    InputError
        For mass fractions beyond the fit (``.si`` gives NaN), salt without a metal, or outside 0–45 °C.

    Examples
    --------
    >>> f"{density(0.10):.3f~P}"
    '1.065 g/mL'

    References
    ----------
    Laliberté 2009, doi:10.1021/je8008123, coefficients as tabulated in chemicals 1.5.2.
    """
    if one_of("metal", metal, (*METALS, None)) is None and np.any(np.asarray(salt) > 0):
        raise InputError("there is salt but no metal; try metal='copper' or metal='zinc'.")
    most = _density_fit(salt_formula(metal))["max_mass_fraction"] if metal else 0.0
    inside = (np.asarray(salt) <= most) & (np.asarray(acid) + salt <= 0.65)
    return np.where(inside, unchecked_density(acid, salt, metal, temperature), np.nan)


def unchecked_density(acid, salt, metal, temperature):
    """Density [kg/m³] without a look at the range of the fit."""
    celsius, solutes = np.asarray(temperature) - 273.15, np.asarray(acid) + salt
    volume = (1 - solutes) / _water_density(celsius)
    for share, formula in ((acid, "H2SO4"), (salt, salt_formula(metal) if metal else None)):
        if formula:
            fit = _density_fit(formula)
            c0, c1, c2, c3, c4 = (fit[f"c{i}"] for i in range(5))
            w = np.minimum(solutes, fit["max_mass_fraction"])
            apparent = (c0 * w + c1) * np.exp(1e-6 * (celsius + c4) ** 2) / (w + c2 + c3 * celsius)
            volume = volume + share / apparent
    return 1 / volume


@functools.lru_cache
def _density_fit(formula):
    return next(row for row in table("density") if row["solute"] == formula)


BESIDE = Constraint("mol/kg", 'Q_(1, "mol/kg")', low=0.0, high=3.5)
IN_WATER = 0.02  # share by which the interpolated tables may be off, from the comparison with CRC
BESIDE_ACID = 0.2  # share by which the estimate beside acid may be off: a judgement, no published check here


@takes(returns="mol/kg", acid=BESIDE, temperature=TEMPERATURE)
def solubility(metal, acid=0.0, temperature=ROOM):
    """Most metal sulfate that dissolves, per kilogram of water.

    Tabulated solubility in water (monotone interpolation in temperature) times the share that is left with acid
    present, for which the activity product a(M) a(SO4) a(water)^n of the saturated solution stays constant at 25 °C.

    Parameters
    ----------
    metal : str
        ``"copper"`` or ``"zinc"``.
    acid : Quantity [mol/kg]
        H2SO4 beside it, up to 3.5 mol/kg; beyond that other hydrates crystallise, which the estimate does not know.
    temperature : Quantity [K]
        0–45 °C; above 40 °C towards a remembered value at 50 °C.

    Returns
    -------
    Quantity [mol/kg]
        In water within ``IN_WATER`` of CRC. With acid an estimate that may be off by ``BESIDE_ACID``: the
        metal-bisulfate parameters are stand-ins.

    Raises
    ------
    InputError
        Outside 0–45 °C or 3.5 mol/kg of acid, or for an unknown metal.

    Examples
    --------
    >>> from cellkit import Q_
    >>> f"{solubility('copper', temperature=Q_(20, 'degC')):.2f~P}"
    '1.26 mol/kg'

    References
    ----------
    CRC Handbook, 98th ed.; ``data/reference/solubility.csv``.
    """
    salt_formula(metal)
    grid, left = _common_ion(metal)
    return _in_water(metal)(np.asarray(temperature) - 273.15) * np.interp(acid, grid, left)


@functools.lru_cache
def _in_water(metal):
    """Interpolator of the tabulated solubility [mol/kg] over degrees Celsius."""
    from scipy.interpolate import PchipInterpolator

    rows = [r for r in table("solubility") if r["salt"] == salt_formula(metal)]
    return PchipInterpolator([r["temperature_degC"] for r in rows], [r["molality_mol_per_kg"] for r in rows])


@functools.lru_cache
def _common_ion(metal):
    """Acid molalities and the share of the solubility in water that is left there, at 25 °C."""
    waters = {"copper": 5, "zinc": 7}[metal]  # of the hydrate that crystallises

    def ln_product(acid, salt):
        ln = activities.si(acid, salt, metal)
        return ln.metal + ln.sulfate + waters * ln.water

    full = min(float(_in_water(metal)(25.0)), SALT_LIMIT[metal])
    grid, low, high = np.linspace(0, BESIDE.high, 15), np.full(15, 1e-3), np.full(15, full)
    target = ln_product(0.0, full)
    for _ in range(30):
        middle = (low + high) / 2
        over = ln_product(grid, middle) > target
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    return grid, middle / full


PER_KELVIN = {"H2SO4": 0.016, "CuSO4": 0.022, "ZnSO4": 0.022}  # relative rise per kelvin near 25 °C, from memory
MIXTURE_ERROR = 0.2  # share by which a mixture's conductivity may be off: a judgement
CONCENTRATION = non_negative("mol/m^3", 'Q_(1, "mol/L")')


@functools.lru_cache
def _conductivity_curve(formula):
    """Interpolator of the conductivity [S/m] at 25 °C of one solute over its concentration [mol/m³]."""
    from scipy.interpolate import PchipInterpolator

    metal = {"CuSO4": "copper", "ZnSO4": "zinc"}.get(formula)
    concentration, conductivity = [0.0], [0.0]
    for row in (r for r in table("conductivity") if r["solute"] == formula):
        share, kelvin = row["mass_percent"] / 100, row["temperature_degC"] + 273.15
        shares = (0.0, share) if metal else (share, 0.0)
        concentration.append(share * density.si(*shares, metal, kelvin) / molar_mass.si(formula))
        conductivity.append(row["conductivity_S_per_m"] * (1 + PER_KELVIN[formula] * (ROOM - kelvin)))
    return PchipInterpolator(concentration, conductivity)


def _refuse_beyond_table(arguments, result):
    if np.any(np.isnan(result)):
        total = np.max(np.asarray(arguments["acid"]) + arguments["salt"]) / 1000
        most = _conductivity_curve("H2SO4").x[-1] / 1000
        raise InputError(
            f"{total:.3g} mol/L in all is beyond the table; allowed is {most:.1f} mol/L. Try a weaker one."
        )


@takes(returns="S/m", refuse=_refuse_beyond_table, acid=CONCENTRATION, salt=CONCENTRATION, temperature=TEMPERATURE)
def conductivity(acid, salt=0.0, metal=None, temperature=ROOM):
    """Conductivity of a solution of H2SO4 and one metal sulfate.

    κ = Σ (c(i)/c) κ(i)(c): each solute counts by its share of the total sulfate c, with the conductivity its own
    solution has at that total.

    Parameters
    ----------
    acid, salt : Quantity [mol/m³]
        Per volume of solution.
    metal : str or None
        ``"copper"``, ``"zinc"`` or None.
    temperature : Quantity [K]

    Returns
    -------
    Quantity [S/m]
        Pure solutions within 5 %; mixtures may be off by ``MIXTURE_ERROR``. Above the last tabulated concentration
        (CuSO4 1.1, ZnSO4 2.0 mol/L) a salt's share keeps the last value; a total above 5.3 mol/L with acid gives NaN.

    Raises
    ------
    InputError
        For negative concentrations or an unknown metal.

    Examples
    --------
    >>> from cellkit import Q_
    >>> salt_only = conductivity(Q_(0, "mol/L"), Q_(1, "mol/L"), "copper")
    >>> with_acid = conductivity(Q_(1, "mol/L"), Q_(1, "mol/L"), "copper")
    >>> f"{salt_only:.1f~P}, {with_acid:.0f~P}"
    '4.5 S/m, 36 S/m'

    References
    ----------
    ``data/reference/conductivity.csv``; the acid and zinc rows are from memory, and so are the slopes in temperature.
    """
    acid, salt = np.asarray(acid, float), np.asarray(salt, float)
    if one_of("metal", metal, (*METALS, None)) is None and np.any(salt > 0):
        raise InputError("there is salt but no metal; try metal='copper' or metal='zinc'.")
    total = acid + salt
    result = np.zeros(np.broadcast_shapes(total.shape, np.shape(temperature)))
    for amount, formula in ((acid, "H2SO4"), (salt, salt_formula(metal) if metal else None)):
        if formula:
            curve = _conductivity_curve(formula)
            within = np.minimum(total, curve.x[-1])
            own = np.where((total > within) & (formula == "H2SO4"), np.nan, curve(within))
            share = np.divide(amount, total, out=np.zeros_like(total), where=total > 0)
            result = result + share * own * (1 + PER_KELVIN[formula] * (np.asarray(temperature) - ROOM))
    return result


ABSORPTIVITY = 1.2  # m²/mol (12 L/(mol cm)) of Cu++ in sulfate near 810 nm, from memory


@takes(returns="", concentration=non_negative("mol/m^3", 'Q_(1, "mol/L")'), path=positive("m", 'Q_(1, "cm")'))
def transmittance(concentration, path):
    """Share of near-infrared light (810 nm) that passes a copper sulfate solution: T = 10^(-ε c d).

    Parameters
    ----------
    concentration : Quantity [mol/m³]
        CuSO4 per volume.
    path : Quantity [m]
        Length the light travels in the solution.

    Returns
    -------
    Quantity [1]
        Compare two samples in the same glass; ε is good to about 10 %. Below T = 0.01 stray light decides, so thin
        the layer. The eye judges red light, where the solution absorbs less but fits in the same order.

    Raises
    ------
    InputError
        For a negative concentration or a path that is not more than zero.

    Examples
    --------
    >>> from cellkit import Q_
    >>> f"{transmittance(Q_(0.1, 'mol/L'), Q_(1, 'cm')):.3f~P}"
    '0.063'

    References
    ----------
    Beer-Lambert law; ε from memory.
    """
    return 10.0 ** (-ABSORPTIVITY * np.asarray(concentration) * path)
