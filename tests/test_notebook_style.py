"""How a lesson is written and stored, checked on every notebook."""

import importlib.machinery
import importlib.util
import itertools
import re
import sys
from pathlib import Path

import nbformat
import pytest

ROOT = Path(__file__).parent.parent
NOTEBOOKS = sorted((ROOT / "notebooks").glob("[!.]*.ipynb"))
OPENING = ["On the bench", "Afterwards you can", "Have ready", "Time"]
WIDGET = "application/vnd.jupyter.widget-view+json"
MACHINE_PATHS = re.compile(r"(?<![\w.:/])/(?:home|Users|root|tmp|work|opt|usr)/\w+|\b[A-Z]:\\\w+|site-packages")


@pytest.fixture(params=NOTEBOOKS, ids=[path.stem for path in NOTEBOOKS])
def notebook(request):
    return nbformat.read(request.param, as_version=4)


def cells(notebook, kind):
    return [cell for cell in notebook.cells if cell.cell_type == kind]


def outputs(notebook):
    return [(cell.id, output) for cell in cells(notebook, "code") for output in cell.outputs]


def words(text):
    return len(re.findall(r"\w[\w'’.,/-]*", re.sub(r"\]\([^)]*\)|<[^>]+>", " ", text)))


def test_file_name_is_number_and_verb_phrase():
    assert NOTEBOOKS
    assert [p.name for p in NOTEBOOKS if not re.fullmatch(r"\d\d(_[a-z]+)+\.ipynb", p.name)] == []


def test_stored_as_a_clean_run_leaves_it(notebook):
    assert notebook.metadata.kernelspec.name == "python3"
    assert "widgets" not in notebook.metadata
    assert "version" not in notebook.metadata.language_info
    assert [cell.id for cell in notebook.cells if "execution" in cell.metadata] == []
    counts = [cell.execution_count for cell in cells(notebook, "code")]
    assert counts == list(range(1, len(counts) + 1))
    assert [where for where, output in outputs(notebook) if output.get("name") == "stderr"] == []


def test_errors_are_meant(notebook):
    failing = {where for where, output in outputs(notebook) if output.output_type == "error"}
    meant = {cell.id for cell in notebook.cells if "raises-exception" in cell.metadata.get("tags", [])}
    assert failing == meant


def test_no_path_of_one_machine(notebook):
    assert MACHINE_PATHS.findall(re.sub(r'"image/png": "[^"]*"', "", nbformat.writes(notebook))) == []


def test_size(notebook):
    assert len(notebook.cells) <= 60
    assert sum(words(cell.source) for cell in cells(notebook, "markdown")) <= 2200
    long = [cell.id for cell in cells(notebook, "code") if len(cell.source.splitlines()) > 15]
    assert long == []


def test_opening(notebook):
    opening = notebook.cells[0]
    assert opening.cell_type == "markdown"
    assert opening.source.startswith("# ")
    assert [part for part in OPENING if part.lower() not in opening.source.lower()] == []
    goals = re.search(r"afterwards you can(.*?)have ready", opening.source, re.IGNORECASE | re.DOTALL)[1]
    assert 3 <= len(re.findall(r"^(?:[-*]|\d\.) ", goals, re.MULTILINE)) <= 5
    assert [cell.cell_type for cell in notebook.cells[:3]].count("code") >= 1, "the win comes in the first three cells"


def test_parts_add_up_to_the_time_at_the_top(notebook):
    told = re.search(r"(\d+) minutes to read and run, (\d+) for the (?:\w+ )?exercises", notebook.cells[0].source)
    reading, answering = map(int, told.groups())
    text = "\n".join(cell.source for cell in cells(notebook, "markdown"))
    assert sum(map(int, re.findall(r"Part \d+ of \d+\D+(\d+) minutes", text))) == reading
    assert answering >= 2.5 * sum("ask(" in cell.source for cell in cells(notebook, "code"))


def test_closing(notebook):
    closing = "\n".join(cell.source for cell in notebook.cells[-4:]).lower()
    assert [part for part in ("recap", "in practice", "references") if part not in closing] == []


