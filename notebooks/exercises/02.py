"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

import cellkit as ck
from cellkit import Q_
from cellkit.show import Exercise

BLUE, DRY = (ck.tables.molar_mass(label) for label in ("CuSO4·5H2O", "CuSO4"))


def moles():
    right = (Q_(50, "g") / BLUE).to("mol")
    return Exercise(
        right,
        close=Q_(0.006, "mol"),
        why="A mol of CuSO4·5H2O weighs 249.7 g, its five waters included.",
        hint="Grams divided by grams per mol.",
        slips={
            "That is for the dry salt. Five waters hang on each CuSO4.": Q_(50, "g") / DRY,
            "Upside down: a mol weighs 250 g, so 50 g are less than one.": Q_(1 / right.m, "mol"),
        },
    )


def grams():
    quarter = ck.chemistry.from_molarity(Q_(250, "mL"), salt=Q_(0.5, "mol/L"), metal="copper")
    right = ck.chemistry.weigh_out(quarter, "CuSO4·5H2O", purity=0.98).crystals.to("g")
    return Exercise(
        right,
        close=Q_(0.25, "g"),
        why="An eighth of a mol is needed, and 2 % of the bag are something else, so it takes a little more.",
        hint="Litres times mol/L make mol; mol times grams per mol make grams; divide by the purity.",
        slips={
            "That is for pure crystals. Of this bag you need a little more.": 0.98 * right,
            "Divide by the purity: of an impure bag you need more, not less.": 0.98**2 * right,
            "That is for 1 mol/L.": 2 * right,
            "That is for a whole litre. How much of one is 250 mL?": 4 * right,
            "That is for the dry salt; the crystals carry water.": right * DRY / BLUE,
        },
    )


def find_the_mistake():
    seven, single = (ck.tables.molar_mass(label) for label in ("ZnSO4·7H2O", "ZnSO4·H2O"))
    right = (seven / single).m
    return Exercise(
        right,
        close=0.03,
        why="The grams were meant for 287.5 g/mol and met 179.5 g/mol, so more mol are in them.",
        hint="In the same grams, fewer waters leave room for more salt. Molar mass over molar mass.",
        slips={
            "Too dense means too strong, so more than 1.": 1 / right,
            "Waters weigh less than the salt they hang on: take molar masses, not 7 over 1.": 7,
        },
    )


def cold(plan):
    target = plan.target()
    middle = ck.chemistry.solubility(plan.metal, target.acid_molality, Q_(0, "degC"))
    share, spread = (target.salt_molality / middle).m, ck.chemistry.BESIDE_ACID
    right = "safe" if share < 1 - spread else "perhaps" if share < 1 + spread else "crystals"
    words = {
        "safe": "Below the middle line is not enough: safe starts 20 % lower.",
        "perhaps": "Where does the band end at 0 °C, 20 % below and above its middle?",
        "crystals": "Crystals are certain only above the band, 20 % over its middle.",
    }
    return Exercise(
        right,
        why=f"At 0 °C the middle is {middle:.2f~P} and the plan has {target.salt_molality:.2f~P}.",
        slips={words[name]: name for name in words if name != right},
    )


def held_acid():
    wanted, there = (Q_(50, "mL") * Q_(1, "mol/L")).to("mol"), (Q_(10, "mL") * Q_(2.2, "mol/L")).to("mol")
    return Exercise(
        wanted - there,
        close=Q_(0.001, "mol"),
        why="What is missing is what has to be there, less what is there.",
        hint="Litres times mol/L, once as wanted and once as held; subtract.",
        slips={
            "That is what is wanted in all. Some of it is there already.": wanted,
            "That is what is held. How much is missing?": there,
            "That fills the free 40 mL at target strength; the mats are stronger.": Q_(0.04, "mol"),
            "That adds what is held. It is there already: subtract it.": wanted + there,
        },
    )


def float(bottle, target, short):
    return Exercise(
        bottle.density.to("g/mL"),
        close=Q_(0.005, "g/mL") + ck.chemistry.DENSITY_ERROR * bottle.density,  # of the float, of the prediction
        why="It agrees with the recipe to what a float and the prediction are good for.",
        hint="Is another hydrate on the bag? Does the float touch the glass?",
        slips={
            "That fits the cells. The bottle lacks what the mats hold.": target.density,
            "That fits four fifths of the crystals. Is a rest at the bottom?": short.density,
            "Upside down: density is grams by millilitres.": Q_(1 / bottle.density.m_as("g/mL"), "g/mL"),
        },
    )


