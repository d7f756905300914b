"""Answers in the cells of each lesson: those of its solutions are right, the usual wrong ones are not.

What is right, and the usual wrong answers with the words that a learner has to get, stand in ``exercises/NN.py``. The
answers go through the lesson's own cells.
"""

import ast
import re
import runpy
from pathlib import Path

import nbformat
from played import LESSONS, copied, printed, shown

from cellkit.units import ureg

ROOT = Path(__file__).parent.parent
UNANSWERED = re.compile(r"my_answer = None\b.*\n")
UNGUESSED = re.compile(r"^my_guess = None  # (.*)\n", re.M)  # first in its cell, or after the imports
NAME = re.compile(r'\bask\(\s*"([^"]+)"')
TYPED = re.compile(r'Q_\([^)]*\)|"[^"]*"|\d[\d.]*')
UNIT = re.compile(r'Q_\([^,)]*, "([^"]+)"\)')
NO_GUESS = {"l01-x004", "l07-c008"}  # answered by moving the controls


def exercises(cells):
    """The exercise cells among these by the exercise's name."""
    cells = [cell for cell in cells if cell.cell_type == "code" and UNANSWERED.match(cell.source)]
    return {NAME.search(cell.source)[1]: cell for cell in cells}


def guesses(lesson):
    return [cell for cell in lesson.cells if cell.cell_type == "code" and UNGUESSED.search(cell.source)]


def beside(lesson):
    """The file of the lesson's exercises, as its names."""
    return runpy.run_path(str(ROOT / "notebooks" / "exercises" / f"{lesson.stem[:2]}.py"))


def answered(cell, expression):
    source = UNANSWERED.sub(lambda _: f"from cellkit import Q_\nmy_answer = {expression}\n", cell.source, count=1)
    return nbformat.v4.new_code_cell(source)


def test_solutions_say_what_is_stored(played):
    for stored, solved in zip(played.solutions, played.solved, strict=True):
        assert "stderr" not in [output.get("name") for output in solved.outputs]
        assert shown(solved, pictures=False) == shown(stored, pictures=False), stored.source


def test_answers_of_every_kind(played):
    """Tried where the lesson has been played to its end, so that nothing but the cells asked about runs again."""
    notebook = nbformat.read(played.path, as_version=4)
    asked, known = exercises(notebook.cells), beside(played.path)
    assert 4 <= len(asked) <= 8
    assert {name.replace(" ", "-") for name in asked} == set(played.right)
    assert {name for name, *_ in known["WRONG"]} == set(asked)
    tried = []
    for name, cell in asked.items():
        todo = [(answer, says) for of, answer, says in known["WRONG"] if of == name]
        todo += [(answer, "Yes. ") for of, answer in known.get("ALSO_RIGHT", []) if of == name]
        todo += [('"9**9**9 V"', ""), (played.right[name.replace(" ", "-")], "Yes. ")]
        for expression, says in todo:
            assert len(says) > 3 or "**" in expression, (name, says)
            tried.append((name, expression, says, answered(cell, expression)))
    guessed = [guessed_at(cell) for cell in guesses(notebook)]
    final = [copied(cell) for cell in notebook.cells if cell.source.strip() == "ask.progress()"]
    played.run([*(cell for *_, cell in tried), *guessed, *final])
    verdicts = [(name, expression, says, verdict_of(printed(cell))) for name, expression, says, cell in tried]
    assert [each for each in verdicts if not each[3].startswith(each[2])] == []
    assert [each for each in verdicts if each[2] != "Yes. " and each[3].startswith("Yes.")] == []
    assert [each for each in verdicts if each[2] == "Yes. " and not re.fullmatch(r"Yes\. .+[.]", each[3])] == []
    no_text = [(name, says) for name, expression, _, says in verdicts if "**9" in expression]
    assert [each for each in no_text if not re.match(r"It needs|Choose one of", each[1])] == []
    for name, says in no_text:
        assert UNIT.findall(says) == [] or fits(UNIT.search(says)[1], asked[name].source), (name, says)
    assert [printed(cell).splitlines()[0] for cell in final] == [
        f"Lesson {played.path.stem[:2]}: {len(asked)} of {len(asked)} exercises done."
    ]
    said = [(cell.source, printed(cell)) for cell in guessed]
    assert [
        each for each in said if not re.search(r"^(Your guess|You guessed|As you guessed).+[.]$", each[1], re.M)
    ] == []


def guessed_at(cell):
    """A cell with a guess in it, the one that it names."""
    example = TYPED.search(UNGUESSED.search(cell.source)[1].split("such as ")[-1])[0]
    return copied(cell, UNGUESSED.sub(lambda _: f"my_guess = {example}\n", cell.source))


def verdict_of(text):
    """What ``ask`` printed; the line before it, where there is one, belongs to the cell."""
    return text.strip().splitlines()[-1] if text.strip() else ""


def fits(unit, source):
    """Whether a ``unit`` in a verdict is the one that the cell's own example has, written as a person would."""
    return "*" not in unit and " " not in unit and ureg.Unit(unit) == ureg.Unit(UNIT.search(source)[1])


def test_shipped_unanswered(lesson):
    notebook = nbformat.read(lesson, as_version=4)
    assert [
        cell.id for cell in exercises(notebook.cells).values() if verdict_of(printed(cell)) != "not answered yet"
    ] == []
    assert [cell.id for cell in guesses(notebook) if "No guess yet." not in printed(cell).splitlines()] == []


def test_nothing_that_is_right_is_readable_in_a_cell(lesson):
    """An exercise's cell is ``my_answer = None`` and a call with a name and what the lesson has; no word of a file.

    It gives no name to anything but ``my_answer``, so that nothing breaks where it is left out.
    """
    notebook = nbformat.read(lesson, as_version=4)
    for name, cell in exercises(notebook.cells).items():
        tree = ast.parse(cell.source)
        given = [node for node in ast.walk(tree) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)]
        assert {node.id for node in given} == {"my_answer"}, name
        first, *between, call = tree.body
        assert isinstance(first, ast.Assign)
        assert [node.value.func.id for node in between] in ([], ["print"]), name
        assert call.value.func.id == "ask"
        assert call.value.args[0].value == name
        assert call.value.keywords == []
    words = [text for text in texts(beside(lesson), lesson) if len(text) > 12]
    code = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "code")
    assert [text for text in words if text in code] == []


def texts(known, lesson):
    """Every sentence in the file of exercises."""
    tree = ast.parse((ROOT / "notebooks" / "exercises" / f"{lesson.stem[:2]}.py").read_text(encoding="utf-8"))
    found = [node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)]
    return [text for text in found if text.endswith((".", "?")) and " " in text]


def test_each_prediction_has_a_guess_before_its_answer(lesson):
    notebook = nbformat.read(lesson, as_version=4)
    for at, cell in enumerate(notebook.cells):
        if cell.cell_type == "markdown" and "**Predict" in cell.source and cell.id not in NO_GUESS:
            answer = next(each for each in notebook.cells[at + 1 :] if each.cell_type == "code")
            assert UNGUESSED.search(answer.source), cell.id
    assert [cell.id for cell in guesses(notebook) if cell.source.count("ask.compare_guess(") != 1] == []


def test_every_solution_has_a_lesson():
    assert {path.name for path in (ROOT / "notebooks" / "solutions").glob("*.ipynb")} <= {path.name for path in LESSONS}
    assert [path.stem for path in sorted((ROOT / "notebooks" / "exercises").glob("*.py"))] == [
        path.stem[:2] for path in LESSONS
    ]
