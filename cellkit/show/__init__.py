"""What the learner sees: pictures, live controls, the build sheet, exercises. Imports from: everything before."""

from cellkit.show.drawings import (
    block_opened,
    composite_plate,
    cross_section,
    gas_path,
    plate_balance,
    what_moves,
    wiring_diagram,
)
from cellkit.show.exercises import Exercise, Exercises
from cellkit.show.figures import Picture, band_bars, curves, energy_bars, ladder, mass_bars, sensitivity_bars
from cellkit.show.log_figures import (
    histograms,
    rates_by_temperature,
    residuals,
    self_discharge_curves,
    shelf_measurements,
    volts_and_amperes,
)
from cellkit.show.panels import VoltPanel, design_map, energy_panel, load_panel, recipe_panel, shelf_panel
from cellkit.show.sheet import build_sheet
