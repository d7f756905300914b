"""The live panel without a browser: its controls, its picture and its words follow each other."""

import base64
import gc
import io
import re
import weakref
from dataclasses import replace
from pathlib import Path

import ipywidgets as widgets
import numpy as np
import pytest
import test_own_designs
from PIL import Image

import cellkit as ck
from cellkit import Q_


@pytest.fixture
def live():
    return ck.show.energy_panel(ck.designs.read_design("osier_yard_design.csv"))


def shown(live):
    """Picture bytes, alternative text and sentence as the front end gets them."""
    page = live._screen.value
    data, alt = re.search(r'base64,([^"]+)"', page)[1], re.search(r'alt="([^"]+)"', page)[1]
    return base64.b64decode(data), alt, re.fullmatch(r"<p>(.*)</p>", live._words.value)[1]


def test_each_slider_has_a_labelled_box_that_follows_both_ways(live):
    *_, controls = live._widget.children
    rows = [row.children for row in controls.children[1:]]
    assert len(rows) == 4
    for box, slider in rows:
        assert "/" in box.description
        assert slider.continuous_update
        slider.value = slider.max
        assert box.value == slider.max
        box.value = box.min
        assert slider.value == box.min
        slider.value = box.min + 0.30000000000000004
        assert box.value == round(box.min + 0.3, 6)


@pytest.mark.parametrize("name", ["removed", "put_back", "volume", "salt"])
def test_picture_and_words_follow_every_control(live, name):
    before = shown(live)
    live.boxes[name].value = 0.7 * live.boxes[name].value
    assert shown(live)[0] != before[0]
    assert shown(live)[2] != before[2]
    assert shown(live)[1] == shown(live)[2]


def test_number_is_the_cells_own(live):
    block = ck.cells.read_block("osier_yard_block.csv")
    live.choice.value = "zinc"
    live.boxes["volume"].value = 40
    fill = ck.chemistry.from_molarity(Q_(40, "mL"), acid=Q_(1, "mol/L"), salt=Q_(1, "mol/L"), metal="zinc")
    cell = block.rebuilt_cell(fill, Q_(4, "g"), Q_(20, "Ah"))
    assert f"{cell.specific_energy('plates'):.1f~P}" in live.sentence
    assert f"{cell.capacity:.2f~P}" in live.sentence
    # 40 mL of 1 mol/L hold 0.040 mol; 2 electrons each: 0.040 * 2 * 96485 / 3600 = 2.144 Ah (Faraday's law, by hand)
    assert "2.14 Ah" in live.sentence
    assert live.sentence.endswith("metal ions.")


def test_shortcut_is_the_share_removed(live):
    # all 70 g of negatives out of (216 + 210 + 18 + 168) g / 3 = 204 g a cell, by hand
    assert f"{70 / 204:+.0%}" in live.sentence
    live.boxes["removed"].value = 0
    assert "promises +0%" in live.sentence


def test_shortcut_adds_the_share():
    assert ck.cells.shortcut_ratio(0.35).magnitude == pytest.approx(1.35)
    with pytest.raises(ck.InputError, match="removed"):
        ck.cells.shortcut_ratio(-0.1)


def test_refusals_are_the_cores_own_words(live):
    live.boxes["salt"].value = 2
    with pytest.raises(ck.InputError, match="more than dissolves") as refused:
        ck.chemistry.from_molarity(Q_(44, "mL"), acid=Q_(1, "mol/L"), salt=Q_(2, "mol/L"), metal="copper")
    assert live.sentence == f"No such cell: {refused.value}"


def test_what_cannot_dissolve_is_said_not_drawn(live):
    picture = live.png
    live.boxes["salt"].value = 2
    assert live.sentence.startswith("No such cell: ")
    assert "CuSO4 2 mol/L" in live.sentence
    assert "more than dissolves" in shown(live)[1]
    refused = live.png
    live.boxes["salt"].value = 2.5
    assert live.png == refused, "no picture of a number that does not exist"
    live.boxes["salt"].value = 1
    assert live.png == picture