def blue_over_dry(blue, dry):
    return Exercise((blue / dry).to(""), why="Five waters weigh 90 g, more than half of the dry salt's 160 g.")


def one_mol_into_a_litre():
    return Exercise(
        "too weak",
        words=("too weak", "too strong", "right"),
        why="The crystals and their water take up room too, so there is more than a litre.",
    )


def mol_per_litre_and_kilogram(target, stock):
    apart = {name: (one.acid_molality.m / one.acid_molarity.m) for name, one in (("target", target), ("acid", stock))}
    return Exercise(
        "target" if apart["target"] > apart["acid"] else "battery acid",
        words=("target", "battery acid"),
        why="The stronger a solution, the less water is in a litre of it.",
    )


def one_mol_of_copper_beside_acid():
    return Exercise(
        "no", words=("yes", "no"), why="Beside acid less copper sulfate dissolves; the message says how much."
    )


def acid_when_forgotten(acid):
    return Exercise(acid.to("mol/L"), why="The little that the mats hold is nearly five times as strong as the target.")


def acid_when_discharged(acid):
    return Exercise(acid.to("mol/L"), why="Both plates take up sulfate while they discharge, and water is made.")


def acid_for_the_current(times):
    return Exercise(times, why="H⁺ ions are quick; metal ions and sulfate are slow and hold each other.")


def without_acid():
    return Exercise(
        "acid",
        words=("acid", "metal ions", "PbO2"),
        why="The first charge makes one acid for each metal atom, and the discharge needs two.",
    )


def hottest(temperature):
    return Exercise(temperature.m_as("degC"), why="The stronger the acid, the more heat comes with each drop of water.")


def light_at_the_start(light):
    return Exercise(light.to("percent"), why="All the copper is still dissolved, and its ions swallow this light.")


WRONG = [
    ("moles", 'Q_(0.313, "mol")', "That is for the dry salt."),
    ("moles", 'Q_(4.99, "mol")', "Upside down"),
    ("moles", 'Q_(12485, "g^2/mol")', "Look at the unit:"),
    ("moles", "0.2", "It needs a number with a unit"),
    ("moles", 'Q_(0.23, "mol")', "Near, but not there yet. Grams divided"),
    ("grams", 'Q_(31.2, "g")', "That is for pure crystals."),
    ("grams", 'Q_(30.6, "g")', "Divide by the purity"),
    ("grams", 'Q_(63.7, "g")', "That is for 1 mol/L."),
    ("grams", 'Q_(127.4, "g")', "That is for a whole litre."),
    ("grams", 'Q_(20.3, "g")', "That is for the dry salt"),
    ("grams", 'Q_(0.125, "mol")', "Look at the unit: mol does not fit."),
    ("grams", 'Q_(31.9, "kg")', "The size is far off."),
    ("find the mistake", "0.62", "Too dense means too strong"),
    ("find the mistake", "7", "Waters weigh less"),
    ("find the mistake", 'Q_(1.6, "mol/L")', "It needs a plain number."),
    ("find the mistake", "1.56", "Near, but not there yet."),
    ("cold", '"safe"', "Below the middle line is not enough"),
    ("cold", '"crystals"', "Crystals are certain only above the band"),
    ("cold", '"yes"', "Choose one of: crystals, perhaps, safe."),
    ("held acid", 'Q_(0.05, "mol")', "That is what is wanted in all."),
    ("held acid", 'Q_(0.022, "mol")', "That is what is held."),
    ("held acid", 'Q_(0.04, "mol")', "That fills the free 40 mL"),
    ("held acid", 'Q_(0.072, "mol")', "That adds what is held."),
    ("held acid", 'Q_(28, "mol")', "The size is far off."),
    ("held acid", 'Q_(-0.028, "mol")', "Look at the sign first."),
    ("held acid", 'Q_(2.7, "g")', "Look at the unit: g does not fit."),
    ("float", 'Q_(1.152, "g/mL")', "That fits the cells."),
    ("float", 'Q_(1.105, "g/mL")', "That fits four fifths of the crystals."),
    ("float", 'Q_(0.887, "g/mL")', "Upside down"),
    ("float", 'Q_(142, "g")', 'Look at the unit: g does not fit. What is asked for has one such as Q_(1, "g/mL")'),
    ("float", 'Q_(1129, "g/mL")', "The size is far off."),
    ("float", "1.13", "It needs a number with a unit"),
]
