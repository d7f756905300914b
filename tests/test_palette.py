"""The colours of the cell types can be told apart by eyes of every kind, and in none of them by colour alone.

Eyes are simulated after Machado, Oliveira & Fernandes 2009 (doi:10.1109/TVCG.2009.113) and differences measured in
CAM02-UCS, both by colorspacious. One unit is about what can just be seen between two patches side by side.
"""

import itertools

import numpy as np
import pytest
from colorspacious import cspace_convert, deltaE
from matplotlib.colors import to_rgb

from cellkit.show.figures import COLOURS, LINES

APART = 12  # many times what can just be seen, since lines are thin and lie apart
CONTRAST = 3  # against white, what WCAG 2.2 success criterion 1.4.11 asks of graphics


def seen(colour, eyes):
    rgb = np.array(to_rgb(colour))
    if eyes != "full colour vision":
        rgb = cspace_convert(rgb, {"name": "sRGB1+CVD", "cvd_type": eyes, "severity": 100}, "sRGB1")
    return np.clip(rgb, 0, 1)


@pytest.mark.parametrize("eyes", ["full colour vision", "protanomaly", "deuteranomaly", "tritanomaly"])
@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(COLOURS, 2)))
def test_colours_can_be_told_apart(eyes, one, other):
    assert deltaE(seen(COLOURS[one], eyes), seen(COLOURS[other], eyes), input_space="sRGB1") > APART


def test_lines_differ_without_colour():
    assert len(set(LINES.values())) == len(LINES)


@pytest.mark.parametrize("kind", LINES)
def test_lines_stand_out_from_white(kind):
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(COLOURS[kind])]
    luminance = np.dot([0.2126, 0.7152, 0.0722], linear)
    assert 1.05 / (luminance + 0.05) >= CONTRAST
