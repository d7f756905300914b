"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

import cellkit as ck
from cellkit import Q_
from cellkit.show import Exercise


def lamps():
    right = (Q_(26.3, "Wh/kg") * Q_(730, "g") / Q_(1.5, "W")).to("hour")
    return Exercise(
        right,
        close=Q_(0.4, "hour"),
        why="The block's watt-hours, over the watts of all three lamps, are hours.",
        hint="Hours are energy over power. What is the energy of 730 g, and the power of all lamps?",
        slips={
            "That is the energy of one cell. How many does the block have?": right / 3,
            "That is for one lamp of 0.5 W. There are three.": 3 * right,
            "That is the 24 Wh of the label. The block gave less.": Q_(24, "Wh") / Q_(1.5, "W"),
        },
    )


def ratio():
    mass, volts = 1 - 0.30 + 0.04, 0.64
    return Exercise(
        mass / volts,
        close=0.01,
        why="0.74 of the mass is left, and 0.64 of the volts need more than the old charge to make 0.74 of the energy.",
        hint="Set the rule to 1: volts times charge has to be what is left of the mass.",
        slips={
            "That is what comes out with the old charge. How many times more makes it 1?": volts / mass,
            "That is the mass that is left. The volts have to be made up for, too.": mass,
            "That makes up for the volts and forgets that the cell got lighter.": 1 / volts,
            "What was put back is missing.": 0.70 / volts,
            "What is put back adds to the mass; here it went out too.": 0.66 / volts,
        },
    )


def millilitres():
    charge, one = Q_(3.10, "Ah"), Q_(1, "mol/L")
    at_one = ck.cells.minimum_volume(charge, one).to("mL")
    right = ck.cells.minimum_volume(charge, 0.6 * one).to("mL")
    return Exercise(
        right,
        close=Q_(1.5, "mL"),
        why="At 0.6 mol/L each millilitre holds less metal, so more of them are needed.",
        hint="1 Ah needs 18.7 mL of 1 mol/L. Does a weaker one need more or less, and by which factor?",
        slips={
            "That is for 1 mol/L. A weaker solution holds less metal in each mL.": at_one,
            "A weaker solution needs more of it, not less.": at_one * 0.6,
            "That is for 1 Ah. The cell has 3.10 Ah.": right / 3.10,
        },
    )


def find_the_mistake():
    return Exercise(
        "reacting",
        why="Only the masses that react are few enough for 140 Wh/kg.",
        slips={
            "That level has the 23 Wh/kg of the other sum. Which kilograms are far fewer?": "plates",
            "With case and lid it is even less than for the plates. Which kilograms are far fewer?": "block",
        },
    )


def limit():
    block = ck.cells.read_block("osier_yard_block.csv")
    fill = ck.chemistry.from_molarity(Q_(30, "mL"), Q_(1, "mol/L"), Q_(2, "mol/L"), "zinc")
    cell = block.rebuilt_cell(fill, negative_plates=Q_(4, "g"), negative_capacity=Q_(10, "Ah"))
    return Exercise(
        cell.limiting,
        why="Here the acid, poured in and made by the first charge, is the least of the four.",
        slips={
            f"Of {name} there is enough for {charge:.1f~P}. Something ends sooner.": name
            for name, charge in cell.limits.items()
            if name != cell.limiting
        },
    )


def own_piece(plate_area, piece, width, height):
    plates_in_it = (width * height / plate_area).to("")
    return Exercise(
        (piece / plates_in_it).to("g"),
        close=Q_(0.5, "g") / plates_in_it,
        why="Mass goes with area as long as the layers are the same.",
        hint=f"One plate has {plate_area:.1f~P}. How many of them fit into your piece?",
        slips={
            "That is the whole piece. A plate is smaller.": piece,
            "The two areas are the wrong way round.": piece * plates_in_it,
        },
    )


def heaviest_part(masses):
    return Exercise(
        max(masses, key=masses.get),
        words=tuple(masses),
        why="Lead is eleven times as dense as water, and the positives carry the paste that reacts.",
    )


def share_of_the_negatives(share):
    return Exercise(share.to("percent"), why="Lead plates are most of the mass, and both kinds of plate are lead.")


def reacting_over_block(levels):
    times = (levels["reacting"] / levels["block"]).to("")
    return Exercise(times, why="Most of the block does not react: grids, water, case, and the lead that is left over.")


def a_third_off(ratio):
    return Exercise(ratio, why="The same energy is carried by two thirds of the mass: 1 over 2/3.")


def most_per_kilogram(before, after):
    energies = {"lead": before} | after
    best = max(energies, key=lambda name: energies[name].specific_energy("plates"))
    return Exercise(best, words=tuple(energies), why="Volts times charge over mass decides, not mass alone.")


def copper_breaks_even(ratio):
    return Exercise((1 - ratio), why="As much of the mass has to go as of the volts went.")


def volume_for_one_ampere_hour(volume):
    return Exercise(volume.to("mL"), why="A litre of 1 mol/L gives two electrons for each metal ion, 53.6 Ah in all.")


def no_acid():
    return Exercise(
        "less",
        words=("less", "more", "the same"),
        why="With charged positives the acid runs out; discharged ones make acid in the first charge.",
    )


WRONG = [
    ("lamps", 'Q_(4.2, "hours")', "That is the energy of one cell."),
    ("lamps", 'Q_(38, "hours")', "That is for one lamp"),
    ("lamps", 'Q_(16, "hours")', "That is the 24 Wh of the label."),
    ("lamps", 'Q_(19.1, "Wh")', "Look at the unit: Wh does not fit."),
    ("lamps", "12.7", 'It needs a number with a unit, such as Q_(1, "h").'),
    ("lamps", 'Q_(-12.7, "hours")', "Look at the sign first."),
    ("ratio", "0.86", "That is what comes out with the old charge."),
    ("ratio", "0.74", "That is the mass that is left."),
    ("ratio", "1.56", "That makes up for the volts"),
    ("ratio", "1.09", "What was put back is missing."),
    ("ratio", "1.03", "What is put back adds to the mass"),
    ("ratio", 'Q_(1.16, "Wh/kg")', "It needs a plain number."),
    ("ratio", "116", "Percent is a unit here"),
    ("ratio", "2", "Not there yet."),
    ("millilitres", 'Q_(58, "mL")', "That is for 1 mol/L."),
    ("millilitres", 'Q_(35, "mL")', "A weaker solution needs more"),
    ("millilitres", 'Q_(31, "mL")', "That is for 1 Ah."),
    ("millilitres", 'Q_(96, "g")', "Look at the unit: g does not fit."),
    ("millilitres", 'Q_(96, "L")', "The size is far off."),
    ("find the mistake", '"plates"', "That level has the 23 Wh/kg"),
    ("find the mistake", '"block"', "With case and lid"),
    ("find the mistake", "140", "Choose one of: block, plates, reacting."),
    ("limit", '"metal ions"', "Of metal ions there is enough for 3.2 Ah."),
    ("limit", '"PbO2"', "Of PbO2 there is enough for 3.1 Ah."),
    ("limit", '"felt"', "Of felt there is enough for 10.0 Ah."),
    ("limit", '"zinc"', "Choose one of: acid, felt, metal ions, PbO2."),
    ("own piece", 'Q_(8, "g")', "That is the whole piece."),
    ("own piece", 'Q_(64.5, "g")', "The two areas are the wrong way round."),
    ("own piece", 'Q_(0.04, "g/cm^2")', "Look at the unit:"),
    ("own piece", 'Q_(0.1, "g")', "The size is far off. One plate has 24.8 cm²"),
]
