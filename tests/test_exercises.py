"""Each usual kind of wrong answer gets words of its own, none of them the right number; what is done is not lost."""

import json
import os
import subprocess
import sys

import numpy as np
import pint
import pytest
from IPython.core.interactiveshell import InteractiveShell

import cellkit as ck
from cellkit import Q_
from cellkit.logs.self_discharge import Estimate
from cellkit.show import Exercise, Exercises, exercises

VOLTS = Exercise(Q_(0.340, "V"), Q_(10, "mV"), "It is so.", "Look up.", {"That is the other shelf.": Q_(-760, "mV")})


@pytest.mark.parametrize(
    ("mine", "says"),
    [
        (None, "not answered yet"),
        (Q_(0.335, "V"), "Yes. It is so."),
        (Q_(340, "mV"), "Yes. It is so."),
        ("340 mV", "Yes. It is so."),
        (" -7.6e-1V ", "That is the other shelf."),
        (0.34, 'It needs a number with a unit, such as Q_(1, "V").'),
        (Q_(0.34, "A"), 'Look at the unit: A does not fit. What is asked for has one such as Q_(1, "V").'),
        ("0.34 V or so", "It needs a number with a unit"),
        ("0.34", "It needs a number with a unit"),
        ("0.17 V + 0.17 V", "It needs a number with a unit"),
        ("9**9**9 V", "It needs a number with a unit"),
        ("1 V**9**9**9", "It needs a number with a unit"),
        ("1" * 400 + " V", "It needs a number with a unit"),
        (True, "It needs a number with a unit"),
        ([1, 2], "It needs a number with a unit"),
        (Q_([0.34, 0.34], "V"), "Look at the unit"),
        (Q_(-0.765, "V"), "That is the other shelf."),
        (Q_(-0.34, "V"), "Look at the sign first. Look up."),
        (Q_(340, "V"), "The size is far off. Look up."),
        (Q_(1.01, "V"), "Not there yet. Look up."),
        (Q_(0.20, "V"), "Not there yet. Look up."),
        (Q_(0.30, "V"), "Near, but not there yet. Look up."),
        (Q_(np.nan, "V"), "It needs a number, and that is none."),
    ],
)
def test_words(mine, says):
    solved, words = VOLTS.judge(mine)
    assert words.startswith(says)
    assert "0.34" not in words.replace("0.34 V or so", "")
    assert solved == says.startswith("Yes.")


def test_a_text_is_never_computed():
    """A process that would need an hour for 9**9**9 is done within two minutes, start included."""
    code = "from cellkit import Q_; from cellkit.show import Exercise\n"
    code += "for text in ('9**9**9 V', 'V * 9**9**9', '9 ** 9 ** 9'):\n"
    code += "    print(Exercise(Q_(1, 'V')).judge(text).solved, Exercise(Q_(1, 'V')).compare(text))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=120, check=True)
    assert done.stdout.splitlines() == 3 * ['False A guess could be a number with a unit, such as Q_(1, "V").']


def test_plain_number_where_there_is_no_unit():
    assert Exercise(3).judge(3).solved
    assert Exercise(3).judge("3").solved
    assert Exercise(Q_(0.5, ""), 0.01).judge(Q_(50, "percent")).solved
    assert Exercise(3).judge("three").words == "It needs a plain number."


@pytest.mark.parametrize("right", [0.792, Q_(0.792, ""), Q_(79.2, "percent")])
def test_a_bare_percent_is_told_alike_wherever_a_share_is_asked(right):
    share = Exercise(right, Q_(0.5, "percent"))
    assert share.judge(79).words == 'Percent is a unit here: write Q_(79, "percent").'
    assert share.judge("79").words == share.judge(79).words
    assert share.judge(0.79).solved
    assert share.judge("79 %").solved
    told = share.judge(Q_(0.79, "percent")).words
    assert ("0.79 of one hundredth" in told) == (f"{Q_(right).units}" == "percent")


def test_an_estimate_is_an_answer():
    rate = Estimate(Q_(3, "percent/day"), Q_(2, "percent/day"), Q_(4, "percent/day"))
    assert Exercise(Q_(3, "percent/day"), Q_(0.1, "percent/day")).judge(rate).solved


@pytest.mark.parametrize(
    ("right", "typed"),
    [
        (Q_(84, "Wh"), "Wh"),
        (Q_(3, "percent/day"), "percent/d"),
        (Q_(13, "mohm"), "mohm"),
        (Q_(1.45, "mol/L"), "mol/L"),
        (Q_(0.7, "money/Wh"), "money/Wh"),
    ],
)
def test_the_example_of_a_unit_is_one_that_can_be_typed(right, typed):
    assert Exercise(right).judge("?").words == f'It needs a number with a unit, such as Q_(1, "{typed}").'
    assert Q_(1, typed).units == right.units


