"""Make the two invented self-discharge logs of the Osier Yard makerspace. Nothing in them was measured.

Run it in any directory: the same seed writes the same bytes. The truth is in TRUTH; lesson 06 tries to find it again.
Both are the cells of make_logs.py, with 149 cm² of face, and what they lose follows data/reference/side_reactions.csv,
as tests hold:

- copper is dissolved by oxygen as published for 1 mol/L acid under air at 25 °C, 1.7 g/m² a day: a constant current,
  21 mAh a day. Its activation energy takes that rate to the other published end, 4.4 g/m² a day, at 55 °C;
- zinc on flat plates makes hydrogen, 28 mA with all its charge, in the upper half of the published range. The current
  falls with the charge, as each atom that goes takes acid along: I = I0 exp[-k (1 - q)], with q the share left. Its
  activation energy is from memory. On felt the same rates would leave nothing after two hours.
"""

import math
import random
from pathlib import Path

SEED = 2608
GAS = 8.314462618  # J/(mol K)
ERROR = {"copper": 19.0, "zinc": 9.0}  # mAh, standard deviation of one discharge: a hundredth
TIMES = {"copper": [0, 0, 1, 2, 5, 5, 7, 9, 9, 14, 14], "zinc": [0, 0, 2, 4, 7, 7, 10, 14, 14, 21, 21, 28]}
UNIT = {"copper": "day", "zinc": "h"}
TEMPERATURES = [5, 15, 25, 35]  # °C
# capacity [mAh], rate at 25 °C at the start [1/day, 1/h], activation energy [J/mol]
TRUTH = {"copper": (1920.0, 0.0111, 25.8e3), "zinc": (940.0, 0.030, 56e3)}
FALL = {"copper": 0.0, "zinc": 1.36}  # k: hydrogen on zinc falls by exp(1.4 to 1.6) over this charge


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
            left = capacity * share(FALL[cell], here * time) + noise.gauss(0, ERROR[cell])
            yield f'"{cell}, invented",{cell},{celsius},{time},{left:.0f}'


def main():
    """Write both files beside this one."""
    for cell in TRUTH:
        text = "\n".join([f"cell,negative,temperature_degC,time_{UNIT[cell]},capacity_mAh", *rows(cell)]) + "\n"
        Path(__file__).with_name(f"self_discharge_{cell}.csv").write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
