"""What an exercise or a guess answers, and which exercises are done; nothing leaves the learner's own folder.

What is right, how near is right enough, why, and the words for the usual slips come from a file of the course.
"""

import json
import math
import runpy
from collections import namedtuple
from dataclasses import dataclass, field
from pathlib import Path

from IPython import get_ipython

from cellkit.tables.published import data_path
from cellkit.tables.saving import one_at_a_time, write
from cellkit.tables.text_files import read_quantity
from cellkit.units import Q_, InputError

DONE = Path("my_progress.json")  # beside the learner's notebook, where its kernel starts
Verdict = namedtuple("Verdict", "solved words")  # whether an answer is right, and what the learner is told
_PARTS = {2: "half", 3: "a third", 4: "a quarter"}


@dataclass(frozen=True)
class Exercise:
    """What an answer is compared with.

    ``right`` is computed, not typed in, in the unit that a person would write; a word is one to choose from several.
    ``close`` is how far off is still right, ``why`` one sentence that says why it is right, ``hint`` what to look at.
    ``slips`` maps the words that usual wrong answers deserve to these; ``words`` is what else there is to choose from.

    >>> copper = Exercise(Q_(0.34, "V"), Q_(10, "mV"), hint="Which shelf is the upper one?")
    >>> copper.judge(Q_(-340, "mV")).words
    'Look at the sign first. Which shelf is the upper one?'
    >>> copper.compare(Q_(170, "mV"))
    'Your guess: 170 mV. Here it is 0.34 V, 2 times as much.'
    >>> metal = Exercise("copper", why="It dissolves last.", slips={"Zinc is eaten by acid.": "zinc"})
    >>> metal.judge("Copper")
    Verdict(solved=True, words='Yes. It dissolves last.')
    """

    right: object
    close: object = 0
    why: str = ""
    hint: str = ""
    slips: dict = field(default_factory=dict)
    words: tuple = ()

    def judge(self, mine):
        """The :class:`Verdict` on an answer; None is no answer yet."""
        if mine is None:
            return Verdict(False, "not answered yet")
        solved, words = self._judge_word(mine) if isinstance(self.right, str) else self._judge_number(mine)
        return Verdict(solved, f"{words} {self.why if solved else ''}".strip())

    def compare(self, guess):
        """How far off a guess was, and why, in words; None is no guess yet."""
        if guess is None:
            return "No guess yet."
        if isinstance(self.right, str):
            said, choices = _folded(guess), self._choices()
            if said not in map(_folded, choices):
                return 'A guess could be one of: "{}".'.format('", "'.join(choices))
            if said == _folded(self.right):
                return f'As you guessed: "{self.right}". {self.why}'.strip()
            return f'You guessed "{guess.strip()}"; the answer here is "{self.right}". {self.why}'.strip()
        right = Q_(self.right)
        answer = _si_number(guess, right)
        if answer is None or not math.isfinite(answer):
            return f"A guess could be {_example(right)}."
        value = right.to_base_units().magnitude
        if not math.isfinite(value):
            return "Here comes no number to compare a guess with."
        if right.dimensionless and abs(answer) >= 1 and value and 1 / 3 < answer / 100 / value < 3:
            return f"{_percent(answer)} Here it is {_few_digits(right)}. {self.why}".strip()
        yours = guess.strip() if isinstance(guess, str) else _few_digits(Q_(guess))
        far = _distance(answer, value, _is_share(right))
        return f"Your guess: {yours}. Here it is {_few_digits(right)}, {far}. {self.why}".strip()

    def _judge_number(self, mine):
        right = Q_(self.right)
        unit = right.to_base_units().units
        answer = _si_number(mine, right)
        if answer is None:
            return False, _about_unit(mine, right)
        if not math.isfinite(answer):
            return False, "It needs a number, and that is none."
        value, near = right.to(unit).magnitude, Q_(self.close).to(unit).magnitude if self.close else 0
        if not math.isfinite(value):
            return False, "Out of these readings comes no answer to compare with. Look at them again."
        if abs(answer - value) <= near:
            return True, "Yes."
        if unit.dimensionless and abs(answer / 100 - value) <= near:
            return False, _percent(answer)
        if _is_share(right) and abs(answer * 100 - value) <= near:
            return False, f'That is {100 * answer:.3g} of one hundredth: leave "percent" out, or multiply by 100.'
        for words, slip in self.slips.items():
            slip = Q_(slip).to(unit).magnitude
            within = near * min(1, 10 * abs(slip / value) if value else 1)
            if abs(answer - slip) <= max(within, abs(slip) / 100):  # a slip is rounded too
                return False, words
        far = "Near, but not there yet."
        if answer * value < 0:
            far = "Look at the sign first."
        elif not abs(value) / 3 < abs(answer) < 3 * abs(value):
            far = "The size is far off."
        elif abs(answer - value) > abs(value) / 4:
            far = "Not there yet."
        return False, f"{far} {self.hint}"

    def _judge_word(self, mine):
        if _folded(mine) == _folded(self.right):
            return True, "Yes."
        told = {_folded(word): f"Not that one. {self.hint}".strip() for word in self._choices()}
        told |= {_folded(slip): words for words, slip in self.slips.items()}
        return False, told.get(_folded(mine), f"Choose one of: {', '.join(self._choices())}.")

    def _choices(self):
        return sorted({self.right, *self.slips.values(), *self.words}, key=str.casefold)


def _folded(word):
    return word.strip().casefold() if isinstance(word, str) else ""


