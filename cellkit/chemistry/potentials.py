"""Volts at rest: half-cells, whole cells, and the lines past which water gives gas, by the Nernst equation."""

import functools

import numpy as np

from cellkit.chemistry.activity import ACID, ROOM, SALT, STAND_INS, activities, refuse_beyond_fit
from cellkit.chemistry.properties import relative_enthalpies
from cellkit.tables.published import FARADAY, GAS, METALS, table
from cellkit.units import TEMPERATURE, InputError, one_of, takes

NEGATIVES = ("lead", *METALS)
# powers of a(H+), a(SO4--), a(M++) and a(water) inside (RT/2F) ln(...) of each half-cell, all per two electrons
_POWERS = {
    "lead dioxide": (4, 1, 0, -2),
    "lead": (0, -1, 0, 0),
    "copper": (0, 0, 1, 0),
    "zinc": (0, 0, 1, 0),
    "hydrogen": (2, 0, 0, 0),
    "oxygen": (2, 0, 0, -1),
}


@functools.lru_cache
def _half_cells():
    return {
        row["half_cell"]: {
            "e0": row["e0_V"],
            "slope": row["de0_dT_mV_per_K"] / 1000,
            "uncertainty": row["uncertainty_mV"] / 1000,
            "source": row["source"],
        }
        for row in table("half_cells")
    }


def half_cell(name):
    """Standard potential [V] at 25 °C, its slope [V/K] and its uncertainty [V], with the source, as a dict."""
    return _half_cells()[one_of("half-cell", name, _half_cells())]


def _metal_of(negative):
    """The metal in solution for a named negative: None for lead."""
    return {"lead": None}.get(one_of("negative", negative, NEGATIVES), negative)


def _ideal(acid, salt):
    """ln of the molalities that stand in for activities when every ion is free and water is pure."""
    with np.errstate(divide="ignore"):
        return np.log(2 * acid), np.log(acid + salt), np.log(salt), np.zeros_like(acid)


def _logarithms(acid, salt, metal, temperature, ideal=False, stand_in=None):
    """ln a of H+, SO4--, M++ and water at a temperature."""
    acid, salt = np.broadcast_arrays(np.asarray(acid, float), np.asarray(salt, float))
    one_of("metal", metal, (*METALS, None))
    one_of("stand_in", stand_in, (*STAND_INS, None))
    if metal is None and np.any(salt > 0):
        raise InputError("there is salt but no metal; the lead cell takes acid alone.")
    if ideal:
        return _ideal(acid, salt)
    hydrogen, sulfate, metal_ion, water = activities.si(acid, salt, metal, stand_in)[:4]
    if np.any(np.asarray(temperature) != ROOM):
        of_acid, of_water = relative_enthalpies(acid + salt)
        shift = (1 / np.asarray(temperature) - 1 / ROOM) / GAS
        hydrogen, water = hydrogen + of_acid / 2 * shift, water + of_water * shift
    return hydrogen, sulfate, metal_ion, water


def _nernst(name, logarithms, temperature):
    """Potential [V] of a half-cell from the ln a of :func:`_logarithms`."""
    cell, terms = half_cell(name), zip(_POWERS[name], logarithms, strict=True)
    exponent = sum(power * ln_a for power, ln_a in terms if power)
    kelvin = np.asarray(temperature)
    return cell["e0"] + cell["slope"] * (kelvin - ROOM) + GAS * kelvin / (2 * FARADAY) * exponent


def _refuse(arguments, result):
    """An :class:`InputError` for salt beyond the model, or an electrode without its ions."""
    refuse_beyond_fit(arguments, result)
    name = arguments.get("name") or arguments.get("negative") or arguments.get("metal")
    if name in METALS and arguments.get("metal", name) != name:
        raise InputError(f"a {name} electrode needs {name} ions, but metal is {arguments['metal']!r}. Try {name!r}.")
    if name in METALS and np.any(np.asarray(arguments["salt"]) == 0):
        raise InputError(f'there are no {name} ions, so {name} has no potential here. Try salt=Q_(0.5, "mol/kg").')
    if arguments.get("name") not in METALS and np.any(np.asarray(arguments["acid"]) == 0):
        raise InputError("there is no acid, so lead dioxide and the gases have no potential here. Try some acid.")


@takes(returns="V", refuse=_refuse, acid=ACID, salt=SALT, temperature=TEMPERATURE)
def electrode_potential(name, acid, salt=0.0, metal=None, temperature=ROOM, ideal=False, stand_in=None):
    """Potential of one half-cell against the standard hydrogen electrode.

    E = E° + (dE°/dT)(T - 298.15 K) + (RT/2F) Σ ν(i) ln a(i), with ν per two electrons. Activities are those of 25 °C,
    carried to T by the relative partial molal enthalpies of sulfuric acid at the same total sulfate.

    Parameters
    ----------
    name : str
        ``"lead dioxide"``, ``"lead"``, ``"copper"``, ``"zinc"``, ``"hydrogen"`` or ``"oxygen"``.
    acid, salt : Quantity [mol/kg]
    metal : str or None
        The metal in solution, where there is salt.
    temperature : Quantity [K]
    ideal : bool
        True puts molalities in place of activities: the schoolbook answer, for comparison.
    stand_in : str or None
        See :func:`cellkit.chemistry.activities`.

    Returns
    -------
    Quantity [V]
        Single-ion activities follow the ion-interaction convention, so a single potential means little; differences
        of two in the same solution are what a voltmeter reads. ``.si`` is infinite where an ion is missing.

    Raises
    ------
    InputError
        For an unknown half-cell, a missing ion, or a composition outside :func:`cellkit.chemistry.activities`.

    Examples
    --------
    >>> from cellkit import Q_
    >>> f"{electrode_potential('copper', Q_(1, 'mol/kg'), Q_(0.5, 'mol/kg'), 'copper'):.2f~P}"
    '0.30 V'

    References
    ----------
    ``data/reference/half_cells.csv``; Clegg, Rard & Pitzer 1994, doi:10.1039/FT9949001875, for the enthalpies.
    """
    half_cell(name)
    return _nernst(name, _logarithms(acid, salt, metal, temperature, ideal, stand_in), temperature)


