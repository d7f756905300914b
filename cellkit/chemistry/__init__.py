"""Solutions: activities, density, solubility, conductivity, recipes, potentials, gas. Imports from: tables."""

from cellkit.chemistry.activity import STAND_INS, activities, mean_activity_coefficient
from cellkit.chemistry.potentials import (
    corrosion_driving_force,
    electrode_potential,
    half_cell,
    rest_voltage,
    rest_voltage_uncertainty,
)
from cellkit.chemistry.properties import (
    BESIDE_ACID,
    DENSITY_ERROR,
    IN_WATER,
    MIXTURE_ERROR,
    conductivity,
    density,
    heat_of_dilution,
    solubility,
    transmittance,
)
from cellkit.chemistry.recipe import ElectrolytePlan, neutralise, read_electrolyte_plan, weigh_out
from cellkit.chemistry.side_reactions import gas_volume, ventilation
from cellkit.chemistry.solution import Electrolyte, from_density, from_mass_fraction, from_molality, from_molarity

__all__ = [
    "BESIDE_ACID",
    "DENSITY_ERROR",
    "Electrolyte",
    "ElectrolytePlan",
    "IN_WATER",
    "MIXTURE_ERROR",
    "STAND_INS",
    "activities",
    "conductivity",
    "corrosion_driving_force",
    "density",
    "electrode_potential",
    "from_density",
    "from_mass_fraction",
    "from_molality",
    "from_molarity",
    "gas_volume",
    "half_cell",
    "heat_of_dilution",
    "mean_activity_coefficient",
    "neutralise",
    "read_electrolyte_plan",
    "rest_voltage",
    "rest_voltage_uncertainty",
    "solubility",
    "transmittance",
    "ventilation",
    "weigh_out",
]
