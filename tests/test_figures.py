"""Pictures: fixed size, the same bytes each time, words computed from the data, looks that tell cells apart."""

import base64
import gc
import io
import itertools
import json
import warnings

import numpy as np
import pytest
from matplotlib.backends.backend_agg import RendererAgg
from PIL import Image

import cellkit as ck
from cellkit import Q_


def picture():
    return ck.show.mass_bars({"positive plates": Q_(216, "g"), "negative plates": Q_(0.21, "kg"), "rest": Q_(74, "g")})


def test_same_data_gives_the_same_bytes():
    assert picture().png() == picture().png()
    assert picture().png() == (kept := picture()).png() == kept.png()
    assert b"Software" not in picture().png()


def test_a_kept_picture_keeps_no_pixels():
    kept = picture()
    kept.png()
    gc.collect()
    assert kept.figure.axes
    assert [
        each for each in gc.get_objects() if isinstance(each, RendererAgg) and each.width > ck.show.figures.WIDTH
    ] == []


def test_letters_that_the_font_lacks_raise_no_foreign_warning():
    """Nor does half a letter, which no font has."""
    picture = ck.show.mass_bars({"鉛": Q_(3, "g"), "a\ud83d": Q_(2, "g")})
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert picture.png(1).startswith(b"\x89PNG")
    assert "鉛" in picture.sentence


@pytest.mark.parametrize("scale", [1, 2])
def test_size_is_fixed(scale):
    assert Image.open(io.BytesIO(picture().png(scale))).size == (640 * scale, 400 * scale)


def test_bundle_carries_size_and_alternative_text():
    data, metadata = picture().bundle()
    assert data["text/plain"] == "[picture of the sentence above]"
    assert metadata["image/png"] == {"width": 640, "height": 400, "alt": picture().sentence}


def test_displaying_prints_the_sentence_and_leaves_nothing_open(capsys, monkeypatch):
    import IPython.display
    from matplotlib import pyplot

    sent = []
    monkeypatch.setattr(IPython.display, "display", lambda data, **options: sent.append(data))
    own, ax = pyplot.subplots()
    ax.plot([1, 2])
    ck.show.Picture(own, "A line from 1 to 2.")._ipython_display_()
    picture()._ipython_display_()
    assert pyplot.get_fignums() == []
    assert capsys.readouterr().out.splitlines() == ["A line from 1 to 2.", picture().sentence]
    # text, since a kernel inside a browser sends what it is given; it begins with the signature of PNG, ISO/IEC 15948
    assert all(base64.b64decode(data["image/png"])[:8] == b"\x89PNG\r\n\x1a\n" for data in sent)
    assert all(json.dumps(data) for data in sent)


def test_words_of_the_bars():
    # 216 + 210 + 74 = 500 g and 216/500 = 43 %, by hand
    assert picture().sentence == "The parts weigh 500 g. The heaviest: positive plates, 43% of that."
    energies = {"plates": Q_(31.2, "Wh/kg"), "block": Q_(26.3 * 3600, "J/kg")}
    assert ck.show.energy_bars(energies).sentence == "plates: 31 Wh/kg; block: 26 Wh/kg."


def test_words_of_the_curves():
    x = np.linspace(0, 1, 5)
    shown = ck.show.curves(
        x,
        {"copper": 1.2 + 0.1 * x, "copper, ideal": 1.25 + 0.1 * x},
        "State of charge",
        "Rest voltage / V",
        plus_minus={"copper": 0.008},
        levels={"hydrogen": 1.7},
    )
    assert shown.sentence == (
        "Rest voltage as state of charge goes from 0 to 1: copper from 1.2 to 1.3 V (± 0.008 V); "
        "copper, ideal from 1.25 to 1.35 V; hydrogen at 1.7 V."
    )
    ax = shown.figure.axes[0]
    assert (ax.get_xlabel(), ax.get_ylabel()) == ("State of charge", "Rest voltage / V"), "a share has no unit to show"
    assert ax.get_legend() is None
    assert {text.get_text() for text in ax.texts} == {"copper", "copper, ideal", "hydrogen"}
    assert len(ax.collections) == 1, "one band"


