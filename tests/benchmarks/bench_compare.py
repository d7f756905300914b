"""Lesson 07: 100,000 draws as one evaluation beside the same cells one at a time; one redraw of the live map.

    python tests/benchmarks/bench_compare.py

Both ways evaluate the same draws of all five constructions with the same function; 500 one at a time are timed and
scaled. Only the ratio carries over to another machine. The map has 100 × 100 cells: computed, drawn, encoded, shown.
"""

import statistics
import time

import numpy as np

from cellkit.chemistry.activity import tabulated
from cellkit.designs.comparison import compare, outcomes
from cellkit.designs.design import read_design
from cellkit.show.panels import design_map

MANY, ALONE, REDRAWS = 100_000, 500, 60


def timed(work, clock=time.perf_counter):
    start = clock()
    result = work()
    return clock() - start, result


def main():
    design = read_design("osier_yard_design.csv")
    together, compared = timed(lambda: compare(design, MANY, seed=1))
    inputs, found = compared.inputs, compared.specific_energies
    rows = [{name: draws[k] for name, draws in inputs.items()} for k in range(ALONE)]
    with tabulated():
        one_by_one, alone = timed(lambda: [outcomes(design, row) for row in rows])
    for name, densities in found.items():
        np.testing.assert_allclose([row[name][0] for row in alone], densities[:ALONE], rtol=1e-9)
    scaled = one_by_one / ALONE * MANY
    print(f"{MANY:,} draws of {len(found)} constructions at once: {together:.1f} s")
    print(f"one at a time: {1000 * one_by_one / ALONE:.0f} ms each, {scaled:.0f} s for as many")
    print(f"one at a time / at once: {scaled / together:.0f}")

    panel = design_map(design)
    for name in ("copper", "zinc", "lead"):
        panel.construction.value = name
        for clock in (time.perf_counter, time.process_time):
            values = 0.5 + 0.005 * np.arange(REDRAWS)
            times = [timed(lambda v=v: setattr(panel.boxes["fill salt"], "value", v), clock)[0] for v in values]
            of = "on the clock" if clock is time.perf_counter else "of the processor"
            middle, late = statistics.median(times), statistics.quantiles(times, n=20)[-1]
            print(f"map, {name}: median {1000 * middle:.0f} ms, p95 {1000 * late:.0f} ms {of}")


if __name__ == "__main__":
    main()
