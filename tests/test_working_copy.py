"""A learner's copy of the lessons: complete, dated, and never overwritten."""

import importlib.util
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
DAY = "2026-05-17"


@pytest.fixture
def course(tmp_path):
    """A course folder with a space and an accent in its name, and the script in it as a module."""
    home = tmp_path / "Kurs für mich"
    shutil.copytree(ROOT / "notebooks", home / "notebooks", ignore=shutil.ignore_patterns("my_*", "__pycache__"))
    shutil.copytree(ROOT / "data", home / "data")
    spec = importlib.util.spec_from_file_location("working_copy", home / "notebooks" / "working_copy.py")
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
    left = {name for name in had if name not in made and "__pycache__" not in name}
    assert left == {"working_copy.py", "my_progress.json"}
    assert {name: text for name, text in made.items() if name not in templates}.items() <= had.items()
    assert templates
    assert templates <= set(made)


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
    command = [sys.executable, "-I", "notebooks/working_copy.py"]
    both = [subprocess.Popen(command, cwd=home, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(2)]
    said = [b"".join(each.communicate()) for each in both]
    [copy] = home.glob("my_notebooks_*")
    assert sorted(b"is ready" in words for words in said) == [False, True], said
    assert sorted(b"is there already" in words for words in said) == [False, True], said
    assert list(home.glob(".my_notebooks_*")) == []
    lessons = {path.name for path in (home / "notebooks").glob("*.ipynb")}
    assert lessons <= {path.name for path in copy.iterdir()}


def test_the_command_says_what_it_did(course):
    home, _ = course
    for said in ("is ready", "is there already and stays as it is"):
        done = subprocess.run(
            [sys.executable, "-I", "notebooks/working_copy.py"], cwd=home, capture_output=True, text=True, check=True
        )
        assert said in done.stdout
