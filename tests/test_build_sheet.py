"""The build sheet of all five constructions: on both papers, in grey, with the numbers that were computed elsewhere."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.patches import Rectangle
from test_sheet_page import contrast, faults

import cellkit as ck
from cellkit import Q_, InputError
from cellkit.chemistry.recipe import neutralise
from cellkit.chemistry.solution import Electrolyte
from cellkit.designs.review import Review
from cellkit.show.build_sheet import build_sheet
from cellkit.show.sheet_page import LONGEST, PAPERS

PLAN = ck.designs.read_design("otter_lane_design.csv")  # invented
SHEETS = {name: build_sheet(PLAN, name) for name in ck.designs.CONSTRUCTIONS}
REBUILT = ["copper", "zinc", "copper with tank"]
STRETCHED = [item for item, kind in ck.designs.design.PLANNED.items() if getattr(kind, "high", 0) > 1]
WIDE = "W" * LONGEST
ODD = {
    "no acid to pour": {"fill acid": 0.0},
    "nothing held": {"held electrolyte": 0.0},
    "no tank": {"tank volume": 0.0, "tank and tubing": 0.0},
    "more volts than it has": {"end voltage": 1.6},
    "a tiny load": {"load current": 1e-6},
}


def first_number(text, row):
    """The number after a row's label."""
    return float(re.search(rf"^{re.escape(row)}[^:]*: (?:up to )?([\d.]+)", text, re.MULTILINE)[1])


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", SHEETS)
def test_nothing_is_cut_off_overlaps_or_fades_in_grey(name, paper):
    figure = SHEETS[name].figure(paper)
    assert faults(figure) == []
    shades = [artist.get_facecolor()[:3] for artist in figure.artists if isinstance(artist, Rectangle)]
    assert min(contrast(text.get_color(), shade) for text in figure.texts for shade in (*shades, "white")) > 10
    assert min(text.get_fontsize() for text in figure.texts) >= 8.5


@pytest.mark.parametrize("odd", ODD)
@pytest.mark.parametrize("name", SHEETS)
def test_odd_designs_still_make_a_whole_page(name, odd):
    sheet = build_sheet(ck.designs.Design.varied.si(PLAN, ODD[odd]), name, WIDE)
    assert faults(sheet.figure("Letter")) == []
    assert not re.search(r"\bnan\b|\binf\b", sheet.text)


