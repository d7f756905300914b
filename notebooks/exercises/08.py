"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

import cellkit as ck
from cellkit import Q_
from cellkit.show import Exercise


def room(review, plan):
    free, held = review.free_volume.to("mL"), plan.held()
    poured = Q_(plan.planned("fill volume", review.chosen.metal), "m^3")
    return Exercise(
        free - held.volume,
        close=Q_(1.5, "mL"),  # the page rounds both volumes, and the lesson itself takes a little less than it may
        why="What fits in, less what the mats hold already, is what may be poured.",
        hint="The first answer says how much liquid there would be and how much room. How far apart are they?",
        slips={
            "That is all the room. The mats have taken some of it already.": free,
            "That is all the liquid of the plan. How much of it may be poured?": held.volume + poured,
            "A gram of acid is less than a millilitre: it is heavier than water.": free - held.mass / Q_(1, "g/mL"),
        },
    )


def stays_dissolved(design, construction, salt):
    """Whether a fill of so many mol/m³ can be built and stays dissolved in the cold, all else as listed."""
    review = ck.designs.Review(ck.designs.Design.varied.si(design, {"fill salt": salt}), construction)
    return not review.refused and review._cold().yes


def cold(design, construction):
    low, high = 0.0, 5000.0
    while high - low > 5:
        middle = (low + high) / 2
        low, high = (middle, high) if stays_dissolved(design, construction, middle) else (low, middle)
    slips = {"It stays dissolved, but more would too.": Q_(low / 2000, "mol/L")}
    listed = ck.designs.Review(design, construction)
    if not listed.refused:
        words = "So much dissolves in a kilogram of water, in the cell; the mats thin what is poured."
        slips[words] = Q_(listed.cold().least, "mol/L")
    return Exercise(
        Q_(low / 1000, "mol/L"),
        close=Q_(0.03, "mol/L"),
        why="At the lower edge of what is known, so much dissolves in the coldest place, acid and all.",
        hint="Change the number in the code cell above until the answer about the cold turns, and go on from there.",
        slips=slips,
    )


def what_ends_it():
    salty = ck.designs.read_design("osier_yard_design.csv").varied({"fill salt": Q_(2, "mol/L")})
    return Exercise(
        str(ck.designs.Review(salty, "zinc").cell.limiting),
        why="Of the four, lead dioxide is now the least, with its old 3.1 Ah.",
        slips={
            "There are twice as many of them now, 4.3 Ah worth. Something else is less.": "metal ions",
            "Plating more metal makes more acid: it goes from 2.6 to 3.7 Ah. Look for less.": "acid",
            "The felt has room for 36 Ah, far more than anything here.": "felt",
        },
    )


def oxygen():
    right = 5 * ck.chemistry.gas_volume(Q_(3, "Ah"), "oxygen").to("L")
    return Exercise(
        right,
        close=Q_(0.4, "L"),  # a quarter of a litre per ampere-hour, as the recap rounds it, is good enough
        why="The same current runs through all five cells, and each makes oxygen of its own.",
        hint="Divide the litres of the first charge above by its ampere-hours; then times 3 Ah, then times five cells.",
        slips={
            "That is one cell. The same current runs through all five.": right / 5,
            "That would be hydrogen. Oxygen takes twice the electrons.": 2 * right,
        },
    )


def supply(review):
    allowed, expected = review.first_charge_limit, review.charging(first=True)[1]
    right = (Q_(7.2, "V") - 3 * allowed).to("V")
    return Exercise(
        right,
        close=Q_(0.09, "V"),
        why="A supply feels all three cells in series, and each metal wants its own volts, not those of lead.",
        hint="The code cell above says above which volts a first charge has to stop, for one cell.",
        slips={
            "That is one cell. The supply feels three in series.": Q_(2.4, "V") - allowed,
            "That takes one cell off three: the supply feels three in series.": Q_(7.2, "V") - allowed,
            "That is what three cells may have. By how much is 7.2 V above?": 3 * allowed,
            "That is against the volts expected, not the limit above.": Q_(7.2, "V") - 3 * expected,
        },
    )


def next_charge():
    out, kept = Q_(1.8, "Ah"), 0.9
    return Exercise(
        out / kept,
        close=Q_(0.03, "Ah"),
        why="Of what is passed only nine tenths stay, so more has to be passed than came out.",
        hint="Which charge, times nine tenths, is 1.8 Ah?",
        slips={
            "Then a tenth of it is missing after each cycle.": out,
            "The wrong way round: less would be passed than came out.": kept * out,
        },
    )


