"""Reading and integrating a month at 1 Hz, over what numpy's own text reader needs for the same file.

    python tests/benchmarks/bench_log.py [--quick | ROWS]

ROWS is 2,600,000 (--quick: 100,000). Both are timed in turn, three times, and the fastest of each is compared. The log
is made up: a cell of 1.3 V and 0.15 ohm that is charged and discharged in turn, hour by hour. The lines
below are for the same with decimal commas and semicolons in UTF-16, and with a header again after each hour, as after a
restart; the last is the memory that Python and numpy hold at most, over the size of the file.
"""

import sys
import tempfile
import time
import tracemalloc
from pathlib import Path

import numpy as np

import cellkit as ck


def write(path, rows, restarts=False):
    noise = np.random.default_rng(5)
    seconds = np.arange(rows)
    amperes = np.where(seconds // 3600 % 2, 0.3, -0.25) * (1 + noise.normal(0, 1e-3, rows))
    volts = 1.3 - 0.15 * amperes + noise.normal(0, 5e-4, rows)
    header = "time_s,voltage_V,current_A\n"
    with path.open("w", encoding="utf-8") as file:
        file.write(header)
        for hour in np.array_split(np.c_[seconds, volts, amperes], max(rows // 3600, 1)):
            np.savetxt(file, hour, fmt=["%d", "%.4f", "%.4f"], delimiter=",")
            if restarts:
                file.write(header)


def seconds(work):
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def ours(path):
    log = ck.logs.read_bench_log(path)
    return log.charge_out, log.energy_in, log.resistance, [phase.energy for phase in log.phases]


def main():
    rows = {"--quick": 100_000}.get(sys.argv[-1]) or (int(sys.argv[-1]) if sys.argv[-1].isdigit() else 2_600_000)
    with tempfile.TemporaryDirectory() as folder:
        clean, restarted = Path(folder) / "clean.csv", Path(folder) / "restarted.csv"
        write(clean, rows)
        write(restarted, rows, restarts=True)

        def numpys():
            np.loadtxt(clean, delimiter=",", skiprows=1)

        pairs = [(seconds(numpys), seconds(lambda: ours(clean))) for _ in range(3)]
        numpy_time, our_time = map(min, zip(*pairs, strict=True))
        print(
            f"{rows} rows, {clean.stat().st_size / 1e6:.0f} MB: read and integrated within "
            f"{our_time / numpy_time:.2f} × what np.loadtxt needs ({our_time:.2f} s, {numpy_time:.2f} s)"
        )
        commas = Path(folder) / "commas.csv"
        commas.write_text(clean.read_text().replace(",", ";").replace(".", ","), encoding="utf-16")
        for what, path in (("decimal commas in UTF-16", commas), (f"{rows // 3600} repeated headers", restarted)):
            slow = min(seconds(lambda path=path: ours(path)) for _ in range(2))
            print(f"with {what}: {slow / numpy_time:.2f} × ({slow:.2f} s)")
        tracemalloc.start()
        ours(clean)
        most = tracemalloc.get_traced_memory()[1] / clean.stat().st_size
        print(f"memory at most {most:.2f} × the file")


if __name__ == "__main__":
    main()
