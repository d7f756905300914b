"""Each usual kind of wrong answer gets words of its own, none of them the right number; what is done is not lost."""

import json
import os

import numpy as np
import pint
import pytest

import cellkit as ck
from cellkit import Q_
from cellkit.show.exercises import Exercises, judge

VOLTS = Q_(0.340, "V")
SLIPS = {"That is the other shelf.": Q_(-760, "mV")}


@pytest.mark.parametrize(
    ("mine", "says"),
    [
        (None, "not answered yet"),
        (Q_(0.335, "V"), "Yes."),
        (Q_(340, "mV"), "Yes."),
        (0.34, 'It needs a number with a unit, such as Q_(1, "V").'),
        (Q_(0.34, "A"), 'Look at the unit: A does not fit. What is asked for has one such as Q_(1, "V").'),
        ("0.34 V or so", "It needs a number with a unit"),
        ([1, 2], "It needs a number with a unit"),
        (Q_([0.34, 0.34], "V"), "Look at the unit"),
        (Q_(-0.765, "V"), "That is the other shelf."),
        (Q_(-0.34, "V"), "Look at the sign first. Look up."),
        (Q_(340, "V"), "The size is far off. Look up."),
        (Q_(0.30, "V"), "Near, but not there yet. Look up."),
        (Q_(np.nan, "V"), "It needs a number, and that is none."),
    ],
)
def test_words(mine, says):
    words = judge(mine, VOLTS, Q_(10, "mV"), "Look up.", SLIPS)
    assert words.startswith(says)
    assert "0.34" not in words.replace("0.34 V or so", "")


def test_plain_number_where_there_is_no_unit():
    assert judge(3, 3) == "Yes."
    assert judge(Q_(50, "percent"), Q_(0.5, ""), 0.01) == "Yes."
    assert judge("three", 3) == "It needs a plain number."
    assert judge(79, Q_(79.2, "percent"), Q_(0.5, "percent")) == 'Percent is a unit here: write Q_(79, "percent").'
    assert judge(0.79, Q_(79.2, "percent"), Q_(0.5, "percent")) == "Yes."


def test_readings_without_an_answer():
    assert judge(VOLTS, Q_(np.nan, "V"), Q_(10, "mV")).startswith("Out of these readings comes no answer")


def test_a_tolerance_without_its_unit_is_the_lessons_mistake():
    with pytest.raises(pint.DimensionalityError):
        judge(VOLTS, VOLTS, 0.01)


def test_temperatures():
    assert judge(Q_(298.5, "K"), Q_(25, "degC"), Q_(1, "delta_degC")) == "Yes."
    assert judge(Q_(27, "degC"), Q_(25, "degC"), Q_(1, "delta_degC")).startswith("Near")


def test_a_word_to_choose():
    slips = {"Acid is left over.": "acid", "The felt has room.": "felt"}
    assert judge(" Metal ions ", "metal ions", slips=slips) == "Yes."
    assert judge("ACID", "metal ions", slips=slips) == "Acid is left over."
    assert judge("water", "metal ions", slips=slips) == "Choose one of: acid, felt, metal ions."
    assert judge(3, "metal ions", slips=slips) == "Choose one of: acid, felt, metal ions."


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_done_is_kept_beside_the_notebook(folder, capsys):
    ask = Exercises("04")
    ask("half", None, VOLTS)
    assert list(folder.iterdir()) == []
    ask("half", VOLTS, VOLTS)
    ask("other", None, VOLTS)
    later = Exercises("04")
    later("half", None, VOLTS)
    later("other", Q_(3, "V"), VOLTS)
    Exercises("05")("first", VOLTS, VOLTS)
    capsys.readouterr()
    later.progress()
    assert capsys.readouterr().out == "Lesson 04: 1 of 2 exercises done.\ndone  half\nopen  other\n"
    assert json.loads((folder / ck.show.exercises.DONE).read_text()) == {"04": ["half"], "05": ["first"]}
    assert [path.name for path in folder.iterdir()] == [str(ck.show.exercises.DONE)]


@pytest.mark.parametrize("text", ["{", "[1]", '{"04": 3}'])
def test_a_spoilt_file_is_left_alone_and_said(folder, capsys, text):
    (folder / ck.show.exercises.DONE).write_text(text)
    ask = Exercises("04")
    ask("half", VOLTS, VOLTS)
    ask.progress()
    printed = capsys.readouterr().out
    assert printed.startswith("Yes.\n(Not noted down: my_progress.json is not a list of exercises any more.")
    assert "Lesson 04: 1 of 1 exercises done." in printed
    assert (folder / ck.show.exercises.DONE).read_text() == text


def test_a_full_disk_keeps_the_old_file(folder, capsys, monkeypatch):
    Exercises("04")("half", VOLTS, VOLTS)
    before = (folder / ck.show.exercises.DONE).read_text()

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    Exercises("04")("other", VOLTS, VOLTS)
    assert "No space left" in capsys.readouterr().out
    assert (folder / ck.show.exercises.DONE).read_text() == before
    assert [path.name for path in folder.iterdir()] == [str(ck.show.exercises.DONE)]
