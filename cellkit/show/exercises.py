"""What an exercise answers, and which ones are done; nothing leaves the learner's own folder.

A verdict looks at the unit, then at the usual wrong answers, the sign, the size and last the value, and never gives the
right number away.
"""

import json
import math
from pathlib import Path

from cellkit.tables.saving import write
from cellkit.units import Q_, InputError

DONE = Path("my_progress.json")  # beside the learner's notebook, where its kernel starts


def judge(mine, right, close=0, hint="", slips=None):
    """Words about a learner's answer.

    Parameters
    ----------
    mine : Quantity, number, str or None
        None where there is no answer yet. A plain number will do where ``right`` has no unit.
    right : Quantity, number or str
        Computed, not typed in. A word is one to choose from several.
    close : Quantity or number
        How far off is still right, with the unit of ``right``; nothing for a word or a count.
    hint : str
        What to look at.
    slips : dict
        Usual wrong answers by the words that each deserves; for a word, all the others to choose from.

    Returns
    -------
    str

    Examples
    --------
    >>> judge(Q_(-340, "mV"), Q_(0.34, "V"), Q_(10, "mV"), "Which shelf is the upper one?")
    'Look at the sign first. Which shelf is the upper one?'
    >>> judge("zinc", "copper", slips={"Zinc is eaten by acid, current or not.": "zinc"})
    'Zinc is eaten by acid, current or not.'
    """
    slips = slips or {}
    if mine is None:
        return "not answered yet"
    if isinstance(right, str):
        return _judge_word(mine, right, slips)
    right = Q_(right)
    unit = right.to_base_units().units
    try:
        answer = float(Q_(mine).to(unit).magnitude)
    except Exception:  # whatever a learner types in gets words, not a traceback
        return _about_unit(mine, right)
    if not math.isfinite(answer):
        return "It needs a number, and that is none."
    value, near = right.to(unit).magnitude, Q_(close).to(unit).magnitude if close else 0
    if not math.isfinite(value):
        return "Out of these readings comes no answer to compare with. Look at them again."
    if abs(answer - value) <= near:
        return "Yes."
    if unit.dimensionless and right.units != unit and abs(answer * right.units - right).to(unit).magnitude <= near:
        return f'Percent is a unit here: write Q_({answer:g}, "percent").'
    for words, slip in slips.items():
        slip = Q_(slip).to(unit).magnitude
        if abs(answer - slip) <= near * min(1, 10 * abs(slip / value) if value else 1):
            return words
    if answer * value < 0:
        return f"Look at the sign first. {hint}"
    if not abs(value) / 3 < abs(answer) < 3 * abs(value):
        return f"The size is far off. {hint}"
    return f"Near, but not there yet. {hint}"


def _judge_word(mine, right, slips):
    said = mine.strip().casefold() if isinstance(mine, str) else ""
    if said == right.casefold():
        return "Yes."
    for words, slip in slips.items():
        if said == slip.casefold():
            return words
    return f"Choose one of: {', '.join(sorted([right, *slips.values()], key=str.casefold))}."


def _about_unit(mine, right):
    if right.dimensionless:
        return "It needs a plain number."
    example = f"""such as Q_(1, "{right.units:~}")"""
    if isinstance(mine, Q_):
        return f"Look at the unit: {mine.units:~P} does not fit. What is asked for has one {example}."
    return f"It needs a number with a unit, {example}."


class Exercises:
    """The exercises of one lesson: call it with an answer, and it prints the verdict and keeps what is done.

    Parameters
    ----------
    lesson : str
        Its two digits. What is done is kept in ``my_progress.json`` beside the notebook, by lesson.
    """

    def __init__(self, lesson):
        self.lesson, self._seen = lesson, {}

    def __call__(self, name, mine, right, close=0, hint="", slips=None):
        """Print the verdict of :func:`judge` on the exercise ``name``."""
        verdict = judge(mine, right, close, hint, slips)
        self._seen[name] = verdict == "Yes."
        print(verdict)
        if self._seen[name]:
            self._keep(name)

    def _kept(self):
        """What is done by lesson, from the file."""
        if not DONE.exists():
            return {}
        try:
            kept = json.loads(DONE.read_text(encoding="utf-8"))
            return {str(lesson): [str(name) for name in names] for lesson, names in kept.items()}
        except (ValueError, AttributeError, TypeError):
            raise InputError(f"{DONE} is not a list of exercises any more. Move or delete it and go on.") from None

    def _keep(self, name):
        try:
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
