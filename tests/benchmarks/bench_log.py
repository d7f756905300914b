"""Reading and integrating a month at 1 Hz, over what numpy's own text reader needs for the same file.

    python tests/benchmarks/bench_log.py [--quick | ROWS]

ROWS is 2,600,000 (--quick: 100,000). Both are timed in turn, three times, and the fastest of each is compared. The log
is made up: a cell of 1.3 V and 0.15 ohm that is charged and discharged in turn, hour by hour; it is read as written,
with decimal commas and semicolons, and with a header again after each hour, as after a restart. Memory is what Python
and numpy hold at most.
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
    """Processor time: on a machine that others use too, a clock on the wall tells of them."""
    began = time.process_time()
    work()
    return time.process_time() - began


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

        commas = Path(folder) / "commas.csv"
        commas.write_text(clean.read_text().replace(",", ";").replace(".", ","), encoding="utf-8")
        wide = Path(folder) / "wide.csv"
        wide.write_text(commas.read_text(), encoding="utf-16")
        files = {"as numpy reads it": clean, "decimal commas": commas, "the same in UTF-16": wide}
        files[f"{rows // 3600} repeated headers"] = restarted
        print(f"{rows} rows, {clean.stat().st_size / 1e6:.0f} MB, read and integrated; np.loadtxt reads them:")
        for what, path in files.items():
            pairs = [(seconds(numpys), seconds(lambda path=path: ours(path))) for _ in range(3)]
            numpy_time, our_time = map(min, zip(*pairs, strict=True))
            tracemalloc.start()
            ours(path)
            most = tracemalloc.get_traced_memory()[1] / path.stat().st_size
            tracemalloc.stop()
            print(f"{what}: {our_time / numpy_time:.2f} × its time ({our_time:.2f} s), memory {most:.2f} × the file")


if __name__ == "__main__":
    main()
