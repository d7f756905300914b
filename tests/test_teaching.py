"""The teaching pages, their prints and the glossary: shape, minutes, links, and every amount computed anew."""

import importlib.util
import itertools
import re
from html.parser import HTMLParser
from pathlib import Path

import nbformat
import numpy as np
import pytest

import cellkit as ck
from cellkit import Q_

NOTEBOOKS = Path(__file__).parent.parent / "notebooks"
TEACHING = NOTEBOOKS / "teaching"
LESSONS = {path.name[:2]: path for path in sorted(NOTEBOOKS.glob("[0-9][0-9]_*.ipynb"))}
PAGES = {path.name[:2]: path for path in sorted(TEACHING.glob("[0-9][0-9]_*.md"))}
PLANS = [TEACHING / "two_hours.md", TEACHING / "full_day.md"]
GLOSSARY = NOTEBOOKS / "glossary.md"
SHEETS = sorted((TEACHING / "sheets").glob("*.md"))
EVERY = [*sorted(TEACHING.glob("*.md")), GLOSSARY]
SECTIONS = [
    "Aim",
    "Plan by minute",
    "When time is short",
    "Fast groups",
    "Usual wrong answers",
    "Kit",
    "Cautions",
    "Check at the end",
    "Questions for the room",
    "Board",
    "Sources",
]
GROUPS = {"six pairs": 6, "four threes": 4}
UNIT = r"(?:mV|mΩ|mAh|mA|mL|mol/L|mol/kg|Wh/kg|Wh|Ah|g/mL|cm³|°C|kg|V|A|W|Ω|L|g|%|hours|days|throws)"
AMOUNT = re.compile(rf"(?<![\w.,/])(\d[\d,]*(?:\.\d+)?) ?({UNIT})(?![\w/])")
NOT_COMPUTED = ("from memory", "no source", "](http", "above 15 %", "1.5 V", "1 mV")  # said so, or a size to buy


def text(path):
    return path.read_text(encoding="utf-8")


def flat(path):
    """The words of a page with single spaces between them."""
    return re.sub(r"\s+", " ", text(path))


def by_name(path):
    return path.stem


def section(path, title):
    found = re.search(rf"^## {re.escape(title)}\n(.*?)(?=^## |\Z)", text(path), re.MULTILINE | re.DOTALL)
    assert found, f"{path.name} has no section {title!r}"
    return found[1]


def tables(markdown):
    """Each table as its header and its rows, cells stripped."""
    for block in re.findall(r"(?:^\|.*\n?)+", markdown, re.MULTILINE):
        header, rule, *rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in block.splitlines()]
        yield header, rule, rows


def column(path, title, name):
    ((header, _, rows),) = tables(section(path, title))
    return [row[header.index(name)] for row in rows]


def said_in(lesson):
    """What a reader of the lesson sees, without spaces: text, code and what it prints."""
    cells = nbformat.read(LESSONS[lesson], as_version=4).cells
    outputs = [output for cell in cells for output in cell.get("outputs", [])]
    shown = [output.get("text", "") + output.get("data", {}).get("text/plain", "") for output in outputs]
    return re.sub(r"\s", "", "\n".join([cell.source for cell in cells] + shown))


def test_every_lesson_has_its_page_under_the_same_name():
    assert [path.stem for path in PAGES.values()][: len(LESSONS)] == [path.stem for path in LESSONS.values()]


@pytest.mark.parametrize("path", PAGES.values(), ids=by_name)
def test_sections_stand_in_their_order(path):
    assert re.findall(r"^## (.*)$", text(path), re.MULTILINE) == SECTIONS


