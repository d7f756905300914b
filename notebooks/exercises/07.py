"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

import numpy as np

import cellkit as ck
from cellkit import Q_
from cellkit.show import Exercise


def on_paper(design):
    zinc, lead = (design.cell(name).specific_energy("block") for name in ("zinc", "lead"))
    return Exercise(
        (zinc / lead - 1).to("percent"),
        close=Q_(1, "percent"),
        why="Divide zinc by lead, and what goes beyond 1 is how far zinc is ahead.",
        hint="Zinc over lead, less one, in percent.",
        slips={"That is zinc over lead; ahead is what goes beyond 100 %.": (zinc / lead).to("percent")},
    )


def together():
    charge, salt = Q_(3.1, "Ah"), Q_(1, "mol/L")
    return Exercise(
        ck.cells.minimum_volume(charge, salt).to("mL"),
        close=Q_(2, "mL"),
        why="A litre of 1 mol/L holds 53.6 Ah, and 3.1 Ah are wanted.",
        hint="18.7 mL for each ampere-hour of the positives.",
        slips={
            "That is what 1 Ah needs.": ck.cells.minimum_volume(Q_(1, "Ah"), salt),
            "That is Osier Yard's plan; its metal ends first.": Q_(40, "mL"),
        },
    )


def bigger_tank():
    design = ck.designs.read_design("osier_yard_design.csv")
    alone = design.cell("copper").energy.to("Wh")
    return Exercise(
        design.varied({"tank volume": Q_(400, "mL")}).cell("copper with tank").energy.to("Wh"),
        close=Q_(0.5, "Wh"),
        why="After 18 mL the lead dioxide ends each discharge, and more ions find nothing to react with.",
        hint="After 18 mL it hardly changes any more; the lines printed above have it.",
        slips={
            "That counts every ion. What else has to react with it?": 11 * alone,
            "That is the cell without its tank.": alone,
        },
    )


def none_won():
    return Exercise(
        ck.designs.RULE_OF_THREE * 1000,
        close=100,
        why="After n draws without a win the chance may still be up to three over n.",
        hint="Three over n is to be one in 1,000.",
        slips={
            "So many could miss what happens once in 1,000; the rule has a three.": 1000,
            "Upside down: rarer things take more draws.": 1000 / ck.designs.RULE_OF_THREE,
        },
    )


def measure_first(found):
    return Exercise(
        next(iter(found.sensitivity("copper with tank"))),
        why="With its tank this cell is ended by lead dioxide, so what the positives keep decides.",
        hint="The longest bar.",
        slips={
            "It has a say, but not the largest: see which reagent ends it.": "current efficiency of copper",
            "A few grams in 650; look at the bars.": "tank and tubing",
            "Read to a millilitre, and past the peak: hardly anything.": "tank volume",
        },
    )


def stronger():
    times = (ck.cells.minimum_volume(Q_(2.5, "Ah"), Q_(1, "mol/L")) / Q_(30, "mL")).m_as("")
    return Exercise(
        Q_(times, "mol/L"),
        close=Q_(0.04, "mol/L"),
        why="2.5 Ah need 47 mL of 1 mol/L, and the same metal in 30 mL is stronger by 47 over 30.",
        hint="1 Ah needs 18.7 mL of 1 mol/L. The same metal in 30 mL is stronger by how much?",
        slips={
            "Upside down: less volume wants more strength.": Q_(1 / times, "mol/L"),
            "That is for 3.1 Ah in 40 mL, the ring of the map. This is another cell.": Q_(1.45, "mol/L"),
        },
    )


def felt():
    design, prices = ck.designs.read_design("osier_yard_design.csv"), ck.designs.read_prices("osier_yard_prices.csv")
    cheaper = prices | {"felt plates": prices["felt plates"] / 2}
    half = ck.designs.cost_per_energy(design, prices, "zinc") / 2
    return Exercise(
        ck.designs.cost_per_energy(design, cheaper, "zinc").to("money/Wh"),
        close=Q_(0.02, "money/Wh"),
        why="Only the felt became cheaper; the rest of the bill stays, over the same watt-hours.",
        hint="The whole bill, less half of the felt, over the watt-hours.",
        slips={"That is half of everything; only the felt became cheaper.": half},
    )


