"""How well an electrolyte conducts, from tables and a mixing rule."""

import functools

import numpy as np

from cellkit import solution
from cellkit.activity import ROOM, salt_formula
from cellkit.reference import METALS, molar_mass, table
from cellkit.units import TEMPERATURE, InputError, not_negative, one_of, takes

PER_KELVIN = {"H2SO4": 0.016, "CuSO4": 0.022, "ZnSO4": 0.022}  # relative rise per kelvin near 25 °C, from memory
MIXTURE_ERROR = 0.2  # share by which a mixture's conductivity may be off: a judgement
CONCENTRATION = not_negative("mol/m^3", 'Q_(1, "mol/L")')


@functools.lru_cache
def _curve(formula):
    """Interpolator of the conductivity [S/m] at 25 °C of one solute over its concentration [mol/m³]."""
    from scipy.interpolate import PchipInterpolator

    metal = {"CuSO4": "copper", "ZnSO4": "zinc"}.get(formula)
    concentration, conductivity = [0.0], [0.0]
    for row in (r for r in table("conductivity") if r["solute"] == formula):
        share, kelvin = row["mass_percent"] / 100, row["temperature_degC"] + 273.15
        shares = (0.0, share) if metal else (share, 0.0)
        concentration.append(share * solution.density.si(*shares, metal, kelvin) / molar_mass.si(formula))
        conductivity.append(row["conductivity_S_per_m"] * (1 + PER_KELVIN[formula] * (ROOM - kelvin)))
    return PchipInterpolator(concentration, conductivity)


def _refuse_beyond_table(arguments, result):
    if np.any(np.isnan(result)):
        total = np.max(np.asarray(arguments["acid"]) + arguments["salt"]) / 1000
        most = _curve("H2SO4").x[-1] / 1000
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
            curve = _curve(formula)
            within = np.minimum(total, curve.x[-1])
            own = np.where((total > within) & (formula == "H2SO4"), np.nan, curve(within))
            share = np.divide(amount, total, out=np.zeros_like(total), where=total > 0)
            result = result + share * own * (1 + PER_KELVIN[formula] * (np.asarray(temperature) - ROOM))
    return result
