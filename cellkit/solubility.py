"""How much metal sulfate dissolves, in water and beside sulfuric acid."""

import functools

import numpy as np

from cellkit.activity import ROOM, SALT_LIMIT, activities, salt_formula
from cellkit.reference import table
from cellkit.units import TEMPERATURE, Kind, takes

BESIDE = Kind("mol/kg", 'Q_(1, "mol/kg")', low=0.0, high=3.5)
IN_WATER = 0.02  # share by which the interpolated tables may be off, from the comparison with CRC
BESIDE_ACID = 0.2  # share by which the estimate beside acid may be off: a judgement, no published check here


@takes(returns="mol/kg", acid=BESIDE, temperature=TEMPERATURE)
def saturation(metal, acid=0.0, temperature=ROOM):
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
    >>> f"{saturation('copper', temperature=Q_(20, 'degC')):.2f~P}"
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