@pytest.mark.parametrize("path", EVERY, ids=by_name)
def test_headings_and_tables_are_well_formed(path):
    levels = [len(marks) for marks in re.findall(r"^(#+) ", text(path), re.MULTILINE)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert [pair for pair in itertools.pairwise(levels) if pair[1] > pair[0] + 1] == []
    for header, rule, rows in tables(text(path)):
        assert all(header)
        assert all(re.fullmatch(r":?-{3,}:?", cell) for cell in rule)
        assert [row for row in rows if len(row) != len(header)] == []


@pytest.mark.parametrize("path", EVERY, ids=by_name)
def test_links_lead_somewhere(path):
    for target in re.findall(r"\]\(([^)]+)\)", text(path)):
        if target.startswith("https://"):
            continue
        file, _, anchor = target.partition("#")
        linked = (path.parent / file).resolve() if file else path
        assert linked.exists(), target
        assert not anchor or re.search(
            rf"^## {anchor.replace('-', ' ')}$", text(linked), re.MULTILINE | re.IGNORECASE
        ), target


def promised_minutes(path):
    return int(re.search(r"\*\*(\d+) minutes [^*]*\*\* \(estimated, not yet timed\)", text(path).replace("\n", " "))[1])


@pytest.mark.parametrize("path", [*PAGES.values(), *PLANS], ids=by_name)
def test_minutes_add_up(path):
    assert sum(map(int, column(path, "Plan by minute", "minutes"))) == promised_minutes(path)


@pytest.mark.parametrize("path", PLANS, ids=by_name)
def test_clock_follows_the_minutes(path):
    times = [time.split(":") for time in column(path, "Plan by minute", "clock")]
    clock = [60 * int(hour) + int(minute) for hour, minute in times]
    spent = list(map(int, column(path, "Plan by minute", "minutes")))
    assert clock == [clock[0] + gone for gone in itertools.accumulate([0, *spent[:-1]])]


def test_overview_repeats_the_minutes_of_each_page():
    (_, _, rows), *_ = tables(text(TEACHING / "README.md"))
    stated = {re.search(r"\((.*)\)", row[0])[1]: (row[2], row[1]) for row in rows}
    assert all(int(before) > 0 for _, before in stated.values())
    assert set(stated) == {path.name for path in EVERY} - {"README.md", GLOSSARY.name}
    assert {name: int(minutes) for name, (minutes, _) in stated.items() if minutes} == {
        path.name: promised_minutes(path) for path in [*PAGES.values(), *PLANS]
    }


@pytest.mark.parametrize("path", [*PAGES.values(), *PLANS], ids=by_name)
def test_a_plan_warns_in_the_row_where_hands_act(path):
    for row in column(path, "Plan by minute", "what"):
        if re.search(r"weigh crystals|acid into water|build the jar|the jar;|probes on|load on", row):
            assert "**Caution" in row, row


def parts(path):
    """Minutes of each part of a page, by its name."""
    return dict(
        zip(column(path, "Plan by minute", "part"), map(int, column(path, "Plan by minute", "minutes")), strict=True)
    )


def borrowed(plan):
    """Which page, and which of its parts, each row of a plan takes; nothing where it takes none."""
    for cell in column(plan, "Plan by minute", "parts"):
        found = re.fullmatch(r"\[(\d\d)\]\((.*)\): (.*)", cell)
        assert found or not cell, cell
        assert not found or PAGES[found[1]].name == found[2]
        yield (PAGES[found[1]], found[3].split(", ")) if found else None


def italics(markdown):
    return re.findall(r"(?<!\*)\*([^*]+)\*(?!\*)", markdown.replace("\n", " "))


@pytest.mark.parametrize("plan", PLANS, ids=by_name)
def test_a_plan_takes_the_minutes_of_the_pages(plan):
    minutes = map(int, column(plan, "Plan by minute", "minutes"))
    for given, taken in zip(minutes, borrowed(plan), strict=True):
        assert taken is None or given == sum(parts(taken[0])[name] for name in taken[1]), taken


@pytest.mark.parametrize("plan", PLANS, ids=by_name)
def test_a_plan_counts_arrival_goggles_check_and_clearing(plan):
    taken = [name for row in borrowed(plan) if row for name in row[1]]
    rows = dict(zip(column(plan, "Plan by minute", "what"), column(plan, "Plan by minute", "minutes"), strict=True))
    assert {"goggles", "clear"} <= set(taken)
    assert any(what.startswith("Arrive") and int(minutes) >= 10 for what, minutes in rows.items())
    assert any("Break" in what for what in rows)
    assert any("check" in what for what in rows)


@pytest.mark.parametrize("path", [*PAGES.values(), *PLANS], ids=by_name)
def test_what_may_be_cut_is_in_the_plan(path):
    there = [name for row in borrowed(path) if row for name in row[1]] if path in PLANS else parts(path)
    cut = italics(section(path, "When time is short"))
    assert cut
    assert [name for name in cut if name not in there] == []


@pytest.mark.parametrize("lesson", PAGES)
def test_exercises_have_five_minutes_each_and_the_others_are_for_fast_groups(lesson):
    headings = {title.removeprefix("Your turn: ").rstrip("?") for title in re.findall(r"#+ (.*)", prose(lesson))}
    exercises = re.findall(r"Your turn: (.*?)\??$", prose(lesson), re.MULTILINE)
    plan = dict(zip(parts(PAGES[lesson]), column(PAGES[lesson], "Plan by minute", "what"), strict=True))
    for part, minutes in parts(PAGES[lesson]).items():
        named = [name for name in italics(plan[part]) if name in exercises]
        assert minutes >= 5 * len(named), part
        assert part != "exercises" or named == italics(plan[part])
    assert "exercises" in plan
    assert [name for name in italics(section(PAGES[lesson], "Fast groups")) if name not in headings] == []


@pytest.mark.parametrize("lesson", PAGES)
def test_the_check_at_the_end_has_answers(lesson):
    ((header, _, rows),) = tables(section(PAGES[lesson], "Check at the end"))
    assert header == ["ask", "a good answer"]
    assert len(rows) >= 2
    assert all(question.endswith("?") and answer for question, answer in rows)


@pytest.mark.parametrize("path", [*EVERY, *SHEETS], ids=by_name)
def test_first_aid_and_fuse_are_the_same_everywhere(path):
    words = flat(path)
    assert not re.search(r"rins\w+ (?:\w+ ){0,3}for minutes", words)
    assert "15 minutes" not in words.replace("other sheets say 15 minutes", "")
    if path.stem[:2] in ("02", "03") or path.stem in (
        "risk_assessment",
        "safety",
        "jar",
    ):  # where hands act on what injures eyes
        assert re.search(r"at least 30 minutes.{0,40}somebody else calls", words, re.IGNORECASE)
    for fuse in re.findall(r"[^.]*\bfuse\b[^.]*rated[^.]*", words):
        assert re.search(r"just above the load.*below what.*carries.*direct current", fuse), fuse


# --- amounts ---------------------------------------------------------------------------------------------------------

PLAN = ck.designs.read_design("osier_yard_design.csv")
BLOCK = ck.cells.read_block("osier_yard_block.csv")
LEAD = BLOCK.lead_cell()
RATE_OF_DICE = np.log(6 / 5)  # 1/throw: a sixth leaves at each throw
ROOM = Q_(20, "degC")  # of the room where it is mixed


def fill(volume, strength, metal):
    return ck.chemistry.from_molarity(Q_(volume, "mL"), salt=Q_(strength, "mol/L"), metal=metal, temperature=ROOM)


def weigh(volume, strength, metal):
    crystals = {"copper": "CuSO4·5H2O", "zinc": "ZnSO4·7H2O"}[metal]
    return ck.chemistry.weigh_out(fill(volume, strength, metal), crystals, purity=PLAN["purity"])


def push(metal, strength, ideal=False):
    molality = fill(50, strength, metal).salt_molality
    return ck.chemistry.electrode_potential(metal, 0 * molality, molality, metal, ROOM, ideal=ideal)


GROUP, MYSTERY, OSIER = weigh(100, 0.5, "copper"), weigh(100, 0.4, "copper"), PLAN.recipe("copper")
JAR = weigh(55, 0.5, "copper"), weigh(50, 0.5, "zinc")
HALF = Q_(50, "g")  # of battery acid, and as much water
ACID = OSIER.stock_acid + HALF
SPILL = ck.chemistry.from_mass_fraction(ACID, acid=PLAN["stock acid"], temperature=ROOM)
PARTS = {part: BLOCK.cells * mass for part, mass in LEAD.masses.items()}
REACTING = BLOCK.cells * LEAD.capacity / (2 * ck.tables.FARADAY * Q_(1, "C/mol")) * ck.tables.molar_mass("Pb")
NONE, RINSE = Q_(0, "g"), Q_(50, "g")

# (lesson, start of the row): for each group, for the teacher
COMPUTED = {
    ("01", "sand, bag A"): (PARTS["positive plates"], NONE),
    ("01", "sand, bag B"): (PARTS["negative plates"], NONE),
    ("01", "sand, bag C"): (PARTS["electrolyte"], NONE),
    ("01", "sand, bag D"): (PARTS["case, lid, straps and terminals"], NONE),
    ("01", "sand, bag E"): (PARTS["separators"], NONE),
    ("01", "sand, bag M"): (REACTING, NONE),
    ("01", "sand, in all"): (sum(PARTS.values()) + REACTING, NONE),
    ("01", "clear bottle with coloured water: what one"): (Q_(0, "mL"), LEAD.electrolyte.volume),
    ("01", "clear bottle with coloured water: what 3.10"): (
        Q_(0, "mL"),
        ck.cells.minimum_volume(LEAD.capacity, Q_(1, "mol/L")),
    ),
    ("02", "copper sulfate"): (GROUP.crystals, MYSTERY.crystals + OSIER.crystals),
    ("02", "water"): (GROUP.water + RINSE, MYSTERY.water + OSIER.water + HALF + 2 * RINSE),
    ("02", "battery acid"): (NONE, ACID),
    ("02", "baking soda"): (NONE, Q_(100, "g")),
    ("03", "copper sulfate"): (JAR[0].crystals, NONE),
    ("03", "zinc sulfate"): (JAR[1].crystals, NONE),
    ("03", "water"): (sum(mix.water for mix in JAR) + Q_(45, "g") + RINSE, NONE),
}


def as_quantity(cell):
    number, unit = AMOUNT.fullmatch(cell).groups()
    return Q_(float(number.replace(",", "")), unit), len(number.partition(".")[2])


@pytest.mark.parametrize("lesson", PAGES)
def test_kit_is_right_for_twelve_people(lesson):
    (header, _, rows), *_ = tables(section(PAGES[lesson], "Kit"))
    assert header == ["what", "each group", *GROUPS, "teacher"]
    for name, each, *many, teacher in rows:
        amounts = next((COMPUTED[key] for key in COMPUTED if key[0] == lesson and name.startswith(key[1])), None)
        if amounts is None:
            assert not [cell for cell in (each, *many, teacher) if AMOUNT.search(cell)], f"{name}: compute it"
            wanted = [12, 12] if each == "each person" else [int(each.replace("–", "0")) * n for n in GROUPS.values()]
            assert [int(cell.replace("–", "0")) for cell in many] == wanted, name
            assert teacher == "–" or int(teacher) > 0, name
            continue
        wanted = [amounts[0] * n for n in (1, *GROUPS.values())] + [amounts[1]]
        for cell, amount in zip((each, *many, teacher), wanted, strict=True):
            if cell == "–":
                assert amount.magnitude == 0, name
                continue
            shown, decimals = as_quantity(cell)
            assert f"{shown.magnitude:.{decimals}f}" == f"{amount.to(shown.units).magnitude:.{decimals}f}", name


def test_a_waste_jar_holds_all_that_a_group_has():
    for lesson, liquids in (("02", (100, 50)), ("03", (55, 50, 45, 50))):  # mL: fills, what thins them, rinse
        jar = re.search(r"waste jar of PE, (\d+) mL", section(PAGES[lesson], "Kit"))
        assert sum(liquids) < int(jar[1]) / 2


def test_baking_soda_on_the_bench_is_more_than_enough():
    assert COMPUTED["02", "baking soda"][1] > 2 * ck.chemistry.neutralise(SPILL).bicarbonate


SOUND = ck.designs.Design.varied.si(ck.designs.read_design("osier_yard_design.csv"), {"fill volume": 36e-6})
FAULTS = {
    "fill volume, 70 mL": ({"fill volume": 70e-6}, "zinc"),
    "end voltage, 2.4 V": ({"end voltage": 2.4}, "zinc"),
    "felt fill, 1 %": ({"felt fill": 0.01}, "zinc"),
    "copper in place of zinc": ({}, "copper"),
}


def shown(amount, unit, digits=0):
    """An amount as the pages write it."""
    return f"{amount.to(unit).magnitude:,.{digits}f} {UNITS.get(unit, unit)}"


UNITS = {"degC": "°C", "hour": "hours", "percent": "%"}


# Share of the current that sulfate carries in copper sulfate at 25 °C, by molality: Hittorf transference numbers of
# Pikal and Miller, J. Chem. Eng. Data, from the abstract, 0.046 to 1.42 mol/kg, to 0.005.
def sulfate_carries(m):
    return 1 - (0.4010 - 0.1426 * np.sqrt(m) + 0.0186 * m)


# limiting ionic conductivities, S cm²/mol of charge, 25 °C: CRC Handbook, ionic conductivity at infinite dilution
COPPER_ION, ZINC_ION, SULFATE = 53.6, 52.8, 80.0


def with_wet_paper():
    """Fall of the jar with a tenth of the copper, junction included: both ends of what is to be expected, mV.

    A plate of the metal in each of two strengths of its salt, joined through the liquid, gives 2 t₋ times the
    difference of the two plates alone; the low end takes t₋ at the thin end. The high end adds Henderson's junction for
    ions that take no notice of each other. Zinc sulfate stands on the strong side, with ions as fast as copper's.
    """
    alone, ideal = ((push("copper", 0.5, way) - push("copper", 0.05, way)).to("mV").m for way in (False, True))
    henderson = ideal * (SULFATE - COPPER_ION) / (SULFATE + COPPER_ION)
    assert alone + henderson > 2 * sulfate_carries(0.5) * alone
    return int(2 * sulfate_carries(0.05) * alone), int(np.ceil(alone + henderson))


def dry_cell():
    """What a fresh cell of 1.55 to 1.62 V and 150 to 500 mΩ (both from memory) shows under the two resistors."""
    volts, own = np.array([1.55, 1.62]), np.array([0.5, 0.15])
    large, small = (volts * load / (load + own) for load in (10, 4.7))
    every = [v * (10 / (10 + r) - 4.7 / (4.7 + r)) * 1000 for v in volts for r in own]
    return (
        f"Then the meter reads {large[0]:.2f} to {large[1]:.2f} V with 10 Ω and {small[0]:.2f} to {small[1]:.2f} V "
        f"with 4.7 Ω, and between the two loads it falls by {min(every):.0f} to {max(every):.0f} mV"
    )


# the cells of lessons 03 and 04, half discharged
DESIGN = ck.designs.read_design("osier_yard_design.csv")
CELLS = {kind: DESIGN.cell(kind) for kind in ("lead", "copper", "zinc")}
TOLLS = {
    amperes: ck.cells.voltage_under_load(CELLS["copper"], DESIGN.current_path(), Q_(amperes, "A"), depth=0.5)
    for amperes in (1, 0.1)
}


def lost(now):
    return (now.rest - now.terminal).to("mV")


def on_the_floor(kind):
    """Volts of the four cards of a cell."""
    now = CELLS[kind].at_depth(0.5)
    state = now.acid_molality, now.salt_molality, now.metal
    return [ck.chemistry.electrode_potential(name, *state) for name in ("lead dioxide", "oxygen", "hydrogen", kind)]


def test_gas_line_cards_stand_where_the_lesson_has_them():
    _, (header, _, rows) = tables(section(PAGES["03"], "Kit"))
    assert header == ["who", *(f"{kind} cell" for kind in CELLS)]
    for column_of_cards, kind in zip(list(zip(*rows, strict=True))[1:], CELLS, strict=True):
        wanted = [f"{volts.m:.2f} V".replace("-0.00", "0.00").replace("-", "−") for volts in on_the_floor(kind)]
        assert list(column_of_cards) == wanted


def test_only_coppers_negative_stands_between_the_gas_lines():
    for kind in CELLS:
        positive, oxygen, hydrogen, negative = on_the_floor(kind)
        assert positive > oxygen
        assert (negative > hydrogen) == (kind == "copper")


def test_toll_cards_take_what_the_lesson_says():
    _, (_, _, rows), (_, _, roles) = tables(section(PAGES["04"], "Kit"))
    assert len(rows) + len(roles) == 12  # people
    for position, now in enumerate(TOLLS.values(), 1):
        tolls = list(now._asdict().items())[1:-1]
        assert [row[0] for row in rows] == [name.split("_")[0] for name, _ in tolls]
        assert [row[position] for row in rows] == [f"{volts.to('mV').m:.1f} mV" for _, volts in tolls]
    assert TOLLS[1].positive_overpotential + TOLLS[1].negative_overpotential > lost(TOLLS[1]) / 2
    assert 5 < 0.5 * lost(TOLLS[0.1]).m < 10  # a hand's breadth, cm


# Every number with a unit in the words of a page is the lesson's own, or stands here and is computed.
def statements():
    spill = ck.chemistry.neutralise(SPILL)
    warm = ck.chemistry.heat_of_dilution(HALF, HALF, PLAN["stock acid"], ROOM).final
    schoolbook, real = (push("copper", 0.5, way) - push("copper", 0.05, way) for way in (True, False))
    jar = push("copper", 0.5) - push("zinc", 0.5)
    zinc, copper = (ck.chemistry.half_cell(name)["e0"] for name in ("zinc", "copper"))
    dry = ck.tables.molar_mass("CuSO4") * Q_(0.1, "L") * Q_(0.5, "mol/L") / PLAN["purity"]
    label, large, small = Q_(1.5, "V"), Q_(10, "ohm"), Q_(4.7, "ohm")
    dice = ck.logs.DECAY_MODELS["first order"].curve(np.array([1, 4, 8]), 30, RATE_OF_DICE)[0]
    flask = [shown(Q_(50, "mL") * fill(100, strength, "copper").density, "g", 1) for strength in (0.5, 0.4)]
    low, high = with_wet_paper()
    yield "01", f"{REACTING.to('g').magnitude:.0f} of bag B's grams"
    yield "01", f"{REACTING.to('g').magnitude:.0f} of {shown(PARTS['negative plates'], 'g')}, a sixth"
    yield "01", f"differ least, by {shown(PARTS['positive plates'] - PARTS['negative plates'], 'g')}"
    yield "02", f"{shown(GROUP.crystals, 'g', 1)} (99 %), dissolved in less water"
    yield "02", "How do you make 100 mL of 0.5 mol/L from blue crystals"
    yield "02", f"A flask of 50 mL should hold {flask[0]} of a group's bottle"
    yield "02", f"and {flask[1]} of the mystery bottle"
    yield "02", "with the 50 g of water"
    yield "03", f"by {low} to {high} mV: half of the {shown(schoolbook, 'mV')}"
    yield "03", f"meter by {low} to {high} mV"
    yield "03", "carries {:.0f} to {:.0f} % of the current".format(*100 * sulfate_carries(np.array([0.05, 0.5])))
    yield "03", f"Copper {copper:.2f} V, zinc −{-zinc:.2f} V"
    yield "03", f"{copper - zinc:.2f} V, then −{copper - zinc:.2f} V"
    yield "03", "from −1 V at one end to 2 V at the"
    yield "04", dry_cell()
    yield "04", f"a strip of {0.005 * TOLLS[1].rest.to('mV').magnitude:.1f} m"
    yield "04", f"strips are {0.5 * lost(TOLLS[1]).magnitude:.0f} cm in all"
    yield "04", f"nothing flows, I have {shown(TOLLS[1].rest, 'V', 2)}"
    yield "04", "First 1 A, then 0.1 A"
    yield "04", "At 1 A the strips"
    yield "04", "at 0.1 A a hand's breadth"
    yield "05", "{:.0f} to {:.0f} mAh".format(*np.array([1.3, 1.5]) / 10 * 250)
    yield "06", f"makes {shown(ck.chemistry.gas_volume(Q_(1, 'Ah')), 'L', 2)} of hydrogen from each Ah"
    yield "06", f"Eight rows are {sum(range(1, 9))} throws"
    yield "01", shown(LEAD.energy / Q_(1.5, "W"), "hour", 1)
    for words in ("{} for 100 mL of 0.5 mol/L", "makes 100 mL of 0.5 mol/L", "sum for 100 mL of 0.5 mol/L"):
        yield "02", words.format(shown(dry, "g", 1))
    yield "02", "add 100 mL of water"
    yield "02", "(100 mL of 0.4 mol/L)"
    yield "02", f"dilutes {shown(HALF, 'g')} of battery acid with {shown(HALF, 'g')} of water"
    yield "02", f"({shown(fill(100, 0.5, 'copper').density, 'g/mL', 3)})"
    yield "02", f"({shown(fill(100, 0.4, 'copper').density, 'g/mL', 3)})"
    yield "02", f"from 20 to {shown(warm, 'degC')}"
    yield "02", f"takes {shown(spill.bicarbonate, 'g')} of baking soda"
    yield "02", f"sets free {shown(spill.gas_volume, 'L')} of"
    yield "03", f"together give {abs(zinc + copper):.2f} V"
    yield "03", "(5 mL of the first, made up to 50 mL)"
    yield "03", f"With 0.5 mol/L on both sides the jar should read {shown(jar, 'V', 2)} at 20 °C"
    yield "03", f"schoolbook says by {shown(schoolbook, 'mV')}, cellkit says by {shown(real, 'mV')}"
    yield "04", f"takes {shown(label / large, 'A', 2)}, the smaller one {shown(label / small, 'A', 2)}"
    yield "04", f"and {shown(label**2 / small, 'W', 2)}"
    yield "04", "with 10 Ω, with 4.7 Ω"
    yield "05", shown(label / large * Q_(15, "minute"), "mAh", 1)
    yield "05", "through 10 Ω"
    yield "05", "divided by 10 Ω"
    yield "05", f"{shown(Q_(300, 'A') * Q_(7, 'hour'), 'Ah')} came out"
    yield "06", "{:.0f} should be left after one throw, {:.0f} after four and {:.0f} after eight".format(*dice)
    yield "06", f"gone after {np.log(2) / RATE_OF_DICE:.1f} throws"
    yield "06", f"wall: {100 * RATE_OF_DICE:.1f} % per throw"
    yield "08", f"set to {shown(SOUND['fill volume'], 'mL')}"


STATEMENTS = list(statements())


@pytest.mark.parametrize(("lesson", "words"), STATEMENTS, ids=[words for _, words in STATEMENTS])
def test_computed_statement_stands_on_its_page(lesson, words):
    assert words in flat(PAGES[lesson])


@pytest.mark.parametrize("lesson", PAGES)
def test_no_number_comes_from_the_head(lesson):
    page = text(PAGES[lesson]).replace(section(PAGES[lesson], "Kit"), "")
    kit = re.sub(r"(?:^\|.*\n?)+", "", section(PAGES[lesson], "Kit"), flags=re.MULTILINE)
    known = said_in(lesson) if lesson in LESSONS else ""
    computed = [words for number, words in STATEMENTS if number == lesson]
    strange = []
    for passage in re.split(r"\n\n|\n(?=[|-])", page + "\n\n" + kit):
        words = re.sub(r"\s+", " ", passage)
        for said in computed:
            words = words.replace(said, "")
        for sentence in re.split(r"(?<=[.?]) ", words):
            for number, unit in AMOUNT.findall("" if any(mark in sentence for mark in NOT_COMPUTED) else sentence):
                if not re.search(rf"(?<![\d.,]){re.escape(number)}{re.escape(unit)}", known):
                    strange.append(f"{number} {unit}: {sentence}")
    assert strange == []


# --- the dice of lesson 06 -------------------------------------------------------------------------------------------

ROWS = np.arange(1, 9)


def fresh_series(rng):
    """All 30 dice back for each row."""
    return ROWS, rng.binomial(30, (5 / 6) ** ROWS)


def one_series(rng, runs=1):
    """The same dice thrown on and on and counted after each throw, ``runs`` times."""
    left, counts = np.full(runs, 30), []
    for _ in ROWS:
        left = rng.binomial(left, 5 / 6)
        counts.append(left)
    return np.repeat(ROWS, runs), np.concatenate(counts)


def share_of_rooms_with_the_truth_in_their_bar(play, rooms=500, seed=6):
    rng, hits = np.random.default_rng(seed), 0
    for _ in range(rooms):
        throws, left = play(rng)
        shelf = ck.logs.ShelfLog("dice", 86400.0 * throws, 3.6 * np.maximum(left, 0.1), np.full(left.size, 298.15))
        try:
            low, high = (end.to("1/day").m for end in ck.logs.fit_self_discharge(shelf).interval("rate"))
        except ck.logs.FitError:  # "no decay above the error": no bar, so none that holds the truth
            continue
        hits += low <= RATE_OF_DICE <= high
    return hits / rooms


def test_a_bar_of_fresh_series_holds_the_truth_in_95_of_100_rooms_and_one_of_a_single_series_does_not():
    fresh = share_of_rooms_with_the_truth_in_their_bar(fresh_series)
    once = share_of_rooms_with_the_truth_in_their_bar(one_series, 250)
    twice = share_of_rooms_with_the_truth_in_their_bar(lambda rng: one_series(rng, 2), 250)
    assert fresh == pytest.approx(0.95, abs=0.03)  # three standard errors of 500 rooms
    said = re.search(r"in about (\d+) of 100 rooms, of two series in about (\d+); .* in (\d+)\.", flat(PAGES["06"]))
    assert [float(share) / 100 for share in said.groups()] == pytest.approx([once, twice, fresh], abs=0.07)  # the same


def test_one_room_in_four_sees_a_bar_that_misses():
    assert "about one room in four sees one" in flat(PAGES["06"])
    assert 0.22 < 1 - 0.95**6 < 0.28  # six bars


def test_the_cell_for_the_counts_runs_as_printed(tmp_path, monkeypatch, capsys):
    (code,) = re.findall(r"```python\n(.*?)```", text(PAGES["06"]), re.DOTALL)
    monkeypatch.chdir(tmp_path)
    exec(code, {})
    low, high = re.search(r"rate: .* \(95 %: (.*) to (.*)\)", capsys.readouterr().out).groups()
    assert float(low) < 100 * RATE_OF_DICE < float(high)


def test_inputs_of_the_game_of_lesson_07_are_rows_of_the_tables_and_on_the_card(printed):
    named = (
        re.search(r"The five inputs: (.*?)\.", section(PAGES["07"], "Kit"), re.DOTALL)[1].replace("\n", " ").split(", ")
    )
    rows = {row["input"]: row["how"] for row in ck.tables.table("spread")}
    assert len(named) == 5
    assert {rows[name] for name in named[:4]} == {"times"}
    assert named[4] in {row["name"] for row in ck.tables.table("side_reactions")}
    assert all(f" {name} times " in words_of(printed, "sheets/inputs") for name in named)


# --- the faulty sheets of lesson 08 ---------------------------------------------------------------------------------


def doubts(changes, metal):
    return [
        finding.question
        for finding in ck.designs.Review(ck.designs.Design.varied.si(SOUND, changes), metal).findings()
        if not finding.yes
    ]


def test_the_sound_sheet_raises_the_doubts_of_every_zinc_on_felt():
    assert "set to 36 mL" in text(PAGES["08"])
    page = text(PAGES["08"])
    always = doubts({}, "zinc")
    assert len(always) == 3
    assert all(question in page for question in always)


def test_each_planted_fault_is_caught_by_its_question():
    _, (header, _, rows) = tables(section(PAGES["08"], "Kit"))
    assert header == ["sheet", "changed", "the question that catches it"]
    assert [row[1] for row in rows] == list(FAULTS)
    for _, changed, question in rows:
        assert question in doubts(*FAULTS[changed])


# --- prints -----------------------------------------------------------------------------------------------------------


class Links(HTMLParser):
    """Where a page leads to, what can be led to in it, and its words."""

    def __init__(self, path):
        super().__init__()
        self.to, self.anchors, self.words = [], set(), []
        self.feed(path.read_text(encoding="utf-8"))

    def handle_starttag(self, tag, attributes):
        for name, value in attributes:
            if name in ("href", "src") and not value.startswith("data:"):
                self.to.append(value)
            elif name == "id":
                self.anchors.add(value)

    def handle_data(self, data):
        self.words.append(data)


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    spec = importlib.util.spec_from_file_location("prints", TEACHING / "prints.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    out = tmp_path_factory.mktemp("prints")
    for paper in module.PAPERS:
        module.write(out, paper)
    return {path.relative_to(out).as_posix(): Links(path) for path in out.rglob("*.html")}


def words_of(printed, name):
    return re.sub(r"\s+", " ", " ".join(printed[f"A4/{name}.html"].words))


def test_both_papers_hold_the_same_pages_and_all_of_them(printed):
    a4, letter = ({name.split("/", 1)[1] for name in printed if name.startswith(paper)} for paper in ("A4/", "Letter/"))
    assert a4 == letter
    assert {f"lessons/{path.stem}.html" for path in LESSONS.values()} <= a4
    assert {f"teacher/{path.stem}.html" for path in TEACHING.glob("*.md")} <= a4


def test_links_of_the_prints_lead_somewhere_and_ask_for_nothing_outside(printed):
    for name, page in printed.items():
        for target in page.to:
            if target.startswith("https://"):
                continue
            file, _, anchor = target.partition("#")
            linked = (Path("/") / Path(name).parent / file).as_posix() if file else f"/{name}"
            while "/../" in linked:
                linked = re.sub(r"/[^/]+/\.\.", "", linked, count=1)
            assert linked[1:] in printed, (name, target)
            assert not anchor or anchor in printed[linked[1:]].anchors, (name, target)


@pytest.mark.parametrize("lesson", LESSONS)
def test_printed_exercises_have_no_answers(printed, lesson):
    words = words_of(printed, f"lessons/{LESSONS[lesson].stem}")
    cells = [cell.source for cell in nbformat.read(LESSONS[lesson], as_version=4).cells]
    hidden = [line.strip() for source in cells if "my_answer = None" in source for line in source.splitlines()]
    hidden = {line for line in hidden if len(line) > 25 and not line.startswith("my_")}
    open_to_all = "\n".join(source for source in cells if "my_answer = None" not in source)
    assert [line for line in hidden if line not in open_to_all and line in words] == []
    for folded in re.findall(r"<details>.*?</summary>(.*?)</details>", "\n".join(cells), re.DOTALL):
        assert re.sub(r"\s+", " ", folded).strip()[:40] not in words
    assert words.count("my_answer = ____") == sum("my_answer = None" in source for source in cells)


def test_cards_are_for_twelve_people_and_faulty_sheets_have_their_fault(printed):
    gas, tolls = (words_of(printed, f"sheets/{name}") for name in ("gas_line_cards", "toll_cards"))
    assert gas.count("stand at") == 12
    assert tolls.count("at 1 A I take") == 7
    assert [role for role in ("rest", "poles", "caller", "cutter", "clerk") if f" {role} " not in tolls] == []
    faults = "fill volume 70 mL", "end voltage 2.4 V", "felt fill 1 percent", "Sheet D: a copper cell"
    for sheet, fault in zip("ABCD", faults, strict=True):
        words = words_of(printed, f"sheets/sheet_{sheet}")
        assert [one for one in faults if one in words] == [fault]
        assert ("fill volume 36 mL" in words) == (sheet != "A")


def test_the_printed_questions_are_those_of_the_review():
    ((_, _, rows),) = tables(text(TEACHING / "sheets" / "review_questions.md"))
    assert [row[0] for row in rows] == [finding.question for finding in ck.designs.Review(SOUND, "zinc").findings()]


def test_the_shopping_list_has_every_kit(printed):
    words = words_of(printed, "sheets/shopping").replace("\u00a0", " ")
    for path in PAGES.values():
        (_, _, rows), *_ = tables(section(path, "Kit"))
        assert [row[0] for row in rows if row[0] not in words and "laptop" not in row[0]] == []


def test_the_dice_sheet_has_the_rows_that_were_simulated():
    (_, _, rows), _ = tables(text(TEACHING / "sheets" / "dice.md"))
    assert [int(row[0]) for row in rows] == ROWS.tolist()
    assert [row[1].count("☐") for row in rows] == ROWS.tolist()


# --- risk assessment -------------------------------------------------------------------------------------------------

HAZARDS = [
    "Sulfuric acid",
    "Heat of dilution",
    "Lead and paste",
    "Broken sealed block",
    "Short circuit",
    "Charging",
    "Hydrogen",
    "Copper sulfate",
    "Zinc sulfate",
    "Waste",
]


def test_risk_assessment_names_every_hazard_and_leaves_room_to_judge():
    path = TEACHING / "risk_assessment.md"
    ((header, _, rows),) = tables(section(path, "Hazards"))
    assert header == [
        "hazard",
        "who could be harmed, and how",
        "what we do",
        "left-over risk",
        "who checked, when",
    ]
    assert [hazard for hazard in HAZARDS if not any(row[0].startswith(hazard) for row in rows)] == []
    assert all(set(cell) == {"_"} for row in rows for cell in row[3:])
    for title in ("The occasion", "Waste, before you start", "Signed"):
        for table in tables(section(path, title)):
            assert all(set(row[-1]) == {"_"} for row in table[2]), title


def test_risk_assessment_defers_to_local_codes():
    opening = text(TEACHING / "risk_assessment.md").split("##")[0]
    assert re.search(r"replaces no\s+local code", opening)
    assert "licensed" in opening


# --- glossary --------------------------------------------------------------------------------------------------------


def prose(lesson):
    cells = nbformat.read(LESSONS[lesson], as_version=4).cells
    return "\n".join(cell.source for cell in cells if cell.cell_type == "markdown").replace("*", "")


def glossary():
    return [rows for _, _, rows in tables(text(GLOSSARY))]


def test_glossary_is_alphabetical():
    for rows in glossary():
        names = [row[0].casefold() for row in rows]
        assert names == sorted(set(names))


def test_every_term_is_used_in_the_lesson_it_names():
    texts, strange = {number: prose(number) for number in LESSONS}, []
    for term, _, _, where in glossary()[0]:
        number, target = re.fullmatch(r"\[(\d\d)\]\((.*)\)", where).groups()
        assert LESSONS[number].name == target
        if not re.search(rf"(?<!\w){re.escape(term)}(?:s|es)?(?!\w)", texts[number], re.IGNORECASE):
            strange.append(f"{term}: not in the text of lesson {number}")
    assert strange == []


def test_terms_are_explained_in_one_or_two_sentences_with_a_unit():
    for term, meaning, unit, _ in glossary()[0]:
        assert 1 <= len(re.findall(r"[.:](?= |$)", meaning)) <= 4, term
        assert unit, term


def test_other_names_lead_to_a_term():
    terms, others = glossary()
    assert {row[1] for row in others} <= {row[0] for row in terms}
