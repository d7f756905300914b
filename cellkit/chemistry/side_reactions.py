"""Side reactions: hydrogen, oxygen, what they take and how much gas that is; what plating cannot reach.

Their ranges are rows of ``data/reference/side_reactions.csv``, each with a source and a status; what traces of other
metals do is in ``data/reference/impurities.csv``. All currents are for clean solutions.
"""

from collections import namedtuple

import numpy as np

from cellkit.chemistry.activity import ACID, ROOM, SALT, activities
from cellkit.chemistry.potentials import corrosion_driving_force, electrode_potential
from cellkit.chemistry.solution import from_molarity
from cellkit.tables.metals import metal_named
from cellkit.tables.published import FARADAY, GAS, in_si, molar_mass, table
from cellkit.units import TEMPERATURE, Constraint, non_negative, one_of, only_where, positive, takes

ELECTRONS = {"hydrogen": 2, "oxygen": 4}
ATMOSPHERE = 101325.0  # Pa
AIR = 0.2095  # share of oxygen in it, for which the table gives the oxygen in water
CASES = ("low", "nominal", "high")
TRANSFER = 0.5  # transfer coefficient of hydrogen, for which the table gives its exchange currents
OXYGEN_TRANSFER = 0.59  # that of oxygen on lead dioxide, from the source of its exchange current
POROSITY = next(row["nominal"] for row in table("kinetics") if row["name"] == "felt_porosity")  # share that is empty
FACE = positive("m^2", 'Q_(25, "cm^2")')
VOLTAGE = Constraint("V", 'Q_(0.1, "V")', low=-5.0, high=5.0)
INDOORS = Constraint("K", 'Q_(25, "degC")', low=TEMPERATURE.low, high=313.15)  # published rates are of 30 to 40 °C


class Range(namedtuple("Range", "low nominal high status source")):
    """A row of the table: both ends and the middle as SI floats, its status and its source."""


class HydrogenBound(namedtuple("HydrogenBound", "rate total")):
    """Most hydrogen per time, and most of it in all."""


class Impurity(namedtuple("Impurity", "element comes_from effect shown status do")):
    """A trace element: where it comes from here, what it does, how little was shown to do what, and what to do."""


def side_reaction(name):
    """The :class:`Range` of a row of ``data/reference/side_reactions.csv``.

    >>> side_reaction("hydrogen on zinc").status
    'published'
    """
    rows = {row["name"]: row for row in table("side_reactions")}
    row = rows[one_of("name", name, rows)]
    return Range(*in_si(row, *CASES), row["status"], row["source"])


def value(name, case="nominal"):
    """One end or the middle of a :func:`side_reaction` as an SI float."""
    return getattr(side_reaction(name), one_of("case", case, CASES))


def impurities(metal):
    """What traces of other elements do to a plated metal, a list of :class:`Impurity` in words.

    >>> [f"{found.element}: {found.shown}" for found in impurities("zinc")][0]
    'antimony: 0.014 mg/L: half of the current lost at 400 A/m² and 35 °C (5 % at 0.004 mg/L)'
    """
    rows = [row for row in table("impurities") if row["metal"] in (metal_named(metal).name, "any")]
    shown = {True: "{shown_mg_per_L:g} mg/L: {shown_effect}", False: "no figure found for how little does harm"}
    rows = [row | {"shown": shown[bool(row["shown_effect"])].format(**row)} for row in rows]
    return [Impurity(*map(row.get, Impurity._fields)) for row in rows]


@takes(returns="m^3 -> L", charge=non_negative("C", 'Q_(1, "Ah")'), temperature=TEMPERATURE)
def gas_volume(charge, gas="hydrogen", temperature=ROOM):
    """Volume of dry gas that a charge sets free at one atmosphere: V = Q R T / (n F p), with n = 2 (H2) or 4 (O2).

    ``gas`` is ``"hydrogen"`` or ``"oxygen"``. Source: Faraday's law and the ideal gas.

    >>> f"{gas_volume(Q_(1, 'Ah')):.2f~P}"
    '0.46 L'
    """
    electrons = ELECTRONS[one_of("gas", gas, ELECTRONS)]
    return np.asarray(charge) * GAS * temperature / (electrons * FARADAY * ATMOSPHERE)


def ventilation(cells, gas_current):
    """Air [m³/s] that keeps hydrogen below 4 %, with a margin: Q = 0.05 n I m³/h, for n cells and I in amperes.

    ``gas_current`` makes gas; for a rebuilt cell, which no standard knows, take the whole charging current. For natural
    draught the openings have to be sized as well. Local codes and a licensed practitioner decide. Source: 0.05 is EN
    IEC 62485-2, from memory; by Faraday's law it is over four times the air that keeps the published 4 % up to 40 °C.
    """
    return 0.05 * cells * gas_current / 3600


