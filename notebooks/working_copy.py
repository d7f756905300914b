#!/usr/bin/env python3
"""Make a dated copy of the lessons to work in; an update of the course never touches it.

    python3 notebooks/working_copy.py

The copy, such as my_notebooks_2026-05-17, lies beside the folder of the course's own lessons. A copy that is there
already is left exactly as it is.
"""

import shutil
import stat
import sys
import uuid
from datetime import date
from pathlib import Path

LESSONS = Path(__file__).resolve().parent
TEMPLATES = LESSONS.parent / "data" / "bench"
LEFT_BEHIND = shutil.ignore_patterns(".*", "__pycache__", "my_*", Path(__file__).name)


def make(beside, today):
    """Copy lessons and empty templates into a folder named after ``today``; returns its path and whether it is new.

    It is filled under a name of its own and renamed when complete, so that there never is half a copy, not even when
    two are made at once. What is write-protected in the course is not in the copy.
    """
    copy = beside / f"my_notebooks_{today}"
    if copy.exists():
        return copy, False
    part = copy.with_name(f".{copy.name}.{uuid.uuid4().hex}.part")
    try:
        shutil.copytree(LESSONS, part, ignore=LEFT_BEHIND)
        for path in (part, *part.rglob("*")):
            path.chmod(path.stat().st_mode | stat.S_IWUSR)
        for template in TEMPLATES.glob("*_template.csv"):
            shutil.copyfile(template, part / template.name)
        part.rename(copy)
    except OSError:
        if copy.exists():
            return copy, False
        raise
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return copy, True


def main():
    try:
        copy, new = make(LESSONS.parent, date.today())
    except OSError as error:
        sys.exit(f"No copy made: {error}. Look whether the disk is full or the folder may not be written to.")
    if new:
        print(f"{copy.name} is ready. Open its 00_start_here.ipynb and work there; the course itself stays as it is.")
    else:
        print(f"{copy.name} is there already and stays as it is. Rename it first if you want a fresh one today.")


if __name__ == "__main__":
    main()
