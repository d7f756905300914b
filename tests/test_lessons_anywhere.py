"""Each lesson where nobody tried it: far from its folder, abroad, offline, every cell twice; and interrupted.

One run of a lesson has all of it at once: a working directory with a space and accents in its name, an empty home
folder, a locale with a decimal comma that is not UTF-8, warnings of cellkit and of the lesson as errors, and, where
the system lets a process be shut in, no network device and the course mounted read-only, which stops even root.
"""

import json
import locale
import os
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from functools import cache
from pathlib import Path

import nbformat
import pytest
from jupyter_client.kernelspec import KernelSpecManager
from jupyter_client.manager import AsyncKernelManager, start_new_kernel
from nbclient import NotebookClient

import cellkit as ck

ROOT = Path(__file__).parent.parent
LESSONS = sorted((ROOT / "notebooks").glob("[!.]*.ipynb"))
WIDGET = "application/vnd.jupyter.widget-view+json"
READ_ONLY = 'mount --bind "$0" "$0" && mount -o remount,ro,bind "$0" && exec "$@"'
START = """
import locale, warnings
locale.setlocale(locale.LC_ALL, "")
warnings.simplefilter("ignore", EncodingWarning)
warnings.filterwarnings("error", module="cellkit|__main__")  # a file opened in the system's own encoding is one
"""
CONDITIONS = """
import json, os, pathlib, socket, cellkit
def refused(attempt):
    try:
        attempt()
    except OSError:
        return True
    return False
print(json.dumps({
    "no network": refused(lambda: socket.create_connection(("192.0.2.1", 9), 1).close()),  # TEST-NET-1 of RFC 5737
    "course that cannot be written to": refused((pathlib.Path(cellkit.__file__).parent / "mine.txt").touch),
    "decimal comma": f"{1.5:n}" == "1,5",
    "encoding other than UTF-8": locale.getencoding().upper() != "UTF-8",
    "far working directory": os.getcwdb().endswith("für mich".encode()),
    "empty home folder": not (pathlib.Path.home() / ".ipython").exists(),
}))
"""


@cache
def shut_in():
    """The start of a command that runs without network and cannot write to the course; empty where there is none."""
    for who in ([], ["--map-root-user"]):
        command = ["unshare", *who, "--net", "--mount", "sh", "-c", READ_ONLY, str(ROOT)]
        if shutil.which("unshare") and not subprocess.run([*command, "true"], capture_output=True).returncode:
            return command
    return []


@pytest.fixture(scope="module")
def abroad(tmp_path_factory):
    """Environment of a process in a German Latin-1 locale, made here where it can be, with nothing in its home."""
    home = tmp_path_factory.mktemp("home")
    dropped = ("XDG_", "LC_", "LANG", "JUPYTER", "IPYTHON", "MPL", "PYTHONUTF8")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(dropped)}
    made = home.parent / "locales"
    made.mkdir()
    if shutil.which("localedef"):
        command = ["localedef", "-i", "de_DE", "-f", "ISO-8859-1", str(made / "de_DE.ISO-8859-1")]
        subprocess.run(command, capture_output=True)
    spoken = {"LC_ALL": "C"}
    if (made / "de_DE.ISO-8859-1").exists():
        spoken = {"LOCPATH": str(made), "LC_ALL": "de_DE.ISO-8859-1"}
    own = {"HOME": str(home), "USERPROFILE": str(home), "IPYTHONDIR": str(home.parent / "ipython")}
    strict = {"PYTHONUTF8": "0", "PYTHONWARNDEFAULTENCODING": "1", "PYTHONWARNINGS": "ignore::EncodingWarning"}
    env = kept | spoken | own | strict
    # matplotlib looks for fonts once; where that takes long it says so, which is neither the lesson's fault nor ours
    subprocess.run([sys.executable, "-c", "import matplotlib.font_manager"], env=env, capture_output=True, check=True)
    return env