def soda(plan):
    density = plan["electrolyte density"]
    spill = ck.chemistry.from_density(Q_(20, "mL") * density, density)
    right = ck.chemistry.neutralise(spill).bicarbonate.to("g")
    return Exercise(
        right,
        close=max(0.07 * right, Q_(0.3, "g")),
        why="Soda goes with the volume of the same acid, two of soda for one of acid.",
        hint="The page has grams of soda for a volume of the same acid: a share of that.",
        slips={"One of acid takes *two* of soda: it has two hydrogens to give.": right / 2},
    )


def most_per_kilogram(reviews):
    built = {name: review for name, review in reviews.items() if not review.refused}
    energies = {name: review.cell.specific_energy("block") for name, review in built.items()}
    return Exercise(
        max(energies, key=energies.get),
        words=tuple(energies),
        why="It need not be the one that runs longest: hours go with the charge, watt-hours with the volts too.",
    )


def fails(findings):
    return Exercise(sum(not finding.yes for finding in findings), why="Each NO above is one.")


def cost_of_mending(before, after):
    return Exercise(
        (1 - after / before).to("percent"),
        why="A smaller or weaker fill holds less metal; one that is stronger, where it dissolves, holds more.",
    )


def full_positive():
    return Exercise(
        "oxygen",
        words=("oxygen", "hydrogen", "nothing"),
        why="The same current has to pass it, and a full plate can only take it out of water.",
    )


def oxygen_from_discharged():
    return Exercise(
        "none",
        words=("more", "less", "none"),
        why="Lead sulfate takes the charge, and hands its sulfate back as acid.",
    )


def volts_of_the_first_charge(review):
    """A cell whose positives go in discharged has no oxygen to make; then both charges end alike."""
    makes = review.first_charge.oxygen_charge.magnitude > 0
    return Exercise(
        "either" if makes else "near",
        words=("near", "well above", "either"),
        why="It depends on the surface of the positive, if that has oxygen to make at all.",
    )


def after_fifty_cycles(share):
    return Exercise(share.to("percent"), why="Each cycle loses its share of what is left, as in lesson 06.")


def charge_on_the_sheet(got, expected):
    return Exercise(
        "below" if got < expected else "above",
        words=("above", "below"),
        why="The sheet says up to: a ceiling.",
    )


def soda_for_the_block(liquid):
    return Exercise(ck.chemistry.neutralise(liquid).bicarbonate.to("g"), why="It takes two of soda for each of acid.")


WRONG = [
    ("room", 'Q_(46.3, "mL")', "That is all the room"),
    ("room", "38", "It needs a number with a unit"),
    ("room", 'Q_(38, "g")', "Look at the unit"),
    ("room", 'Q_(2, "mL")', "The size is far off. The first answer says"),
    ("room", 'Q_(48, "mL")', "That is all the liquid of the plan"),
    ("room", 'Q_(36.3, "mL")', "A gram of acid is less than a millilitre"),
    ("cold", 'Q_(0.35, "mol/L")', "It stays dissolved, but more would too"),
    ("cold", 'Q_(0.9, "mol/L")', "Not there yet"),
    ("cold", 'Q_(0.62, "mol/kg")', "Look at the unit"),
    ("cold", 'Q_(0.62, "mol/L")', "So much dissolves in a kilogram of water"),
    ("what ends it", '"metal ions"', "There are twice as many"),
    ("what ends it", '"acid"', "Plating more metal makes more acid"),
    ("what ends it", '"felt"', "The felt has room"),
    ("what ends it", '"lead dioxide"', "Choose one of: "),
    ("oxygen", 'Q_(0.68, "L")', "That is one cell"),
    ("oxygen", 'Q_(6.85, "L")', "That would be hydrogen"),
    ("oxygen", 'Q_(3.4, "Ah")', "Look at the unit"),
    ("supply", 'Q_(0.53, "V")', "That is one cell"),
    ("supply", 'Q_(1.9, "V")', "That is against the volts expected"),
    ("supply", 'Q_(5.33, "V")', "That takes one cell off three"),
    ("supply", 'Q_(5.6, "V")', "That is what three cells may have"),
    ("supply", 'Q_(-1.4, "V")', "Look at the sign first"),
    ("next charge", 'Q_(1.8, "Ah")', "Then a tenth of it is missing"),
    ("next charge", 'Q_(1.62, "Ah")', "The wrong way round"),
    ("next charge", "2", "It needs a number with a unit"),
    ("soda", 'Q_(7.9, "g")', "One of acid takes *two*"),
    ("soda", 'Q_(86, "g")', "The size is far off. The page has grams"),
    ("soda", 'Q_(16, "mL")', "Look at the unit"),
]
ALSO_RIGHT = [("room", 'Q_(37, "mL")'), ("oxygen", 'Q_(5 * 3 * 0.25, "L")'), ("cold", 'Q_(0.7, "mol/L")')]
