"""Make the two invented self-discharge logs of the Osier Yard makerspace. Nothing in them was measured.

Run it in any directory: the same seed writes the same bytes. The truth is in TRUTH; lesson 06 tries to find it again.
Copper is dissolved by as much oxygen as reaches it, a constant current. Zinc makes hydrogen on flat plates, and the
current falls with the charge, as each atom that goes takes acid along: I = I0 exp[-k (1 - q)], with q the share left.
"""

import math
import random
from pathlib import Path

SEED = 2606
GAS = 8.314462618  # J/(mol K)
ERROR = 9.0  # mAh, standard deviation of one discharge
TIMES = {"copper": [0, 0, 3, 7, 14, 14, 21, 28, 28, 42, 42], "zinc": [0, 0, 2, 4, 7, 7, 10, 14, 14, 21, 21, 28]}
UNIT = {"copper": "day", "zinc": "h"}
TEMPERATURES = [5, 15, 25, 35]  # °C
# capacity [mAh], rate at 25 °C at the start [1/day, 1/h], activation energy [J/mol]
TRUTH = {"copper": (960.0, 0.0036, 38e3), "zinc": (940.0, 0.030, 56e3)}
FALL = {"copper": 0.0, "zinc": 1.36}  # k: hydrogen on zinc falls by exp(3.1) over the 2.14 Ah of a cell of 40 mL


def share(fall, passed):
    """Share left when rate × time is ``passed``."""
    return 1 - math.log1p(fall * passed) / fall if fall else 1 - passed


def rows(cell):
    """One row per discharge."""
    noise = random.Random(f"{SEED} {cell}")
    capacity, rate, energy = TRUTH[cell]
    for celsius in TEMPERATURES:
        here = rate * math.exp(-energy / GAS * (1 / (celsius + 273.15) - 1 / 298.15))
        for time in TIMES[cell]:
            left = capacity * share(FALL[cell], here * time) + noise.gauss(0, ERROR)
            yield f'"{cell}, invented",{celsius},{time},{left:.0f}'


def main():
    """Write both files beside this one."""
    for cell in TRUTH:
        text = "\n".join([f"cell,temperature_degC,time_{UNIT[cell]},capacity_mAh", *rows(cell)]) + "\n"
        Path(__file__).with_name(f"self_discharge_{cell}.csv").write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
