"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

import numpy as np

from cellkit import Q_
from cellkit.cells import run_load, voltage_under_load
from cellkit.show import Exercise

ASLEEP, AWAKE = Q_(2, "mA"), Q_(250, "mA")  # the people-counter
COUNTER = {"current": ASLEEP, "pulse": AWAKE}


def two_readings(cell, path):
    few, more = Q_([0.5, 1.5], "A")
    now = voltage_under_load(cell, path, Q_([0.5, 1.5], "A"))
    return Exercise(
        ((now.terminal[0] - now.terminal[1]) / (more - few)).to("mohm"),
        close=Q_(7, "mohm"),
        why="What the volts change by, over what the current changes by, is the cell's own resistance there.",
        hint="Take the volts lost between the two readings, over the amperes between them.",
        slips={
            "Volts over amperes is the load's resistance, not the cell's.": now.terminal[1] / more,
            "That goes from rest. Take both readings under load.": sum(now[1:8])[1] / more,
        },
    )


def where_to_spend(cell, path):
    now = voltage_under_load(cell, path, Q_(20, "mA"))
    plates = now.positive_overpotential + now.negative_overpotential
    takes = {"plates": plates, "polyethylene": now.polyethylene, "wiring": now.wiring}
    return Exercise(
        max(takes, key=takes.get),
        why="The smaller the current, the less a resistance takes, and the plates' share grows.",
        slips={
            "Wires are what one sees. Look at their bar; it shrinks with the current.": "wiring",
            "A resistance takes least of all from a small current.": "polyethylene",
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


def mean_current():
    return Exercise(
        0.8 * ASLEEP + 0.2 * AWAKE,
        close=Q_(1, "mA"),
        why="Each current counts for the share of the time that it lasts.",
        hint="Two seconds of ten at one current, eight at the other.",
        slips={
            "That leaves out the sleep between the pulses.": 0.2 * AWAKE,
            "That is the middle of the two; they do not last equally long.": (ASLEEP + AWAKE) / 2,
            "That is still once a minute.": (58 * ASLEEP + 2 * AWAKE) / 60,
        },
    )


def days(copper, lead, path, end):
    before = run_load(copper, path, end, **COUNTER, duty_cycle=2 / 60).time.to("day")
    return Exercise(
        run_load(copper, path, end, **COUNTER, duty_cycle=0.2).time.to("day"),
        close=Q_(0.1, "day"),
        why="The pulse is no deeper than before, so the same charge is drawn five times as fast.",
        hint="The charge stays; how many times more is drawn on average?",
        slips={
            "Six times the pulses, but the sleep did not grow with them.": before / 6,
            "That is the lead cell.": run_load(lead, path, end, **COUNTER, duty_cycle=0.2).time,
            "That is still with one pulse a minute. Now there are six.": before,
        },
    )


def cells_in_a_row(copper, path):
    dip = voltage_under_load(copper, path, AWAKE, depth=0.9).terminal
    return Exercise(
        int(np.ceil((Q_(6, "V") / dip).to("").magnitude)),
        why="6 V over the volts of one cell in the pulse, and there are only whole cells.",
        hint="What does one cell give in the pulse? Round up.",
        slips={"Three make 6 V when they are lead.": 3, f"Four give {4 * dip:.2f~P} in the pulse.": 4},
    )


def more_carbon(plate, wrap):
    worth = (plate * wrap.capacitance).to("s")
    return Exercise(
        3 * worth,
        close=Q_(0.8, "s"),
        why="Three times the carbon has three times the farads, beside the same plate.",
        hint="Three times the carbon is three times the farads; the plate stays.",
        slips={
            "That is with the wrap as it was.": worth,
            "The plate stays as it is; only the farads are three times as many.": 9 * worth,
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


def dearest_station(cell, path):
    now = voltage_under_load(cell, path, Q_(1, "A"))._asdict()
    lost = {part.split("_")[0]: volts for part, volts in list(now.items())[1:-1]}
    return Exercise(
        max(lost, key=lost.get),
        words=tuple(lost),
        why="To make a reaction go fast takes more than to pass a good conductor.",
    )


def who_gains():
    return Exercise(
        "plates",
        words=("plates", "resistances"),
        why="The push that a plate needs starts steep, so at small currents it is the larger share.",
    )


def separator_without_acid(lost):
    return Exercise(lost.to("mV"), why="Without acid, slow ions carry the whole current.")


def worse_polyethylene(lower):
    return Exercise(
        lower.to("mV"), why="That is the extra resistance of one face, over six faces side by side, times 1 A."
    )


def five_watts(watts):
    return Exercise(
        "yes" if max(watts) >= 5 else "no",
        words=("yes", "no"),
        why=f"At its summit the nominal cell gives {max(watts):.1f} W, with far more amperes than it is made for.",
    )


def share_in_two_hours(share):
    return Exercise(
        share.to("percent"), why="Only what is lost under way is missing; the charge comes out all the same."
    )


def runs_longest():
    return Exercise(
        "resistance",
        words=("current", "power", "resistance"),
        why="As the volts fall, a resistance draws less and less.",
    )


def days_with_zinc(days):
    return Exercise(days.to("day"), why="The mean current is about 10 mA, and the charge over it is the time.")


def charge_down_to(used):
    return Exercise(used.to("percent"), why="The lower a load may go, the more of the charge it reaches.")


def carbon_for_energy(change):
    return Exercise(
        "more" if change > 1 else "less",
        words=("more", "less"),
        why="It stores two thousandths of the charge and weighs a hundredth of the block.",
    )


def how_long_carbon_helps():
    return Exercise(
        "seconds",
        words=("milliseconds", "seconds", "minutes"),
        why="Farads times ohms are seconds: here about three.",
    )


WRONG = [
    ("two readings", "101", 'It needs a number with a unit, such as Q_(1, "mohm").'),
    ("two readings", 'Q_(0.1, "V")', "Look at the unit"),
    ("two readings", 'Q_(781, "mohm")', "Volts over amperes is the load's"),
    ("two readings", 'Q_(110, "mohm")', "That goes from rest"),
    ("two readings", 'Q_(-101, "mohm")', "Look at the sign first"),
    ("two readings", 'Q_(1, "ohm")', "The size is far off. Take the volts lost"),
    ("where to spend", '"wiring"', "Wires are what one sees"),
    ("where to spend", '"polyethylene"', "A resistance takes least"),
    ("where to spend", '"mesh"', "Choose one of"),
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
    ("more carbon", 'Q_(3.2, "s")', "That is with the wrap as it was"),
    ("more carbon", 'Q_(29, "s")', "The plate stays as it is"),
    ("more carbon", 'Q_(536, "F")', "Look at the unit"),
    ("more carbon", 'Q_(8, "s")', "Near, but not there yet. Three times"),
    ("your own cell", 'Q_(5.1, "ohm")', "That is the load's resistance"),
    ("your own cell", 'Q_(5.34, "ohm")', "At rest no current"),
    ("your own cell", 'Q_(54, "mV")', "Look at the unit"),
    ("your own cell", 'Q_(-216, "mohm")', "Look at the sign first"),
]
ALSO_RIGHT = [("more carbon", 'Q_(9, "s")')]
