"""What the browser tests share: one Playwright, since two cannot be open at once, and one empty Chromium."""

import os
from pathlib import Path

import lab
import pytest


@pytest.fixture(scope="session")
def playwright():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def chromium(playwright):
    started = lab.launch(playwright)
    yield started
    started.close()


@pytest.fixture(scope="session")
def keep():
    """A function that keeps a screenshot of a page in the folder named in BROWSER_ARTEFACTS, where one is."""
    folder = os.environ.get("BROWSER_ARTEFACTS")

    def keep(page, name, **options):
        if folder:
            page.screenshot(path=Path(folder) / f"{name}.png".replace(" ", "_"), **options)

    return keep


@pytest.fixture(scope="session")
def folder(tmp_path_factory):
    """What the server of :func:`server` shows: the lessons as a learner's copy has them, without outputs."""
    folder = tmp_path_factory.mktemp("lessons")
    for path in lab.NOTEBOOKS.glob("[!.]*.ipynb"):
        (folder / path.name).write_text(lab.START["emptied"](path.read_text(encoding="utf-8")), encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def server(folder):
    """The one JupyterLab of a run, as a function from a notebook's name to its address."""
    with lab.jupyter_lab(folder) as address:
        yield address
