"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

import numpy as np

import cellkit as ck
from cellkit import Q_
from cellkit.show import Exercise


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
            "1 lies inside the interval, so noise alone could make this difference.": "different",
            "1.9 lies inside the interval too: one may lose its charge nearly twice as fast.": "same",
        },
    )


def winter(by_heat):
    right, in_room = (by_heat.rate_at(Q_(celsius, "degC")).value for celsius in (10, 25))
    return Exercise(
        right,
        close=0.07 * right,
        why="The colder place divides the rate by this cell's own factor.",
        hint="Ask by_heat.rate_at for 10 °C in place of 20 °C.",
        slips={
            "That is the rate at 25 °C. Colder is slower.": in_room,
            "That is the rule, halved per 10 °C. This cell has a factor of its own.": in_room / 2**1.5,
        },
    )


def label(zinc):
    found = ck.logs.fit_self_discharge(zinc.at(Q_(15, "degC"))).shelf_time(0.8)
    warmer = ck.logs.fit_self_discharge(zinc.at(Q_(25, "degC"))).shelf_time(0.8)
    low = found.low.m_as("hour")
    whole = np.floor(low)  # a label may be rounded down
    return Exercise(
        Q_((low + whole) / 2, "hour"),
        close=Q_((low - whole) / 2 + 0.05, "hour"),
        why="A label that takes the poor end is kept by 97 or 98 of 100 such cells, if the curve is right.",
        hint="ck.logs.fit_self_discharge(...).shelf_time(0.8), and then its poorer end.",
        slips={
            "That is the middle: half of such labels promise too much.": found.time.to("hour"),
            "Rounded up, it promises more than the poor end. A label is rounded down.": Q_(whole + 1, "hour"),
            "That is the generous end. Hardly any cell would keep it.": found.high.to("hour"),
            "That is at 25 °C. The shelf is colder.": warmer.low.to("hour"),
        },
    )


def mistake():
    right = Q_(100 * 0.97**20, "percent")
    return Exercise(
        right,
        close=Q_(1.5, "percent"),
        why="Each hour leaves 97 % of what was there before it, so the losses shrink with the charge.",
        hint="Multiply by 0.97 for each hour, twenty times: 0.97**20.",
        slips={
            "That is your friend's: it takes 3 % of the full charge each hour, not of what is left.": Q_(40, "percent"),
            "That is what has gone. What is left?": 1 - right,
            "That is what your friend says has gone. What is really left?": Q_(60, "percent"),
        },
    )


def plan_a_stand():
    def enough(discharges):
        """The shortest span [day] that so many discharges need."""
        low, high = 5.0, 40.0
        while high - low > 0.01:
            middle = (low + high) / 2
            when, rate = Q_(np.linspace(0, middle, discharges), "day"), Q_(2, "percent/day")
            wide = ck.logs.relative_half_width(when, Q_(1, "percent"), rate).m_as("") > 0.1
            low, high = (middle, high) if wide else (low, middle)
        return high

    eight, seven = enough(8), enough(7)  # between them eight are just what it takes
    return Exercise(
        Q_((eight + seven) / 2, "day"),
        close=Q_((seven - eight) / 2, "day"),
        why="Twice the rate needs about half the time; longer is better still, but asks for patience.",
        hint="Call ck.logs.plan_measurements with a rate of 2 %/day and spans between 14 and 28 days; it is to say 8.",
        slips={
            "With 14 days it takes ten discharges.": Q_(13.5, "day"),
            "That is plenty: five would do then.": Q_(28, "day"),
        },
    )


def how_much_air(total, cells):
    right = total / 0.04
    return Exercise(
        right.to("L"),
        close=0.05 * right,
        why="Only in more air than that does all of the charge as gas stay under 4 %, and only on average.",
        hint="4 % of the air is the gas, so the air is the gas divided by 0.04.",
        slips={
            "That is 4 % of the gas. The gas is to be 4 % of the air.": 0.04 * total,
            "That is the gas itself.": total,
            "That is one cell. The bound is for all of them.": right / cells,
        },
    )


def loses_faster(first, second):
    lost = [(1 - log.capacity[-1] / log.capacity[0]) / log.time[-1] for log in (first, second)]
    return Exercise(
        "first" if lost[0] > lost[1] else "second",
        words=("first", "second"),
        why="It loses the larger share per day, from its first row to its last.",
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


def factor_of_ten_degrees(by_heat):
    return Exercise(by_heat.q10().value, why="The higher the activation energy, the more each degree counts.")


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


def hydrogen_of_a_charge(total):
    return Exercise(
        total,
        why="Two electrons for each molecule, and a mole of gas fills 24 litres: 0.46 L for each Ah of each cell.",
    )


ALSO_RIGHT = [
    ("winter", 'by_heat.rate_at(Q_(10, "degC"))'),
    ("label", 'Q_(15, "hour")'),
    ("plan a stand", 'Q_(17, "day")'),
]

WRONG = [
    ("which way", '"constant leak"', "A constant leak that takes 30 mAh"),
    ("which way", '"first order"', "Little is lost"),
    ("which way", '"root"', "Choose one of: constant leak, first order, square root of time"),
    ("two cells", '"different"', "1 lies inside"),
    ("two cells", '"same"', "1.9 lies inside"),
    ("winter", 'Q_(70.3, "percent/day")', "That is the rate at 25"),
    ("winter", 'Q_(24.9, "percent/day")', "That is the rule"),
    ("winter", 'Q_(20.7, "percent")', "Look at the unit"),
    ("winter", 'Q_(20.7, "1/day")', "The size is far off"),
    ("label", 'Q_(0.689, "day")', "That is the middle"),
    ("label", 'Q_(17.7, "hour")', "That is the generous end"),
    ("label", 'Q_(7.6, "hour")', "That is at 25"),
    ("label", 'Q_(16, "hour")', "Rounded up"),
    ("label", "15.5", "It needs a number with a unit"),
    ("mistake", 'Q_(40, "percent")', "That is your friend's"),
    ("mistake", 'Q_(60, "percent")', "That is what your friend says"),
    ("mistake", 'Q_(0.97**20, "percent")', "That is 0.544 of one hundredth"),
    ("mistake", 'Q_(45.6, "percent")', "That is what has gone"),
    ("mistake", 'Q_(20, "day")', "It needs a plain number"),
    ("plan a stand", 'Q_(14, "day")', "With 14 days"),
    ("plan a stand", 'Q_(20, "day")', "Near, but not there yet"),
    ("plan a stand", 'Q_(28, "day")', "That is plenty"),
    ("plan a stand", 'Q_(7, "day")', "Not there yet"),
    ("how much air", 'Q_(0.117, "L")', "That is 4 % of the gas"),
    ("how much air", 'Q_(2.94, "L")', "That is the gas itself"),
    ("how much air", 'Q_(24.5, "L")', "That is one cell"),
    ("how much air", 'Q_(73, "hour")', "Look at the unit"),
]