def test_a_slip_may_be_rounded():
    load = Exercise(Q_(216, "mohm"), Q_(8, "mohm"), slips={"That is the load's.": Q_(5.124, "ohm")})
    assert load.judge(Q_(5.1, "ohm")).words == "That is the load's."
    assert load.judge(Q_(4.9, "ohm")).words.startswith("The size is far off.")


def test_readings_without_an_answer():
    assert (
        Exercise(Q_(np.nan, "V"), Q_(10, "mV"))
        .judge(Q_(1, "V"))
        .words.startswith("Out of these readings comes no answer")
    )


def test_a_tolerance_without_its_unit_is_the_lessons_mistake():
    with pytest.raises(pint.DimensionalityError):
        Exercise(Q_(0.34, "V"), 0.01).judge(Q_(0.34, "V"))


def test_temperatures():
    room = Exercise(Q_(25, "degC"), Q_(1, "delta_degC"))
    assert room.judge(Q_(298.5, "K")).solved
    assert room.judge(Q_(27, "degC")).words.startswith("Near")


def test_a_word_to_choose():
    metal = Exercise("metal ions", slips={"Acid is left over.": "acid", "The felt has room.": "felt"}, words=("PbO2",))
    assert metal.judge(" Metal ions ") == (True, "Yes.")
    assert metal.judge("ACID") == (False, "Acid is left over.")
    assert metal.judge("water").words == "Choose one of: acid, felt, metal ions, PbO2."
    assert metal.judge("pbo2").words == "Not that one."
    assert metal.judge(3).words == "Choose one of: acid, felt, metal ions, PbO2."


@pytest.mark.parametrize(
    ("right", "guess", "says"),
    [
        (Q_(14400, "C"), None, "No guess yet."),
        (Q_(14400, "C"), Q_(100, "C"), "Your guess: 100 C. Here it is 14,400 C, 144 times as much. So it is."),
        (Q_(14400, "C"), "4 Ah", "Your guess: 4 Ah. Here it is 14,400 C, just that. So it is."),
        (Q_(10, "mAh"), Q_(600, "mAh"), "Your guess: 600 mAh. Here it is 10 mAh, 1/60 of that. So it is."),
        (Q_(10, "mAh"), Q_(40, "mAh"), "Your guess: 40 mAh. Here it is 10 mAh, a quarter of that. So it is."),
        (Q_(25, "Wh/kg"), Q_(20, "Wh/kg"), "Your guess: 20 Wh/kg. Here it is 25 Wh/kg, 25 % more. So it is."),
        (Q_(25, "Wh/kg"), Q_(30, "Wh/kg"), "Your guess: 30 Wh/kg. Here it is 25 Wh/kg, 17 % less. So it is."),
        (1.5, 1.52, "Your guess: 1.52. Here it is 1.5, very near. So it is."),
        (Q_(118, "mV"), Q_(-30, "mV"), "Your guess: -30 mV. Here it is 118 mV, the other way. So it is."),
        (Q_(2, "percent"), 0, "Your guess: 0. Here it is 2 %, more than nothing. So it is."),
        (Q_(88.6, "percent"), 0.5, "Your guess: 0.5. Here it is 88.6 %, 39 percentage points more. So it is."),
        (Q_(2, "percent"), "much", 'A guess could be a number with a unit, such as Q_(1, "percent").'),
        (Q_(34, "percent"), 30, 'Percent is a unit here: write Q_(30, "percent"). Here it is 34 %. So it is.'),
        (Q_(14400, "C"), Q_(4, "C"), "Your guess: 4 C. Here it is 14,400 C, 3,600 times as much. So it is."),
        (Q_(25, "Wh/kg"), 25, 'A guess could be a number with a unit, such as Q_(1, "Wh/kg").'),
        ("zinc", "Zinc", 'As you guessed: "zinc". So it is.'),
        ("zinc", "lead", 'You guessed "lead"; the answer here is "zinc". So it is.'),
        (Q_(np.nan, "V"), Q_(2, "V"), "Here comes no number to compare a guess with."),
        ("zinc", 3, 'A guess could be one of: "lead", "zinc".'),
    ],
)
def test_how_far_off_a_guess_was(right, guess, says):
    assert Exercise(right, why="So it is.", words=("lead", "zinc")).compare(guess) == says


