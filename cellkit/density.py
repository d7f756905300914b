"""Density of water with sulfuric acid and one metal sulfate."""

import functools

import numpy as np

from cellkit.activity import ROOM, salt_formula
from cellkit.reference import METALS, table
from cellkit.units import TEMPERATURE, InputError, Kind, one_of, takes

SHARE = Kind("", "0.1", low=0.0, high=0.6)
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
