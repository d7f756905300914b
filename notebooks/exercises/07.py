"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

import numpy as np

import cellkit as ck
from cellkit import Q_
from cellkit.show import Exercise
from cellkit.show.panels import map_axes


def on_paper(design):
    energies = energies_of(design)
    lead = energies.pop("lead")
    best = max(energies.values())
    return Exercise(
        (best / lead - 1).to("percent"),
        close=Q_(1, "percent"),
        why="Divide the best by lead, and what goes beyond 1 is how far it is ahead.",
        hint="The best of the four over lead, less one, in percent.",
        slips={"That is the best over lead; ahead is what goes beyond 100 %.": (best / lead).to("percent")},
    )


def energies_of(design):
    """Wh/kg on paper of what can be built, by construction."""
    names = [name for name in ck.designs.CONSTRUCTIONS if not design.refused(name)]
    return {name: design.cell(name).specific_energy("block") for name in names}


def ends(design, construction, choices, item):
    """The steps of a slider of the map, and what ends the ring at each of them; of one that is not there, nothing."""
    if item not in choices.sliders or design.refused(construction):
        return Q_([np.nan], "mL"), np.array([""])
    _, unit, least, most, step, _ = choices.sliders[item]
    steps = np.arange(round((most - least) / step) + 1) * step + least
    moved = ck.designs.Design.varied.si(design, design.carried({item: Q_(steps, unit).to_base_units().magnitude}))
    limiting = ck.designs.Design.cell.si(moved, construction).limiting
    return Q_(steps, unit), np.broadcast_to(limiting, len(steps))


def first_where(steps, there):
    """The first step where something is true, or else the last."""
    return steps[int(np.argmax(there))] if np.any(there) else steps[-1]


def sulfate(design, construction, choices):
    steps, ending = ends(design, construction, choices, "fill salt")
    return Exercise(
        first_where(steps, ending != "metal ions"),
        close=Q_(0.051, "mol/L"),
        why="From there on the liquid holds more metal than something else in the cell can use.",
        hint="Read the last words below the picture while you move the slider: limited by what?",
        slips={"There the metal ions end it; go on.": first_where(steps, ending == "metal ions")},
    )


def acid(design, construction, choices):
    _, ending = ends(design, construction, choices, "fill acid")
    return Exercise(
        str(ending[0]),
        words=("acid", "felt", "metal ions", "PbO2"),
        why="The last words below the picture say it: now all acid comes from the mats, the positives and plating.",
        hint="Move the slider down to 0, and read what the last words below the picture say: limited by what?",
    )


def tank(design, choices):
    if design.refused("copper with tank"):
        return Exercise("no tank", why="This list has no such cell, so there is nothing to move.")
    steps, ending = ends(design, "copper with tank", choices, "tank volume")
    return Exercise(
        first_where(steps, ending != ending[0]),
        close=Q_(1.5, "mL"),
        why="From there on the liquid outside is weight: what ends the cell is inside.",
        hint="Begin at 0, read what limits the ring, and go on until that word changes.",
        slips={"That is where you began; go on until the word changes.": Q_(0, "mL")},
    )


def kept(design, construction, choices):
    steps, ending = ends(design, construction, choices, "charge kept by positives")
    return Exercise(
        first_where(steps[::-1], (ending == "PbO2")[::-1]),
        close=Q_(1.5, "percent"),
        why="There the positives hold just what the next reagent would have allowed.",
        hint="Begin at 100 % and go down until the ring is limited by PbO2.",
        slips={"At that share something else ends it; go on.": Q_(100, "percent")},
    )


def nothing_decides(found, construction):
    """The answer where every draw ends alike, so that no bar shows; else None."""
    if not max(found.sensitivity(construction).values()) > 0:
        return Exercise("nothing", why="Every draw ended alike, so no input decides.")


def measure_first(found, construction):
    if none := nothing_decides(found, construction):
        return none
    usual = "current efficiency of copper", "tank and tubing", "tank volume", "charge kept by positives", "capacity"
    return Exercise(
        next(iter(found.sensitivity(construction))),
        words=usual,
        why="It has the longest bar: nothing else moves the answer as much.",
        hint="Change the last line of the code cell with the bars, run it again, and read the longest bar.",
        slips={
            "It has a say, but not the largest: see which reagent ends it.": "current efficiency of copper",
            "A few grams of a whole block; look at the bars.": "tank and tubing",
            "Read to a millilitre, and more of it may not be used: look at the bars.": "tank volume",
        },
    )


def stronger():
    times = (ck.cells.minimum_volume(Q_(2.5, "Ah"), Q_(1, "mol/L")) / Q_(30, "mL")).m_as("")
    return Exercise(
        Q_(times, "mol/L"),
        close=Q_(0.05, "mol/L"),
        why="2.5 Ah need 47 mL of 1 mol/L, and the same metal in 30 mL is stronger by 47 over 30.",
        hint="1 Ah needs 18.7 mL of 1 mol/L. The same metal in 30 mL is stronger by how much?",
        slips={
            "Upside down: less volume wants more strength.": Q_(1 / times, "mol/L"),
            "That is the charge for each 53.6 Ah, in a litre; here it is 30 mL.": Q_(2.5 / 53.6, "mol/L"),
        },
    )


