"""What is right in this lesson, and why: exercises, then guesses; at the end usual wrong answers with their words."""

import cellkit as ck
from cellkit import Q_
from cellkit.show import Exercise


def room(review, plan):
    free = review.free_volume.to("mL")
    return Exercise(
        free - plan.held().volume,
        close=Q_(1.5, "mL"),  # the page rounds both volumes, and the lesson itself takes a little less than it may
        why="What fits in, less what the mats hold already, is what may be poured.",
        hint="The page says how much liquid there would be, and for how much there is room.",
        slips={"That is all the room. The mats have taken some of it already.": free},
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
        hint="Litres per ampere-hour are on this page; then ampere-hours, then cells.",
        slips={
            "That is one cell. The same current runs through all five.": right / 5,
            "That would be hydrogen. Oxygen takes twice the electrons.": 2 * right,
        },
    )


def supply(review):
    allowed = review.first_charge_limit
    right = (Q_(7.2, "V") - 3 * allowed).to("V")
    return Exercise(
        right,
        close=Q_(0.09, "V"),
        why="A supply feels all three cells in series, and a copper cell wants far fewer volts than lead.",
        hint="The first step of the first charge on the sheet says what the supply may have at most.",
        slips={
            "That is one cell. The supply feels three in series.": Q_(2.4, "V") - allowed,
            "That is against the volts expected, not the limit on the sheet.": right + Q_(0.3, "V"),
        },
    )


def what_it_kept():
    out, put_in, sheet = 1.92, 2.00, 2.14
    return Exercise(
        Q_(100 * out / put_in, "percent"),
        close=Q_(1.5, "percent"),
        why="Only what went in can come back; the sheet's number is a ceiling and never went into this cell.",
        hint="What came out over what went in.",
        slips={
            "That is charge out over the sheet's ceiling. What went in?": Q_(100 * out / sheet, "percent"),
            "The wrong way round: what came out goes on top.": Q_(100 * put_in / out, "percent"),
        },
    )


def soda(plan):
    density = plan["electrolyte density"]
    spill = ck.chemistry.from_density(Q_(20, "mL") * density, density)
    right = ck.chemistry.neutralise(spill).bicarbonate.to("g")
    return Exercise(
        right,
        close=Q_(1.2, "g"),
        why="Soda goes with the volume of the same acid, two of soda for one of acid.",
        hint="The page has grams of soda for a volume of the same acid: a share of that.",
        slips={"One of acid takes *two* of soda: it has two hydrogens to give.": right / 2},
    )


def most_per_kilogram(reviews):
    energies = {name: review.cell.specific_energy("block") for name, review in reviews.items()}
    return Exercise(
        max(energies, key=energies.get),
        words=tuple(energies),
        why="It need not be the one that runs longest: hours go with the charge, watt-hours with the volts too.",
    )


def fails(findings):
    return Exercise(sum(not finding.yes for finding in findings), why="Each NO above is one.")


def cost_of_mending(before, after):
    return Exercise((1 - after / before).to("percent"), why="Less liquid and weaker liquid both hold less metal.")


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


def volts_of_the_first_charge():
    return Exercise(
        "well above",
        words=("near", "well above"),
        why="A positive that makes oxygen stands higher than one that is charging.",
    )


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
    ("room", 'Q_(2, "mL")', "The size is far off. The page says"),
    ("what ends it", '"metal ions"', "There are twice as many"),
    ("what ends it", '"acid"', "Plating more metal makes more acid"),
    ("what ends it", '"felt"', "The felt has room"),
    ("what ends it", '"lead dioxide"', "Choose one of: "),
    ("oxygen", 'Q_(0.68, "L")', "That is one cell"),
    ("oxygen", 'Q_(6.85, "L")', "That would be hydrogen"),
    ("oxygen", 'Q_(3.4, "Ah")', "Look at the unit"),
    ("supply", 'Q_(0.55, "V")', "That is one cell"),
    ("supply", 'Q_(1.95, "V")', "That is against the volts expected"),
    ("supply", 'Q_(-1.65, "V")', "Look at the sign first"),
    ("what it kept", 'Q_(90, "percent")', "That is charge out over the sheet's ceiling"),
    ("what it kept", 'Q_(104, "percent")', "The wrong way round"),
    ("what it kept", "96", "Percent is a unit here"),
    ("soda", 'Q_(7.9, "g")', "One of acid takes *two*"),
    ("soda", 'Q_(86, "g")', "The size is far off. The page has grams"),
    ("soda", 'Q_(16, "mL")', "Look at the unit"),
]
ALSO_RIGHT = [("room", 'Q_(37, "mL")'), ("oxygen", 'Q_(5 * 3 * 0.25, "L")')]