def test_names_at_the_ends_do_not_overlap():
    x = np.linspace(0, 1, 3)
    lines = {name: np.full(3, 2.0 + 0.001 * n) for n, name in enumerate(ck.show.figures.LINES)} | {"lead, ideal": x}
    shown = ck.show.curves(x, lines, "State of charge", "Rest voltage / V")
    heights = sorted(text.get_window_extent().y0 for text in shown.figure.axes[0].texts)
    assert min(b - a for a, b in itertools.pairwise(heights)) > 12


def luminance(colour):
    """Relative luminance as in WCAG 2.1 (from memory)."""
    channels = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    linear = np.where(channels <= 0.03928, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def seen_by(colour, matrix):
    """sRGB under a simulated lack of one cone."""
    channels = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.clip(np.array(matrix) @ channels, 0, 1)


# Machado, Oliveira & Fernandes 2009, severity 1.0 (matrices from memory)
DEUTERANOPIA = [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
PROTANOPIA = [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]


def test_cell_types_look_different_to_everybody():
    kinds = list(ck.show.figures.LINES)
    assert len({ck.show.figures.LINES[kind] for kind in kinds}) == len(kinds)
    for one, other in itertools.combinations(kinds, 2):
        for matrix in (np.eye(3), DEUTERANOPIA, PROTANOPIA):
            gap = np.linalg.norm(
                seen_by(ck.show.figures.COLOURS[one], matrix) - seen_by(ck.show.figures.COLOURS[other], matrix)
            )
            assert gap > 0.2, (one, other)


def test_colours_carry_text_on_white():
    for kind in ck.show.figures.LINES:
        assert 1.05 / (luminance(ck.show.figures.COLOURS[kind]) + 0.05) >= 4.5  # WCAG 2.1, 1.4.3 (from memory)


def test_moving_artists_are_drawn_anew_and_the_rest_kept():
    figure, ax = ck.show.figures.canvas()
    bar = ax.barh([0], [1], color=ck.show.figures.COLOURS["zinc"])[0]
    ax.set_xlim(0, 10)
    live = ck.show.figures.Moving(figure, [bar])
    frames = []
    for width in (2, 8, 2):
        bar.set_width(width)
        frames.append(live.png())
    assert frames[0] == frames[2]
    blue = [
        np.sum(np.all(np.asarray(Image.open(io.BytesIO(f)).convert("RGB")) == (11, 111, 184), axis=2)) for f in frames
    ]
    assert blue[1] == pytest.approx(4 * blue[0], rel=0.02)


@pytest.mark.parametrize("ha", ["left", "center", "right"])
@pytest.mark.parametrize("va", ["center", "baseline", "top", "bottom"])
def test_moving_text_stands_where_the_figure_has_it(va, ha):
    figure, ax = ck.show.figures.canvas()
    ax.axis("off")
    text = ax.text(0.5, 0.4, "42 Wh/kg, lamp", va=va, ha=ha, color=ck.show.figures.COLOURS["zinc"], fontsize=9)
    moving = ck.show.figures.Moving(figure, [text])
    frames = moving.png(), ck.show.Picture(figure, "").png(scale=1)
    ink = [np.argwhere(np.asarray(Image.open(io.BytesIO(frame)).convert("L")) < 200) for frame in frames]
    corners = [np.concatenate([places.min(axis=0), places.max(axis=0)]) for places in ink]
    # pixels of about 100: matplotlib before 3.11 rounds the place of each letter, which Pillow does not
    assert np.abs(corners[0] - corners[1]).max() <= 4


def test_moving_text_that_is_hidden_or_nowhere_is_not_written():
    figure, ax = ck.show.figures.canvas()
    text = ax.text(0.5, 0.5, "gone")
    live = ck.show.figures.Moving(figure, [text])
    written = live.png()
    for change in ({"visible": False}, {"visible": True, "text": ""}, {"text": "gone", "x": np.nan}):
        text.set(**change)
        assert live.png() != written
