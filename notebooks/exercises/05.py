"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

from cellkit import Q_
from cellkit.show import Exercise


def idle_logger():
    return Exercise(
        (Q_(2, "mA") * Q_(1, "week")).to("Ah"),
        close=Q_(10, "mAh"),
        why="Charge is current times time, and a week has 168 hours.",
        hint="Current times hours; a week has 168 of them. And 1000 mAh are 1 Ah.",
        slips={
            "That is one day of it. A week has seven.": Q_(48, "mAh"),
            "That is milliamperes times days. An ampere-hour wants hours.": Q_(14, "mAh"),
        },
    )


def energy_back():
    charge, volts = Q_(2.16 / 2.40, "").to("percent"), Q_(1.25 / 1.42, "").to("percent")
    right = (charge * volts).to("percent")
    return Exercise(
        right,
        close=Q_(0.7, "percent"),
        why="Energy is charge times volts, so both shares multiply.",
        hint='Charge out over in, times volts out over in; with its unit, Q_(…, "percent").',
        slips={
            "That counts the electrons. Each of them also came back at fewer volts.": charge,
            "That counts the volts. Some electrons did not come back at all.": volts,
            "Upside down: what came out stands above.": 1 / right,
            "Both shares are of one whole, so they multiply and do not add up.": charge + volts,
            "That is what was lost on the way. How much came back?": 1 - right,
        },
    )


def too_good():
    return Exercise(
        "start",
        why="The cell began fuller than it ended, so part of what came out had gone in before this log.",
        slips={
            "Mixed up, more went in than out; then the last row would not rest lower.": "sign",
            "A meter that reads high does so both ways, and the ratio stays.": "meter",
        },
    )


def load_off():
    back, gone = Q_(1.30 - 1.18, "V"), Q_(0.8, "A")
    return Exercise(
        (back / gone).to("mohm"),
        close=Q_(5, "mohm"),
        why="With the load gone, the volts come back that the current had cost inside the cell.",
        hint="Volts that came back, divided by the amperes that left.",
        slips={
            "Upside down: volts stand above, amperes below.": Q_(0.8 / 0.12, "ohm"),
            "That is the load's. The cell's own cost the volts that came back.": Q_(1.18, "V") / gone,
        },
    )


def twice_the_current(explained, missing):
    """Both in millivolts, at half depth."""
    return Exercise(
        Q_(2 * explained, "mV"),
        close=Q_(8, "mV"),
        why="The resistance stays, so twice the current costs twice the volts.",
        hint="Look at the print above the list of three parts. Volts are amperes times ohms.",
        slips={
            "That is at the old current. The ohms stay, the amperes double.": Q_(explained, "mV"),
            "You doubled all that is missing. Asked is the part that I·R explains.": Q_(2 * missing, "mV"),
            "That is all that is missing, at the old current. Only the part of I·R doubles.": Q_(missing, "mV"),
        },
    )


def mistake():
    return Exercise(
        Q_(300 * 7, "mAh").to("Ah"),
        close=Q_(0.05, "Ah"),
        why="300 mA for seven hours are 2.1 Ah; a thousand times that fits into no small cell.",
        hint="300 mA for seven hours. No program sees a title lie; look at the size.",
        slips={
            "That is what cellkit believes. No small cell holds so much.": Q_(2100, "Ah"),
            "That is the current alone; it flowed for seven hours.": Q_(0.3, "Ah"),
        },
    )


def mend_the_list():
    return Exercise(
        3,
        why="Six volts are three lead cells of about two volts each.",
        hint="Volts at rest of the whole log, over those of one lead cell.",
        slips={
            "A lead cell has about two volts at rest, not one.": 6,
            "That still counts copper cells. The list has to say lead as well.": 4.6,
        },
    )


def mend_the_log():
    return Exercise(
        Q_(300, "mAh"),
        close=Q_(6, "mAh"),
        why="300 mA flow from minute 1 to minute 61; a row between them changes nothing, whatever its time.",
        hint="A comma too many makes two numbers of one; and no row may be earlier than the one above it.",
        slips={
            "Without the row right after the switch, the line to the next one invents charge. Mend it.": Q_(315, "mAh"),
            "Its last rows are at rest: the current ends at minute 61.": Q_(330, "mAh"),
        },
    )


def flat_or_bent():
    return Exercise(
        "bent",
        words=("flat", "straight", "bent"),
        why="They jump when the current starts, creep, and run away at the end.",
    )


