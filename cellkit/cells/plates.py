"""Plates: what they weigh and how much charge they can hold."""

import numpy as np

from cellkit.chemistry.activity import salt_formula
from cellkit.tables.published import FARADAY, METALS, molar_mass, table
from cellkit.units import Constraint, fraction, non_negative, one_of, positive, takes

TWO_ELECTRON = ("PbO2", "Pb", "Cu", "Zn")
AREA = positive("m^2", 'Q_(25, "cm^2")')
AREAL_MASS = non_negative("kg/m^2", 'Q_(60, "mg/cm^2")')


@takes(returns="C -> Ah", mass=non_negative("kg", 'Q_(20, "g")'))
def theoretical_capacity(mass, substance):
    """Charge in a mass of active material if all of it reacts: Q = 2 F m / M.

    Parameters
    ----------
    mass : Quantity [kg]
    substance : str
        ``"PbO2"``, ``"Pb"``, ``"Cu"`` or ``"Zn"``: each gives or takes two electrons.

    Returns
    -------
    Quantity [Ah]
        A real plate gives a third to a half of it (common practice, no source).

    Raises
    ------
    InputError
        For a negative mass or another substance.

    Examples
    --------
    >>> from cellkit import Q_
    >>> f"{theoretical_capacity(Q_(20, 'g'), 'PbO2'):.2f~P}"
    '4.48 Ah'

    References
    ----------
    Faraday's law; constants as in :mod:`cellkit.tables.published`.
    """
    one_of("substance", substance, TWO_ELECTRON)
    return 2 * FARADAY * np.asarray(mass) / molar_mass.si(substance)


@takes(returns="m^3 -> mL", charge=positive("C", 'Q_(1, "Ah")'), concentration=positive("mol/m^3", 'Q_(1, "mol/L")'))
def minimum_volume(charge, concentration):
    """Least volume of solution whose metal ions carry a charge: V = Q / (2 F c).

    Parameters
    ----------
    charge : Quantity [C]
    concentration : Quantity [mol/m³]

    Returns
    -------
    Quantity [mL]
        A floor: the last ions never plate.

    Raises
    ------
    InputError
        Unless both are more than zero.

    Examples
    --------
    >>> from cellkit import Q_
    >>> f"{minimum_volume(Q_(1, 'Ah'), Q_(1, 'mol/L')):.1f~P}"
    '18.7 mL'

    References
    ----------
    Faraday's law.
    """
    return np.asarray(charge) / (2 * FARADAY * np.asarray(concentration))


@takes(returns="kg -> g", area=AREA, mesh=AREAL_MASS, filled_polyethylene=AREAL_MASS, felt=AREAL_MASS)
def felt_plate_mass(area, mesh, filled_polyethylene, felt):
    """Mass of one composite plate: area × the sum of the areal masses of its layers, both faces counted.

    Parameters
    ----------
    area : Quantity [m²]
        One face.
    mesh, filled_polyethylene, felt : Quantity [kg/m²]
        Stainless mesh, both faces of carbon-filled polyethylene together, all the felt. Weigh a cut square of each.

    Returns
    -------
    Quantity [g]

    Raises
    ------
    InputError
        For a negative areal mass or an area that is not more than zero.

    Examples
    --------
    >>> from cellkit import Q_
    >>> layers = Q_(10, "mg/cm^2"), Q_(30, "mg/cm^2"), Q_(25, "mg/cm^2")
    >>> f"{felt_plate_mass(Q_(25, 'cm^2'), *layers):.1f~P}"
    '1.6 g'

    References
    ----------
    Geometry.
    """
    return np.asarray(area) * (np.asarray(mesh) + filled_polyethylene + felt)


@takes(
    returns="C -> Ah",
    area=AREA,
    thickness=positive("m", 'Q_(3, "mm")'),
    porosity=Constraint("", "0.93", low=0.0, high=1.0),
    fill=fraction("0.3"),
)
def felt_capacity(metal, area, thickness, porosity=0.93, fill=0.3):
    """Most charge the felt can hold as plated metal: Q = 2 F A d (porosity) (fill) ρ / M.

    Parameters
    ----------
    metal : str
        ``"copper"`` or ``"zinc"``.
    area, thickness : Quantity [m²], [m]
        One face of the felt and its thickness in the cell.
    porosity : float [1]
        Empty share of the felt; 0.93 from memory for battery felts.
    fill : float [1]
        Share of the empty space that metal may take before it closes the pores; 0.3 is a guess to test.

    Returns
    -------
    Quantity [Ah]

    Raises
    ------
    InputError
        For an unknown metal or values out of range.

    Examples
    --------
    >>> from cellkit import Q_
    >>> f"{felt_capacity('copper', Q_(25, 'cm^2'), Q_(3, 'mm')):.1f~P}"
    '15.8 Ah'

    References
    ----------
    Densities from CRC, ``data/reference/pure_substances.csv``; Faraday's law.
    """
    salt_formula(metal)
    rows = {row["substance"]: row["density_kg_per_m3"] for row in table("pure_substances")}
    volume = np.asarray(area) * thickness * porosity * fill
    return theoretical_capacity.si(volume * rows[METALS[metal]], METALS[metal])
