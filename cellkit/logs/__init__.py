"""What was measured: bench logs, cells on a shelf, a weighed pilot, fits. Imports from: designs and before."""

from cellkit.logs.bench_log import BenchLog, read_bench_log
from cellkit.logs.decay_models import DECAY_MODELS
from cellkit.logs.fitting import FitError
from cellkit.logs.pilot import Pilot, pilot_area, read_pilot
from cellkit.logs.self_discharge import (
    ArrheniusFit,
    SelfDischargeFit,
    compare_cells,
    compare_models,
    fit_arrhenius,
    fit_self_discharge,
    plan_measurements,
    relative_half_width,
    simulate_shelf_log,
)
from cellkit.logs.shelf_log import ShelfLog, read_shelf_log
