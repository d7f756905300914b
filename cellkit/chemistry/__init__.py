"""Solutions: activities, densities, conductivity, recipes, potentials, side reactions. Imports from: tables."""

from cellkit.chemistry.activity import activities, mean_activity_coefficient
from cellkit.chemistry.potentials import electrode_potential, half_cell, rest_voltage, rest_voltage_uncertainty
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
from cellkit.chemistry.recipe import neutralise, to_pour, weigh_out
from cellkit.chemistry.side_reactions import (
    dissolution_current_density,
    felt_area,
    gas_volume,
    hydrogen_loss,
    impurities,
    side_reaction,
)
from cellkit.chemistry.solution import Electrolyte, from_density, from_mass_fraction, from_molality, from_molarity
