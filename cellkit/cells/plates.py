"""Plates: what they weigh and how much charge they can hold."""

from collections import namedtuple

import numpy as np

from cellkit.chemistry.side_reactions import POROSITY
from cellkit.tables.metals import METALS, metal_named
from cellkit.tables.published import FARADAY, molar_mass, table
from cellkit.units import fraction, non_negative, one_of, positive, takes

TWO_ELECTRON = ("PbO2", "Pb", *(metal.symbol for metal in METALS.values()))
AREA = positive("m^2", 'Q_(25, "cm^2")')
AREAL_MASS = non_negative("kg/m^2", 'Q_(60, "mg/cm^2")')


def solid_density(substance):
    """Density [kg/m³] of a row of ``data/reference/pure_substances.csv``."""
    return next(row["density_kg_per_m3"] for row in table("pure_substances") if row["substance"] == substance)


@takes(returns="C -> Ah", mass=non_negative("kg", 'Q_(20, "g")'))
def theoretical_capacity(mass, substance):
    """Charge in a mass of active material if all of it reacts: Q = 2 F m / M.

    ``substance`` is ``"PbO2"``, ``"Pb"`` or the symbol of a metal that plates: each gives or takes two electrons. A
    real plate gives a third to a half of it (common practice, no source). Source: Faraday's law.

    >>> f"{theoretical_capacity(Q_(20, 'g'), 'PbO2'):.2f~P}"
    '4.48 Ah'
    """
    one_of("substance", substance, TWO_ELECTRON)
    return 2 * FARADAY * np.asarray(mass) / molar_mass.si(substance)


@takes(returns="m^3 -> mL", charge=positive("C", 'Q_(1, "Ah")'), concentration=positive("mol/m^3", 'Q_(1, "mol/L")'))
def minimum_volume(charge, concentration):
    """Least volume of solution whose metal ions carry a charge: V = Q / (2 F c).

    A floor: the last ions never plate. Source: Faraday's law.

    >>> f"{minimum_volume(Q_(1, 'Ah'), Q_(1, 'mol/L')):.1f~P}"
    '18.7 mL'
    """
    return np.asarray(charge) / (2 * FARADAY * np.asarray(concentration))


class Layers(namedtuple("Layers", "mesh filled_polyethylene felt")):
    """Mass per area of the layers of a composite plate: the mesh, and both faces of what is on it together."""


@takes(returns=dict.fromkeys(Layers._fields, "kg/m^2 -> mg/cm^2"), felt_thickness=non_negative("m", 'Q_(1.5, "mm")'))
def plate_layers(felt_thickness):
    """The :class:`Layers` of a plate with felt of a thickness on each face; weigh a square of yours.

    Square mesh of round wires (π/2) d² ρ / p, what the weave adds to their length left out; polyethylene 2 d ρ; felt
    2 d (1 − ε) ρ. Source: geometry; sizes invented, densities from memory: ``data/reference/composite_plate.csv``.

    >>> f"{plate_layers(Q_(1.5, 'mm')).felt:.0f~P}"
    '38 mg/cm²'
    """
    given = {row["name"]: row["value"] for row in table("composite_plate")}
    mesh = np.pi / 2 * given["mesh_wire"] ** 2 * given["mesh_density"] / given["mesh_pitch"]
    felt = 2 * np.asarray(felt_thickness) * (1 - POROSITY) * given["fibre_density"]
    return Layers(mesh, 2 * given["polyethylene"] * given["polyethylene_density"], felt)


@takes(returns="kg -> g", area=AREA, mesh=AREAL_MASS, filled_polyethylene=AREAL_MASS, felt=AREAL_MASS)
def felt_plate_mass(area, mesh, filled_polyethylene, felt):
    """Mass of one composite plate: area of one face × the sum of the areal masses of its layers, both faces counted.

    Stainless mesh, both faces of carbon-filled polyethylene together, all the felt: weigh a cut square of each.

    >>> layers = Q_(19, "mg/cm^2"), Q_(30, "mg/cm^2"), Q_(25, "mg/cm^2")
    >>> f"{felt_plate_mass(Q_(25, 'cm^2'), *layers):.2f~P}"
    '1.85 g'
    """
    return np.asarray(area) * (np.asarray(mesh) + filled_polyethylene + felt)


@takes(returns="C -> Ah", area=AREA, thickness=positive("m", 'Q_(3, "mm")'), fill=fraction("0.3"))
def felt_capacity(metal, area, thickness, fill=0.3):
    """Most charge the felt can hold as plated metal: Q = 2 F A d ε (fill) ρ / M.

    ``area`` of one face and ``thickness`` of the felt in the cell; its empty share ε: ``data/reference/kinetics.csv``;
    ``fill`` the share of that space which metal may take before it closes the pores: 0.3 is a guess to test.
    Source: densities from CRC, ``data/reference/pure_substances.csv``; Faraday's law.

    >>> f"{felt_capacity('copper', Q_(25, 'cm^2'), Q_(3, 'mm')):.1f~P}"
    '15.8 Ah'
    """
    symbol = metal_named(metal).symbol
    return theoretical_capacity.si(np.asarray(area) * thickness * POROSITY * fill * solid_density(symbol), symbol)
