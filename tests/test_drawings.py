"""Drawings: what is drawn has the numbers of the list, for any list; every text stands alone and on the page."""

import itertools
import re
from dataclasses import replace
from functools import cache

import pytest

import cellkit as ck
from cellkit import Q_, InputError
from cellkit.show.drawings import half_reaction

LAYERS = {"mesh": Q_(10, "mg/cm^2"), "filled_polyethylene": Q_(12, "mg/cm^2"), "felt": Q_(13, "mg/cm^2")}


def block(**changes):
    """The example's block, with other values [SI] by item where a word of the item is given with underscores."""
    example = ck.cells.read_block("osier_yard_block.csv")
    return replace(example, values=example.values | {item.replace("_", " "): value for item, value in changes.items()})


BLOCKS = {
    "example": block(),
    # a 12 V block with five and six plates in a cell, and a single cell with two of each: both invented
    "six cells": block(
        cells=6, number_of_positive_plates=30, number_of_negative_plates=36, positive_plates=1.8, negative_plates=1.7,
        electrolyte=1.4, plate_width=0.07, plate_height=0.06,
    ),
    "one cell": block(
        cells=1, number_of_positive_plates=2, number_of_negative_plates=2, positive_plates=0.3, negative_plates=0.25,
        electrolyte=0.2, plate_width=0.05, plate_height=0.12,
    ),
}  # fmt: skip


@pytest.fixture(params=BLOCKS, ids=str)
def any_block(request):
    return BLOCKS[request.param]


def filled(block, metal="copper", charged=True, salt=1.0):
    """A rebuilt cell of a block, filled with as much liquid as it had acid."""
    fill = ck.chemistry.from_molarity(block.electrolyte().volume, Q_(1, "mol/L"), Q_(salt, "mol/L"), metal)
    return block.rebuilt_cell(fill, Q_(6, "g"), Q_(1000, "Ah"), positive_charged=charged)


def parts(picture, name):
    return [patch for patch in picture.figure.axes[0].patches if patch.get_gid() == name]


def widths(picture, name):
    return [patch.get_width() for patch in parts(picture, name)]


def pictures():
    for name, each in BLOCKS.items():
        yield f"{name}, opened", lambda each=each: ck.show.block_opened(each)
        for metal in ("copper", "zinc"):
            yield f"{name}, {metal}, section", lambda e=each, m=metal: ck.show.cross_section(e, m, Q_(0.8, "mm"))
            yield f"{name}, {metal}, balance", lambda e=each, m=metal: ck.show.plate_balance(filled(e, m))
            for charged in (True, False):
                cell = filled(each, metal, charged)
                yield f"{name}, {metal}, {charged}, gas", lambda cell=cell: ck.show.gas_path(cell)
    yield "thick felt", lambda: ck.show.cross_section(block(), "zinc", Q_(4, "mm"))
    yield "weak", lambda: ck.show.plate_balance(filled(block(), salt=0.1))
    yield "strong", lambda: ck.show.plate_balance(filled(block(), "zinc", salt=2.5))
    for area in (Q_(24.8, "cm^2"), Q_(1200, "cm^2")):
        yield f"plate of {area}", lambda area=area: ck.show.composite_plate(area, **LAYERS)
    yield "light mesh", lambda: ck.show.composite_plate(Q_(9, "cm^2"), **LAYERS | {"mesh": Q_(0.1, "mg/cm^2")})
    for negative in ("lead", "copper", "zinc"):
        yield f"{negative} moves", lambda negative=negative: ck.show.what_moves(negative)
    for current, shunt in ((0.3, 0.1), (25, 0.00075), (0.004, 10)):
        yield f"{current} A", lambda i=current, r=shunt: ck.show.wiring_diagram(Q_(i, "A"), Q_(r, "ohm"))


ALL = {name: cache(draw) for name, draw in pictures()}


@pytest.mark.parametrize("name", ALL)
def test_every_text_stands_alone_and_on_the_page(name):
    picture = ALL[name]()
    figure = picture.figure
    figure.draw_without_rendering()
    boxes = {text: text.get_window_extent() for text in figure.axes[0].texts if text.get_text()}
    assert len(boxes) >= 4
    right, top = figure.bbox.width, figure.bbox.height
    assert [text.get_text() for text, b in boxes.items() if b.x0 < 0 or b.y0 < 0 or b.x1 > right or b.y1 > top] == []
    crossing = [
        (a.get_text(), b.get_text()) for a, b in itertools.combinations(boxes, 2) if boxes[a].overlaps(boxes[b])
    ]
    assert crossing == []
    assert min(text.get_fontsize() for text in boxes) >= 8