def test_pictures_keep_one_size_and_few_bytes(live):
    for value in (0, 30, 70):
        live.boxes["removed"].value = value
        image = Image.open(io.BytesIO(live.png))
        assert image.size == (640, 400)
        assert len(live.png) < 20_000
        assert image.convert("RGB").getpixel((3, 3)) == (255, 255, 255)
        assert 'width="640" height="400"' in live._screen.value


def test_callbacks_print_nothing(live, capsys):
    live.choice.value = "zinc"
    live.boxes["salt"].value = 3
    assert capsys.readouterr() == ("", "")


def test_kept_picture_is_the_live_one(live):
    kept = Image.open(io.BytesIO(live.picture().png(scale=1))).convert("L")
    moving = Image.open(io.BytesIO(live.png)).convert("L")
    difference = np.abs(np.asarray(kept, float) - np.asarray(moving, float))
    assert difference.mean() < 1.5  # the palette and hatching anti-alias differently
    assert np.asarray(moving).std() > 10  # not an empty page


def test_picture_in_the_readme_is_the_panels(live):
    path = Path(__file__).parent.parent / "notebooks" / "images" / "energy_panel.png"

    def grey(source):
        return np.asarray(Image.open(source).convert("L"), float)

    # another matplotlib moves glyphs (3.8: 2.2 of 255 on average); a bar that is wrong weighs more
    difference = np.abs(grey(path) - grey(io.BytesIO(live.png))).mean()
    assert difference < 3, f"write it anew: Path({str(path)!r}).write_bytes(panel.png)"
    live.boxes["volume"].value = 60
    assert np.abs(grey(path) - grey(io.BytesIO(live.png))).mean() > 3


def test_shown_as_a_widget_with_fixed_words(live, monkeypatch):
    sent = []
    monkeypatch.setattr(ck.show.live, "display", lambda data, **options: sent.append((data, options)))
    live._ipython_display_()
    ((data, options),) = sent
    assert "application/vnd.jupyter.widget-view+json" in data
    assert data["text/plain"] == "[live control: run this cell to move it]"
    assert options == {"raw": True}


# --- the recipe, the load and the shelf


def moved(panel, **values):
    for name, value in values.items():
        panel.boxes[name.replace("_", " ")].value = value
    return panel


@pytest.fixture(scope="module")
def design():
    return ck.designs.read_design("osier_yard_design.csv")


@pytest.fixture(scope="module", params=[None, *test_own_designs.OWN])
def any_design(request, design, tmp_path_factory):
    """The example and four designs that are nothing like it."""
    if request.param is None:
        return design
    return ck.designs.read_design(test_own_designs.written(request.param, tmp_path_factory.mktemp("own")))


@pytest.fixture(scope="module")
def warmth():
    return ck.logs.fit_arrhenius(ck.logs.read_shelf_log("self_discharge_copper.csv"))


def test_recipe_by_hand(design):
    """A mol of CuSO4·5H2O is 249.685 g, of H2SO4 98.078 g (molar masses from memory)."""
    panel = moved(ck.show.recipe_panel(design), fill_salt=0.5, fill_acid=0.2, fill_volume=100, purity=50)
    crystals, acid = (float(text) for text in re.findall(r"([\d.]+) g of (?:Cu|battery)", panel.sentence))
    assert crystals == pytest.approx(3 * 0.1 * 0.5 * 249.685 / 0.5, abs=0.06)
    assert acid == pytest.approx(3 * 0.1 * 0.2 * 98.078 / 0.37, abs=0.06)
    assert "300 mL" in panel.sentence


def test_recipe_starts_at_the_list_and_follows_each_metals_own_rows(any_design):
    panel = ck.show.recipe_panel(any_design)
    for metal, label in (("copper", "CuSO4·5H2O"), ("zinc", "ZnSO4·7H2O"), ("copper", "CuSO4·5H2O")):
        panel.choice.value = metal
        strength = panel.boxes["fill salt"].value
        assert Q_(strength, "mol/L").to("mol/m^3").m == pytest.approx(any_design.planned("fill salt", metal))
        crystals = any_design.recipe(metal).crystals
        assert f" {crystals:.1f~P} of {label}" in panel.sentence
        cold = ck.designs.Review(any_design, metal).cold()
        says = "stays dissolved" if cold.salt <= cold.least else "may drop" if cold.salt <= cold.most else "drops"
        assert says in panel.sentence
    moved(panel, fill_acid=0.25).choice.value = "zinc"
    assert panel.boxes["fill acid"].value == 0.25, "what is moved stays, where both metals have the same row"


