"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

import numpy as np

from cellkit import Q_
from cellkit.cells import leak_current, run_load, voltage_under_load
from cellkit.show import Exercise


def two_readings():
    rest, high, low = Q_([1.340, 1.272, 1.171], "V")
    few, more = Q_([0.5, 1.5], "A")
    return Exercise(
        ((high - low) / (more - few)).to("mohm"),
        close=Q_(7, "mohm"),
        why="What the volts change by, over what the current changes by, is the cell's own resistance there.",
        hint="Take the volts lost between the two readings, over the amperes between them.",
        slips={
            "Volts over amperes is the load's resistance, not the cell's.": low / more,
            "That goes from rest. Take both readings under load.": (rest - low) / more,
        },
    )


def a_tenth_lost(cell, path):
    amperes = np.geomspace(1e-5, 1e4, 9001)
    now = voltage_under_load.si(cell, path, amperes)
    lost = np.where(np.isfinite(now.terminal), now.rest - now.terminal, np.inf)
    rest = now.rest[0]
    tenth, volt, nine = (Q_(np.interp(most, lost, amperes), "A") for most in (rest / 10, 0.1, 0.9 * rest))
    return Exercise(
        tenth,
        close=0.06 * tenth,
        why="There the seven tolls together are a tenth of the volts at rest.",
        hint="Nine tenths of the volts at rest: which current leaves that?",
        slips={
            "That costs a tenth of a volt. A tenth of the volts at rest is more.": volt,
            "That leaves a tenth. It should lose a tenth.": nine,
        },
    )


def polyethylene():
    one_face = (Q_(2, "ohm*cm^2") / Q_(24.8, "cm^2")).to("mohm")
    return Exercise(
        one_face / 6,
        close=Q_(0.8, "mohm"),
        why="Six faces side by side have six times the area, so a sixth of the resistance of one.",
        hint="Side by side, areas add. How many faces are there?",
        slips={
            "That is one face. How many work side by side?": one_face,
            "Each positive has two faces.": one_face / 3,
            "Side by side, areas add: the resistance gets smaller.": 6 * one_face,
        },
    )


def mean_current(asleep, awake):
    right = 0.8 * asleep + 0.2 * awake
    return Exercise(
        right,
        close=0.02 * right,
        why="Each current counts for the share of the time that it lasts.",
        hint="Two seconds of ten at one current, eight at the other.",
        slips={
            "That leaves out the sleep between the pulses.": 0.2 * awake,
            "That is the middle of the two; they do not last equally long.": (asleep + awake) / 2,
            "That is still once a minute.": (58 * asleep + 2 * awake) / 60,
        },
    )


def days(cells, path, end, counter):
    """Of cells of lead and copper, by ``counter`` as it was, which then sends six times as often."""

    def lasts(kind, least, **changed):
        found = run_load.si(
            cells[kind], path, least, **{k: Q_(v).to_base_units().m for k, v in (counter | changed).items()}
        )
        return Q_(float(found.time), "s").to("day")

    before, right = lasts("copper", end.m_as("V")), lasts("copper", end.m_as("V"), duty_cycle=0.2)
    return Exercise(
        right,
        close=0.06 * right,
        why="The pulse is no deeper than before, so the same charge is drawn about five times as fast.",
        hint="The charge stays; how many times more is drawn on average?",
        slips={
            "Six times the pulses, but the sleep did not grow with them.": before / 6,
            "That is the lead cell.": lasts("lead", 1.75, duty_cycle=0.2),
            "That is still with one pulse a minute. Now there are six.": before,
        },
    )


def cells_in_a_row(copper, path, awake):
    dip = voltage_under_load(copper, path, awake, depth=0.9).terminal
    return Exercise(
        int(np.ceil((Q_(6, "V") / dip).to("").magnitude)),
        why="6 V over the volts of one cell in the pulse, and there are only whole cells.",
        hint="What does one cell give in the pulse? Round up.",
        slips={"Three make 6 V when they are lead.": 3, f"Four give {4 * dip:.2f~P} in the pulse.": 4},
    )


def wet_lid():
    volts, conductivity, section, length = Q_(1.3, "V"), Q_(30, "S/m"), Q_(40 * 0.5, "mm^2"), Q_(50, "mm")
    one = leak_current(volts, conductivity, section, length)
    return Exercise(
        2 * one,
        close=Q_(1, "mA"),
        why="Between the first and the third cell lie the volts of two cells.",
        hint="All lengths in metres: volts times S/m times the cross-section over the length.",
        slips={
            "That is between neighbours. How many cells lie between the first and the third?": one,
            "Three cells in a row, but from the first to the third it is two steps.": 3 * one,
        },
    )


def your_own_cell(rest, reading, current):
    return Exercise(
        ((rest - reading) / current).to("mohm"),
        close=Q_(2, "mV") / current,
        why="Only the volts that are lost count, over the current that costs them.",
        hint="The change of volts, over the change of current from nothing to yours.",
        slips={
            "That is the load's resistance. The cell's is what it loses.": reading / current,
            "At rest no current flows; only what is lost counts.": rest / current,
        },
    )


