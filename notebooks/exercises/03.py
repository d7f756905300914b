"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

import numpy as np

import cellkit as ck
from cellkit import Q_
from cellkit.show import Exercise

ONE = Q_(1, "mol/kg")


def unknown_metal():
    copper, gap = Q_(ck.chemistry.half_cell("copper")["e0"], "V"), Q_(0.60, "V")
    return Exercise(
        copper - gap,
        close=Q_(0.01, "V"),
        why="It hangs 0.60 V lower than copper, and that is below hydrogen.",
        hint="The reading is the upper shelf less the lower one, and the red probe is on the upper one.",
        slips={
            "The red probe is on copper and the reading is plus, so copper is the upper shelf.": copper + gap,
            "That is how far it hangs from copper; how far from hydrogen?": gap,
            "That is how far below copper it hangs; how far below hydrogen?": -gap,
            "It hangs below hydrogen: mind the sign.": gap - copper,
        },
    )


def fewer_ions():
    crowds = Q_([0.5, 0.02], "mol/kg")
    pushes = ck.chemistry.electrode_potential("copper", ONE, crowds, "copper", ideal=True)
    sinks = (pushes[0] - pushes[1]).to("mV")
    return Exercise(
        sinks,
        close=Q_(3, "mV"),
        why="It is 1.4 steps of 30 mV; the lower shelf sinks by them, so the reading rises.",
        hint="0.5 to 0.05 is one tenfold step; on to 0.02 is four tenths of another.",
        slips={
            "That is the push of the plate. It is the lower shelf: what does the gap do?": -sinks,
            "A copper ion takes two electrons, so a step is half of 59 mV.": 2 * sinks,
        },
    )


def ten_times_the_acid():
    thin, thick = (ck.chemistry.rest_voltage("lead", acid, ideal=True) for acid in (ONE / 10, ONE))
    right = (thick - thin).to("mV")
    return Exercise(
        right,
        close=Q_(5, "mV"),
        why="Six particles leave and none enters: six steps of 30 mV upwards.",
        hint="Count what leaves: one step for each.",
        slips={
            "That counts the H⁺ alone; here no metal ion makes up for the sulfates.": right * 4 / 6,
            "Two electrons flow, so a step is half of 59 mV.": 2 * right,
        },
    )


def more_acid():
    acids = Q_([1, 3], "mol/kg")

    def rise(metal, *salt, **how):
        return np.diff(ck.chemistry.rest_voltage(metal, acids, *salt, **how))[0].to("mV")

    return Exercise(
        rise("copper", 0.5 * ONE),
        close=Q_(3, "mV"),
        why="The lead dioxide's push grows with the acid, and copper's hardly changes.",
        hint="The sentence under the picture has the volts; take the first from the second.",
        slips={
            "That is the lead meter.": rise("lead"),
            "That is the thin line.": rise("copper", 0.5 * ONE, ideal=True),
        },
    )


def litre_or_kilogram():
    acid = ck.chemistry.from_molarity(Q_(1, "L"), Q_(4.72, "mol/L"))
    return Exercise(
        acid.acid_molality.to("mol/kg"),
        close=Q_(0.15, "mol/kg"),
        why="A litre of it has 0.81 kg of water, and the 4.72 mol belong to those.",
        hint="Per litre of solution is not per kilogram of water. How much water is in a litre?",
        slips={
            "That is per kilogram of solution; take the acid's own mass out.": acid.acid_molarity / acid.density,
            "That is the number per litre again.": Q_(4.72, "mol/kg"),
        },
    )


def hours_of_zinc():
    charge, face, each, loss = Q_(1, "Ah"), Q_(50, "cm^2"), 40, Q_(0.1, "mA/cm^2")
    right = (charge / (face * each * loss)).to("hour")
    return Exercise(
        right,
        close=Q_(0.3, "hour"),
        why="2,000 cm² of fibre lose 0.2 A, and 1 Ah lasts five hours of that.",
        hint="First all the fibre in cm², then the current it loses, then the charge over that current.",
        slips={
            "That is for a smooth face. How much fibre is there?": right * each,
            "That is the fibre behind one cm² of face. How many are there?": right * 50,
        },
    )


def how_deep(reading, depth, real, ideal):
    """From a ``reading``, and from volts at each ``depth`` as they are and as ideal."""
    found, thin = (np.interp(-reading.m_as("V"), -line, depth, np.nan, np.nan) for line in (real, ideal))
    return Exercise(
        Q_(100 * found, "percent"),
        close=Q_(5, "percent"),
        why="At that depth the line of the real cell has the volts of the reading.",
        hint="Part 4 says how many millivolts a tenth of depth is worth.",
        slips={
            "That is the depth of the first reading. The second is higher: fuller or emptier?": Q_(40, "percent"),
            "More volts are a fuller cell, so it was less deep.": Q_(80 - 100 * found, "percent"),
            "That is what is left. Depth is what was taken out.": 1 - found,
            "That is on the ideal line.": thin,
        },
    )