FILE = """
from cellkit import Q_
from cellkit.show import Exercise
half = other = first = lambda volts=0.34: Exercise(Q_(volts, "V"), Q_(10, "mV"), why="Because.")
"""
RIGHT = Q_(0.34, "V")


@pytest.fixture
def folder(tmp_path, monkeypatch):
    (tmp_path / "exercises").mkdir()
    for lesson in ("04", "05"):
        (tmp_path / "exercises" / f"{lesson}.py").write_text(FILE)
    (tmp_path / "mine").mkdir()
    monkeypatch.setattr("cellkit.show.exercises.data_path", lambda: tmp_path)
    monkeypatch.chdir(tmp_path / "mine")
    return tmp_path / "mine"


def test_done_is_kept_beside_the_notebook(folder, capsys):
    ask = Exercises("exercises/04.py")
    ask("half", None)
    assert list(folder.iterdir()) == []
    ask("half", RIGHT)
    ask("other", None)
    later = Exercises("exercises/04.py")
    later("half", None)
    later("other", Q_(3, "V"))
    Exercises("exercises/05.py")("first", RIGHT)
    capsys.readouterr()
    later.progress()
    assert capsys.readouterr().out == "Lesson 04: 1 of 2 exercises done.\ndone  half\nopen  other\n"
    assert json.loads((folder / ck.show.exercises.DONE).read_text()) == {"04": ["half"], "05": ["first"]}
    assert [path.name for path in folder.iterdir()] == [str(ck.show.exercises.DONE)]


@pytest.mark.parametrize("text", ["{", "[1]", '{"04": 3}'])
def test_a_spoilt_file_is_left_alone_and_said(folder, capsys, text):
    (folder / ck.show.exercises.DONE).write_text(text)
    ask = Exercises("exercises/04.py")
    ask("half", RIGHT)
    ask.progress()
    printed = capsys.readouterr().out
    assert printed.startswith("Yes. Because.\n(Not noted down: my_progress.json is not a list of exercises any more.")
    assert "Lesson 04: 1 of 1 exercises done." in printed
    assert (folder / ck.show.exercises.DONE).read_text() == text


def test_a_full_disk_keeps_the_old_file(folder, capsys, monkeypatch):
    Exercises("exercises/04.py")("half", RIGHT)
    before = (folder / ck.show.exercises.DONE).read_text()

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    Exercises("exercises/04.py")("other", RIGHT)
    assert "No space left" in capsys.readouterr().out
    assert (folder / ck.show.exercises.DONE).read_text() == before
    assert [path.name for path in folder.iterdir()] == [str(ck.show.exercises.DONE)]


def test_the_file_beside_the_notebook_comes_first(folder, capsys):
    ask = Exercises("exercises/04.py")
    ask("half", Q_(3, "V"))
    (folder / "exercises").mkdir()
    (folder / "exercises" / "04.py").write_text(FILE.replace("0.34", "3"))
    ask = Exercises("exercises/04.py")
    ask("half", Q_(3, "V"))
    ask("half", Q_(3, "V"), 2)
    assert capsys.readouterr().out.splitlines() == ["The size is far off.", "Yes. Because.", "Not there yet."]


def test_a_file_or_an_exercise_that_is_not_there(folder):
    with pytest.raises(ck.InputError, match="no 'exercises/99.py' here or in the course"):
        Exercises("exercises/99.py")
    with pytest.raises(ck.InputError, match="no exercise 'quarter'"):
        Exercises("exercises/04.py")("quarter", None)


def test_a_guess_is_not_noted_down(folder, capsys):
    ask = Exercises("exercises/04.py")
    ask.compare_guess("half", RIGHT)
    ask.compare_guess("half", None, 2)
    assert capsys.readouterr().out == "Your guess: 0.34 V. Here it is 0.34 V, just that. Because.\nNo guess yet.\n"
    ask.progress()
    assert capsys.readouterr().out == "Lesson 04: 0 of 0 exercises done.\n"
    assert list(folder.iterdir()) == []


def test_a_name_that_is_not_there_yet_says_what_mends_it(folder, monkeypatch, capsys):
    shell = InteractiveShell()
    monkeypatch.setattr(exercises, "get_ipython", lambda: shell)
    Exercises("exercises/04.py")
    assert isinstance(shell.run_cell("copper").error_in_exec, NameError)
    printed = capsys.readouterr().out
    assert "name 'copper' is not defined" in printed
    assert "No code cell that has run makes copper. Run those above: menu Run, Run All Above" in printed
    assert "a word needs quotes" in printed