@takes(returns="V", refuse=_refuse, acid=ACID, salt=SALT, temperature=TEMPERATURE)
def rest_voltage(negative, acid, salt=0.0, temperature=ROOM, ideal=False, stand_in=None):
    """Voltage of a lead-dioxide cell with no current flowing.

    Lead: E = E° + (RT/F) ln[a(H)² a(SO4) / a(w)]. Copper, zinc: E = E° + (RT/2F) ln[a(H)⁴ a(SO4) / (a(M) a(w)²)].

    Parameters
    ----------
    negative : str
        ``"lead"``, ``"copper"`` or ``"zinc"``.
    acid, salt : Quantity [mol/kg]
        H2SO4 and metal sulfate per kilogram of water, as they are at this state of charge.
    temperature : Quantity [K]
    ideal, stand_in
        See :func:`electrode_potential`.

    Returns
    -------
    Quantity [V]
        See :func:`rest_voltage_uncertainty`. ``.si`` is +inf without metal ions, -inf without acid.

    Raises
    ------
    InputError
        For an unknown negative or a composition outside :func:`cellkit.chemistry.activities`.

    Examples
    --------
    >>> from cellkit import Q_
    >>> f"{rest_voltage('lead', Q_(5, 'mol/kg')):.2f~P}"
    '2.09 V'

    References
    ----------
    As :func:`electrode_potential`; the lead cell agrees within 2 mV with Harned & Hamer 1935 (from memory).
    """
    metal = _metal_of(negative)
    logarithms = _logarithms(acid, salt, metal, temperature, ideal, stand_in)
    return _nernst("lead dioxide", logarithms, temperature) - _nernst(negative, logarithms, temperature)


@takes(returns="V -> mV", refuse=_refuse, acid=ACID, salt=SALT, temperature=TEMPERATURE)
def rest_voltage_uncertainty(negative, acid, salt=0.0, temperature=ROOM):
    """Half-width of the band in which the true rest voltage should lie, about two standard deviations.

    Root of the sum of squares of: both standard potentials, 2 mV for the acid's activity, half the gap between the
    two stand-ins for the metal-bisulfate parameters (never less than 3 mV with salt), and for each kelvin away from
    25 °C 0.06 mV (lead) or 0.3 mV (copper, zinc: the salt's own enthalpy is left out).

    Parameters
    ----------
    negative, acid, salt, temperature
        As :func:`rest_voltage`.

    Returns
    -------
    Quantity [mV]
        A judgement, not a statistic: what goes into it is said above.

    Raises
    ------
    InputError
        As :func:`rest_voltage`.

    Examples
    --------
    >>> from cellkit import Q_
    >>> f"{rest_voltage_uncertainty('copper', Q_(1, 'mol/kg'), Q_(0.5, 'mol/kg')):.0f~P}"
    '8 mV'

    References
    ----------
    ``data/reference/half_cells.csv`` for the standard potentials; the rest common practice, no source.
    """
    metal = _metal_of(negative)
    squares = half_cell("lead dioxide")["uncertainty"] ** 2 + half_cell(negative)["uncertainty"] ** 2 + 0.002**2
    squares = squares + ((0.0003 if metal else 0.00006) * (np.asarray(temperature) - ROOM)) ** 2
    if metal is None:
        return np.sqrt(squares) + 0 * np.asarray(acid)
    low, high = (rest_voltage.si(negative, acid, salt, stand_in=s) for s in STAND_INS)
    with np.errstate(invalid="ignore"):
        gap = np.where(np.asarray(salt) * acid == 0, 0.0, np.abs(high - low) / 2)
    return np.sqrt(squares + np.maximum(gap, 0.003) ** 2)


@takes(returns="V", refuse=_refuse, acid=ACID, salt=SALT, temperature=TEMPERATURE)
def corrosion_driving_force(metal, acid, salt, temperature=ROOM):
    """How far a plated metal lies below hydrogen in the same solution: E(H+/H2) - E(M++/M).

    Parameters
    ----------
    metal : str
        ``"copper"`` or ``"zinc"``.
    acid, salt : Quantity [mol/kg]
    temperature : Quantity [K]

    Returns
    -------
    Quantity [V]
        Positive: the metal can dissolve under hydrogen (M + H2SO4 → MSO4 + H2). Negative: it cannot, though copper
        still dissolves where air brings oxygen. Says nothing about how fast.

    Raises
    ------
    InputError
        As :func:`rest_voltage`.

    Examples
    --------
    >>> from cellkit import Q_
    >>> f"{corrosion_driving_force('zinc', Q_(1, 'mol/kg'), Q_(0.5, 'mol/kg')):.2f~P}"
    '0.79 V'

    References
    ----------
    As :func:`electrode_potential`.
    """
    logarithms = _logarithms(acid, salt, one_of("metal", metal, METALS), temperature)
    return _nernst("hydrogen", logarithms, temperature) - _nernst(metal, logarithms, temperature)
