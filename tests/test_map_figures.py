"""The map: its numbers are those of the cells, its words those of its numbers; the static pictures likewise."""

import re

import numpy as np
import pytest

from cellkit import Q_, InputError
from cellkit.designs.comparison import compare, specific_energy_map
from cellkit.designs.design import CONSTRUCTIONS, Design, read_design
from cellkit.show.figures import band_bars, sensitivity_bars
from cellkit.show.panels import design_map, map_axes

DESIGN = read_design("osier_yard_design.csv")
VOLUMES, PLATES = map_axes(DESIGN)


@pytest.fixture(scope="module")
def panel():
    return design_map(DESIGN)


@pytest.fixture(scope="module")
def found():
    return compare(DESIGN, 500)


# --- the grid


@pytest.mark.parametrize("construction", CONSTRUCTIONS)
def test_the_grid_holds_the_cells_one_by_one(construction):
    """Also far from the points between which the mean voltage is interpolated; 0.2 Wh/kg as the docstring says."""
    here = specific_energy_map.si(DESIGN, construction, VOLUMES / 1e6, PLATES / 1e3)
    for row, column in ((3, 5), (43, 33), (60, 81), (97, 40)):
        plates = 3 * PLATES[row] / 1e3
        change = {"positive plates": plates, "capacity": DESIGN.values["capacity"] * plates / 0.216}
        if construction in ("lead", "carbon-wrapped lead"):
            change["electrolyte"] = 3 * VOLUMES[column] * 1e-6 * 1270
        else:
            change["fill volume"] = VOLUMES[column] / 1e6
        cell = Design.varied.si(DESIGN, change).cell(construction)
        density = cell.specific_energy("block").to("Wh/kg").magnitude
        assert here.specific_energy[row, column] / 3600 == pytest.approx(density, abs=0.2)
        assert here.limiting[row, column] == cell.limiting
        charge = cell.limits["PbO2"].to("C").magnitude
        assert here.limits["PbO2"][row, column] == pytest.approx(charge)


def test_an_axis_need_not_be_even_and_a_short_one_is_not_interpolated():
    """Fifteen volumes, the last far off, are fifteen cells; with one more between, the last is still its own."""
    volumes = np.append(np.linspace(20e-6, 34e-6, 14), 60e-6)
    for axis, far in ((volumes, 2e-6), (np.insert(volumes, 14, 35e-6), 1e-4)):  # and 0.02 mV of the tables
        here = specific_energy_map.si(DESIGN, "zinc", axis, np.array([0.072])).specific_energy[0]
        for k in (0, 7, -2, -1):
            cell = Design.varied.si(DESIGN, {"fill volume": axis[k]}).cell("zinc")
            exact = cell.specific_energy("block").to("J/kg").magnitude
            assert here[k] == pytest.approx(exact, rel=far if k != -2 else 0.01)


def test_where_the_metal_takes_over_by_hand():
    """72 g of positives give 3.1 Ah (the list); 1 mol/L holds 53.604 Ah/L: they meet at 57.8 mL."""
    here = specific_energy_map(DESIGN, "zinc", Q_([57.7, 57.9], "mL"), Q_([72.0], "g"))
    assert list(here.limiting[0]) == ["metal ions", "PbO2"]


def test_a_grid_without_a_solution_is_nan():
    here = specific_energy_map.si(
        Design.varied.si(DESIGN, {"fill salt": 1500.0}), "copper", VOLUMES / 1e6, PLATES / 1e3
    )
    assert np.isnan(here.specific_energy).all()
    with pytest.raises(InputError, match="volume is 0 mL"):
        specific_energy_map(DESIGN, "copper", Q_(0, "mL"), Q_(72, "g"))
    with pytest.raises(InputError, match="plates is 0 g"):
        specific_energy_map(DESIGN, "copper", Q_(40, "mL"), Q_(0, "g"))


@pytest.mark.parametrize("axis", [[60, 40], [40, 40], [[40, 60]]], ids=["falls", "twice", "two rows"])
def test_an_axis_that_does_not_rise_is_refused(axis):
    with pytest.raises(InputError, match="volume has to be one row of values that rise"):
        specific_energy_map(DESIGN, "zinc", Q_(axis, "mL"), Q_([50, 72], "g"))
    with pytest.raises(InputError, match="plates has to be one row of values that rise"):
        specific_energy_map(DESIGN, "zinc", Q_([40, 60], "mL"), Q_(axis, "g"))


# --- the live map


@pytest.mark.parametrize("construction", CONSTRUCTIONS)
def test_the_ring_is_the_design(panel, construction):
    panel.choice.value = construction
    cell = DESIGN.cell(construction)
    ring = f"the ring: {cell.specific_energy('block').to('Wh/kg').magnitude:.1f} Wh/kg, limited by {cell.limiting}."
    assert panel.sentence.endswith(ring)