@pytest.fixture(scope="module")
def run(abroad, tmp_path_factory):
    """Execute a notebook's cells there; returns the notebook."""
    specs, work = tmp_path_factory.mktemp("kernels"), tmp_path_factory.mktemp("far") / "Übung für mich"
    work.mkdir()
    (specs / "far").mkdir()
    argv = [*shut_in(), sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"]
    spec = {"argv": argv, "display_name": "far", "language": "python"}
    (specs / "far" / "kernel.json").write_text(json.dumps(spec), encoding="utf-8")

    def run(cells):
        notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(START), *cells])
        with tempfile.TemporaryDirectory() as short:  # the name of a socket has 107 bytes at most
            manager = AsyncKernelManager(
                kernel_name="far", kernel_spec_manager=KernelSpecManager(kernel_dirs=[str(specs)])
            )
            if shut_in():
                manager.transport, manager.connection_file = "ipc", f"{short}/k.json"
            NotebookClient(
                notebook, km=manager, timeout=300, coalesce_streams=True, resources={"metadata": {"path": str(work)}}
            ).execute(env=abroad)
        return notebook.cells[1:]

    return run


def shown(cell, pictures=True):
    """What a learner sees below a cell; a live control is another one in each run."""
    seen = []
    for output in cell.outputs:
        data = {kind: value for kind, value in output.get("data", {}).items() if kind != WIDGET}
        if not pictures:
            data.pop("image/png", None)
        words = [output[key] for key in ("name", "text", "ename", "evalue") if key in output]
        seen.append((output.output_type, words, data))
    return seen


def test_the_conditions_are_real(run):
    [cell] = run([nbformat.v4.new_code_cell(CONDITIONS)])
    found = json.loads(cell.outputs[-1].text)
    missing = [name for name, holds in found.items() if not holds]
    if shut_in():
        assert not {"no network", "course that cannot be written to"} & set(missing)
    assert not {"far working directory", "empty home folder"} & set(missing)
    if missing:
        pytest.skip(f"this machine cannot be made to have: {', '.join(missing)}")


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_every_cell_twice_far_away(run, lesson):
    stored = [cell for cell in nbformat.read(lesson, as_version=4).cells if cell.cell_type == "code"]
    again = [nbformat.v4.new_code_cell(cell.source, metadata=cell.metadata) for cell in stored]
    once = [nbformat.v4.new_code_cell(cell.source, metadata=cell.metadata) for cell in stored]
    run([cell for pair in zip(once, again, strict=True) for cell in pair])
    for first, second, kept in zip(once, again, stored, strict=True):
        assert "stderr" not in [output.get("name") for output in first.outputs + second.outputs]
        assert shown(first, pictures=False) == shown(kept, pictures=False), kept.source
        assert shown(second) == shown(first), kept.source


# ---- a home folder that takes nothing, such as in a room's machine or a container

PICTURE = """import cellkit as ck
ck.show.mass_bars(ck.cells.read_block("osier_yard_block.csv").lead_cell().masses).png()"""


def python(code, **surroundings):
    env = {name: value for name, value in os.environ.items() if not name.startswith(("XDG_", "MPL"))}
    command = [sys.executable, "-c", code]
    return subprocess.run(command, env=env | surroundings, cwd=ROOT.parent, capture_output=True, text=True)


@pytest.mark.skipif(os.name == "nt", reason="Windows finds the home folder without HOME")
def test_home_that_cannot_be_written_to():
    done = python(PICTURE, HOME="/dev/null/nobody")
    assert done.returncode == 0, done.stderr


@pytest.mark.skipif(os.name == "nt", reason="Windows finds the home folder without HOME")
def test_a_disk_that_was_full_once_does_not_keep_the_course_from_starting(tmp_path):
    """Whatever lies half-written in the home folder."""
    assert python(PICTURE, HOME=str(tmp_path)).returncode == 0
    for path in tmp_path.rglob("*.pickle"):
        path.write_bytes(path.read_bytes()[:100])
    done = python("import cellkit", HOME=str(tmp_path))
    assert done.returncode == 0, done.stderr


# ---- interrupted


