"""What a start costs: importing cellkit beside the libraries it stands on, and a learner's kernel after lesson 01.

    python tests/benchmarks/bench_start.py

The imports follow each other in one process, so that their ratio carries over to another machine; behind its median
over 21 processes stands the middle half. MiB are 2**20 bytes, as the system counts them for the kernel's process.
"""

import itertools
import statistics
import subprocess
import sys
import time
from pathlib import Path

import nbformat
import psutil
from jupyter_client.manager import start_new_kernel

LESSON = Path(__file__).resolve().parents[2] / "notebooks" / "01_weigh_the_plates.ipynb"
LIBRARIES = "import numpy, pint, ipywidgets, matplotlib.backends.backend_agg, matplotlib.figure"
STAGES = LIBRARIES, "import cellkit", "import cellkit.show"  # the last loads nearly all of it
ROUNDS = 21


def seconds():
    """Processor time of each stage in a process of its own; other work on the machine moves it little."""
    clock = "print(time.process_time())"
    code = "\n".join(["import time", clock, *(f"{stage}\n{clock}" for stage in STAGES)])
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True).stdout.split()
    return [float(after) - float(before) for before, after in itertools.pairwise(told)]


def resident(manager):
    """Resident memory of a kernel's process in MiB."""
    return psutil.Process(manager.provisioner.pid).memory_info().rss / 2**20


def kernel_after(*sources):
    """Resident MiB of a new kernel after it has run ``sources``, once it is quiet."""
    manager, client = start_new_kernel(kernel_name="python3")
    try:
        for source in sources:
            client.execute_interactive(source, output_hook=lambda message: None, timeout=120)
        time.sleep(1)
        return resident(manager)
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)


def main():
    rounds = [seconds() for _ in range(ROUNDS)]
    for stage, taken in zip(STAGES, zip(*rounds, strict=True), strict=True):
        shares = [one / libraries for one, (libraries, *_) in zip(taken, rounds, strict=True)]
        low, middle, high = statistics.quantiles(shares, n=4)
        print(f"{stage:35s} {1000 * statistics.median(taken):4.0f} ms, {middle:.1%} ({low:.1%} to {high:.1%})")
    cells = [cell.source for cell in nbformat.read(LESSON, as_version=4).cells if cell.cell_type == "code"]
    kernels = {"bare": (), "libraries": (LIBRARIES,), "after lesson 01": cells}
    bare = None
    for stage, sources in kernels.items():
        held = kernel_after(*sources)
        bare = bare or held
        print(f"kernel {stage:15s} {held:4.0f} MiB resident, {held / bare:.1f} × a bare one")


if __name__ == "__main__":
    main()