def charge_of_two_minutes():
    return Exercise(Q_(10, "mAh"), why="Two minutes are a thirtieth of an hour.")


def every_20th_row(charge, whole):
    off = abs(charge / whole - 1).to("percent")
    return Exercise(off, why="Here errors of both signs nearly cancel; every fifth row is off by 10 %.")


def smaller_efficiency(cycle):
    energy_is_less = cycle.energy_efficiency < cycle.coulombic_efficiency
    return Exercise(
        "energy" if energy_is_less else "coulombic",
        words=("energy", "coulombic"),
        why="Each electron goes in at more volts than it comes out at.",
    )


def agreement_of_steps(resistance):
    share = (resistance.scatter / resistance.median).to("percent")
    return Exercise(share, why="A step at the empty end is another cell than one at the full end.")


def log_against_promise(got, promised):
    return Exercise(
        "less" if got < promised else "more",
        words=("less", "more"),
        why="A promise counts every atom, and some cannot be reached in time."
        if got < promised
        else "Then the list is not of this cell, or the cell was charged again in between.",
    )


def left_over(left, band):
    return Exercise(
        "yes" if left.mean() > band.mean() else "no",
        words=("yes", "no"),
        why="Slow parts of the loss are not in a resistance that shows within a second.",
    )


def fewest_electrons_back(turns):
    return Exercise(
        min(turns, key=lambda kind: turns[kind].coulombic_efficiency),
        words=tuple(turns),
        why="Zinc lies below hydrogen, so part of the current makes gas instead of metal.",
    )


WRONG = [
    ("idle logger", 'Q_(48, "mAh")', "That is one day"),
    ("idle logger", 'Q_(0.014, "Ah")', "That is milliamperes times days"),
    (
        "idle logger",
        'Q_(336, "mA")',
        'Look at the unit: mA does not fit. What is asked for has one such as Q_(1, "Ah")',
    ),
    ("idle logger", 'Q_(336, "Ah")', "The size is far off"),
    ("energy back", 'Q_(90, "percent")', "That counts the electrons"),
    ("energy back", 'Q_(88, "percent")', "That counts the volts"),
    ("energy back", 'Q_(126, "percent")', "Upside down"),
    ("energy back", 'Q_(178, "percent")', "Both shares are of one whole"),
    ("energy back", 'Q_(20.8, "percent")', "That is what was lost"),
    ("energy back", 'Q_(0.792, "percent")', "That is 0.792 of one hundredth"),
    ("energy back", "79.2", "Percent is a unit here"),
    ("energy back", 'Q_(0.792, "Wh")', "It needs a plain number"),
    ("too good", '"sign"', "Mixed up, more went in"),
    ("too good", '"Meter"', "A meter that reads high"),
    ("too good", '"chemistry"', "Choose one of: meter, sign, start"),
    ("load off", 'Q_(6.67, "ohm")', "Upside down"),
    ("load off", 'Q_(1475, "mohm")', "That is the load's"),
    ("load off", 'Q_(-150, "mohm")', "Look at the sign"),
    ("load off", 'Q_(0.12, "V")', "Look at the unit"),
    ("load off", "150", 'It needs a number with a unit, such as Q_(1, "mohm").'),
    ("twice the current", 'Q_(50, "mV")', "That is at the old current"),
    ("twice the current", 'Q_(2 * 91, "mV")', "You doubled all that is missing"),
    ("twice the current", 'Q_(91, "mV")', "That is all that is missing"),
    ("twice the current", 'Q_(100, "V")', "The size is far off"),
    ("mistake", 'Q_(2100, "Ah")', "That is what cellkit believes"),
    ("mistake", 'Q_(0.3, "Ah")', "That is the current alone"),
    ("mistake", 'Q_(2.1, "A")', "Look at the unit"),
    ("mend the list", "6", "A lead cell has about two volts"),
    ("mend the list", "4.6", "That still counts copper cells"),
    ("mend the list", 'Q_(3, "V")', "It needs a plain number"),
    ("mend the log", 'Q_(315, "mAh")', "Without the row right after"),
    ("mend the log", 'Q_(330, "mAh")', "Its last rows are at rest"),
    ("mend the log", 'Q_(300, "Ah")', "The size is far off"),
    ("mend the log", 'Q_(300, "mA")', "Look at the unit"),
]