@pytest.mark.skipif(os.name == "nt", reason="on Windows a kernel is interrupted in another way")
def test_an_interrupted_kernel_goes_on(tmp_path):
    """The first cell of lesson 07, stopped at several moments and then left alone, says what is stored.

    After a short run with all its imports: what is stopped while it loads may not survive, and then only a new kernel
    helps.
    """
    lesson = nbformat.read(next(path for path in LESSONS if path.stem.startswith("07")), as_version=4)
    first = next(cell for cell in lesson.cells if cell.cell_type == "code")
    manager, client = start_new_kernel(kernel_name="python3", cwd=str(tmp_path))
    try:

        def ended(code, seconds=None):
            """How a cell ended and what it printed; interrupted after that many ``seconds``."""
            said, key = [], client.execute(code)
            while True:
                try:
                    message = client.get_iopub_msg(timeout=seconds or 120)
                except Exception:  # queue.Empty: it is still at it
                    assert seconds
                    manager.interrupt_kernel()
                    seconds = None
                    continue
                if message["parent_header"].get("msg_id") != key:
                    continue
                kind, content = message["msg_type"], message["content"]
                if kind == "stream":
                    said.append(content["text"])
                if kind == "status" and content["execution_state"] == "idle":
                    return client.get_shell_msg(timeout=60)["content"].get("ename", "ok"), "".join(said)

        assert ended(first.source.replace("10_000", "10"))[0] == "ok"
        long = first.source.replace("10_000", "100_000")
        assert long != first.source
        ends = Counter(ended(long, seconds)[0] for seconds in (0.05, 0.2, 0.8, 2.0))
        assert ends == {"KeyboardInterrupt": 4}
        assert ended(first.source) == ("ok", first.outputs[0].text)
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)


def forget():
    """Empty every cache of cellkit, so that the next call fills it."""
    for name, module in list(sys.modules.items()):
        if name.startswith("cellkit"):
            for value in vars(module).values():
                if hasattr(value, "cache_clear"):
                    value.cache_clear()


def interrupted(work, thing, after):
    """Do ``work`` with Ctrl-C at the call number ``after`` inside cellkit; returns how many calls there were."""
    calls = 0

    def count(frame, event, _):
        nonlocal calls
        if event == "call" and "cellkit" in frame.f_code.co_filename:
            calls += 1
            if calls == after:
                sys.setprofile(None)
                raise KeyboardInterrupt

    sys.setprofile(count)
    try:
        work(thing)
    except KeyboardInterrupt:
        assert calls == after
    finally:
        sys.setprofile(None)
    return calls


def moved(panel):
    box = next(iter(panel.boxes.values()))
    box.value = box.min
    box.value = (box.min + box.max) / 2
    return panel.png, panel.sentence


PLAN = "osier_yard_design.csv"
WORK = {
    "draws": (lambda: ck.designs.read_design(PLAN), lambda plan: ck.designs.compare(plan, 200, seed=1).verdict("zinc")),
    "review": (
        lambda: ck.designs.Review(ck.designs.read_design(PLAN), "copper"),
        lambda review: [repr(finding) for finding in review.findings()],
    ),
    "cycles": (
        lambda: ck.logs.read_bench_log("log_copper.csv"),
        lambda log: [str(log), str(log.cycles), str(log.resistance)],
    ),
    "panel": (lambda: ck.show.energy_panel(ck.designs.read_design("osier_yard_design.csv")), moved),
    "sheet": (
        lambda: ck.show.build_sheet(ck.designs.read_design(PLAN), "copper", "Mine"),
        lambda sheet: [sheet.text, sheet.html],
    ),
}


@pytest.mark.parametrize("name", WORK)
def test_no_half_state_is_left_by_an_interrupt_at_any_call(name):
    make, work = WORK[name]
    expected = work(make())
    forget()
    calls = interrupted(work, make(), after=None)
    assert calls > 5
    for after in sorted({1 + (calls - 1) * n // 7 for n in range(8)}):  # evenly from the first call to the last
        forget()
        thing = make()
        forget()
        interrupted(work, thing, after)
        assert work(thing) == expected, f"after an interrupt at call {after} of {calls}"


def test_the_locale_of_the_tests_is_as_it_was():
    assert locale.localeconv()["decimal_point"] == "."
