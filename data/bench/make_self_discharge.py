"""Make the two invented self-discharge logs of the Otter Lane makerspace. Nothing in them was measured.

Run it in any directory: the same seed writes the same bytes. The truth is in TRUTH; lesson 06 tries to find it again.
"""

import math
import random
from pathlib import Path

SEED = 2606
GAS = 8.314462618  # J/(mol K)
ERROR = 9.0  # mAh, standard deviation of one discharge
DAYS = {"copper": [0, 0, 3, 7, 14, 14, 21, 28, 28, 42, 42], "zinc": [0, 0, 2, 4, 7, 7, 10, 14, 14, 21, 21, 28]}
TEMPERATURES = [5, 15, 25, 35]  # °C
# first order: capacity [mAh], rate at 25 °C [1/day], activation energy [J/mol]
TRUTH = {"copper": (960.0, 0.0036, 38e3), "zinc": (940.0, 0.030, 56e3)}


def rows(cell):
    """One row per discharge."""
    noise = random.Random(f"{SEED} {cell}")
    capacity, rate, energy = TRUTH[cell]
    for celsius in TEMPERATURES:
        here = rate * math.exp(-energy / GAS * (1 / (celsius + 273.15) - 1 / 298.15))
        for day in DAYS[cell]:
            left = capacity * math.exp(-here * day) + noise.gauss(0, ERROR)
            yield f'"{cell}, invented",{celsius},{day},{left:.0f}'


def main():
    """Write both files beside this one."""
    for cell in TRUTH:
        text = "\n".join(["cell,temperature_degC,time_day,capacity_mAh", *rows(cell)]) + "\n"
        Path(__file__).with_name(f"self_discharge_{cell}.csv").write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