def best_on_paper(design):
    energies = {name: design.cell(name).specific_energy("block") for name in ck.designs.CONSTRUCTIONS}
    return Exercise(
        max(energies, key=energies.get), words=tuple(energies), why="Its volts are the most, and it is light."
    )


def best_zinc():
    return Exercise(
        "both",
        words=("both", "between"),
        why="The best cell of the map has much of both, and just so much that two reagents end together.",
    )


def shape_of_the_tank(energy):
    top = int(np.argmax(energy))
    shape = "falls" if top == 0 else "rises" if top == len(energy) - 1 else "rises and falls"
    return Exercise(
        shape,
        words=("rises", "falls", "rises and falls"),
        why="Liquid is fuel until another reagent ends the cell; then it is only carried.",
    )


def zinc_after_the_draws(found):
    middle = found.specific_energy("zinc")[1].to("Wh/kg")
    return Exercise(middle, why="Hydrogen takes more current than the charger gives, so no zinc stays on the felt.")


def decides_for_copper(found):
    first = next(iter(found.sensitivity("copper")))
    among = "positive plates", "fill volume", "charge kept by positives", "current efficiency of copper", first
    return Exercise(first, words=among, why="Copper is limited by its ions, so a stronger block moves only its rival.")


def chance_when_stronger(found):
    chance = Q_(100 * found.draws_ahead("zinc") / found.count, "percent")
    return Exercise(chance, why="More metal in the liquid does not help a felt that keeps none.")


def largest_line(bill):
    return Exercise(max(bill, key=bill.get), words=tuple(bill), why="Chemicals cost little in such amounts.")


WRONG = [
    ("on paper", 'Q_(111, "percent")', "That is zinc over lead"),
    ("on paper", 'Q_(-10, "percent")', "Look at the sign first"),
    ("on paper", 'Q_(2.8, "Wh/kg")', "It needs a plain number"),
    ("on paper", 'Q_(18, "percent")', "Not there yet"),
    ("on paper", "11", "Percent is a unit here"),
    ("together", 'Q_(18.7, "mL")', "That is what 1 Ah needs"),
    ("together", 'Q_(40, "mL")', "That is Osier Yard's plan"),
    ("together", 'Q_(58, "g")', "Look at the unit"),
    ("together", 'Q_(0.58, "L")', "The size is far off"),
    ("bigger tank", 'Q_(31, "Wh")', "That counts every ion"),
    ("bigger tank", 'Q_(2.86, "Wh")', "That is the cell without its tank"),
    ("bigger tank", 'Q_(3.1, "Ah")', "Look at the unit"),
    ("none won", "1000", "So many could miss"),
    ("none won", "333", "Upside down"),
    ("none won", "60", "The size is far off"),
    ("measure first", '"current efficiency of copper"', "It has a say"),
    ("measure first", '"tank and tubing"', "A few grams"),
    ("measure first", '"tank volume"', "Read to a millilitre"),
    (
        "measure first",
        '"pump"',
        "Choose one of: charge kept by positives, current efficiency of copper, tank and tubing, tank volume",
    ),
    ("stronger", 'Q_(0.64, "mol/L")', "Upside down"),
    ("stronger", 'Q_(1.45, "mol/L")', "That is for 3.1 Ah in 40 mL"),
    ("stronger", 'Q_(1.56, "mol")', "Look at the unit"),
    ("stronger", 'Q_(1.3, "mol/L")', "Near, but not there yet"),
    ("felt", 'Q_(0.54, "money/Wh")', "That is half of everything"),
    ("felt", 'Q_(11.07, "money")', "Look at the unit"),
    ("felt", 'Q_(11.07, "money/Wh")', "The size is far off"),
]