@settings(max_examples=settings().max_examples // 4)
@given(
    st.sampled_from(ck.designs.CONSTRUCTIONS),
    st.dictionaries(st.sampled_from(STRETCHED), st.floats(0.05, 6), max_size=4),
)
def test_any_design_makes_a_whole_page_or_is_refused(name, stretched):
    changes = {item: PLAN.values[item] * factor for item, factor in stretched.items()}
    try:
        sheet = build_sheet(ck.designs.Design.varied.si(PLAN, changes), name)
    except InputError:
        return
    assert faults(sheet.figure("Letter")) == []
    assert not re.search(r"\bnan\b|\binf\b| -\d", sheet.text)


@pytest.mark.parametrize("name", REBUILT)
def test_what_is_weighed_is_what_the_cells_hold(name):
    """Weighed in grams and mixed with what is held, it gives the fill of three cells, to the rounding of the sheet."""
    text, fill, held = SHEETS[name].text, Review(PLAN, name).cell.electrolyte, PLAN.held()
    metal = fill.metal
    crystals = first_number(text, f"{metal} sulfate") * PLAN["purity"].to("").magnitude
    molar = {"copper": 249.68, "zinc": 287.55}[metal]  # g/mol, handbook figures, from memory
    assert crystals / molar == pytest.approx(3 * fill.salt, rel=0.003)
    acid = first_number(text, "battery acid, 37 %") * 0.37 / 98.08
    assert acid == pytest.approx(3 * (fill.acid - held.acid), rel=0.005)
    bound = crystals / molar * {"copper": 5, "zinc": 7}[metal] * 18.015
    water = first_number(text, "water, distilled") + bound + first_number(text, "battery acid, 37 %") * 0.63
    assert water == pytest.approx(3000 * (fill.water - held.water), rel=0.003)


@pytest.mark.parametrize("name", SHEETS)
def test_numbers_are_those_of_the_review(name):
    review, text = Review(PLAN, name), SHEETS[name].text
    assert first_number(text, "charge, limited by") == pytest.approx(review.cell.capacity.magnitude, abs=0.05)
    assert first_number(text, "run at 100 mA") == pytest.approx(review.run().best.magnitude, abs=0.5)
    assert first_number(text, "at rest, nearly full") == pytest.approx(
        review.cell.rest_voltage(0.1).magnitude, abs=0.006
    )
    assert f"limited by {review.cell.limiting}" in text
    for finding in review.findings():
        assert (finding.question in text) != finding.yes


@pytest.mark.parametrize("name", REBUILT)
def test_first_charge_is_planned_with_its_oxygen(name):
    first, text = Review(PLAN, name).first, SHEETS[name].text
    plan = text[text.index("FIRST CHARGE") : text.index("EXPECT")]
    assert f"make {first.oxygen_volume:.1f~P} of oxygen in each cell" in plan
    assert f"Stop after {0.95 * first.charge:.2f~P}" in plan
    assert "EN IEC 62485-2, from memory" in plan


@pytest.mark.parametrize("name", SHEETS)
def test_cautions_come_before_the_hand_moves(name):
    text = SHEETS[name].text
    order = ["lead dust", "Acid into water", "slowly into the water", "a fuse of twice", "explodes", "the drain"]
    if name not in REBUILT:
        order = ["lead dust", "fuse of twice", "explodes", "Charge with", "the drain"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)
    assert "Local codes and licensed practice come first" in text


@pytest.mark.parametrize("name", SHEETS)
def test_every_expected_number_has_a_place_for_the_measured_one(name):
    lines = SHEETS[name].text.splitlines()
    expected = lines[lines.index("EXPECT") + 1 : lines.index("HAND IN") - 3]
    assert len(expected) == 6
    assert all(re.search(r"\d.* (V|Ah|h|Wh/kg), measured: _+ (V|Ah|h|Wh/kg)$", line) for line in expected)
    assert all("±" in line or " to " in line for line in expected)


def test_hand_in_by_hand():
    """Old acid of three cells: 138 g at 1.27 g/mL, of which 35.7 % are H2SO4 by the float; 168.01 / 98.08 g/g."""
    text = SHEETS["zinc"].text
    share = PLAN.block.electrolyte().mass_fractions[0].to("").magnitude
    assert "109 mL of old acid" in text
    assert f"{138 * share * 168.01 / 98.08:.0f} g of baking soda" in text
    spent = Review(PLAN, "zinc").cell.at_depth(0.0)
    three = Electrolyte(3 * spent.water, 3 * spent.acid, 3 * spent.salt, "zinc")
    assert f"up to {neutralise(three).bicarbonate:.0f~P} for the spent" in text


def test_titles_are_shown_as_they_are():
    sheet = build_sheet(PLAN, "zinc", "A $5 <b>cell</b> & more")
    assert sheet.text.startswith("A $5 <b>cell</b> & more\n")
    assert sheet.figure().texts[0].get_text() == "A $5 <b>cell</b> & more"
    assert build_sheet(PLAN, "zinc").title == "Build sheet: zinc"


def test_refusals_reach_the_learner():
    with pytest.raises(InputError, match="construction is 'silver'"):
        build_sheet(PLAN, "silver")
    with pytest.raises(InputError, match="more than dissolves"):
        build_sheet(ck.designs.Design.varied.si(PLAN, {"fill salt": 1500.0}), "copper")
    with pytest.raises(InputError, match="more water already"):
        build_sheet(ck.designs.Design.varied.si(PLAN, {"stock acid": 0.02}), "copper")


@pytest.mark.parametrize("name", SHEETS)
def test_same_bytes_each_time(name, tmp_path):
    one, two = (build_sheet(PLAN, name).save(tmp_path / f"{n}.pdf") for n in "ab")
    assert one.read_bytes() == two.read_bytes()


def test_recipe_is_the_one_of_lesson_02():
    fresh = PLAN.fresh("copper")
    each = ck.chemistry.weigh_out(fresh, "CuSO4·5H2O", None, PLAN["purity"], PLAN["stock acid"])
    assert first_number(SHEETS["copper"].text, "copper sulfate") == pytest.approx(
        3 * each.crystals.to("g").magnitude, 2e-3
    )
    assert Q_(first_number(SHEETS["copper"].text, "water, distilled") / 3, "g").to("g").magnitude == pytest.approx(
        each.water.to("g").magnitude, 2e-3
    )
