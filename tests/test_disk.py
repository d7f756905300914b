"""A disk that is really full, and one that is really read-only: no work is lost, and the words say what happened.

Each test has a small file system of its own, seen by its own process only and gone with it. Where a process may not
mount one, the stubs in test_sheet.py, test_exercises.py and test_start.py have to do.
"""

import json
import os
import shutil
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path

import pytest

from cellkit import InputError
from cellkit.show.exercises import Exercises
from cellkit.tables import saving
from cellkit.tables.saving import one_at_a_time, write

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
    runpy.run_path("notebooks/start.py", run_name="__main__")
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


# no disk of its own is needed here

RACE = """
import sys, time
from cellkit import InputError
from cellkit.tables.saving import write
letter, begin, *targets = sys.argv[1:]
for number, target in enumerate(targets):
    time.sleep(max(0, float(begin) + 0.3 * number - time.time()))
    try:
        write(target, letter.encode() * 100_000)
        print("saved")
    except InputError as error:
        print(error)
"""


def test_of_savers_that_race_one_wins_and_the_others_are_told(tmp_path):
    """All begin at the same moment; once nearly every race said "saved" to both."""
    targets, begin = [tmp_path / f"sheet{race}.txt" for race in range(5)], str(time.time() + 2.5)
    commands = [[sys.executable, "-c", RACE, letter, begin, *map(str, targets)] for letter in "abc"]
    savers = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for command in commands]
    lines = [saver.communicate(timeout=60)[0].splitlines() for saver in savers]
    for target, *said in zip(targets, *lines, strict=True):
        assert said.count("saved") == 1
        assert sum("is already there" in words for words in said) == 2
        assert target.read_bytes() == "abc"[said.index("saved")].encode() * 100_000


def test_of_threads_that_race_one_wins(tmp_path):
    def save(letter):
        start.wait()
        try:
            write(target, letter.encode())
        except InputError as error:
            return str(error)
        return "saved"

    for race in range(60):
        target, start = tmp_path / f"{race}.txt", threading.Barrier(4)
        with ThreadPoolExecutor(4) as pool:
            said = list(pool.map(save, "abcd"))
        assert said.count("saved") == 1
        assert target.read_text() == "abcd"[said.index("saved")]


@pytest.mark.skipif(os.name != "posix", reason="rights of this kind are POSIX's")
def test_rights_are_kept_and_new_files_follow_the_mask(tmp_path):
    target = tmp_path / "mine.txt"
    before = os.umask(0o027)
    try:
        write(target, b"one")
        assert target.stat().st_mode & 0o777 == 0o640
        target.chmod(0o600)
        write(target, b"two", replace=True)
    finally:
        os.umask(before)
    assert target.stat().st_mode & 0o777 == 0o600


def test_parts_of_killed_writers_go_and_those_of_others_stay(tmp_path):
    target, number = tmp_path / "my[1].txt", "0" * 32
    old, young = tmp_path / f".my[1].txt.{number}.part", tmp_path / f".my[1].txt.{'1' * 32}.part"
    other = tmp_path / f".other.txt.{number}.part"
    for part in (old, young, other):
        part.write_bytes(b"half")
    for part in (old, other):
        os.utime(part, (0, 0))
    write(target, b"whole")
    assert sorted(tmp_path.iterdir()) == sorted([target, young, other])


def test_a_name_that_no_disk_takes_is_refused(tmp_path):
    with pytest.raises(InputError, match="File name too long|cannot be the name"):
        write(tmp_path / ("x" * 300), b"")
    assert write(tmp_path / ("x" * 250), b"").exists()


def test_of_a_saver_that_is_killed_nothing_half_is_seen(tmp_path):
    """Killed at the last step of a first save: no file of that name, so that the next save is not refused."""
    code = (
        "import os, sys\nfrom cellkit.tables.saving import write\n"
        "os.link = os.replace = lambda *_: os._exit(9)\nwrite(sys.argv[1], b'new')"
    )
    assert subprocess.run([sys.executable, "-c", code, str(tmp_path / "mine.txt")], check=False).returncode == 9
    assert not (tmp_path / "mine.txt").exists()
    assert write(tmp_path / "mine.txt", b"again").read_bytes() == b"again"


def test_a_disk_that_knows_one_name_for_a_file(tmp_path, monkeypatch):
    def no(*_):
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no)
    write(tmp_path / "mine.txt", b"one")
    with pytest.raises(InputError, match="is already there"):
        write(tmp_path / "mine.txt", b"two")
    assert [path.read_bytes() for path in tmp_path.iterdir()] == [b"one"]


def test_lessons_that_run_side_by_side_lose_no_answer(tmp_path, monkeypatch):
    """Four note down ten answers each; without a lock all but some fifteen were overwritten by another's older list."""
    monkeypatch.chdir(tmp_path)
    lessons, start = ["03", "04", "05", "06"], threading.Barrier(4)
    for lesson in lessons:
        answers = ", ".join(f"'{lesson}_{n}': lambda: Exercise(1)" for n in range(10))
        Path(f"{lesson}.py").write_text(f"from cellkit.show import Exercise\nglobals().update({{{answers}}})\n")

    def answer(lesson):
        ask = Exercises(f"{lesson}.py")
        start.wait()
        for n in range(10):
            ask(f"{lesson} {n}", 1)

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(answer, lessons))
    kept = json.loads(Path("my_progress.json").read_text())
    assert kept == {lesson: [f"{lesson} {n}" for n in range(10)] for lesson in lessons}
    assert list(tmp_path.glob(".*")) == []


def test_threads_count_one_at_a_time(tmp_path):
    number = tmp_path / "number"
    number.write_text("0")

    def count(_):
        for _ in range(10):
            with one_at_a_time(number):
                number.write_text(str(int(number.read_text()) + 1))

    with ThreadPoolExecutor(20) as pool:
        list(pool.map(count, range(20)))
    assert number.read_text() == "200"


def test_the_lock_of_a_writer_that_was_killed_goes(tmp_path, monkeypatch):
    monkeypatch.setattr(saving, "PATIENCE", 0.1)
    lock = tmp_path / ".mine.lock"
    lock.touch()
    with one_at_a_time(tmp_path / "mine"):
        assert lock.exists()
    assert not lock.exists()
    with pytest.raises(FileNotFoundError), one_at_a_time(tmp_path / "nowhere" / "mine"):
        pass


SPOILT = {
    "deep": "[" * 100_000 + "]" * 100_000,
    "a number for a list": '{"04": 1}',
    "a text for a list": '{"04": "abc"}',
}


@pytest.mark.parametrize("text", SPOILT.values(), ids=SPOILT)
def test_progress_that_is_no_list_of_names_is_left_alone_and_said(tmp_path, monkeypatch, capsys, text):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "04.py").write_text("from cellkit.show import Exercise\none = lambda: Exercise(1)\n")
    Path("my_progress.json").write_text(text)
    ask = Exercises("04.py")
    ask("one", 1)
    ask.progress()
    said = capsys.readouterr().out
    assert said.startswith("Yes.\n(Not noted down: my_progress.json is not a list of exercises any more.")
    assert "1 of 1 exercises done" in said
    assert Path("my_progress.json").read_text() == text


def test_progress_that_an_editor_saved_with_a_mark_in_front_is_read(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "04.py").write_text("from cellkit.show import Exercise\none = lambda: Exercise(1)\n")
    Path("my_progress.json").write_text('{"04": ["two"]}', encoding="utf-8-sig")
    Exercises("04.py")("one", 1)
    assert json.loads(Path("my_progress.json").read_text()) == {"04": ["two", "one"]}