@pytest.mark.parametrize("name", ALL)
def test_the_sentence_is_words(name):
    picture = ALL[name]()
    assert picture.sentence.endswith(".")
    assert 20 <= len(picture.sentence.split()) <= 120
    assert "nan" not in picture.sentence


def test_block_has_the_plates_of_the_list(any_block):
    picture = ck.show.block_opened(any_block)
    values = any_block.values
    for side in ("positive", "negative"):
        drawn = widths(picture, side)
        assert len(drawn) == values[f"number of {side} plates"]
        per_cell = values[f"number of {side} plates"] // any_block.cells
        assert f"{per_cell:.0f} {side}" in picture.sentence
        # thickness on the scale of the face of a plate; lead 11.3 g/cm³ (CRC), so mass / number / density / area
        thick = values[f"{side} plates"] / values[f"number of {side} plates"] / 11300 / any_block.plate_area.m_as("m^2")
        [face] = parts(picture, "face")
        assert drawn == pytest.approx([thick / values["plate width"] * face.get_width()] * len(drawn))
        assert f"{1000 * thick:.2f} mm" in picture.sentence
    assert face.get_height() / face.get_width() == pytest.approx(values["plate height"] / values["plate width"])
    assert len(parts(picture, "link")) == any_block.cells - 1
    assert len(parts(picture, "strap")) == 2 * any_block.cells
    assert f"cells in series: {any_block.cells}." in picture.sentence


def test_plates_alternate_and_the_more_numerous_stand_outside():
    def sides(**counts):
        drawn = ck.show.block_opened(block(cells=1, **counts)).figure.axes[0].patches
        placed = [(patch.get_x(), patch.get_gid()[0]) for patch in drawn if patch.get_gid() in ("positive", "negative")]
        return "".join(side for _, side in sorted(placed))

    assert sides(number_of_positive_plates=3, number_of_negative_plates=4) == "npnpnpn"
    assert sides(number_of_positive_plates=3, number_of_negative_plates=2) == "pnpnp"
    assert sides(number_of_positive_plates=2, number_of_negative_plates=2) in ("pnpn", "npnp")


def test_plates_that_do_not_share_out_evenly_are_all_drawn():
    picture = ck.show.block_opened(block(number_of_positive_plates=10))
    assert len(parts(picture, "positive")) == 10
    assert "4 positive" in picture.sentence


@pytest.mark.parametrize("metal", ["copper", "zinc"])
def test_section_has_felt_on_each_face_that_looks_at_a_positive(any_block, metal):
    picture = ck.show.cross_section(any_block, metal, Q_(0.8, "mm"))
    positives, negatives = (
        int(any_block.values[f"number of {s} plates"]) // any_block.cells for s in ("positive", "negative")
    )
    faces = 2 * positives if negatives > positives else 2 * positives - 1
    assert len(parts(picture, "felt")) == faces
    assert f"{faces} faces" in picture.sentence
    assert metal in picture.sentence
    assert len(parts(picture, "positive")) == 2 * positives, "before and after"
    assert len(parts(picture, "negative")) == negatives, "only before"
    thick = any_block.values["positive plates"] / any_block.values["number of positive plates"] / 11300
    thick /= any_block.plate_area.m_as("mm^2") / 1e9
    ratio = widths(picture, "felt")[0] / widths(picture, "positive")[0]
    assert ratio == pytest.approx(0.8 / thick, rel=1e-6)


def test_section_is_as_wide_as_all_that_is_in_it():
    # 3 positives of 24 g and 4 negatives of 17.5 g at 11.3 g/cm³ and 56 g of acid at 1.27 g/mL on 24.8 cm², by hand
    picture = ck.show.cross_section(block(), "zinc", Q_(1.5, "mm"))
    solid = (3 * 24 + 4 * 17.5) / 11.3 / 2.48
    liquid = 56 / 1.27 / 2.48
    assert widths(picture, "felt")[0] == pytest.approx(600 * 1.5 / (solid + liquid))
    assert f"{liquid:.1f} mm of liquid" in picture.sentence