def test_headings_go_down_one_level_at_a_time(notebook):
    prose = re.sub(r"```.*?```", "", "\n".join(cell.source for cell in cells(notebook, "markdown")), flags=re.DOTALL)
    levels = [len(marks) for marks in re.findall(r"^(#+) ", prose, re.MULTILINE)]
    assert levels.count(1) == 1
    assert [pair for pair in itertools.pairwise(levels) if pair[1] > pair[0] + 1] == []


def test_pictures_are_said_in_words(notebook):
    prose = "\n".join(cell.source for cell in cells(notebook, "markdown"))
    assert re.findall(r"!\[\s*\]\(", prose) == []
    assert [tag for tag in re.findall(r"<img[^>]*>", prose) if not re.search(r'alt="[^"]+"', tag)] == []
    for where, output in outputs(notebook):
        if "image/png" in output.get("data", {}):
            assert words(output.metadata.get("image/png", {}).get("alt", "")) >= 4, where
            assert words(output.data.get("text/plain", "")) >= 4, where


def test_code_needs_no_scrolling(notebook):
    lines = [(cell.id, line) for cell in cells(notebook, "code") for line in cell.source.splitlines()]
    assert [pair for pair in lines if len(pair[1]) > 100] == []


def test_tables_have_header_rows(notebook):
    prose = "\n\n".join(cell.source for cell in cells(notebook, "markdown"))
    headers = re.findall(r"^(\|.*\|)[ ]*\n\|[ :|-]+\|[ ]*$", prose, re.MULTILINE)
    assert len(headers) == len(re.findall(r"(?:^|\n\n)\|", prose)), "a table without a header row"
    assert [row for row in headers if not all(name.strip() for name in row.strip("|").split("|"))] == []


def test_a_live_control_comes_with_questions(notebook):
    live = [n for n, c in enumerate(notebook.cells) if any(WIDGET in o.get("data", {}) for o in c.get("outputs", []))]
    for at in live:
        asked = "".join(cell.source for cell in notebook.cells[at - 1 : at + 2] if cell.cell_type == "markdown")
        assert asked.count("?") >= 2, notebook.cells[at].id
        before = [o for cell in notebook.cells[at - 3 : at + 1] for o in cell.get("outputs", [])]
        assert [o for o in before if "image/png" in o.get("data", {})], f"no picture before {notebook.cells[at].id}"


def test_no_bare_objects_shown(notebook):
    shown = [(where, o.data["text/plain"]) for where, o in outputs(notebook) if "text/plain" in o.get("data", {})]
    assert [(where, text) for where, text in shown if re.match(r"\[?<|Quantity\(", text)] == []


def runner():
    """The script that executes notebooks, as a module."""
    path = str(ROOT / ".ci" / "run_notebooks")
    spec = importlib.util.spec_from_loader("run_notebooks", importlib.machinery.SourceFileLoader("run_notebooks", path))
    module = importlib.util.module_from_spec(spec)
    sys.dont_write_bytecode, before = True, sys.dont_write_bytecode
    spec.loader.exec_module(module)
    sys.dont_write_bytecode = before
    return module


def small_notebook(path, *sources):
    code = [nbformat.v4.new_code_cell(source, id=f"cell-{n}") for n, source in enumerate(sources)]
    nbformat.write(nbformat.v4.new_notebook(cells=code), path)


def test_running_twice_stores_the_same_bytes(tmp_path):
    path = tmp_path / "small.ipynb"
    figure = "import matplotlib.pyplot as plt\nplt.figure(figsize=(2, 2))\nplt.plot([1, 2]);"
    small_notebook(path, "print('a')\nprint('b')", figure, "import ipywidgets\nipywidgets.IntSlider()")
    run = runner().run
    assert run(path) == []
    first = path.read_bytes()
    assert b"matplotlib.org" not in first
    assert b'"widgets"' not in first
    assert run(path, check=True) == []
    assert path.read_bytes() == first


def test_a_warning_is_not_stored(tmp_path):
    path = tmp_path / "small.ipynb"
    small_notebook(path, "import sys\nprint('careful', file=sys.stderr)")
    before = path.read_bytes()
    assert "careful" in runner().run(path)[0]
    assert path.read_bytes() == before
