"""Volts at rest: half-cells, whole cells, and the lines past which water gives gas, by the Nernst equation."""

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


def half_cell(name):
    """Standard potential [V] at 25 °C, its slope [V/K] and its uncertainty [V], with the source, as a dict."""
    rows = {row["half_cell"]: row for row in table("half_cells")}
    row = rows[one_of("half-cell", name, rows)]
    slope, uncertainty = row["de0_dT_mV_per_K"] / 1000, row["uncertainty_mV"] / 1000
    return {"e0": row["e0_V"], "slope": slope, "uncertainty": uncertainty, "source": row["source"]}


# metals that dissolve in acid under hydrogen
CORRODE = tuple(metal for metal in METALS if half_cell(metal)["e0"] < half_cell("hydrogen")["e0"])


def _metal_of(negative):
    """The metal in solution for a named negative: None for lead."""
    return None if one_of("negative", negative, NEGATIVES) == "lead" else negative


def _logarithms(acid, salt, metal, temperature, ideal, stand_in):
    """ln a of H+, SO4--, M++ and water at a temperature; ``ideal``: of molalities, every ion free and water pure."""
    if ideal:
        with np.errstate(divide="ignore"):
            return np.log(2 * acid), np.log(acid + salt), np.log(salt), np.zeros_like(acid)
    hydrogen, sulfate, metal_ion, water = activities.si(acid, salt, metal, stand_in)[:4]
    if np.any(np.asarray(temperature) != ROOM):
        of_acid, of_water = relative_enthalpies(acid + salt)
        shift = (1 / np.asarray(temperature) - 1 / ROOM) / GAS
        hydrogen, water = hydrogen + of_acid / 2 * shift, water + of_water * shift
    return hydrogen, sulfate, metal_ion, water


def _potentials(names, acid, salt, metal, temperature, ideal=False, stand_in=None):
    """Potential [V] of each half-cell in one solution; in a learner's call words instead of an infinite one."""
    one_of("stand_in", stand_in, (*STAND_INS, None))
    acid, salt = np.broadcast_arrays(np.asarray(acid, float), within_fit(metal, salt))
    logarithms, found = _logarithms(acid, salt, metal, temperature, ideal, stand_in), []
    for name in names:
        ion, words = acid, "there is no acid, so lead dioxide and the gases have no potential here. Try some acid."
        if name in METALS:
            if metal != name:
                raise InputError(f"a {name} electrode needs {name} ions, but metal is {metal!r}. Try {name!r}.")
            ion = salt
            words = f'there are no {name} ions, so {name} has no potential here. Try salt=Q_(0.5, "mol/kg").'
        cell, kelvin = half_cell(name), np.asarray(temperature)
        exponent = sum(power * ln for power, ln in zip(_POWERS[name], logarithms, strict=True) if power)
        potential = cell["e0"] + cell["slope"] * (kelvin - ROOM) + GAS * kelvin / (2 * FARADAY) * exponent
        only_where((ion != 0) | (name == "lead"), potential, lambda words=words: words)
        found.append(potential)
    return found


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
    return _potentials([name], acid, salt, metal, temperature, ideal, stand_in)[0]


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
    plates = "lead dioxide", negative
    high, low = _potentials(plates, acid, salt, _metal_of(negative), temperature, ideal, stand_in)
    with np.errstate(invalid="ignore"):  # with neither ion there are no volts
        return high - low


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


def corrosion_driving_force(metal, acid, salt, temperature=ROOM):
    """How far [V] a plated metal lies below hydrogen in the same solution: E(H+/H2) - E(M++/M).

    Positive: the metal can dissolve under hydrogen (M + H2SO4 → MSO4 + H2). Negative: it cannot, though copper still
    dissolves where air brings oxygen. Says nothing about how fast. Source: as :func:`electrode_potential`.
    """
    hydrogen, low = _potentials(("hydrogen", metal), acid, salt, metal, temperature)
    return hydrogen - low