@takes(returns="m^2 -> cm^2", face=FACE, thickness=positive("m", 'Q_(1.5, "mm")'), fibre=positive("m", 'Q_(10, "um")'))
def felt_area(face, thickness, fibre=10e-6):
    """True area of all the fibres in a felt: A = 4 (1 - ε) / d × face × thickness.

    ``thickness`` as it lies in the cell, ``fibre`` the diameter d. Of bare, smooth fibres: metal makes them thicker and
    rougher. Source: geometry of cylinders.

    >>> f"{felt_area(Q_(1, 'cm^2'), Q_(1.5, 'mm')):.0f~P}"
    '42 cm²'
    """
    return 4 * (1 - POROSITY) / np.asarray(fibre) * face * thickness


def hydrogen_current_density(driving_force, activity, exchange):
    """Hydrogen [A/m²] per true area at 25 °C: i = i0 a(H+)^½ 10^(η/b), with b = ln 10 RT/(½ F).

    ``driving_force`` η [V]: how far the surface lies below hydrogen in the same solution; ``exchange`` i0 [A/m²] at
    unit ``activity`` of H+. Zero where the surface lies above hydrogen; the acid is taken not to run short.
    Source: Tafel's equation with a slow discharge step, textbooks of electrode kinetics.
    """
    rate = exchange * activity ** (1 - TRANSFER) * np.exp(driving_force * TRANSFER * FARADAY / (GAS * ROOM))
    return rate * (np.asarray(driving_force) > 0)


@takes(returns="A/m^2 -> mA/cm^2", acid=ACID, salt=SALT, temperature=TEMPERATURE, overpotential=VOLTAGE)
def hydrogen_loss(negative, acid, salt, temperature=ROOM, overpotential=0.0, case="nominal"):
    """Hydrogen per true area of a plated negative, from the published range.

    :func:`hydrogen_current_density` at 25 °C with the driving force at T, times exp[-E/R (1/T - 1/298.15 K)].
    ``overpotential``: 0 at rest, about 0.1 V while plating zinc. ``case``: every row that goes in at its low, nominal
    or high end. Source: ``data/reference/side_reactions.csv``.

    >>> mixture = Q_(1, "mol/kg"), Q_(0.5, "mol/kg")
    >>> [f"{hydrogen_loss('zinc', *mixture, case=case):.2g~P}" for case in CASES]
    ['0.018 mA/cm²', '0.091 mA/cm²', '0.36 mA/cm²']
    """
    exchange = value(f"hydrogen on {metal_named(negative).name}", case)
    drive = corrosion_driving_force(negative, acid, salt, temperature) + overpotential
    activity = np.exp(activities.si(acid, salt, negative).hydrogen)
    colder = (1 / np.asarray(temperature) - 1 / ROOM) / GAS
    # in the cold it is the small activation energy that leaves much hydrogen
    least, most = (value("activation energy of hydrogen", c) for c in (case, CASES[2 - CASES.index(case)]))
    factor = np.exp(-np.where(colder > 0, most, least) * colder)
    return hydrogen_current_density(drive, activity, exchange) * factor


@takes(
    returns="A/m^2 -> A/cm^2",
    loss=non_negative("A/m^2", 'Q_(0.5, "mA/cm^2")'),
    acid=ACID,
    salt=SALT,
    temperature=TEMPERATURE,
)
def exchange_current_density(loss, negative, acid, salt, temperature=ROOM):
    """Exchange current density behind a ``loss`` per true area measured at rest: :func:`hydrogen_loss` turned round.

    At unit activity and 25 °C, to stand in place of the row ``hydrogen on zinc``. Source: as :func:`hydrogen_loss`.

    >>> mixture = Q_(1, "mol/kg"), Q_(0.5, "mol/kg")
    >>> f"{exchange_current_density(Q_(0.91, 'A/m^2'), 'zinc', *mixture):.1e~P}"
    '2.5×10⁻¹¹ A/cm²'
    """
    usual = hydrogen_loss.si(negative, acid, salt, temperature)
    found = np.asarray(loss) * value(f"hydrogen on {negative}") / np.where(usual > 0, usual, np.nan)
    return only_where(usual > 0, found, lambda: f"{negative} lies above hydrogen: it makes none. Try negative='zinc'.")


