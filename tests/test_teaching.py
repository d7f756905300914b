"""The teaching pages and the glossary: shape, minutes, links, and every amount computed anew."""

import itertools
import re
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
EVERY = [*sorted(TEACHING.glob("*.md")), GLOSSARY]
SECTIONS = [
    "Aim",
    "Plan by minute",
    "When time is short",
    "Usual wrong answers",
    "Kit",
    "Cautions",
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
        linked = (path.parent / file).resolve()
        assert linked.exists(), target
        assert not anchor or re.search(rf"^## {anchor}$", text(linked), re.MULTILINE | re.IGNORECASE), target


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
    ((_, _, rows),) = tables(text(TEACHING / "README.md"))
    stated = {re.search(r"\((.*)\)", row[0])[1]: row[1] for row in rows}
    assert set(stated) == {path.name for path in EVERY} - {"README.md", GLOSSARY.name}
    assert {name: int(minutes) for name, minutes in stated.items() if minutes} == {
        path.name: promised_minutes(path) for path in [*PAGES.values(), *PLANS]
    }


@pytest.mark.parametrize("path", [*PAGES.values(), *PLANS], ids=by_name)
def test_a_plan_warns_in_the_row_where_hands_act(path):
    for row in column(path, "Plan by minute", "what"):
        if re.search(r"weigh crystals|acid into water|build the jar|the jar;|probes on|load on", row):
            assert "**Caution" in row, row


@pytest.mark.parametrize("lesson", PAGES)
def test_what_may_be_cut_is_a_section_of_the_lesson(lesson):
    headings = [title.split(":")[0] for title in re.findall(r"^#+ (.*)$", prose(lesson), re.MULTILINE)]
    cut = re.findall(r"\*([^*]+)\*", section(PAGES[lesson], "When time is short").replace("\n", " "))
    assert [title for title in cut if title not in headings] == []


# --- amounts ---------------------------------------------------------------------------------------------------------

PLAN = ck.chemistry.read_electrolyte_plan("otter_lane_electrolyte.csv")
BLOCK = ck.cells.read_block("otter_lane_block.csv")
LEAD = BLOCK.lead_cell()
RATE_OF_DICE = np.log(6 / 5)  # 1/throw: a sixth leaves at each throw
ROOM = PLAN.items["temperature"]


def fill(volume, strength, metal):
    return ck.chemistry.from_molarity(Q_(volume, "mL"), salt=Q_(strength, "mol/L"), metal=metal, temperature=ROOM)


def weigh(volume, strength, metal):
    crystals = {"copper": "CuSO4·5H2O", "zinc": "ZnSO4·7H2O"}[metal]
    return ck.chemistry.weigh_out(fill(volume, strength, metal), crystals, purity=PLAN.items["purity"])


def push(metal, strength, ideal=False):
    molality = fill(50, strength, metal).salt_molality
    return ck.chemistry.electrode_potential(metal, 0 * molality, molality, metal, ROOM, ideal=ideal)


GROUP, MYSTERY, OTTER = weigh(100, 0.5, "copper"), weigh(100, 0.4, "copper"), PLAN.recipe()
JAR = weigh(55, 0.5, "copper"), weigh(50, 0.5, "zinc")
HALF = Q_(50, "g")  # of battery acid, and as much water
ACID = OTTER.stock_acid + HALF
SPILL = ck.chemistry.from_mass_fraction(ACID, acid=PLAN.items["stock acid"], temperature=ROOM)
PARTS = LEAD.masses
NONE = Q_(0, "g")

# (lesson, start of the row): for each group, for the teacher
COMPUTED = {
    ("01", "sand, bag A"): (PARTS["positive plates"], NONE),
    ("01", "sand, bag B"): (PARTS["negative plates"], NONE),
    ("01", "sand, bag C"): (PARTS["electrolyte"], NONE),
    ("01", "sand, bag D"): (PARTS["case, lid, straps and terminals"], NONE),
    ("01", "sand, bag E"): (PARTS["separators"], NONE),
    ("01", "sand, in all"): (sum(PARTS.values()), NONE),
    ("01", "clear bottle with coloured water: what one"): (Q_(0, "mL"), LEAD.electrolyte.volume),
    ("01", "clear bottle with coloured water: what 3.10"): (
        Q_(0, "mL"),
        ck.cells.minimum_volume(LEAD.capacity, Q_(1, "mol/L")),
    ),
    ("02", "copper sulfate"): (GROUP.crystals, MYSTERY.crystals + OTTER.crystals),
    ("02", "water"): (GROUP.water, MYSTERY.water + OTTER.water + HALF),
    ("02", "battery acid"): (NONE, ACID),
    ("02", "baking soda"): (NONE, Q_(100, "g")),
    ("03", "copper sulfate"): (JAR[0].crystals, NONE),
    ("03", "zinc sulfate"): (JAR[1].crystals, NONE),
    ("03", "water"): (sum(mix.water for mix in JAR) + Q_(45, "g"), NONE),
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


def test_baking_soda_on_the_bench_is_more_than_enough():
    assert COMPUTED["02", "baking soda"][1] > 2 * ck.chemistry.neutralise(SPILL).bicarbonate


SOUND = ck.designs.Design.varied.si(ck.designs.read_design("otter_lane_design.csv"), {"fill volume": 36e-6})
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


# Every number with a unit in the words of a page is the lesson's own, or stands here and is computed.
def statements():
    spill = ck.chemistry.neutralise(SPILL)
    warm = ck.chemistry.heat_of_dilution(HALF, HALF, PLAN.items["stock acid"], ROOM).final
    schoolbook, real = (push("copper", 0.5, way) - push("copper", 0.05, way) for way in (True, False))
    jar = push("copper", 0.5) - push("zinc", 0.5)
    zinc, copper = (ck.chemistry.half_cell(name)["e0"] for name in ("zinc", "copper"))
    dry = ck.tables.molar_mass("CuSO4") * Q_(0.1, "L") * Q_(0.5, "mol/L") / PLAN.items["purity"]
    label, large, small = Q_(1.5, "V"), Q_(10, "ohm"), Q_(4.7, "ohm")
    dice = ck.logs.self_discharge.first_order(np.array([1, 4, 8]), 30, RATE_OF_DICE)[0]
    yield "01", shown(LEAD.energy / Q_(1.5, "W"), "hour", 1)
    for words in ("{} for 100 mL of 0.5 mol/L", "makes 100 mL of 0.5 mol/L", "sum for 100 mL of 0.5 mol/L"):
        yield "02", words.format(shown(dry, "g", 1))
    yield "02", "add 100 mL of water"
    yield "02", "(100 mL of 0.4 mol/L)"
    yield "02", f"dilutes {shown(HALF, 'g')} of battery acid with {shown(HALF, 'g')} of water"
    yield "02", f"{shown(fill(100, 0.5, 'copper').density, 'g/mL', 3)} in a group's bottle"
    yield "02", f"{shown(fill(100, 0.4, 'copper').density, 'g/mL', 3)} in the mystery bottle"
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
    assert words in re.sub(r"\s+", " ", text(PAGES[lesson]))


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


def test_inputs_of_the_game_of_lesson_07_are_rows_of_the_table_of_spreads():
    named = (
        re.search(r"The five inputs: (.*?)\.", section(PAGES["07"], "Kit"), re.DOTALL)[1].replace("\n", " ").split(", ")
    )
    rows = {row["input"]: row["how"] for row in ck.tables.table("spread")}
    assert len(named) == 5
    assert {rows[name] for name in named[:4]} == {"times"}
    assert {rows[f"{named[4]} by {metal}"] for metal in ("copper", "zinc")} == {"value"}


# --- the faulty sheets of lesson 08 ---------------------------------------------------------------------------------


def doubts(changes, metal):
    return [
        finding.question
        for finding in ck.designs.Review(ck.designs.Design.varied.si(SOUND, changes), metal).findings()
        if not finding.yes
    ]


def test_the_sound_sheet_raises_one_doubt_only():
    assert "set to 36 mL" in text(PAGES["08"])
    assert doubts({}, "zinc") == ["Does the positive take the first charge?"]


def test_each_planted_fault_is_caught_by_its_question():
    _, (header, _, rows) = tables(section(PAGES["08"], "Kit"))
    assert header == ["sheet", "changed", "the question that catches it"]
    assert [row[1] for row in rows] == list(FAULTS)
    for _, changed, question in rows:
        assert question in doubts(*FAULTS[changed])


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
