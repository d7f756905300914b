"""Volts at rest: half-cells, whole cells, and the lines past which water gives gas, by the Nernst equation."""

import functools

import numpy as np

from cellkit.chemistry.activity import ACID, ROOM, SALT, STAND_INS, activities, within_fit
from cellkit.chemistry.properties import relative_enthalpies
from cellkit.tables.metals import METALS
from cellkit.tables.published import FARADAY, GAS, table
from cellkit.units import TEMPERATURE, InputError, one_of, only_where, takes

NEGATIVES = ("lead", *METALS)
# powers of a(H+), a(SO4--), a(M++) and a(water) inside (RT/2F) ln(...) of each half-cell, all per two electrons
_POWERS = {
    "lead dioxide": (4, 1, 0, -2),
    "lead": (0, -1, 0, 0),
    "hydrogen": (2, 0, 0, 0),
    "oxygen": (2, 0, 0, -1),
    **dict.fromkeys(METALS, (0, 0, 1, 0)),
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
    return None if one_of("negative", negative, NEGATIVES) == "lead" else negative


def _logarithms(acid, salt, metal, temperature, ideal=False, stand_in=None):
    """ln a of H+, SO4--, M++ and water at a temperature; ``ideal``: of molalities, every ion free and water pure."""
    acid, salt = np.broadcast_arrays(np.asarray(acid, float), within_fit(metal, salt))
    one_of("stand_in", stand_in, (*STAND_INS, None))
    if ideal:
        with np.errstate(divide="ignore"):
            return np.log(2 * acid), np.log(acid + salt), np.log(salt), np.zeros_like(acid)
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


def _where_it_can_be(name, metal, acid, salt, potential):
    """``potential`` of a half-cell in a solution; in a learner's call words instead of an infinite one."""
    if name in METALS and metal != name:
        raise InputError(f"a {name} electrode needs {name} ions, but metal is {metal!r}. Try {name!r}.")
    missing, words = np.False_, ""
    if name in METALS:
        missing = np.asarray(salt) == 0
        words = f'there are no {name} ions, so {name} has no potential here. Try salt=Q_(0.5, "mol/kg").'
    elif name != "lead":
        missing = np.asarray(acid) == 0
        words = "there is no acid, so lead dioxide and the gases have no potential here. Try some acid."
    only_where(~missing, potential, lambda: words)
    return potential


@takes(returns="V", acid=ACID, salt=SALT, temperature=TEMPERATURE)
def electrode_potential(name, acid, salt=0.0, metal=None, temperature=ROOM, ideal=False, stand_in=None):
    """Potential of one half-cell against the standard hydrogen electrode.

    E = E° + (dE°/dT)(T - 298.15 K) + (RT/2F) Σ ν(i) ln a(i), with ν per two electrons. Activities are those of 25 °C,
    carried to T by the relative partial molal enthalpies of sulfuric acid at the same total sulfate. ``name`` is
    ``"lead dioxide"``, ``"lead"``, ``"hydrogen"``, ``"oxygen"`` or a metal, ``metal`` that of the salt in solution,
    if any. ``ideal`` puts molalities in place of activities: the schoolbook answer, for comparison.

    Single-ion activities follow the ion-interaction convention, so a single potential means little; differences of two
    in the same solution are what a voltmeter reads. ``.si`` is infinite where an ion is missing.

    Source: ``data/reference/half_cells.csv``; Clegg, Rard & Pitzer 1994, doi:10.1039/FT9949001875, for the enthalpies.

    >>> f"{electrode_potential('copper', Q_(1, 'mol/kg'), Q_(0.5, 'mol/kg'), 'copper'):.2f~P}"
    '0.30 V'
    """
    half_cell(name)
    potential = _nernst(name, _logarithms(acid, salt, metal, temperature, ideal, stand_in), temperature)
    return _where_it_can_be(name, metal, acid, salt, potential)


@takes(returns="V", acid=ACID, salt=SALT, temperature=TEMPERATURE)
def rest_voltage(negative, acid, salt=0.0, temperature=ROOM, ideal=False, stand_in=None):
    """Voltage of a lead-dioxide cell with no current flowing (open-circuit voltage).

    Lead: E = E° + (RT/F) ln[a(H)² a(SO4) / a(w)]. A metal M: E = E° + (RT/2F) ln[a(H)⁴ a(SO4) / (a(M) a(w)²)].
    ``negative`` is ``"lead"`` or a metal; composition as it is at this state of charge. See
    :func:`rest_voltage_uncertainty`; ``.si`` is +inf without metal ions, -inf without acid.

    Source: as :func:`electrode_potential`; the lead cell agrees within 2 mV with Harned & Hamer 1935 (from
    memory) from 0.05 to 4 mol/kg; its standard potential was fitted to them.

    >>> f"{rest_voltage('lead', Q_(5, 'mol/kg')):.2f~P}"
    '2.09 V'
    """
    logarithms = _logarithms(acid, salt, _metal_of(negative), temperature, ideal, stand_in)
    _where_it_can_be("lead dioxide", None, acid, salt, logarithms[0])
    low = _where_it_can_be(negative, _metal_of(negative), acid, salt, _nernst(negative, logarithms, temperature))
    with np.errstate(invalid="ignore"):  # with neither ion there are no volts
        return _nernst("lead dioxide", logarithms, temperature) - low


@takes(returns="V -> mV", acid=ACID, salt=SALT, temperature=TEMPERATURE)
def rest_voltage_uncertainty(negative, acid, salt=0.0, temperature=ROOM):
    """Half-width of the band in which the true :func:`rest_voltage` should lie, about two standard deviations.

    Root of the sum of squares of: both standard potentials, 2 mV for the acid's activity, half the gap between the
    two stand-ins for the metal-bisulfate parameters (never less than 3 mV with salt), and for each kelvin away from
    25 °C 0.06 mV (lead) or 0.3 mV (a metal: the salt's own enthalpy is left out). A judgement, not a statistic.

    Source: ``data/reference/half_cells.csv`` for the standard potentials; the rest common practice, no source.

    >>> f"{rest_voltage_uncertainty('copper', Q_(1, 'mol/kg'), Q_(0.5, 'mol/kg')):.0f~P}"
    '8 mV'
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


@takes(returns="V", acid=ACID, salt=SALT, temperature=TEMPERATURE)
def corrosion_driving_force(metal, acid, salt, temperature=ROOM):
    """How far a plated metal lies below hydrogen in the same solution: E(H+/H2) - E(M++/M).

    Positive: the metal can dissolve under hydrogen (M + H2SO4 → MSO4 + H2). Negative: it cannot, though copper still
    dissolves where air brings oxygen. Says nothing about how fast. Source: as :func:`electrode_potential`.

    >>> f"{corrosion_driving_force('zinc', Q_(1, 'mol/kg'), Q_(0.5, 'mol/kg')):.2f~P}"
    '0.79 V'
    """
    logarithms = _logarithms(acid, salt, one_of("metal", metal, METALS), temperature)
    pair = (_nernst(name, logarithms, temperature) for name in ("hydrogen", metal))
    hydrogen, low = (_where_it_can_be(n, metal, acid, salt, e) for n, e in zip(("hydrogen", metal), pair, strict=True))
    return hydrogen - low