def test_felt_that_does_not_fit_is_said_and_still_drawn():
    # gaps of 17.78 mm of liquid / 6.3 and half of 0.62 mm of lead: 3.13 mm, by hand
    picture = ck.show.cross_section(block(), "zinc", Q_(4, "mm"))
    assert "felt of 4 mm does not fit, a face has room for 3.1 mm at most" in picture.sentence
    assert len(parts(picture, "felt")) == 6
    assert "does not fit" not in ck.show.cross_section(block(), "zinc", Q_(3, "mm")).sentence


def test_lead_does_not_plate_into_felt():
    with pytest.raises(InputError, match="copper"):
        ck.show.cross_section(block(), "lead", Q_(1, "mm"))


def test_layers_are_as_long_as_they_weigh():
    picture = ck.show.composite_plate(Q_(24.8, "cm^2"), **LAYERS)
    bars = {name: widths(picture, name)[0] for name in LAYERS}
    assert bars["mesh"] / bars["felt"] == pytest.approx(10 / 13)
    assert bars["filled_polyethylene"] / bars["felt"] == pytest.approx(12 / 13)
    # 24.8 cm² × 35 mg/cm² = 0.868 g; 10, 12 and 13 of 35 are 29, 34 and 37 %, by hand
    for words in ("0.87 g", "10 mg/cm², 29%", "12 mg/cm², 34%", "13 mg/cm², 37%"):
        assert words in picture.sentence


def test_a_plate_of_nothing_is_refused():
    with pytest.raises(InputError, match="0 g"):
        ck.show.composite_plate(Q_(1, "cm^2"), **dict.fromkeys(LAYERS, Q_(0, "mg/cm^2")))


DISCHARGE = "PbO₂ + SO₄²⁻ + 4 H⁺ + 2 e⁻ → PbSO₄ + 2 H₂O"


def test_reactions_are_those_of_the_textbooks():
    # any general chemistry text has the lead cell's (from memory)
    assert half_reaction("lead dioxide") == (DISCHARGE, ["SO₄²⁻", "4 H⁺"], [])
    assert half_reaction("lead", backward=True) == ("Pb + SO₄²⁻ → PbSO₄ + 2 e⁻", ["SO₄²⁻"], [])
    assert half_reaction("copper", backward=True) == ("Cu → Cu²⁺ + 2 e⁻", [], ["Cu²⁺"])
    assert half_reaction("zinc") == ("Zn²⁺ + 2 e⁻ → Zn", ["Zn²⁺"], [])


