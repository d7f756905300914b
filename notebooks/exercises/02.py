"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

import cellkit as ck
from cellkit import Q_
from cellkit.show import Exercise

BLUE, DRY = (ck.tables.molar_mass(label) for label in ("CuSO4·5H2O", "CuSO4"))


def moles():
    seven, single = (ck.tables.molar_mass(label) for label in ("ZnSO4·7H2O", "ZnSO4·H2O"))
    right = (Q_(50, "g") / BLUE * seven).to("g")
    return Exercise(
        right,
        close=Q_(0.4, "g"),
        why="Both bags then hold 0.2 mol; a mol of the zinc crystals weighs more.",
        hint="First the mol in 50 g: grams divided by grams per mol. Then the grams of so many mol of the other.",
        slips={
            "The same grams are not the same number of ions: a mol of the zinc crystals weighs more.": Q_(50, "g"),
            "Upside down: the heavier a mol, the more grams hold as many ions.": Q_(50, "g") * BLUE / seven,
            "That is for ZnSO4·H2O. This bag has seven waters.": Q_(50, "g") / BLUE * single,
            "That takes the dry copper salt. Five waters hang on each CuSO4.": Q_(50, "g") / DRY * seven,
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


def cold(filled):
    middle = ck.chemistry.solubility(filled.metal, filled.acid_molality, Q_(0, "degC"))
    share, spread = (filled.salt_molality / middle).m, ck.chemistry.BESIDE_ACID
    right = "safe" if share < 1 - spread else "perhaps" if share < 1 + spread else "crystals"
    words = {
        "safe": "Below the middle line is not enough: safe starts 20 % lower.",
        "perhaps": "Where does the band end at 0 °C, 20 % below and above its middle?",
        "crystals": "Crystals are certain only above the band, 20 % over its middle.",
    }
    return Exercise(
        right,
        why=f"At 0 °C the middle is {middle:.2f~P} and the cell holds {filled.salt_molality:.2f~P}.",
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


def found_bottle():
    return Exercise(
        "a fifth",
        why="Its grams over its millilitres are the density that part 4 has for 80 % of the crystals.",
        slips={
            "Grams over millilitres is the density. Is it that of all the crystals in part 4?": "all",
            "Grams over millilitres is the density. In which line of part 4 does it stand?": "a tenth",
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


def mol_per_litre_and_kilogram(poured, stock):
    apart = {name: (one.acid_molality.m / one.acid_molarity.m) for name, one in (("pour", poured), ("can", stock))}
    return Exercise(
        "pour" if apart["pour"] > apart["can"] else "battery acid",
        words=("pour", "battery acid"),
        why="The stronger a solution, the less water is in a litre of it.",
    )


def one_mol_of_copper_beside_acid():
    return Exercise(
        "no", words=("yes", "no"), why="Beside acid less copper sulfate dissolves; the message says how much."
    )


def acid_in_the_cell(acid):
    return Exercise(acid.to("mol/L"), why="What is held is little, but far stronger than what is poured.")


def acid_when_discharged(acid):
    return Exercise(acid.to("mol/L"), why="Both plates take up sulfate while they discharge, and water is made.")


def acid_for_the_current(times):
    return Exercise(times, why="H⁺ ions are quick; metal ions and sulfate are slow and hold each other.")


def hottest(temperature):
    return Exercise(temperature.m_as("degC"), why="The stronger the acid, the more heat comes with each drop of water.")


def light_at_the_start(light):
    return Exercise(light.to("percent"), why="All the copper is still dissolved, and its ions swallow this light.")


WRONG = [
    ("moles", 'Q_(50, "g")', "The same grams are not"),
    ("moles", 'Q_(43.4, "g")', "Upside down"),
    ("moles", 'Q_(35.9, "g")', "That is for ZnSO4·H2O."),
    ("moles", 'Q_(90, "g")', "That takes the dry copper salt."),
    ("moles", 'Q_(0.2, "mol")', "Look at the unit: mol does not fit."),
    ("moles", "57.6", "It needs a number with a unit"),
    ("moles", 'Q_(64, "g")', "Near, but not there yet. First the mol"),
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
    ("cold", '"perhaps"', "Where does the band end at 0 °C"),
    ("cold", '"yes"', "Choose one of: crystals, perhaps, safe."),
    ("held acid", 'Q_(0.05, "mol")', "That is what is wanted in all."),
    ("held acid", 'Q_(0.022, "mol")', "That is what is held."),
    ("held acid", 'Q_(0.04, "mol")', "That fills the free 40 mL"),
    ("held acid", 'Q_(0.072, "mol")', "That adds what is held."),
    ("held acid", 'Q_(28, "mol")', "The size is far off."),
    ("held acid", 'Q_(-0.028, "mol")', "Look at the sign first."),
    ("held acid", 'Q_(2.7, "g")', "Look at the unit: g does not fit."),
    ("found bottle", '"all"', "Grams over millilitres is the density. Is it"),
    ("found bottle", '"a tenth"', "Grams over millilitres is the density. In which"),
    ("found bottle", "1.12", "Choose one of: a fifth, a tenth, all."),
]
