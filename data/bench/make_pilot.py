"""Make the invented pilot of the Osier Yard makerspace, and the empty list. Nothing in it was measured.

Run it in any directory: the same seed writes the same bytes. The truth is in TRUTH.
"""

import random
from pathlib import Path

SEED = 1406
FARADAY, ZINC = 96485.33212, 0.06538  # C/mol, kg/mol
IN_WATER = 1 - 998 / 7134  # what zinc weighs hung in water
ERROR = 1e-6  # kg, standard error of one weighing on a scale that shows milligrams
CURRENTS, HOURS = {"low": 0.1, "high": 0.3}, {"low": 2.0, "high": 2.0}  # A, h
AREA = {"flat": 10e-4, "felt": 10e-4}  # m² of face
BARE = {("flat", "low"): 2.6e-3, ("flat", "high"): 2.7e-3, ("felt", "low"): 0.13e-3, ("felt", "high"): 0.12e-3}  # kg
TRUTH = {"flat": (9.0, 1.6), "felt": (70.0, 45.0)}  # A/m² of face lost while plating, and at rest
RESTS = {"bare": None, "plated": 0.0, "first rest": 1.0, "second rest": 12.0}  # h
HEAD = [
    ("metal", "zinc", "", "copper or zinc"),
    ("weighed in", "water", "", "water or air; each time the same"),
    ("scale shows", 1, "mg", "its last digit; a kitchen scale is too coarse"),
    ("acid", 1, "mol/L", ""),
    ("salt", 1, "mol/L", ""),
    ("temperature", 22, "degC", "of the liquid while it rests"),
    ("low current", CURRENTS["low"], "A", ""),
    ("high current", CURRENTS["high"], "A", "three times the low one or more"),
    ("charging time at low current", HOURS["low"], "hour", ""),
    ("charging time at high current", HOURS["high"], "hour", ""),
    ("first rest", RESTS["first rest"], "hour", "in the liquid, from the end of charging"),
    ("second rest", RESTS["second rest"], "hour", "in the liquid, from the end of charging, all together"),
    ("flat area", AREA["flat"] * 1e4, "cm^2", "faces that are plated, the back too if it is not covered"),
    ("felt area", AREA["felt"] * 1e4, "cm^2", "of its face, not of its fibres"),
]
SAFE = "rinse, hang it from the scale in water, no bubbles; never let plated felt dry: it can heat up in air"


def weighings():
    """Name of each weighing and its mass [kg]."""
    noise = random.Random(SEED)
    for (form, level), bare in BARE.items():
        plating, rest = (loss * AREA[form] for loss in TRUTH[form])
        plated = max((CURRENTS[level] - plating) * HOURS[level] * 3600, 0.0)
        for when, hours in RESTS.items():
            charge = 0.0 if hours is None else max(plated - rest * hours * 3600, 0.0)
            yield (
                f"{form}, {level} current, {when}",
                bare + charge * IN_WATER * ZINC / (2 * FARADAY) + noise.gauss(0, ERROR),
            )


def main():
    """Write both files beside this one."""
    rows = HEAD + [(name, f"{1000 * mass:.3f}", "g", SAFE if "plated" in name else "") for name, mass in weighings()]
    for name, keep in (("osier_yard_pilot", True), ("pilot_template", False)):
        lines = [f'"{item}",{value if keep else ""},{unit},"{note}"' for item, value, unit, note in rows]
        text = "\n".join(["item,value,unit,note", *lines]) + "\n"
        Path(__file__).with_name(f"{name}.csv").write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
