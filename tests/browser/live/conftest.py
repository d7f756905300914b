"""One page of JupyterLab, and one kernel, for all the tests in this folder: loading it takes longer than most lessons.

Each fixture turns the page to a notebook of its own (``lab.turn_to``) and finds it at whatever size the last one left.
"""

import lab
import pytest


@pytest.fixture(scope="session")
def one_page(server, folder, chromium):
    """The page, on it an empty notebook and beside it no list of files."""
    lab.write(folder / "empty.ipynb", [""])
    with lab.opened(chromium, server("empty.ipynb")) as page:
        page.evaluate("jupyterapp.commands.execute('application:toggle-left-area')")
        yield page
