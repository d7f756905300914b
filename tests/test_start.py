"""A learner's copy of the lessons: dated, empty of outputs, never overwritten; the command that opens it."""

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

ROOT = Path(__file__).parent.parent
DAY = "2026-05-17"


@pytest.fixture
def course(tmp_path):
    """A course folder with a space and an accent in its name, and the script in it as a module."""
    home = tmp_path / "Kurs für mich"
    shutil.copytree(ROOT / "notebooks", home / "notebooks", ignore=shutil.ignore_patterns("my_*", "__pycache__"))
    shutil.copytree(ROOT / "data", home / "data")
    spec = importlib.util.spec_from_file_location("start", home / "notebooks" / "start.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return home, module


def contents(folder):
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_holds_lessons_pictures_and_templates(course):
    home, module = course
    (home / "notebooks" / "my_progress.json").write_text("{}")
    copy, new = module.make(home, DAY)
    assert (copy, new) == (home / f"my_notebooks_{DAY}", True)
    had, made = contents(home / "notebooks"), contents(copy)
    templates = {path.name for path in (home / "data" / "bench").glob("*_template.csv")}
    left = {name.split("/")[0] for name in had if name not in made and "__pycache__" not in name}
    assert left == {"start.py", "my_progress.json", "solutions", "teaching"}
    same = {name: text for name, text in made.items() if name not in templates and not name.endswith(".ipynb")}
    assert same.items() <= had.items()
    assert any(name.startswith("exercises/") for name in same)
    assert templates
    assert templates <= set(made)


def test_lessons_start_without_outputs_and_counts_and_with_all_else(course):
    home, module = course
    copy, _ = module.make(home, DAY)
    for stored in (home / "notebooks").glob("*.ipynb"):
        before, after = (nbformat.read(folder / stored.name, as_version=4) for folder in (home / "notebooks", copy))
        nbformat.validate(after)
        code = [cell for cell in after.cells if cell.cell_type == "code"]
        assert code
        assert not any(cell.outputs or cell.execution_count for cell in code)
        assert [(c.id, c.source, c.metadata) for c in after.cells] == [
            (c.id, c.source, c.metadata) for c in before.cells
        ]


def test_what_is_done_is_carried_along(course):
    home, module = course
    older, _ = module.make(home, "2026-05-16")
    (older / "my_progress.json").write_text('{"00": ["pour"]}')
    (older / "00_start_here.ipynb").write_text("my work")
    copy, _ = module.make(home, DAY)
    assert (copy / "my_progress.json").read_text() == '{"00": ["pour"]}'
    assert "my work" not in (copy / "00_start_here.ipynb").read_text(encoding="utf-8")


def test_an_empty_folder_of_that_name_is_no_copy(course):
    home, module = course
    (home / f"my_notebooks_{DAY}").mkdir()
    copy, new = module.make(home, DAY)
    assert new
    assert (copy / "00_start_here.ipynb").is_file()


def test_what_has_the_name_already_and_is_no_copy_stays(course):
    home, module = course
    (home / f"my_notebooks_{DAY}").symlink_to(home / "nowhere")
    (home / f"my_notebooks_{DAY}_").mkdir()
    (home / f"my_notebooks_{DAY}_" / "notes.txt").write_text("mine")
    copy, new = module.make(home, DAY)
    assert (copy.name, new) == (f"my_notebooks_{DAY}__", True)
    assert module.make(home, DAY) == (copy, False)
    assert (home / f"my_notebooks_{DAY}_" / "notes.txt").read_text() == "mine"


def test_a_link_in_the_course_that_leads_nowhere_is_left_out(course):
    home, module = course
    (home / "notebooks" / "data").symlink_to(home / "nowhere")
    copy, _ = module.make(home, DAY)
    assert (copy / "00_start_here.ipynb").is_file()
    assert not (copy / "data").is_symlink()


@pytest.mark.skipif(os.name != "posix", reason="rights of this kind are POSIX's")
def test_rights_follow_the_mask_not_the_course(course):
    home, module = course
    before = os.umask(0o077)
    try:
        copy, _ = module.make(home, DAY)
    finally:
        os.umask(before)
    assert {path.stat().st_mode & 0o077 for path in (copy, *copy.rglob("*"))} == {0}


def test_a_second_run_changes_nothing(course):
    home, module = course
    copy, _ = module.make(home, DAY)
    (copy / "00_start_here.ipynb").write_text("my work")
    (home / "notebooks" / "01_weigh_the_plates.ipynb").write_text("an update")
    before = contents(copy)
    assert module.make(home, DAY) == (copy, False)
    assert contents(copy) == before


def test_a_full_disk_leaves_no_half_copy(course, monkeypatch):
    home, module = course
    before = sorted(home.iterdir())

    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(module.shutil, "copyfile", full)
    with pytest.raises(OSError, match="No space left"):
        module.make(home, DAY)
    assert sorted(home.iterdir()) == before


def test_a_write_protected_course_gives_a_copy_to_write_in(course):
    home, module = course
    shown = [path for path in (home / "notebooks").rglob("*") if "__pycache__" not in path.parts]
    shown += [home / "notebooks", *(home / "data" / "bench").glob("*")]
    for path in shown:
        path.chmod(path.stat().st_mode & ~0o222)
    try:
        copy, new = module.make(home, DAY)
        assert new
        assert [path.name for path in (copy, *copy.rglob("*")) if not path.stat().st_mode & 0o200] == []
    finally:
        for path in shown:
            path.chmod(path.stat().st_mode | 0o200)


def test_two_at_once_make_one_whole_copy(course):
    home, _ = course
    code = (
        f"import sys; sys.path.insert(0, 'notebooks'); import start; print(start.make(start.LESSONS.parent, '{DAY}'))"
    )
    command = [sys.executable, "-I", "-c", code]
    both = [subprocess.Popen(command, cwd=home, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(2)]
    said = [b"".join(each.communicate()) for each in both]
    [copy] = home.glob("my_notebooks_*")
    assert sorted(b", True)" in words for words in said) == [False, True], said
    assert sorted(b", False)" in words for words in said) == [False, True], said
    assert list(home.glob(".my_notebooks_*")) == []
    lessons = {path.name for path in (home / "notebooks").glob("*.ipynb")}
    assert lessons <= {path.name for path in copy.iterdir()}


@pytest.fixture
def command(course, monkeypatch, capsys):
    """Run the command with JupyterLab's start noted down: what it said, and what it would have opened."""
    _, module = course

    def run(*arguments):
        opened = []
        monkeypatch.setattr(module.sys, "argv", ["start.py", *arguments])
        monkeypatch.setattr(module.runpy, "run_path", lambda script: opened.append([script, *module.sys.argv]))
        module.main()
        return capsys.readouterr().out, opened

    return run


def test_the_command_makes_a_copy_opens_it_and_says_how_to_stop(course, command):
    home, _ = course
    said, [words] = command()
    assert "is ready" in said
    assert "Ctrl+C" in said
    [copy] = home.glob("my_notebooks_*")
    assert words[:3] == [str(home / ".lab" / "serve.py"), "start.py", "jupyterlab.labapp"]
    assert words[-2:] == [f"--ServerApp.root_dir={home}", str(copy / "00_start_here.ipynb")]


def test_the_command_goes_on_in_the_newest_copy_until_it_is_asked_for_another(course, command):
    home, module = course
    module.make(home, "2020-01-01")
    said, [words] = command()
    assert "is there already and stays as it is" in said
    assert words[-1] == str(home / "my_notebooks_2020-01-01" / "00_start_here.ipynb")
    said, [words] = command("--new")
    assert "is ready" in said
    assert len(list(home.glob("my_notebooks_*"))) == 2
