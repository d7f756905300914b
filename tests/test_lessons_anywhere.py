"""Each lesson where nobody tried it: far from its folder, abroad, offline, every cell again; and interrupted."""

import json
import locale
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import nbformat
import pytest
from jupyter_client.manager import start_new_kernel
from played import LESSONS, shown, shut_in

import cellkit as ck

ROOT = Path(__file__).parent.parent
CONDITIONS = """
import json, locale, os, pathlib, socket, cellkit
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
    "far working directory": "für mich".encode() in os.getcwdb(),
    "empty home folder": not (pathlib.Path.home() / ".ipython").exists(),
}))
"""


def test_the_conditions_are_real(far):
    [cell] = far.run([nbformat.v4.new_code_cell(CONDITIONS)], anew=far.work)
    found = json.loads(cell.outputs[-1].text)
    missing = [name for name, holds in found.items() if not holds]
    if shut_in():
        assert not {"no network", "course that cannot be written to"} & set(missing)
    assert not {"far working directory", "empty home folder"} & set(missing)
    if missing:
        pytest.skip(f"this machine cannot be made to have: {', '.join(missing)}")


def test_every_cell_far_away(played):
    for stored, once in zip(played.stored, played.once, strict=True):
        assert "stderr" not in [output.get("name") for output in once.outputs]
        assert shown(once, pictures=False) == shown(stored, pictures=False), stored.source


def test_every_cell_again_after_all_others(played):
    """Who goes back and runs a cell once more sees the same: no name stands for two things, and none grows.

    Backward, a cell that changes what an earlier one made does so twice before that makes it anew.
    """
    pairs = zip(played.once, played.again, strict=True)
    assert [once.source for once, again in pairs if shown(again) != shown(once)] == []


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
            said, key, begun = [], client.execute(code), False
            while True:
                try:
                    message = client.get_iopub_msg(timeout=seconds if seconds and begun else 120)
                except Exception:  # queue.Empty: it is still at it
                    assert seconds
                    manager.interrupt_kernel()
                    seconds = None
                    continue
                if message["parent_header"].get("msg_id") != key:
                    continue
                kind, content = message["msg_type"], message["content"]
                begun = begun or kind == "execute_input"  # an interrupt before that is one of nothing
                if kind == "stream":
                    said.append(content["text"])
                if kind == "status" and content["execution_state"] == "idle":
                    while (reply := client.get_shell_msg(timeout=60))["parent_header"].get("msg_id") != key:
                        pass  # a late answer to an earlier question
                    return reply["content"].get("ename", "ok"), "".join(said)

        assert ended(first.source.replace("10_000", "10"))[0] == "ok"
        long = first.source.replace("10_000", "1_000_000")
        assert long != first.source
        ends = Counter(ended(long, seconds)[0] for seconds in (0.05, 0.2, 0.8))
        assert ends == {"KeyboardInterrupt": 3}
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
        lambda: ck.show.build_sheet(ck.designs.read_design(PLAN), "copper"),
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
    for after in sorted({1 + (calls - 1) * n // 4 for n in range(5)}):  # evenly from the first call to the last
        forget()
        thing = make()
        forget()
        interrupted(work, thing, after)
        assert work(thing) == expected, f"after an interrupt at call {after} of {calls}"


def test_the_locale_of_the_tests_is_as_it_was():
    assert locale.localeconv()["decimal_point"] == "."
