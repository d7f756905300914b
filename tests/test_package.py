"""What the installed package must do: bring its data, find them from anywhere, import light."""

import ast
import csv
import inspect
import json
import os
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

import cellkit
from cellkit import environment

ROOT = Path(__file__).parent.parent
HEAVY = ["matplotlib", "ipywidgets", "scipy.optimize", "IPython"]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
    (path,) = folder.glob("cellkit-*.whl")
    return path


def python(code, cwd, **environment):
    """Output of ``code`` in a Python of its own that works in ``cwd``."""
    command = [sys.executable, "-c", code]
    surroundings = os.environ | {"PYTHONIOENCODING": "utf-8"} | environment
    done = subprocess.run(command, cwd=cwd, env=surroundings, capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_wheel_carries_every_data_file(wheel):
    inside = {name for name in zipfile.ZipFile(wheel).namelist() if name.startswith("cellkit/_data/")}
    stored = {
        p.relative_to(ROOT / "data").as_posix() for p in (ROOT / "data").rglob("*.*") if "__pycache__" not in p.parts
    }
    judged = {f"cellkit/_data/exercises/{p.name}" for p in (ROOT / "notebooks" / "exercises").glob("*.py")}
    assert judged
    assert inside == {f"cellkit/_data/{name}" for name in stored} | judged


def test_wheel_finds_its_data_from_another_directory(wheel, tmp_path):
    target, elsewhere = tmp_path / "installed", tmp_path / "elsewhere"
    elsewhere.mkdir()
    zipfile.ZipFile(wheel).extractall(target)  # a pure wheel: unpacking is installing
    code = "import cellkit as ck; print(ck.tables.data_path('reference/density.csv')); ck.tables.table('density')"
    found = Path(python(code, elsewhere, PYTHONPATH=str(target)))
    assert found == target / "cellkit" / "_data" / "reference" / "density.csv"


def test_wheel_judges_an_answer_where_there_is_no_course(wheel, tmp_path):
    """As in the browser, whose pages come without the exercises' files."""
    target, elsewhere = tmp_path / "installed", tmp_path / "elsewhere"
    elsewhere.mkdir()
    zipfile.ZipFile(wheel).extractall(target)
    code = "from cellkit import Q_; from cellkit.show import Exercises\n"
    code += "Exercises('exercises/03.py')('unknown metal', Q_(-0.26, 'V'))"
    assert python(code, elsewhere, PYTHONPATH=str(target)).startswith("Yes. ")


def test_checkout_finds_its_data_from_another_directory(tmp_path):
    code = "import cellkit as ck; print(ck.tables.data_path('reference/density.csv'))"
    found = Path(python(code, tmp_path))
    with found.open(encoding="utf-8") as file:
        assert {row["solute"] for row in csv.DictReader(file)} >= {"H2SO4", "CuSO4", "ZnSO4"}


def test_import_is_light(tmp_path):
    code = f"import sys, cellkit; print([name for name in {HEAVY} if name in sys.modules])"
    assert python(code, tmp_path) == "[]"


def test_lesson_01_runs_without_scipy(tmp_path):
    """Some 14 of the megabytes that a first visit of the browser edition would fetch, and the time to load them."""
    shutil.copytree(ROOT / "notebooks" / "exercises", tmp_path / "exercises")
    lesson = json.loads((ROOT / "notebooks" / "01_weigh_the_plates.ipynb").read_text(encoding="utf-8"))
    cells = ["".join(cell["source"]) for cell in lesson["cells"] if cell["cell_type"] == "code"]
    before = "import sys, pint\nknown = set(sys.modules)"  # pint looks whether there is a scipy, and loads none of it
    loaded = "print([name for name in sys.modules if name.startswith(('matplotlib.', 'scipy.')) and name not in known])"
    names = python("\n".join([before, *cells, loaded]), tmp_path, MPLBACKEND="agg").splitlines()[-1]
    assert "'matplotlib." in names
    assert "'scipy." not in names


def test_environment_check_finds_what_is_missing_and_too_old(monkeypatch):
    versions = {"numpy": "1.2.3", "scipy": None}
    installed = environment._installed
    monkeypatch.setattr(environment, "_installed", lambda name: versions.get(name, installed(name)))
    first, second, advice = environment.check_environment().splitlines()
    assert "numpy is 1.2.3" in first
    assert "scipy is missing" in second
    assert "README.md" in advice


def test_environment_check_compares_numbers_not_letters(monkeypatch):
    monkeypatch.setattr(environment, "_installed", lambda name: "10.0" if name != "Python" else "3.100.0")
    assert environment.check_environment().endswith("everything is in place.")


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md"])
def test_links_lead_somewhere(page):
    links = re.findall(r"\]\((?!https?:)([^)#]+)\)", (ROOT / page).read_text(encoding="utf-8"))
    assert [link for link in links if not (ROOT / link).exists()] == []


def imported(path):
    """Folders and files of cellkit that the source at ``path`` imports from, as the first word after ``cellkit``."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module == "cellkit":
            yield from (alias.name for alias in node.names if alias.name in cellkit.FOLDERS)
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("cellkit."):
            yield node.module.split(".")[1]
        elif isinstance(node, ast.Import):
            yield from (alias.name.split(".")[1] for alias in node.names if alias.name.startswith("cellkit."))


@pytest.mark.parametrize("folder", cellkit.FOLDERS)
def test_a_folder_imports_only_from_itself_and_those_before_it(folder):
    allowed = {"units", *cellkit.FOLDERS[: cellkit.FOLDERS.index(folder) + 1]}
    used = {path.name: set(imported(path)) for path in (ROOT / "cellkit" / folder).glob("*.py")}
    assert {name: found - allowed for name, found in used.items() if found - allowed} == {}
    assert any(folder in found for found in used.values()), "a test that sees nothing"


def test_every_folder_is_in_the_list_and_opens_with_what_it_holds_and_may_import():
    folders = {path.parent.name for path in (ROOT / "cellkit").glob("*/__init__.py")}
    assert folders == set(cellkit.FOLDERS)
    for folder in folders:
        assert "Imports from" in getattr(cellkit, folder).__doc__.splitlines()[0]


def test_units_stand_at_the_bottom():
    assert list(imported(ROOT / "cellkit" / "units.py")) == []


def public(folder):
    """What a lesson may use of a folder: what its ``__init__`` imports."""
    inside = vars(getattr(cellkit, folder)).items()
    return {name for name, thing in inside if not name.startswith("_") and not inspect.ismodule(thing)}


@pytest.mark.parametrize("folder", cellkit.FOLDERS)
def test_a_public_name_is_one_thing(folder):
    """Each name that a lesson may use stands in one folder only."""
    mine = public(folder)
    assert mine
    for other in set(cellkit.FOLDERS) - {folder}:
        assert mine & public(other) == set()