@pytest.mark.parametrize(("name", "more"), [("held electrolyte", "acid"), ("fill salt", "sulfate"), ("purity", None)])
def test_recipe_moves_the_right_way(design, name, more):
    def read():
        return {of: float(many) for many, of in re.findall(r"([\d.]+) (?:mol/L|g) of (\S+?)[ ,.]", panel.sentence)}

    panel = ck.show.recipe_panel(design)
    panel.choice.value = "zinc"
    before = read()
    panel.boxes[name].value *= 0.9
    after = read()
    if more:
        assert after[more] < before[more]
    else:
        assert after["ZnSO4·7H2O"] > before["ZnSO4·7H2O"]


def test_recipe_that_cannot_be_is_said(design):
    panel = moved(ck.show.recipe_panel(design), fill_salt=3)
    assert panel.sentence.startswith("No such cell: ")
    assert "more than dissolves" in panel.sentence
    assert moved(panel, fill_salt=0.5).sentence.startswith("For the whole block weigh out ")


def test_load_is_the_cores_own_sum(any_design):
    panel = ck.show.load_panel(any_design)
    for _, key in panel.choice.options:
        panel.choice.value = key
        current = any_design["load current"]
        assert panel.boxes["current"].value == pytest.approx(current.to("mA").m)
        cell, paths = any_design.cell(key), [any_design.current_path(case) for case in ("nominal", "worst", "best")]
        found = [ck.cells.voltage_under_load(cell, path, current, 0.5) for path in paths]
        volts = [f"{each.terminal.m:.2f}" for each in found]
        assert f"leave {volts[0]} V; with all that is not known at its worst {volts[1]}, at its best {volts[2]}." in (
            panel.sentence
        )
        parts = re.findall(r"[a-z] ([\d.]+)(?=, |\.$)", panel.sentence.split(" lost: ")[1])
        lost = (found[0].rest - found[0].terminal).to("mV").m
        assert sum(map(float, parts)) == pytest.approx(lost, abs=0.4), "seven figures rounded to 0.1"


def test_layers_end_where_the_volts_do(design):
    """The lower edge of the last layer, read from the picture's own corners."""
    panel = moved(ck.show.load_panel(design), current=2000, depth=30)
    lowest = panel._layers[-1].get_paths()[0].vertices[:, 1].max()
    now = ck.cells.voltage_under_load(design.cell("copper"), design.current_path(), Q_(2, "A"), 0.3)
    assert lowest == pytest.approx((now.rest - now.terminal).to("mV").m)
    assert panel._here.get_ydata()[-1] == pytest.approx(lowest)


def test_load_that_leaves_no_volts_is_said(tmp_path):
    weak = ck.designs.read_design("osier_yard_design.csv").varied({"load current": Q_(3, "A")})
    panel = moved(ck.show.load_panel(weak), current=60_000)
    assert "cannot drive 60 A" in panel.sentence
    assert moved(panel, current=0).sentence.count("0.0") >= 7


def test_shelf_panel_is_the_fits_own_answer(warmth):
    panel = ck.show.shelf_panel(warmth)
    first, box = re.search(r"at (\d+) °C with ([\d.]+) %/d", panel.sentence), panel.boxes["rate"]
    assert box.description.startswith(f"Rate at {first[1]} °C")
    assert float(first[2]) == box.value
    for celsius in (5, 25, 35):
        moved(panel, temperature=celsius)
        # first order, by hand: t = -ln(0.8) / k
        days = -np.log(0.8) / warmth.rate_at(Q_(celsius, "degC")).value.to("1/day").m
        assert float(re.search(r"left after ([\d.]+) d", panel.sentence)[1]) == pytest.approx(days, rel=0.01)
    assert "The rate is the slider's" not in panel.sentence
    half = float(re.search(r"left after ([\d.]+) d", moved(panel, rate=2 * box.value).sentence)[1])
    assert half == pytest.approx(days / 2, rel=0.02)
    assert "The rate is the slider's" in panel.sentence


