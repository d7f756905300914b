"""Heat of sulfuric acid and water: relative enthalpies, and how hot a dilution gets."""

import functools
from typing import NamedTuple

import numpy as np

from cellkit.activity import ROOM
from cellkit.reference import molar_mass, table
from cellkit.units import TEMPERATURE, Kind, positive, takes

CP_WATER, CP_ACID = 4180.0, 1400.0  # J/(kg K), from memory; mass-weighted they hit 20-50 wt% acid within 6 %
STOCK = Kind("", "0.37", low=0.0, high=0.84, open_low=True)


@functools.lru_cache
def _curve():
    """Interpolator of the apparent relative molal enthalpy [J/mol] over ln(mol/kg), and its lowest molality."""
    from scipy.interpolate import PchipInterpolator

    rows = table("sulfuric_acid_enthalpy")
    molality = [row["molality_mol_per_kg"] for row in rows]
    enthalpy = [1000 * row["apparent_relative_molal_enthalpy_kJ_per_mol"] for row in rows]
    return PchipInterpolator(np.log(molality), enthalpy), molality[0]


def apparent_enthalpy(molality):
    """Apparent relative molal enthalpy L_phi [J/mol] of H2SO4 at 25 °C, held constant below 0.05 mol/kg."""
    curve, lowest = _curve()
    return curve(np.log(np.maximum(molality, lowest)))


def relative_enthalpies(molality):
    """Relative partial molal enthalpies [J/mol] of H2SO4, L_phi + m dL_phi/dm, and of water, -M m² dL_phi/dm."""
    curve, lowest = _curve()
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
def dilute(stock_mass, water, stock=0.37, temperature=ROOM):
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
    >>> f"{dilute(Q_(100, 'g'), Q_(100, 'g')).final:.0f~P}"
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