@takes(
    returns={"rate": "m^3/s -> L/hour", "total": "m^3 -> L"},
    area=FACE,
    charge=non_negative("C", 'Q_(1, "Ah")'),
    acid=ACID,
    salt=SALT,
    charging_current=non_negative("A", 'Q_(0.4, "A")'),
    temperature=INDOORS,
)
def hydrogen_upper_bound(area, charge, acid, salt, charging_current=0.0, temperature=ROOM):
    """Most hydrogen of a zinc negative by what is published: V' = (I + i A) RT/(2Fp), in all Q RT/(2Fp).

    i is the high end of ``hydrogen while plating zinc``, measured in 1.07 mol/L H2SO4 with 0.8 mol/L ZnSO4; in a
    solution that makes more, by :func:`hydrogen_loss`, as many times more. ``area``: true, of all zinc in the room.
    ``charge``: as zinc, with what is still to be charged. ``acid`` and ``salt`` as charged, with most acid and least
    zinc. All the ``charging_current`` counts as hydrogen. The rate is for up to 14 µg/L of antimony; with more of it
    nothing published bounds it, and only the total stands. What has come after a time t is the lesser of rate × t and
    the total. Source: Faraday's law, ideal gas; ``data/reference/side_reactions.csv``.

    >>> bound = hydrogen_upper_bound(Q_(50, "cm^2"), Q_(1, "Ah"), Q_(1, "mol/kg"), Q_(1, "mol/kg"))
    >>> f"{bound.rate:.2f~P}, {bound.total:.2f~P}"
    '0.46 L/h, 0.46 L'
    """
    measured = hydrogen_loss.si("zinc", *from_molarity.si(1e-3, 1070.0, 800.0, "zinc").molalities)
    times = np.maximum(hydrogen_loss.si("zinc", acid, salt) / measured, 1.0)
    current = value("hydrogen while plating zinc", "high") * times * area + charging_current
    current, charge = np.broadcast_arrays(current, charge)
    return HydrogenBound(*(gas_volume.si(passed, "hydrogen", temperature) for passed in (current, charge)))


@takes(returns="A/m^2 -> mA/cm^2", rate=non_negative("kg/m^2/s", 'Q_(3, "g/(m^2*day)")'))
def dissolution_current_density(rate, metal="copper"):
    """Current density that a loss of weight stands for: i = 2 F r / M. Source: Faraday's law.

    >>> f"{dissolution_current_density(Q_(2.7, 'g/(m^2*day)')):.4f~P}"
    '0.0095 mA/cm²'
    """
    return 2 * FARADAY * np.asarray(rate) / molar_mass.si(metal_named(metal).symbol)


def oxygen_limited_current(surface, depth, share=AIR, case="nominal"):
    """Most copper [A] that oxygen can dissolve through quiet liquid: I = 4 F D c A / depth, c by its share of the gas.

    ``surface`` [m²] of the liquid that the gas reaches, ``depth`` [m] of liquid between gas and copper: however large
    the felt. ``share``: that of air, or 1 beside a positive that makes oxygen, with its faces as ``surface`` and the
    separator as ``depth``; bubbles that reach the copper bring more.
    Source: Fick's first law, Henry's law; ``data/reference/side_reactions.csv``.
    """
    dissolved = value("oxygen in water", case) * share / AIR
    return 4 * FARADAY * value("diffusion of oxygen", case) * dissolved * surface / depth


def oxygen_overpotential(current_density, acid, salt=0.0, metal=None):
    """How far [V] above its rest potential lead dioxide stands while a current makes oxygen of it, at 25 °C, at most.

    η = b log10(i / i0) - [E(PbO2) - E(O2)], b = ln 10 RT/(0.59 F), and 0 where that is less: below its rest potential
    it would discharge. ``current_density`` [A/m²] per face, as if it were smooth: a porous plate has more area and
    stands lower, down to 0. Source: Tafel's equation; ``data/reference/side_reactions.csv``.
    """
    plate, gas = (electrode_potential.si(name, acid, salt, metal) for name in ("lead dioxide", "oxygen"))
    tafel = np.log(np.asarray(current_density) / value("oxygen on lead dioxide")) * GAS * ROOM / FARADAY
    return np.maximum(tafel / OXYGEN_TRANSFER - (plate - gas), 0.0)


def ions_left_behind(metal, current_density, thickness):
    """Metal ions [mol/m³] still in the liquid when the far side of a felt runs empty: Δc = j L / (2 · 2F D ε^1.5).

    ``current_density`` [A/m²] of one face while charging, ``thickness`` [m] of what the ions have to cross. From here
    on the current makes hydrogen. No stirring, no migration.
    Source: Fick's laws for a reaction spread evenly over L; ε^1.5 of Bruggeman; ``data/reference/side_reactions.csv``.
    """
    return current_density * thickness / (4 * FARADAY * value(f"diffusion of {metal}") * POROSITY**1.5)
