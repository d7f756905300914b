"""Lesson 03's pictures: numbers in the sentence are those of the core, refusals are said, pictures follow."""

import pytest

from cellkit import Q_
from cellkit.chemistry.potentials import electrode_potential, rest_voltage
from cellkit.show.figures import ladder
from cellkit.show.panels import VoltPanel


@pytest.fixture
def panel():
    return VoltPanel()


def test_sentence_gives_the_volts_of_the_core(panel):
    for kind, salt in (("lead", 0), ("copper", 0.5), ("zinc", 0.5)):
        volts = rest_voltage(kind, Q_(1, "mol/kg"), Q_(salt, "mol/kg"))
        assert f"{kind} {volts.magnitude:.3f} V" in panel.sentence


@pytest.mark.parametrize(("name", "value"), [("acid", 2.0), ("salt", 0.1), ("temperature", 5)])
def test_picture_and_sentence_follow_each_control(panel, name, value):
    before = panel.png, panel.sentence
    panel.boxes[name].value = value
    assert panel.png != before[0]
    assert panel.sentence != before[1]


def test_salt_leaves_the_lead_cell_alone(panel):
    lead = panel.sentence.split(";")[0]
    panel.boxes["salt"].value = 0.1
    assert panel.sentence.split(";")[0].split(": ")[1] == lead.split(": ")[1]


def test_what_does_not_dissolve_has_no_number(panel):
    panel.boxes["acid"].value, panel.boxes["salt"].value = 3.0, 1.2
    assert "copper not known" in panel.sentence
    assert "lead 2.0" in panel.sentence


def test_ladder_reads_the_gaps():
    state = Q_(1, "mol/kg"), Q_(0.5, "mol/kg"), "zinc"
    levels = {name: electrode_potential(name, *state) for name in ("lead dioxide", "zinc", "hydrogen", "oxygen")}
    gap = (levels["lead dioxide"] - levels["zinc"]).magnitude
    below = (levels["hydrogen"] - levels["zinc"]).magnitude
    sentence = ladder({"zinc": levels}).sentence
    assert f"{gap:.2f} V between its electrodes" in sentence
    assert f"the zinc {below:.2f} V below it" in sentence
