"""Activities of a million mixed compositions, beside PHREEQC called for one solution at a time.

Run by hand: ``python tests/benchmarks/bench_activity.py``. Both are timed in the same process, turn by turn; what
counts is their ratio. Memory is what numpy and Python hold at most during the call, beyond the compositions themselves.
"""

import sys
import time
import tracemalloc
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "external"))
import pitzer_live

from cellkit.chemistry.activity import activities

SIZES = (1, 10, 100, 1_000, 10_000, 100_000, 1_000_000)
ONE_BY_ONE = 1_000  # compositions that PHREEQC is asked for in each turn
TURNS = 3


def compositions(count):
    """Acid 0.1–6 mol/kg with copper sulfate 0.05–1.4 mol/kg, seeded."""
    return np.random.default_rng(7).uniform([[0.1], [0.05]], [[6.0], [1.4]], (2, count))


def seconds(function, *arguments):
    start = time.perf_counter()
    function(*arguments)
    return time.perf_counter() - start


def one_by_one(acid, salt):
    return [pitzer_live.solution(float(a), float(s), "copper", "Mg") for a, s in zip(acid, salt, strict=True)]


def all_at_once(acid, salt):
    return activities.si(acid, salt, "copper", "Mg")


def growth():
    """Time and memory from 1 to a million compositions."""
    print("| compositions | seconds | µs each | peak MB | bytes each |")
    print("| ---: | ---: | ---: | ---: | ---: |")
    for count in SIZES:
        acid, salt = compositions(count)
        took = min(seconds(all_at_once, acid, salt) for _ in range(TURNS if count < 1e6 else 1))
        tracemalloc.start()
        all_at_once(acid, salt)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        each = f"{took / count * 1e6:.2f} | {peak / 1e6:.2f} | {peak / count:.0f}"
        print(f"| {count} | {took:.4f} | {each} |", flush=True)


def beside_phreeqc():
    """Ratio of the times for one composition, measured in turns, and how far the answers differ."""
    few, many = compositions(ONE_BY_ONE), compositions(SIZES[-1])
    one_by_one(*few[:, :10])  # loads the database
    ratios = []
    for turn in range(TURNS):
        theirs = seconds(one_by_one, *few) / ONE_BY_ONE
        ours = seconds(all_at_once, *many) / SIZES[-1]
        ratios.append(theirs / ours)
        each = f"PHREEQC {theirs * 1e6:.0f} µs, cellkit {ours * 1e6:.2f} µs each"
        print(f"turn {turn + 1}: {each}, ratio {ratios[-1]:.0f}")
    ln, found = all_at_once(*few), one_by_one(*few)
    worst = max(abs(float(w) - row["W"]) for w, row in zip(ln.water, found, strict=True))
    print(f"median ratio {np.median(ratios):.0f}; ln a(w) of {ONE_BY_ONE} compositions agrees within {worst:.1e}")


if __name__ == "__main__":
    print(f"Python {sys.version.split()[0]}, numpy {np.__version__}")
    all_at_once(*compositions(1))  # imports scipy.optimize
    growth()
    beside_phreeqc()