def balance(side):
    """Atoms and charge of one side of a reaction as text."""
    plain = side.translate(str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789"))
    total = {}
    for term in plain.split(" + "):
        many, formula, two, sign = re.fullmatch(r"(?:(\d+) )?(\w+?)(²?)([⁺⁻]?)", term.strip()).groups()
        count = int(many or 1)
        charge = (2 if two else 1) * {"⁺": 1, "⁻": -1, "": 0}[sign]
        total["charge"] = total.get("charge", 0) + count * charge
        for element, atoms in re.findall(r"([A-Z][a-z]?)(\d*)", formula):
            total[element] = total.get(element, 0) + count * int(atoms or 1)
    return total


@pytest.mark.parametrize("name", ["lead dioxide", "lead", "copper", "zinc"])
def test_atoms_and_charge_balance(name):
    for backward in (False, True):
        left, right = half_reaction(name, backward)[0].split(" → ")
        assert balance(left) == balance(right)
    assert half_reaction(name, True)[0] == f"{right} → {left}" or half_reaction(name)[0] == f"{right} → {left}"


@pytest.mark.parametrize("negative", ["lead", "copper", "zinc"])
def test_what_moves_turns_round_on_charge(negative):
    picture = ck.show.what_moves(negative)
    discharge, charge = picture.sentence.split("Charge: ")
    assert half_reaction(negative, backward=True)[0] in discharge
    assert half_reaction(negative)[0] in charge
    assert DISCHARGE in discharge
    assert f"from the {negative} through the load to the lead dioxide" in discharge
    assert f"from the lead dioxide through the charger to the {negative}" in charge
    drawn = {text.get_text() for text in picture.figure.axes[0].texts}
    assert {DISCHARGE, half_reaction(negative)[0], half_reaction(negative, True)[0], "4 H⁺", "2 e⁻"} <= drawn


def test_ions_go_where_they_are_used():
    assert "Ions: SO₄²⁻ to the lead; SO₄²⁻, 4 H⁺ to the lead dioxide. Charge" in ck.show.what_moves("lead").sentence
    assert "Ions: Zn²⁺ out of the zinc; SO₄²⁻, 4 H⁺ to the lead dioxide. Charge" in ck.show.what_moves("zinc").sentence
    assert ck.show.what_moves("zinc").sentence.endswith("Zn²⁺ to the zinc; SO₄²⁻, 4 H⁺ out of the lead dioxide.")


@pytest.mark.parametrize("metal", ["copper", "zinc"])
@pytest.mark.parametrize("charged", [True, False])
def test_balance_has_the_charges_of_the_first_charge(any_block, metal, charged):
    cell = filled(any_block, metal)
    picture = ck.show.plate_balance(cell)
    first = ck.cells.first_charge(replace(cell, positive_charged=charged))
    word = "charged" if charged else "discharged"
    heights = {
        (when, name): parts(picture, f"{word}, {when}, {name}")[0].get_height()
        for when in ("as filled", "after the first charge")
        for name in ("positive", "felt")
    }
    unit = heights["after the first charge", "felt"] / first.charge.magnitude
    assert heights["as filled", "felt"] == 0
    assert heights["as filled", "positive"] == pytest.approx(first.positive.magnitude * unit)
    stored = first.positive + first.charge - first.oxygen_charge
    assert heights["after the first charge", "positive"] == pytest.approx(stored.magnitude * unit)
    [oxygen] = parts(picture, "oxygen")
    lost = ck.cells.first_charge(replace(cell, positive_charged=True)).oxygen_charge.magnitude
    assert oxygen.get_height() == pytest.approx(lost * unit)
    assert f"{first.oxygen_charge.magnitude:.2f} Ah make oxygen" in picture.sentence


def test_wiring_gives_volts_and_heat_of_the_shunt():
    # Ohm's law by hand: 0.3 A × 0.1 Ω = 30 mV, 0.3² × 0.1 = 9 mW; 25 A × 0.75 mΩ = 18.75 mV, 468.75 mW
    assert "shows 30 mV and makes 9 mW" in ck.show.wiring_diagram(Q_(300, "mA"), Q_(0.1, "ohm")).sentence
    assert "shows 18.8 mV and makes 469 mW" in ck.show.wiring_diagram(Q_(25, "A"), Q_(0.75, "mohm")).sentence


def test_wiring_says_fuse_first_and_load_last():
    words = ck.show.wiring_diagram(Q_(1, "A"), Q_(0.1, "ohm")).sentence
    assert words.index("fuse close to the pole") < words.index("the load and the shunt")
    assert "load is connected last" in words
    assert "never across the poles" in words


def test_gas_areas_are_volumes():
    cell = filled(block())
    picture = ck.show.gas_path(cell)
    area = {
        name: parts(picture, name)[0].get_width() ** 2 for name in ("liquid", "O₂, first charge", "H₂, same charge")
    }
    # oxygen takes twice the electrons of hydrogen: Faraday's law
    assert area["H₂, same charge"] == pytest.approx(2 * area["O₂, first charge"])
    first = ck.cells.first_charge(cell)
    ratio = (first.oxygen_volume / cell.electrolyte.volume).m_as("")
    assert area["O₂, first charge"] / area["liquid"] == pytest.approx(ratio)
    assert f"{first.oxygen_volume.m_as('L'):.2g} L of oxygen" in picture.sentence


def test_gas_of_discharged_positives_and_of_zinc():
    assert "gives 0 L of oxygen" in ck.show.gas_path(filled(block(), charged=False)).sentence
    assert "from the first minute" in ck.show.gas_path(filled(block())).sentence
    assert "all along" in ck.show.gas_path(filled(block(), "zinc")).sentence
    assert "all along" not in ck.show.gas_path(filled(block())).sentence


@pytest.mark.parametrize("draw", [ck.show.plate_balance, ck.show.gas_path])
@pytest.mark.parametrize("what", [block().lead_cell(), "copper"])
def test_only_a_rebuilt_cell_has_a_first_charge_to_draw(draw, what):
    with pytest.raises(InputError, match="rebuilt_cell"):
        draw(what)
