"""How time and memory grow with the work: draws of a comparison, cells of the map, rows of a log.

    python tests/benchmarks/bench_growth.py            # all
    PYTHONPATH=OTHER/CHECKOUT python tests/benchmarks/bench_growth.py draws map    # another version, the same work

Each size in a process of its own, after one small call that loads what is loaded once: processor seconds, which other
work on the machine hardly moves (of the map the median of ten), and by how much the process then grew at most.
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import bench_log
import numpy as np

from cellkit.designs import compare, read_design
from cellkit.designs.comparison import specific_energy_map

SIZES = {"draws": [1_000, 10_000, 100_000, 1_000_000], "map": [50, 100, 200, 400], "log": [10**4, 10**5, 10**6, 10**7]}


def draws(size):
    design = read_design("osier_yard_design.csv")
    return lambda: compare(design, size)


def map_(size):
    design = read_design("osier_yard_design.csv")
    volume, plates = np.linspace(10e-6, 60e-6, size), np.linspace(0.03, 0.12, size)
    return lambda: specific_energy_map.si(design, "copper", volume, plates)


def log(size):
    path = Path(tempfile.gettempdir()) / f"growth_{size}.csv"
    bench_log.write(path, size)
    return lambda: bench_log.ours(path)


def peak():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def measure(what, size):
    make = {"draws": draws, "map": map_, "log": log}[what]
    make(SIZES[what][0])()
    work = make(size)
    before, took = peak(), []
    for _ in range(10 if what == "map" else 1):
        start = time.process_time()
        work()
        took.append(time.process_time() - start)
    print(f"{what:6}{size:>12,}{statistics.median(took):10.4f} s{peak() - before:8.0f} MiB", flush=True)


def main():
    if len(sys.argv) == 3 and sys.argv[2].isdigit():
        return measure(sys.argv[1], int(sys.argv[2]))
    with tempfile.TemporaryDirectory() as folder:
        for what in sys.argv[1:] or SIZES:
            for size in SIZES[what]:
                subprocess.run(
                    [sys.executable, __file__, what, str(size)], check=True, env=os.environ | {"TMPDIR": folder}
                )


if __name__ == "__main__":
    main()
