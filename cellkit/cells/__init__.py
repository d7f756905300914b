"""Plates, one cell, the block as weighed, a current through a cell, charging. Imports from: chemistry, before."""

from cellkit.cells.block import Block, read_block
from cellkit.cells.cell import LEVELS, Cell, build_cell, shortcut_ratio, specific_energy_ratio
from cellkit.cells.charge import cycles, cycles_until_reversal, first_charge, leak_current, rest_loss
from cellkit.cells.load import CurrentPath, carbon_pulse, carbon_wrap, current_path, run_load, voltage_under_load
from cellkit.cells.plates import felt_capacity, felt_plate_mass, minimum_volume, plate_layers, theoretical_capacity
