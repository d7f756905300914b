#!/usr/bin/env python3
"""Open the course in a copy to work in, made if there is none; an update of the course never touches a copy.

    python notebooks/start.py          opens the newest copy
    python notebooks/start.py --new    makes a copy of today first, such as my_notebooks_2026-05-17, and opens that

Any other argument goes to JupyterLab, such as --no-browser.

A copy lies beside the folder of the course's own lessons. It starts without outputs, so that a number in it is one that
you have computed; which exercises are done is carried along from the copy before.
"""

import contextlib
import json
import os
import runpy
import shutil
import sys
import uuid
from datetime import date
from pathlib import Path

LESSONS = Path(__file__).resolve().parent
TEMPLATES = LESSONS.parent / "data" / "bench"
LEFT_BEHIND = shutil.ignore_patterns(".*", "__pycache__", "my_*", Path(__file__).name, "solutions", "teaching")
PROGRESS = "my_progress.json"
LAB = LESSONS.parent / ".lab"
# what no lesson needs: terminals, settings of an older Jupyter, helpers for many languages, which are looked for with
# npm, a manager of extensions, which reads all certificates when it starts, and (by the file in .lab) a question about
# news over the lesson and, at each opening, a search with Node.js for extensions to build
SETTINGS = [
    "--ServerApp.jpserver_extensions={'jupyter_server_terminals': False, 'notebook_shim': False, 'jupyter_lsp': False}",
    "--LabApp.extension_manager=readonly",
    f"--LabApp.app_settings_dir={LAB}",
]


def copies(beside):
    """The copies that are there, oldest first."""
    return sorted(path for path in beside.glob("my_notebooks_*") if any(path.glob("*.ipynb")))


def emptied(text):
    """A lesson as text, without its outputs and the count of its runs."""
    notebook = json.loads(text)
    for cell in notebook["cells"]:
        if cell["cell_type"] == "code":
            cell["outputs"], cell["execution_count"] = [], None
    return json.dumps(notebook, indent=1, ensure_ascii=False) + "\n"


def make(beside, today):
    """Copy lessons and empty templates into a folder named after ``today``; returns its path and whether it is new.

    It is filled under a name of its own and renamed when complete, so that there never is half a copy, not even when
    two are made at once. Rights are those of any new file here, whatever they are in the course.
    """
    copy, before = beside / f"my_notebooks_{today}", copies(beside)
    with contextlib.suppress(OSError):
        copy.rmdir()  # an empty folder is no copy
    while os.path.lexists(copy) and copy not in copies(beside):  # nor is anything else, which stays
        copy = copy.with_name(f"{copy.name}_")
    if copy in copies(beside):
        return copy, False
    part = copy.with_name(f".{copy.name}.{uuid.uuid4().hex}.part")
    try:
        shutil.copytree(LESSONS, part, ignore=LEFT_BEHIND, ignore_dangling_symlinks=True)
        mask = os.umask(0o077)
        os.umask(mask)
        for path in (part, *part.rglob("*")):
            path.chmod((0o777 if path.is_dir() else 0o666) & ~mask)
        for lesson in part.glob("*.ipynb"):
            lesson.write_text(emptied(lesson.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
        for template in TEMPLATES.glob("*_template.csv"):
            shutil.copyfile(template, part / template.name)
        if before and (before[-1] / PROGRESS).is_file():
            shutil.copyfile(before[-1] / PROGRESS, part / PROGRESS)
        part.rename(copy)
    except OSError:
        if copy in copies(beside):
            return copy, False
        raise
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return copy, True


def main():
    beside, today = LESSONS.parent, date.today()
    try:
        there = copies(beside)
        copy, new = make(beside, today) if "--new" in sys.argv or not there else (there[-1], False)
    except OSError as error:
        sys.exit(f"No copy made: {error}. Look whether the disk is full or the folder may not be written to.")
    print(f"{copy.name} {'is ready' if new else 'is there already and stays as it is'}: the lessons to work in.")
    print(
        "To stop: save, close the browser, press Ctrl+C twice in this window. To go on: the same command.", flush=True
    )
    where = [f"--ServerApp.root_dir={beside}", str(copy / "00_start_here.ipynb")]
    more = [argument for argument in sys.argv[1:] if argument != "--new"]
    sys.argv[1:] = ["jupyterlab.labapp", *SETTINGS, *where, *more]
    runpy.run_path(str(LAB / "serve.py"))  # os.execv takes arguments with a space apart on Windows


if __name__ == "__main__":
    main()
