"""The live panel without a browser: its controls, its picture and its words follow each other."""

import base64
import io
import re
from pathlib import Path

import numpy as np
import pytest
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
    return base64.b64decode(data), alt, re.search(r"<p[^>]*>(.*)</p>", page)[1]


def test_each_slider_has_a_labelled_box_that_follows_both_ways(live):
    rows = [row.children for row in live._widget.children[3:]]
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
    live.metal.value = "zinc"
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


def test_acid_needs_its_unit():
    design = ck.designs.read_design("osier_yard_design.csv")
    with pytest.raises(ck.InputError, match="acid"):
        ck.show.energy_panel(design, acid=1)


@pytest.mark.parametrize(("acid", "salt", "words"), [(1, 2, "more than dissolves"), (9, 0.05, "no solution")])
def test_refusals_are_the_cores_own_words(acid, salt, words):
    design = ck.designs.read_design("osier_yard_design.csv")
    live = ck.show.energy_panel(design, acid=Q_(acid, "mol/L"))
    live.boxes["salt"].value = salt
    with pytest.raises(ck.InputError, match=words) as refused:
        ck.chemistry.from_molarity(Q_(44, "mL"), acid=Q_(acid, "mol/L"), salt=Q_(salt, "mol/L"), metal="copper")
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


def test_level_is_named_and_checked():
    design = ck.designs.read_design("osier_yard_design.csv")
    assert "of the whole block at rest" in ck.show.energy_panel(design, level="block").sentence
    with pytest.raises(ck.InputError, match="reacting"):
        ck.show.energy_panel(design, level="cell")


def test_pictures_keep_one_size_and_few_bytes(live):
    for value in (0, 30, 70):
        live.boxes["removed"].value = value
        image = Image.open(io.BytesIO(live.png))
        assert image.size == (640, 400)
        assert len(live.png) < 20_000
        assert image.convert("RGB").getpixel((3, 3)) == (255, 255, 255)
        assert 'width="640" height="400"' in live._screen.value


def test_callbacks_print_nothing(live, capsys):
    live.metal.value = "zinc"
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
    monkeypatch.setattr(ck.show.controls, "display", lambda data, **options: sent.append((data, options)))
    live._ipython_display_()
    ((data, options),) = sent
    assert "application/vnd.jupyter.widget-view+json" in data
    assert data["text/plain"] == "[live control: run this cell to move it]"
    assert options == {"raw": True}