def test_words_follow_the_numbers(panel):
    panel.choice.value = "zinc"
    here = specific_energy_map.si(DESIGN, "zinc", VOLUMES / 1e6, PLATES / 1e3)
    density = here.specific_energy / 3600
    before = DESIGN.cell("lead").specific_energy("block").to("Wh/kg").magnitude
    assert f"{before:.0f} Wh/kg on {np.mean(density > before):.0%} of the map" in panel.sentence
    assert f"at most {density.max():.0f} Wh/kg" in panel.sentence
    shares = re.findall(r"(\d+)%", panel.sentence.split("First to run out")[1])
    assert sum(map(int, shares)) == pytest.approx(100, abs=2)


def test_lines_lie_where_they_should(panel):
    """On the thick line a cell is as good as the block; on a thin one two reagents end together."""
    panel.choice.value = "zinc"
    before = DESIGN.cell("lead").specific_energy("block").to("Wh/kg").magnitude
    for artist, holds in ((panel._even, "density"), (panel._borders, "limits")):
        x, y = (values[np.isfinite(values)] for values in artist.get_data())
        for k in range(0, len(x), 25):
            one = specific_energy_map.si(DESIGN, "zinc", np.array([x[k]]) / 1e6, np.array([y[k]]) / 1e3)
            if holds == "density":
                assert one.specific_energy[0, 0] / 3600 == pytest.approx(before, abs=0.3)
            else:
                least, second, *_ = sorted(charge[0, 0] for charge in one.limits.values())
                assert second == pytest.approx(least, rel=0.02)


@pytest.mark.parametrize("name", ["fill salt", "fill acid", "tank volume", "charge kept by positives"])
def test_picture_and_sentence_follow_each_control(panel, name):
    panel.choice.value = "copper with tank"
    before, start = (panel.png, panel.sentence), panel.boxes[name].value
    panel.boxes[name].value = 0.7 * start
    assert panel.png != before[0]
    assert panel.sentence != before[1]
    panel.boxes[name].value = start
    assert (panel.png, panel.sentence) == before


def test_what_does_not_dissolve_is_said(panel):
    panel.choice.value = "copper"
    panel.boxes["fill salt"].value = 2
    assert panel.sentence.endswith("its solution does not exist anywhere on the map.")
    assert "no such solution" in {text.get_text() for text in panel._names}
    panel.boxes["fill salt"].value = 1


def test_names_on_the_map_are_apart(panel):
    for construction in CONSTRUCTIONS:
        panel.choice.value = construction
        places = [text.get_position() for text in panel._names if text.get_text()]
        for k, (x, y) in enumerate(places):
            assert all(abs(x - a) > 12 or abs(y - b) > 5 for a, b in places[:k]), construction


def test_only_a_design_has_a_map():
    with pytest.raises(InputError, match="it has to be of type Design"):
        design_map(DESIGN.block)


# --- pictures that stay


def test_bars_read_the_bands(found):
    low, middle, high = found.specific_energy("zinc").magnitude
    assert f"zinc rebuild {middle:.0f} ({low:.0f} to {high:.0f})" in band_bars(found).sentence


def test_ranking_reads_the_shares(found):
    shares = found.sensitivity("copper")
    first, share = next(iter(shares.items()))
    assert f"copper rebuild: {first} {share:.0%}," in sensitivity_bars(found, "copper").sentence


def test_the_map_is_about_the_design(tmp_path):
    """Twice the size, without a tank: the axes follow, the tank has no button, the ring lies on the map."""
    big = DESIGN.varied({"fill volume": Q_(200, "mL"), "positive plates": Q_(900, "g"), "capacity": Q_(12.9, "Ah")})
    values = {name: value for name, value in big.values.items() if not name.startswith("tank")}
    big = Design(type(big.values)(values))
    assert "tank" not in band_bars(compare(big, 100)).sentence
    panel = design_map(big)
    assert [key for _, key in panel.choice.options] == [key for key in CONSTRUCTIONS if "tank" not in key]
    x, y = (line[0] for line in panel._mine.get_data())
    assert (x, y) == pytest.approx((200, 300))
    assert map_axes(big)[0][[0, -1]] == pytest.approx([50, 500])
    with_zinc_rows = DESIGN.varied({"zinc fill volume": Q_(60, "mL")})
    zinc = design_map(with_zinc_rows)
    zinc.choice.value = "zinc"
    assert zinc._mine.get_data()[0][0] == pytest.approx(60)
    assert f"{with_zinc_rows.cell('zinc').specific_energy('block').magnitude:.1f} Wh/kg" in zinc.sentence