def test_shelf_panel_warns_beyond_the_data(warmth):
    panel = ck.show.shelf_panel(warmth)
    assert "BEYOND THE DATA" in moved(panel, share=30).sentence
    assert "BEYOND THE DATA" not in moved(panel, share=97).sentence
    assert "No shelf of the log" not in panel.sentence
    assert "No shelf of the log" in moved(panel, temperature=panel.boxes["temperature"].max).sentence


@pytest.mark.parametrize("model", ck.logs.DECAY_MODELS)
def test_shelf_panel_shows_every_model(model):
    days, noise = Q_(np.linspace(0, 60, 60), "day"), Q_(0.5, "mAh")
    shares = {"share": 0.3, "fast": Q_(20, "percent/day"), "rate": Q_(1, "percent/day")}
    shares = shares if model == "fast + slow" else {"rate": Q_(1, f"percent/day{'**0.5' if 'root' in model else ''}")}
    log = ck.logs.simulate_shelf_log(model, days, noise, 1, capacity=Q_(1000, "mAh"), **shares)
    # the same at two temperatures: the model's curve and its time are looked at, not the law of Arrhenius
    log = replace(
        log,
        **{
            "temperature": np.repeat([293.15, 303.15], log.time.size),
            **{name: np.tile(getattr(log, name), 2) for name in ("time", "capacity")},
        },
    )
    panel = moved(ck.show.shelf_panel(ck.logs.fit_arrhenius(log, model)), share=70)
    assert float(re.search(r"left after ([\d.]+)", panel.sentence)[1]) > 0
    line = panel._line.get_ydata()
    assert line[0] == pytest.approx(100)
    assert (np.diff(line) <= 0).all()
    band = panel._band.get_paths()[0].vertices
    assert band[:, 1].min() <= line.min() + 1e-9


def test_a_panel_wants_a_fit_and_a_design():
    for call, given in ((ck.show.shelf_panel, 3), (ck.show.load_panel, None), (ck.show.recipe_panel, "x")):
        with pytest.raises(ck.InputError, match="has to be of type"):
            call(given)


@pytest.mark.parametrize("panel", ["energy_panel", "recipe_panel", "load_panel", "design_map"])
def test_arrays_are_refused_in_words(design, panel):
    many = design.varied({"fill volume": Q_([30, 40], "mL")})
    with pytest.raises(ck.InputError, match="fill volume has 2 values; a panel shows one design at a time"):
        getattr(ck.show, panel)(many)


# --- memory


def test_a_panel_that_is_not_kept_is_gone(design):
    """Its figure and pixels; without this, the kernel keeps every panel ever made."""
    panel = ck.show.recipe_panel(design)
    kept = len(widgets.widget._instances)
    figure = weakref.ref(panel.figure)
    del panel
    gc.collect()
    assert figure() is None
    assert len(widgets.widget._instances) < kept


def test_a_cell_that_is_run_again_lets_go_of_the_panel_it_showed(design, monkeypatch):
    """The history of outputs keeps each panel that was a cell's last line."""
    monkeypatch.setattr(ck.show.live, "display", lambda *_, **__: None)
    running = "one"
    monkeypatch.setattr(ck.show.live, "_code_cell", lambda: running)
    history, figures, kept = [], [], []
    for _ in range(4):
        history.append(ck.show.load_panel(design))
        for _ in range(2):
            history[-1]._ipython_display_()
        figures.append(weakref.ref(history[-1].figure))
        kept.append(len(widgets.widget._instances))
    gc.collect()
    assert [figure() is None for figure in figures] == [True, True, True, False]
    assert kept[-1] <= kept[0]
    running = "another"
    history.append(ck.show.load_panel(design))
    history[-1]._ipython_display_()
    assert history[-2].picture().sentence == history[-1].sentence, "another cell's panel stays"


def test_an_old_panel_says_that_it_is_gone(design, monkeypatch, capsys):
    monkeypatch.setattr(ck.show.live, "display", lambda *_, **__: None)
    monkeypatch.setattr(ck.show.live, "_code_cell", lambda: "again")
    old, new = ck.show.load_panel(design), ck.show.load_panel(design)
    old._ipython_display_()
    new._ipython_display_()
    old._ipython_display_()
    assert "its cell was run again" in capsys.readouterr().out