def volts_over_zinc(volts):
    return Exercise(Q_(volts, "V"), why="Zinc hangs lowest of the three, so its gap is the widest.")


def a_hundredth_of_the_ions(push):
    return Exercise(push.to("mV"), why="Each tenfold step takes only 30 mV.")


def ten_times_all(change):
    return Exercise(change.to("mV"), why="Five particles leave and one enters: four steps of 30 mV.")


def share_that_acts():
    share = ck.chemistry.mean_activity_coefficient(0 * ONE, ONE, "copper").to("percent")
    return Exercise(share, why="Two plus charges and two minus charges hold each other hard.")


def schoolbook_off(gap):
    return Exercise(gap.to("mV"), why="It takes every ion at full value, where a small part acts.")


def line_or_cliff():
    return Exercise(
        "line",
        words=("line", "cliff"),
        why="Volts go with the logarithm, so they slope gently and only bend where the last ions go.",
    )


def frost(mixes, volts):
    """The ``mixes`` at 0 °C and 25 °C; ``volts`` of cells along their discharge."""
    ends = Q_(np.array([0, 25]), "degC")
    change = {m: abs(np.diff(ck.chemistry.rest_voltage(m, *mix, ends))[0].m_as("mV")) for m, mix in mixes.items()}
    fall = {m: 1000 * (line[0] - line[-1]) for m, line in volts.items()}
    return Exercise(
        "yes" if max(change.values()) > min(fall.values()) else "no",
        words=("yes", "no"),
        why=f"Frost changes these readings by up to {max(change.values()):.0f} mV; from nearly full to nearly empty "
        f"it is {min(fall.values()):.0f} mV or more.",
    )


def rule_of_the_workshop(off):
    return Exercise(Q_(off, "V").to("mV"), why="The rule is a straight line; the cell's line bends at thin acid.")


def zinc_on_felt(time):
    return Exercise(time.to("hour"), why="Every fibre is eaten at once, and there is far more fibre than face.")


def a_tenth_of_the_acid(share):
    return Exercise(
        Q_(share).to("percent"),
        why="With fewer H⁺ there is less to eat with, and hydrogen's own line sinks towards zinc's.",
    )


def copper_and_water(levels):
    inside = levels["hydrogen"] < levels["copper"] < levels["oxygen"]
    return Exercise(
        "inside" if inside else "outside",
        words=("inside", "outside"),
        why="Copper hangs above hydrogen, and every lead dioxide above oxygen.",
    )


WRONG = [
    ("unknown metal", "0.3", "It needs a number with a unit"),
    ("unknown metal", 'Q_(0.94, "V")', "The red probe is on copper"),
    ("unknown metal", 'Q_(0.6, "V")', "That is how far it hangs from copper"),
    ("unknown metal", 'Q_(-0.6, "V")', "That is how far below copper"),
    ("unknown metal", 'Q_(261, "mV")', "It hangs below hydrogen: mind"),
    ("unknown metal", 'Q_(-0.261, "mV")', "The size is far off"),
    ("fewer ions", 'Q_(-41, "mV")', "That is the push of the plate"),
    ("fewer ions", 'Q_(83, "mV")', "A copper ion takes two electrons"),
    ("fewer ions", 'Q_(30, "mV")', "Not there yet. 0.5 to 0.05 is one"),
    ("ten times the acid", 'Q_(118, "mV")', "That counts the H⁺ alone"),
    ("ten times the acid", 'Q_(355, "mV")', "Two electrons flow"),
    ("ten times the acid", 'Q_(-177, "mV")', "Look at the sign first"),
    ("more acid", 'Q_(93, "mV")', "That is the lead meter"),
    ("more acid", 'Q_(68, "mV")', "That is the thin line"),
    ("more acid", 'Q_(1.402, "V")', "The size is far off. The sentence"),
    ("litre or kilogram", 'Q_(4.72, "mol/kg")', "That is the number per litre again"),
    ("litre or kilogram", 'Q_(3.72, "mol/kg")', "That is per kilogram of solution"),
    ("litre or kilogram", 'Q_(5.85, "mol/L")', "Look at the unit"),
    ("hours of zinc", 'Q_(200, "hour")', "That is for a smooth face"),
    ("hours of zinc", 'Q_(250, "hour")', "That is the fibre behind one cm²"),
    ("hours of zinc", 'Q_(0.2, "A")', "Look at the unit"),
    ("hours of zinc", 'Q_(50, "hour")', "The size is far off. First all the fibre"),
    ("how deep", 'Q_(71, "percent")', "That is what is left"),
    ("how deep", 'Q_(90, "percent")', "That is on the ideal line"),
    ("how deep", 'Q_(40, "percent")', "That is the depth of the first reading"),
    ("how deep", 'Q_(51, "percent")', "More volts are a fuller cell"),
    ("how deep", 'Q_(60, "percent")', "Not there yet. Part 4 says"),
    ("how deep", "29", "Percent is a unit here"),
]
