"""Each lesson run once more with answers in it: those of its solutions are right, the usual wrong ones are not.

The answers go through the lesson's own checks. ``wrong_answers/NN.toml`` has the usual wrong ones, each with the words
that a learner has to get for it.
"""

import json
import re
import tomllib
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

ROOT = Path(__file__).parent.parent
LESSONS = sorted((ROOT / "notebooks").glob("[!.]*.ipynb"))
UNANSWERED = re.compile(r"my_answer = None\b.*\n")
NAME = re.compile(r'\bask\(\s*"([^"]+)"')
KEEP = """
import json, cellkit
given = {{}} if {first} else given
plain = not isinstance(my_answer, cellkit.Q_)
given[{name!r}] = repr(my_answer) if plain else f'Q_({{float(my_answer.magnitude)!r}}, "{{my_answer.units}}")'
print(json.dumps(given))
"""


def run(notebook, folder):
    NotebookClient(
        notebook, timeout=300, kernel_name="python3", resources={"metadata": {"path": str(folder)}}
    ).execute()
    return notebook


def printed(cell):
    return "".join(output.get("text", "") for output in cell.outputs)


def exercises(lesson):
    """The lesson's exercise cells by the exercise's name."""
    cells = [cell for cell in lesson.cells if cell.cell_type == "code" and UNANSWERED.match(cell.source)]
    return {NAME.search(cell.source)[1]: cell for cell in cells}


def worked_out(path, folder):
    """What the solutions give, as Python expressions by exercise."""
    notebook = nbformat.read(path, as_version=4)
    cells = {cell.id.removeprefix("solution-"): cell for cell in notebook.cells if cell.id.startswith("solution-")}
    for number, (name, cell) in enumerate(cells.items()):
        cell.source += KEEP.format(first=number == 0, name=name)
    run(notebook, folder)
    return json.loads(printed(list(cells.values())[-1]).splitlines()[-1])


def answered(cell, expression):
    source = UNANSWERED.sub(lambda _: f"from cellkit import Q_\nmy_answer = {expression}\n", cell.source, count=1)
    return nbformat.v4.new_code_cell(source)


def wrong_answers(lesson):
    path = ROOT / "tests" / "wrong_answers" / f"{lesson}.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))["wrong"]


@pytest.fixture(scope="module", params=LESSONS, ids=[path.stem for path in LESSONS])
def lesson(request):
    return request.param


def test_answers_of_every_kind(lesson, tmp_path):
    notebook = nbformat.read(lesson, as_version=4)
    asked = exercises(notebook)
    assert 4 <= len(asked) <= 8
    right = worked_out(lesson.parent / "solutions" / lesson.name, tmp_path)
    assert {name.replace(" ", "-") for name in asked} == set(right)
    wrong = wrong_answers(lesson.stem[:2])
    assert {entry["exercise"] for entry in wrong} == set(asked)
    tried = []
    for name, cell in asked.items():
        at = notebook.cells.index(cell)
        todo = [(entry["answer"], entry["says"]) for entry in wrong if entry["exercise"] == name]
        todo.append((right[name.replace(" ", "-")], "Yes."))
        for expression, says in todo:
            assert len(says) > 3, (name, says)
            tried.append((name, expression, says, answered(cell, expression)))
        notebook.cells[at : at + 1] = [new for _, _, _, new in tried[-len(todo) :]]
    run(notebook, tmp_path)
    verdicts = [(name, expression, says, printed(cell).strip()) for name, expression, says, cell in tried]
    assert [each for each in verdicts if not each[3].startswith(each[2])] == []
    assert [each for each in verdicts if each[2] != "Yes." and each[3].startswith("Yes.")] == []
    final = [printed(cell) for cell in notebook.cells if cell.source.strip() == "ask.progress()"]
    assert [text.splitlines()[0] for text in final] == [
        f"Lesson {lesson.stem[:2]}: {len(asked)} of {len(asked)} exercises done."
    ]


def test_shipped_unanswered(lesson):
    cells = exercises(nbformat.read(lesson, as_version=4)).values()
    assert [cell.id for cell in cells if printed(cell).strip() != "not answered yet"] == []


def test_every_solution_has_a_lesson():
    assert {path.name for path in (ROOT / "notebooks" / "solutions").glob("*.ipynb")} <= {path.name for path in LESSONS}
