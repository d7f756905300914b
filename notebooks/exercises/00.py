"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

import cellkit as ck
from cellkit import Q_
from cellkit.show import Exercise


def label_energy():
    energy, power = Q_(12, "V") * Q_(7, "Ah"), Q_(3, "W")
    right = (energy / power).to("hour")
    return Exercise(
        right,
        close=Q_(0.3, "hour"),
        why="Volts times ampere-hours are watt-hours, and watt-hours over watts are hours.",
        hint="First the watt-hours, as above with 6 V and 4 Ah; then how often 3 W go into them.",
        slips={
            "Those are the watt-hours. How long do they last at 3 W?": Q_(12 * 7, "hour"),
            "That divides ampere-hours by watts. The volts are missing.": Q_(7 / 3, "hour"),
            "That multiplies. The more the lamp takes, the fewer hours: divide.": Q_(12 * 7 * 3, "hour"),
            "That adds volts and ampere-hours. Energy is one times the other.": Q_((12 + 7) / 3, "hour"),
            "That is Osier Yard's label. This one says 12 V and 7 Ah.": Q_(24 / 3, "hour"),
        },
    )


def error_message():
    return Exercise(
        "unit",
        why="1270 kg/m³ and 1.27 g/mL are one density, so the hydrometer is fine, but 1270 does not belong to g/mL.",
        slips={
            "The hydrometer is fine: 1270 kg/m³ is 1.27 g/mL. What was typed in beside the 1270?": "number",
            "Is it? Water is 1 g/mL, and this acid would be denser than any metal.": "nothing",
        },
    )


def grams_of_copper():
    grams = {metal: (Q_(4, "Ah") / ck.cells.theoretical_capacity(Q_(1, "g"), metal)).m for metal in ("Cu", "Zn", "Pb")}
    return Exercise(
        Q_(grams["Cu"], "g"),
        close=Q_(0.07, "g"),
        why="One gram of copper holds nearly 0.85 Ah, and 4 Ah over that are the grams.",
        hint="How many Ah does one gram hold? Divide 4 Ah by that.",
        slips={
            "That is the row of lead. Copper needs less.": Q_(grams["Pb"], "g"),
            "That is the row of zinc. Look at copper.": Q_(grams["Zn"], "g"),
            "That holds 4.2 Ah. It is enough, but a little less will do.": Q_(5, "g"),
            "Those are the 4 Ah themselves. How many Ah does one gram hold?": Q_(4, "g"),
        },
    )


def find_the_mistake():
    right = (Q_(3.1, "Ah") / Q_(50, "mA")).to("hour")
    return Exercise(
        right,
        close=Q_(1, "hour"),
        why="The 50 are milliamperes; with units on both numbers the thousand cannot get lost.",
        hint="Ampere-hours divided by amperes leave hours.",
        slips={
            "That is their own answer. 50 mA are 0.05 A; give both numbers their units.": right / 1000,
            "That multiplies. The more the lamp draws, the fewer hours: divide.": Q_(3.1 * 50, "hour"),
            "That is for the 4 Ah of part 2; this block gave 3.1 Ah.": Q_(4, "Ah") / Q_(50, "mA"),
        },
    )


def pour():
    return Exercise(
        "acid",
        why="Much water takes up the heat of a little acid; a little water on much acid boils and throws acid at you.",
        slips={
            "Stop: water poured on acid boils where it lands and throws acid at you. "
            "Pour the acid, slowly, into the water.": "water",
        },
    )


def charging_place():
    return Exercise(
        "window",
        why="A charging cell gives off hydrogen, and moving air carries it away before there is enough to burn.",
        slips={
            "A lid keeps the hydrogen in until a spark finds it. Gas has to get out.": "box",
            "Hydrogen rises and gathers under the top board. It needs moving air.": "cupboard",
        },
    )


def own_battery(volts, charge, mass):
    right = (volts * charge / mass).to("Wh/kg")
    return Exercise(
        right,
        close=0.02 * right,
        why="Volts times ampere-hours is energy, and energy over mass is what the label promises for a kilogram.",
        hint="Volts times ampere-hours, divided by kilograms.",
        slips={
            "mAh and g both hide a thousand; one of them got lost.": right / 1000,
            "mAh and g both hide a thousand; one of them is in there twice.": right * 1000,
            "That is charge by mass. The volts are missing.": right / volts.m_as("V"),
        },
    )


def charge_in_coulomb(charge):
    return Exercise(charge.to("coulomb"), why="An hour has 3,600 seconds, so an ampere-hour is 3,600 coulombs.")


def real_energy(real, promise):
    if real < promise:
        return Exercise("below", words=("above", "below"), why="Old cells hold less charge than their label says.")
    return Exercise("above", words=("above", "below"), why="A young block may keep its promise, or none is listed.")


def wrong_unit():
    return Exercise("error", words=("number", "error"), why="A unit that cannot be a mass is refused.")


def most_per_gram():
    return Exercise(
        "copper",
        words=("lead", "copper", "zinc"),
        why="Its atoms are light; zinc's weigh 3 % more, and lead's three times as much.",
    )


WRONG = [
    ("label energy", 'Q_(84, "hours")', "Those are the watt-hours."),
    ("label energy", 'Q_(2.3, "hours")', "That divides ampere-hours by watts."),
    ("label energy", 'Q_(252, "hours")', "That multiplies."),
    ("label energy", 'Q_(6.3, "hours")', "That adds volts and ampere-hours."),
    ("label energy", 'Q_(8, "hours")', "That is Osier Yard's label."),
    ("label energy", "28", 'It needs a number with a unit, such as Q_(1, "h").'),
    ("label energy", 'Q_(84, "Wh")', "Look at the unit: Wh does not fit."),
    ("error message", '"number"', "The hydrometer is fine"),
    ("error message", '"nothing"', "Is it? Water is 1 g/mL"),
    ("error message", "1.27", "Choose one of: nothing, number, unit."),
    ("grams of copper", 'Q_(15.5, "g")', "That is the row of lead."),
    ("grams of copper", 'Q_(4.9, "g")', "That is the row of zinc."),
    ("grams of copper", 'Q_(5, "g")', "That holds 4.2 Ah."),
    ("grams of copper", 'Q_(4, "g")', "Those are the 4 Ah themselves."),
    ("grams of copper", 'Q_(4, "Ah")', "Look at the unit: Ah does not fit."),
    ("find the mistake", 'Q_(0.062, "hours")', "That is their own answer."),
    ("find the mistake", 'Q_(80, "hours")', "That is for the 4 Ah of part 2"),
    ("find the mistake", 'Q_(3.1, "Ah") * Q_(50, "mA")', "Look at the unit:"),
    ("find the mistake", 'Q_(155, "hours")', "That multiplies."),
    ("find the mistake", 'Q_(30, "hours")', "Not there yet. Ampere-hours divided by amperes"),
    ("pour", '"water"', "Stop: water poured on acid boils"),
    ("pour", '"both"', "Choose one of: acid, water."),
    ("charging place", '"box"', "A lid keeps the hydrogen in"),
    ("charging place", '"cupboard"', "Hydrogen rises"),
    ("own battery", 'Q_(0.0889, "Wh/kg")', "mAh and g both hide a thousand; one of them got lost."),
    ("own battery", 'Q_(74, "Wh/kg")', "That is charge by mass."),
    ("own battery", 'Q_(1.2, "V") * Q_(2000, "mAh")', "Look at the unit:"),
]