def _si_number(mine, right):
    """What was typed in, as a float in the base units of ``right``; None where it does not fit.

    A text is a number and perhaps a unit, and nothing else: it is never computed.
    """
    try:
        if isinstance(mine, str):
            mine = read_quantity(mine)
        mine = getattr(mine, "value", mine)  # an estimate that is given with its interval
        if isinstance(mine, bool):
            return None
        return float(Q_(mine).to(right.to_base_units().units).magnitude)
    except Exception:  # whatever a learner types in gets words, not a traceback
        return None


def _percent(answer):
    return f'Percent is a unit here: write Q_({answer:g}, "percent").'


def _is_share(right):
    """Whether it is written in percent, or the like, and not as a plain number."""
    return right.dimensionless and right.units != Q_(1).units


def _distance(answer, value, share):
    """How ``value`` lies to ``answer``, in words; of a ``share`` in points, as a percent of a percent confuses."""
    if answer == value:
        return "just that"
    if answer == 0 or value == 0:
        return "more than nothing" if value else "nothing at all"
    times = value / answer
    if times < 0:
        return "the other way"
    if 0.95 <= times <= 1.05:
        return "very near"
    if 0.5 < times < 2:
        off = abs(value - answer if share else times - 1)
        return f"{100 * off:.0f} {'percentage points' if share else '%'} {'more' if times > 1 else 'less'}"
    if times >= 2:
        return f"{_few_digits(Q_(times))} times as much"
    return f"{_PARTS.get(round(1 / times), f'1/{1 / times:,.0f}')} of that"


def _few_digits(quantity):
    number = quantity.magnitude
    shown = f"{number:,.0f}" if 1000 <= abs(number) < 1e6 else f"{number:.3g}"
    return f"{shown} {quantity.units:~P}".strip()


def _typed(right):
    """A quantity as a person would type it, with the unit of ``right``."""
    return f'Q_(1, "{right.units:~C}")'.replace("%", "percent").replace("Ω", "ohm")


def _example(right):
    plain = right.dimensionless and not _is_share(right)
    return "a plain number" if plain else f"a number with a unit, such as {_typed(right)}"


def _about_unit(mine, right):
    if isinstance(mine, Q_) and mine.units != Q_(1).units and not right.dimensionless:
        return f"Look at the unit: {mine.units:~P} does not fit. What is asked for has one such as {_typed(right)}."
    return f"It needs {'a plain number' if right.dimensionless else _example(right)}."


class Exercises:
    """The exercises of one file: call it with a name and an answer; it prints the verdict and keeps what is done.

    ``file``: python with one function for each exercise or guess, named like it with ``_`` for a space, that takes the
    values it needs and returns an :class:`Exercise`. It is looked for beside the notebook, in the course's own folder
    and in an installed cellkit. What is done is kept in ``my_progress.json`` beside the notebook, file by file.
    """

    def __init__(self, file):
        paths = [folder / file for folder in (Path(), data_path().parent / "notebooks", data_path())]
        found = next(filter(Path.is_file, paths), None)
        if found is None:
            raise InputError(f"there is no {file!r} here or in the course. Copy the whole folder of lessons.")
        self.lesson, self._asked, self._seen = found.stem, runpy.run_path(str(found)), {}
        if shell := get_ipython():
            shell.set_custom_exc((NameError,), _name_missing)

    def exercise(self, name, *values):
        """The :class:`Exercise` of that name, made from the ``values`` it needs."""
        make = self._asked.get(name.replace(" ", "_"))
        if not callable(make):
            raise InputError(f"there is no exercise {name!r} here; copy its line again from the lesson.")
        return make(*values)

    def judge(self, name, mine, *values):
        """The :class:`Verdict` on an answer to the exercise ``name``; nothing is noted down."""
        return self.exercise(name, *values).judge(mine)

    def __call__(self, name, mine, *values):
        """Print the verdict on the exercise ``name`` and note it down if it is solved."""
        solved, words = self.judge(name, mine, *values)
        self._seen[name] = solved
        print(words)
        if solved:
            self._keep(name)

    def compare_guess(self, name, guess, *values):
        """Print how far off a guess was; it is neither judged nor noted down."""
        print(self.exercise(name, *values).compare(guess))

    def _kept(self):
        """What is done by lesson, from the file."""
        if not DONE.exists():
            return {}
        try:
            kept = json.loads(DONE.read_text(encoding="utf-8-sig"))
            if all(isinstance(names, list) for names in kept.values()):
                return kept
            raise TypeError
        except (ValueError, AttributeError, TypeError, RecursionError):
            raise InputError(f"{DONE} is not a list of exercises any more. Move or delete it and go on.") from None

    def _keep(self, name):
        try:
            with one_at_a_time(DONE):  # two lessons may run side by side
                kept = self._kept()
                done = kept.setdefault(self.lesson, [])
                if name not in done:
                    done.append(name)
                    write(DONE, json.dumps(kept, indent=1).encode(), replace=True)
        except (OSError, InputError) as error:
            print(f"(Not noted down: {error})")

    def progress(self):
        """Print which of the lesson's exercises are done, here or in an earlier sitting."""
        try:
            before = self._kept().get(self.lesson, [])
        except (OSError, InputError) as error:
            print(f"(Earlier answers cannot be read: {error})")
            before = []
        done = {name: right or name in before for name, right in self._seen.items()}
        print(f"Lesson {self.lesson}: {sum(done.values())} of {len(done)} exercises done.")
        for name, yes in done.items():
            print(f"{'done' if yes else 'open'}  {name}")


def _name_missing(shell, kind, error, trace, tb_offset=None):
    """Python's own message for a name that is not there, and what mends it."""
    shell.showtraceback((kind, error, trace), tb_offset=tb_offset)
    print(f"No code cell that has run makes {error.name}. Run those above: menu Run, Run All Above Selected Cell.")
    print("If it is still not there: a word needs quotes, and a name its spelling.")
