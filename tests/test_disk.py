"""A disk that is really full, and one that is really read-only: no work is lost, and the words say what happened.

Each test has a small file system of its own, seen by its own process only and gone with it. Where a process may not
mount one, the stubs in test_sheet.py, test_exercises.py and test_working_copy.py have to do.
"""

import shutil
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
MOUNT = 'mount -t tmpfs -o size=128k none "$0" && exec "$@"'
FILL = """
import os, pathlib, subprocess, sys
os.chdir(sys.argv[1])
def fill():
    with open("filler", "wb", buffering=0) as file:
        try:
            while True:
                file.write(bytes(1024))
        except OSError:
            pass
def close():
    subprocess.run(["mount", "-o", "remount,ro", sys.argv[1]], check=True)
"""
SAVE = """
from cellkit.tables.saving import write
pathlib.Path("my_cell.pdf").write_bytes(b"mine" * 2000)
{trouble}()
try:
    write("my_cell.pdf", b"new" * 5000, replace=True)
except Exception as error:
    print(type(error).__name__, error)
print(pathlib.Path("my_cell.pdf").read_bytes() == b"mine" * 2000)
"""
ANSWER = """
from cellkit.show.exercises import Exercises
many = [f"exercise {{n}}" for n in range(400)]
file = pathlib.Path("04.py")
named = f"dict.fromkeys({{[name.replace(' ', '_') for name in [*many, 'one more']]}}, lambda: Exercise(1))"
file.write_text("from cellkit.show import Exercise; globals().update(" + named + ")")
ask = Exercises("04.py")
file.unlink()
for name in many:
    ask(name, 1)
before = pathlib.Path("my_progress.json").read_bytes()
{trouble}()
ask("one more", 1)
ask.progress()
print(pathlib.Path("my_progress.json").read_bytes() == before)
"""
COPY = """
import runpy, shutil
left_out = shutil.ignore_patterns("*.ipynb", "teaching", "images", "exercises")
shutil.copytree(os.environ["COURSE"], "notebooks", ignore=left_out)
pathlib.Path("notebooks/00_start_here.ipynb").write_bytes(b"{{}}" * 10_000)
{trouble}()
try:
    runpy.run_path("notebooks/working_copy.py", run_name="__main__")
except SystemExit as error:
    print(error)
"""


@cache
def small_disk():
    """The start of a command that sees a file system of 128 kB in the folder that follows; None where it may not."""
    for who in ([], ["--map-root-user"]):
        command = ["unshare", *who, "--mount", "sh", "-c", MOUNT]
        if shutil.which("unshare") and not subprocess.run([*command, "/tmp", "true"], capture_output=True).returncode:
            return command
    return None


def after(folder, work, trouble):
    """What ``work`` printed with the disk in ``trouble``, line by line, and the files left there."""
    if small_disk() is None:
        pytest.skip("a process may not mount a file system of its own here")
    code = f"{FILL}{work.format(trouble=trouble)}\nprint(sorted(os.listdir('.')))"
    command = [*small_disk(), str(folder), sys.executable, "-B", "-c", code, str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    *lines, left = done.stdout.splitlines()
    return lines, left


@pytest.fixture(autouse=True)
def course(monkeypatch):
    monkeypatch.setenv("COURSE", str(ROOT / "notebooks"))
    monkeypatch.setenv("PYTHONIOENCODING", "utf-8")


def test_saving_on_a_full_disk(tmp_path):
    (error, whole), left = after(tmp_path, SAVE, "fill")
    assert error.startswith("InputError 'my_cell.pdf' could not be written: No space left on device.")
    assert "The file that was there is as it was." in error
    assert whole == "True"
    assert left == "['filler', 'my_cell.pdf']"


def test_saving_on_a_read_only_disk(tmp_path):
    (error, whole), left = after(tmp_path, SAVE, "close")
    assert error.startswith("InputError 'my_cell.pdf' could not be written: Read-only file system.")
    assert (whole, left) == ("True", "['my_cell.pdf']")


@pytest.mark.parametrize(
    ("trouble", "why", "also"),
    [("fill", "No space left on device", "'filler', "), ("close", "Read-only file system", "")],
)
def test_an_answer_that_cannot_be_noted_down(tmp_path, trouble, why, also):
    lines, left = after(tmp_path, ANSWER, trouble)
    told = lines.index(next(line for line in lines if line.startswith("(Not noted down:")))
    assert why in lines[told]
    assert lines[told - 1] == "Yes."
    assert lines[told + 1] == "Lesson 04: 401 of 401 exercises done."
    assert lines[-1] == "True"
    assert left == f"[{also}'my_progress.json']"


@pytest.mark.parametrize(
    ("trouble", "why", "also"),
    [("fill", "No space left on device", "'filler', "), ("close", "Read-only file system", "")],
)
def test_no_half_copy_of_the_lessons(tmp_path, trouble, why, also):
    (said,), left = after(tmp_path, COPY, trouble)
    assert said.startswith("No copy made: ")
    assert why in said
    assert said.endswith("Look whether the disk is full or the folder may not be written to.")
    assert left == f"[{also}'notebooks']"
