"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

import numpy as np

import cellkit as ck
from cellkit import Q_
from cellkit.show import Exercise


def repeats(copper, zinc):
    errors = [Q_(log.error.mean(), "C").to("mAh") for log in (copper, zinc)]
    return Exercise(
        errors[0],
        close=Q_(0.6, "mAh"),
        why="Two discharges of the same day should agree; by how much they do not is the error of one.",
        hint="The print of both logs says it, in the second line for copper.",
        slips={"That is zinc's. Look two lines further down.": errors[1]},
    )


def which_way():
    leak, order, root = list(ck.logs.DECAY_MODELS)[:3]
    return Exercise(
        root,
        why="30, 60 and 90 mAh go as 1, 2 and 3, the square roots of 1, 4 and 9 days.",
        slips={
            "A constant leak that takes 30 mAh in the first day has taken 270 in nine.": leak,
            "Little is lost, so first order would be near a straight line: about 240 in nine days.": order,
        },
    )


def two_cells():
    return Exercise(
        "open",
        why="The interval holds 1 and also 1.9, so the measurement has not decided.",
        slips={
            "One lies inside the interval: noise alone could do that.": "different",
            "So does 1.9: one may fade nearly twice as fast. Not seen is not nothing.": "same",
        },
    )


def winter(zinc_warmth, zinc_fit):
    in_room = zinc_fit.value("rate").to("percent/day")
    return Exercise(
        zinc_warmth.rate_at(Q_(10, "degC")).value.to("percent/day"),
        close=Q_(1.5, "percent/day"),
        why="Ten degrees less divide the rate by this cell's own factor, and 10 °C lies within the data.",
        hint="Call zinc_warmth.rate_at with 10 in place of 20.",
        slips={
            "That is the rate at 25 °C. Colder is slower.": in_room,
            "That is the rule, halved per 10 °C. This cell's own factor was 2.24.": in_room / 2**1.5,
        },
    )


def mistake(zinc_fit):
    right = zinc_fit.retained(Q_(20, "hour")).value.to("percent")
    return Exercise(
        right,
        close=Q_(2.5, "percent"),
        why="Each hour leaves 97 % of what was there before it, so the losses shrink with the charge.",
        hint="Each hour takes 3 % of what the one before left.",
        slips={
            "That is your friend's: it takes 3 % of the full charge each hour, not of what is left.": Q_(40, "percent"),
            "That is what has gone. What is left?": 1 - right,
        },
    )


def how_soon(zinc_fit):
    lost = 1 - zinc_fit.retained(Q_(1, "hour")).value.to("").magnitude
    gas = ck.chemistry.gas_volume(3 * zinc_fit.value("capacity") * lost) / Q_(1, "hour")
    dangerous = Q_(0.04 * 3, "L")
    return Exercise(
        (dangerous / gas).to("hour"),
        close=Q_(0.3, "hour"),
        why="That is the soonest if all the loss is gas; the answer to it is a vent, not a clock.",
        hint="4 % of 3 litres is 120 cm³; how long does the block need for that?",
        slips={
            "By then the cabinet is full of hydrogen. Four percent is enough.": Q_(3, "L") / gas,
            "That is one cell. The print above is for all three.": 3 * dangerous / gas,
            "Upside down: too much gas, over gas per hour.": Q_((gas / dangerous).m_as("1/hour"), "hour"),
        },
    )


def own_rate(mine):
    own = ck.logs.fit_self_discharge(mine)
    low, high = own.interval("rate")
    days = Q_(mine.time[-1], "s").to("day")
    return Exercise(
        own.value("rate").to("percent/day"),
        close=(high - low) / 2,
        why="One stand agrees with the fit of all of them, within the fit's own interval.",
        hint="Share lost over the first stand, over its days. One stand may miss by its error.",
        slips={
            "That spreads the whole loss over all days. Take the first stand only.": (
                Q_(1 - mine.capacity[-1] / mine.capacity[0], "") / days
            )
        },
    )


def fades_faster(zinc, copper):
    fades = {
        name: (1 - log.capacity[-1] / log.capacity[0]) / log.time[-1]
        for name, log in (("zinc", zinc), ("copper", copper))
    }
    return Exercise(
        max(fades, key=fades.get),
        words=("zinc", "copper"),
        why="Zinc can give hydrogen with the acid (lesson 03), and copper cannot.",
    )


def where_above():
    return Exercise(
        "ends",
        words=("ends", "middle"),
        why="A line through a bend lies below its ends and above its middle, and a residual is point less line.",
    )


def clear_winner(models):
    return Exercise(
        "yes" if len(models.plausible) == 1 else "no",
        words=("yes", "no"),
        why="While little is lost, all curves look like the same straight line.",
    )


def factor_of_zinc(warmth):
    times = (warmth.rate_at(Q_(25, "degC")).value / warmth.rate_at(Q_(15, "degC")).value).to("")
    return Exercise(times, why="The higher the activation energy, the more each degree counts.")


def days_apart(fades):
    days = [fade.shelf_time(0.5).time.m_as("day") for fade in fades]
    return Exercise(Q_(max(days) - min(days), "day"), why="Models that agree on the data part beyond them.")


def nearer_to_the_truth(by_line, by_fit):
    off = {name: abs(np.mean(rates) - 3) for name, rates in (("line", by_line), ("fit", by_fit))}
    return Exercise(
        min(off, key=off.get),
        words=("line", "fit"),
        why="Logarithms give the shaky late points as much say as the solid early ones.",
    )


def hydrogen_per_day(gas):
    return Exercise(
        Q_(gas, "cm^3"), why="Two electrons for each molecule, and a mole of gas fills 24 litres: over half a litre."
    )


WRONG = [
    ("repeats", 'Q_(11, "mAh")', "That is zinc's"),
    ("repeats", 'Q_(6.3, "mA")', "Look at the unit"),
    ("repeats", 'Q_(6.3, "Ah")', "The size is far off"),
    ("which way", '"constant leak"', "A constant leak that takes 30 mAh"),
    ("which way", '"first order"', "Little is lost"),
    ("which way", '"root"', "Choose one of: constant leak, first order, square root of time"),
    ("two cells", '"different"', "One lies inside"),
    ("two cells", '"same"', "So does 1.9"),
    ("winter", 'Q_(69.6, "percent/day")', "That is the rate at 25"),
    ("winter", 'Q_(24.6, "percent/day")', "That is the rule"),
    ("winter", 'Q_(20.9, "percent")', "Look at the unit"),
    ("winter", 'Q_(20.9, "1/day")', "The size is far off"),
    ("mistake", 'Q_(40, "percent")', "That is your friend's"),
    ("mistake", 'Q_(44, "percent")', "That is what has gone"),
    ("mistake", 'Q_(20, "day")', "It needs a plain number"),
    ("how soon", 'Q_(3000 / 36.7, "hour")', "By then the cabinet is full"),
    ("how soon", 'Q_(3 * 120 / 36.7, "hour")', "That is one cell"),
    ("how soon", 'Q_(36.7 / 120, "hour")', "Upside down"),
    ("how soon", 'Q_(120, "cm^3")', "Look at the unit"),
    ("own rate", 'Q_(1.13, "percent/day")', "That spreads the whole loss"),
    ("own rate", 'Q_(9.5, "percent/day")', "The size is far off"),
    ("own rate", 'Q_(-1.36, "percent/day")', "Look at the sign"),
    ("own rate", 'Q_(9.5, "percent")', "Look at the unit"),
]