def felt(design, prices, construction):
    cheaper = prices | {"felt plates": prices["felt plates"] / 2}
    half = ck.designs.cost_per_energy(design, prices, construction) / 2
    return Exercise(
        ck.designs.cost_per_energy(design, cheaper, construction).to("money/Wh"),
        close=Q_(0.02, "money/Wh"),
        why="Only the felt became cheaper; the rest of the bill stays, over the same watt-hours.",
        hint="The whole bill, less half of the felt, over the watt-hours.",
        slips={"That is half of everything; only the felt became cheaper.": half},
    )


def best_on_paper(design):
    energies = energies_of(design)
    return Exercise(
        max(energies, key=energies.get),
        words=tuple(energies),
        why="Wh/kg go with the volts, with the charge, and against what is carried.",
    )


def best_on_the_map(design, construction):
    volumes, plates = map_axes(design)
    here = ck.designs.specific_energy_map(design, construction, Q_(volumes, "mL"), Q_(plates, "g"))
    energy = np.nan_to_num(here.specific_energy.magnitude)
    row, column = np.unravel_index(np.argmax(energy), energy.shape)
    much = row > 0.7 * len(plates) and column > 0.7 * len(volumes)
    return Exercise(
        "both" if much else "between",
        words=("both", "between"),
        why="It has just so much of each that two reagents end together; and in a large cell the case counts less.",
    )


def shape_of_the_tank(curve):
    top = int(np.argmax(np.nan_to_num(curve)))
    shape = "falls" if top == 0 else "rises" if top == len(curve) - 1 else "rises and falls"
    return Exercise(
        shape,
        words=("rises", "falls", "rises and falls"),
        why="Liquid is fuel until another reagent ends the cell; then it is only carried.",
    )


def copper_after_the_draws(found):
    middle = found.specific_energy("copper")[1].to("Wh/kg")
    return Exercise(middle, why="It is less than on paper: the load costs volts, and not all of the charge comes back.")


def decides(found, construction):
    if none := nothing_decides(found, construction):
        return none
    first, *others = list(found.sensitivity(construction))[:5]
    among = "positive plates", "fill volume", "fill salt", "charge kept by positives", *others
    return Exercise(first, words=among, why="What a rebuild does not need moves only its rival, the block as it was.")


def zinc_with_the_pilot(found):
    middle = found.specific_energy("zinc")[1].to("Wh/kg")
    return Exercise(middle, why="The pilot lost more than the middle of the published range.")


def chance_when_mended(found, construction):
    chance = Q_(100 * found.draws_ahead(construction) / found.count, "percent")
    return Exercise(chance, why="What decides is how much of the metal comes back, and that is no row of the plan.")


def largest_line(costs):
    return Exercise(max(costs, key=costs.get), words=tuple(costs), why="Chemicals cost little in such amounts.")


WRONG = [
    ("on paper", 'Q_(111, "percent")', "That is the best over lead"),
    ("on paper", 'Q_(-10, "percent")', "Look at the sign first"),
    ("on paper", 'Q_(2.8, "Wh/kg")', "It needs a plain number"),
    ("on paper", 'Q_(18, "percent")', "Not there yet"),
    ("on paper", "11", "Percent is a unit here"),
    ("sulfate", 'Q_(0.05, "mol/L")', "There the metal ions end it"),
    ("sulfate", 'Q_(1.3, "mol/L")', "Near, but not there yet"),
    ("sulfate", 'Q_(40, "mL")', "Look at the unit"),
    ("acid", '"metal ions"', "Not that one. Move the slider"),
    ("acid", '"metal"', "Choose one of: acid, felt, metal ions, PbO2"),
    ("tank", 'Q_(0, "mL")', "That is where you began"),
    ("tank", 'Q_(60, "mL")', "The size is far off"),
    ("tank", "18", "It needs a number with a unit"),
    ("kept", 'Q_(100, "percent")', "At that share something else ends it"),
    ("kept", 'Q_(60, "percent")', "Near, but not there yet"),
    ("kept", "69", "Percent is a unit here"),
    ("measure first", '"current efficiency of copper"', "It has a say"),
    ("measure first", '"tank and tubing"', "A few grams"),
    ("measure first", '"tank volume"', "Read to a millilitre"),
    ("measure first", '"capacity"', "Not that one. Change the last line"),
    ("measure first", '"pump"', "Choose one of: "),
    ("stronger", 'Q_(0.64, "mol/L")', "Upside down"),
    ("stronger", 'Q_(0.0466, "mol/L")', "That is the charge for each"),
    ("stronger", 'Q_(1.56, "mol")', "Look at the unit"),
    ("stronger", 'Q_(1.3, "mol/L")', "Near, but not there yet"),
    ("felt", 'Q_(0.99, "money/Wh")', "That is half of everything"),
    ("felt", 'Q_(11.2, "money")', "Look at the unit"),
    ("felt", 'Q_(11.2, "money/Wh")', "The size is far off"),
]
ALSO_RIGHT = [("sulfate", 'Q_(1.5, "mol/L")'), ("stronger", 'Q_(1.6, "mol/L")')]