def line_or_curve():
    return Exercise(
        "curve",
        words=("line", "curve"),
        why="The push that the plates need is steep at first, and flattens.",
    )


def dearest_station(cell, path, current):
    now = voltage_under_load(cell, path, current)._asdict()
    lost = {part.split("_")[0]: volts for part, volts in list(now.items())[1:-1]}
    return Exercise(
        max(lost, key=lost.get),
        words=tuple(lost),
        why="To make a reaction go fast takes more than to pass a good conductor.",
    )


def most_power(watts):
    return Exercise(Q_(watts, "W"), why="There one ampere more costs as much in volts as it brings in amperes.")


def share_in_two_hours(share):
    return Exercise(
        Q_(share).to("percent"), why="Only what is lost under way is missing; the charge comes out all the same."
    )


def runs_longest():
    return Exercise(
        "resistance",
        words=("current", "power", "resistance"),
        why="As the volts fall, a resistance draws less and less.",
    )


def days_with_copper(days):
    return Exercise(days.to("day"), why="The charge down to the end voltage, over the mean current, is the time.")


def charge_down_to(used):
    return Exercise(used.to("percent"), why="The lower a load may go, the more of the charge it reaches.")


def zinc_that_stays(kept):
    return Exercise(
        kept.to("percent"), why="Every fibre makes hydrogen, and the current of a slow charge is small beside that."
    )


def what_the_load_gets(share):
    return Exercise(share.to("percent"), why="On felt acid touches far more zinc than on a film, and eats all over it.")


def how_long_carbon_helps(time):
    seconds = time.m_as("s")
    return Exercise(
        "milliseconds" if seconds < 0.5 else "seconds" if seconds < 60 else "minutes",
        words=("milliseconds", "seconds", "minutes"),
        why=f"Farads times ohms are seconds: here {seconds:.2g}.",
    )


WRONG = [
    ("two readings", "101", 'It needs a number with a unit, such as Q_(1, "mohm").'),
    ("two readings", 'Q_(0.1, "V")', "Look at the unit"),
    ("two readings", 'Q_(781, "mohm")', "Volts over amperes is the load's"),
    ("two readings", 'Q_(113, "mohm")', "That goes from rest"),
    ("two readings", 'Q_(-101, "mohm")', "Look at the sign first"),
    ("two readings", 'Q_(1, "ohm")', "The size is far off. Take the volts lost"),
    ("a tenth lost", 'Q_(0.8, "A")', "That costs a tenth of a volt"),
    ("a tenth lost", 'Q_(27.2, "A")', "That leaves a tenth"),
    ("a tenth lost", 'Q_(2, "A")', "Not there yet. Nine tenths"),
    ("a tenth lost", 'Q_(0.13, "V")', "Look at the unit"),
    ("polyethylene", 'Q_(81, "mohm")', "That is one face"),
    ("polyethylene", 'Q_(26.9, "mohm")', "Each positive has two faces"),
    ("polyethylene", 'Q_(484, "mohm")', "Side by side, areas add: the resistance"),
    ("polyethylene", 'Q_(12, "ohm*cm^2")', "Look at the unit"),
    ("mean current", 'Q_(50, "mA")', "That leaves out the sleep"),
    ("mean current", 'Q_(126, "mA")', "That is the middle"),
    ("mean current", 'Q_(10.3, "mA")', "That is still once a minute"),
    ("mean current", 'Q_(51.6, "mAh")', "Look at the unit"),
    ("mean current", 'Q_(51.6, "A")', "The size is far off"),
    ("days", 'Q_(1.45, "day")', "Six times the pulses"),
    ("days", 'Q_(2.5, "day")', "That is the lead cell"),
    ("days", 'Q_(8.7, "day")', "That is still with one pulse a minute"),
    ("days", 'Q_(1.7, "hour")', "The size is far off"),
    ("cells in a row", "3", "Three make 6 V when"),
    ("cells in a row", "4", "Four give 4.97 V"),
    ("cells in a row", "6", "Near, but not there yet. What does one"),
    ("cells in a row", 'Q_(5, "V")', "It needs a plain number"),
    ("wet lid", 'Q_(15.6, "mA")', "That is between neighbours"),
    ("wet lid", 'Q_(46.8, "mA")', "Three cells in a row"),
    ("wet lid", 'Q_(31, "A")', "The size is far off. All lengths"),
    ("wet lid", 'Q_(12, "mohm")', "Look at the unit"),
    ("your own cell", 'Q_(5.1, "ohm")', "That is the load's resistance"),
    ("your own cell", 'Q_(5.34, "ohm")', "At rest no current"),
    ("your own cell", 'Q_(54, "mV")', "Look at the unit"),
    ("your own cell", 'Q_(-216, "mohm")', "Look at the sign first"),
]
