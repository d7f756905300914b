"""A Jupyter server on a free local port and a real Chromium in front of it, for the browser tests and benchmarks."""

import os
import runpy
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import contextmanager
from pathlib import Path

import nbformat

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"
START = runpy.run_path(str(NOTEBOOKS / "start.py"))  # how learners are given lessons and server
FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
).split()
PAGES = {"jupyterlab.labapp": "lab/tree", "notebook.app": "notebooks"}  # where each front end keeps its notebooks
SLIDER = ".jp-Notebook .noUi-handle"
PICTURE = ".jp-Notebook .jp-OutputArea .widget-html img"

# what the page itself can tell: when keys went down and pictures were ready, and frames without a whole picture
WATCH = """(picture) => {
  const height = () => document.querySelector(picture)?.getBoundingClientRect().height ?? 0, whole = height();
  window.seen = {keys: [], pictures: [], frames: 0, blank: 0, ending: new AbortController()};
  const mine = seen, signal = seen.ending.signal;
  document.addEventListener('keydown', () => mine.keys.push(performance.now()), {capture: true, signal});
  document.addEventListener(
    'load', e => e.target.matches?.(picture) && mine.pictures.push(performance.now()), {capture: true, signal});
  (function frame() {
    mine.frames += 1;
    mine.blank += !document.querySelector(picture)?.complete || height() < 0.95 * whole;
    if (!signal.aborted) requestAnimationFrame(frame);
  })();
}"""
PATIENCE = 240_000  # ms that a page waits for anything: workers of pytest share their processors with each other
FORGET = "import ipywidgets; ipywidgets.Widget.close_all(); get_ipython().reset()"
KERNEL_IS_IDLE = "jupyterapp?.shell.currentWidget?.sessionContext?.session?.kernel?.status === 'idle'"


def chromium():
    """Path of the Chromium to drive, or None."""
    names = [os.environ.get("CHROMIUM", ""), "chromium", "chromium-browser", "google-chrome", "chrome"]
    return next((path for path in map(shutil.which, names) if path), None)


@contextmanager
def jupyter_lab(folder, module="jupyterlab.labapp"):
    """A running JupyterLab as learners have it, or Notebook 7, over ``folder``; yields a notebook's address by name."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    token, address = secrets.token_hex(16), f"http://127.0.0.1:{port}"
    settings = [
        f"--port={port}",
        "--ServerApp.port_retries=0",
        f"--IdentityProvider.token={token}",
        f"--ServerApp.root_dir={folder}",
    ]
    options = ["--no-browser", "--allow-root", "--ip=127.0.0.1", "--expose-app-in-browser", *settings]
    own = {f"JUPYTER{name}_DIR": f"{folder}/.jupyter" for name in ("_CONFIG", "LAB_SETTINGS", "LAB_WORKSPACES")}
    own |= {"JUPYTER_PREFER_ENV_PATH": "1"}  # this environment's kernel and nobody's settings
    with open(Path(folder) / "server.log", "wb") as log:
        command = [sys.executable, str(START["LAB"] / "serve.py"), module, *START["SETTINGS"], *options]
        server = subprocess.Popen(command, stdout=log, stderr=log, env=os.environ | own)
        try:
            _wait_for(f"{address}/api", server)
            yield lambda name: f"{address}/{PAGES[module]}/{name}?reset&token={token}"
        finally:
            server.terminate()
            server.wait()


def write(path, sources, meant=()):
    """A notebook of these cells; those numbered ``meant`` raise an error on purpose."""
    cells = [nbformat.v4.new_code_cell(source) for source in sources]
    for number in meant:
        cells[number].metadata["tags"] = ["raises-exception"]
    kernel = {"name": "python3", "display_name": "Python 3"}
    nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata={"kernelspec": kernel}), path)


def _wait_for(address, server):
    for _ in range(300):
        if server.poll() is not None:
            raise RuntimeError("the server ended before it answered; see server.log in its folder")
        try:
            return urllib.request.urlopen(address, timeout=5).close()
        except OSError:
            time.sleep(0.2)
    raise RuntimeError("the server did not answer for a minute")


@contextmanager
def browser():
    """A Chromium with nothing of an earlier run in it."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = launch(playwright)
        yield started
        started.close()


def launch(playwright, *flags):
    return playwright.chromium.launch(executable_path=chromium(), args=[*FLAGS, *flags])


@contextmanager
def opened(browser, address, **screen):
    """A page with the notebook at ``address`` and its idle kernel; ``page.complaints`` gathers console errors."""
    context = browser.new_context(**{"viewport": {"width": 1200, "height": 1600}} | screen)
    context.set_default_timeout(PATIENCE)
    page = context.new_page()
    page.complaints = []
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    page.on("console", lambda m: page.complaints.append(f"{m.text} {m.location['url']}") if m.type == "error" else None)
    page.goto(address)
    page.wait_for_function(f"window.{KERNEL_IS_IDLE}")
    try:
        yield page
    finally:
        page.evaluate("jupyterapp.shell.currentWidget.sessionContext.shutdown()")
        context.close()


def turn_to(page, name):
    """Open the notebook ``name`` on a page of :func:`opened` in place of the one there.

    The kernel is handed on, with no name and no widget in it: to start one takes longer than most lessons.
    """
    page.complaints.clear()
    page.evaluate(
        """async ([path, code]) => {
          window.seen?.ending.abort();
          const before = jupyterapp.shell.currentWidget, kernel = before.sessionContext.session.kernel;
          await kernel.requestExecute({code}).done;
          await jupyterapp.commands.execute('docmanager:open', {path, kernel: {id: kernel.id}});
          before.dispose();
        }""",
        [name, FORGET],
    )
    page.wait_for_function(
        f"path => jupyterapp.shell.currentWidget?.context?.path === path && {KERNEL_IS_IDLE}", arg=name
    )


def run_all(page):
    """Run every cell and wait until each has run; returns the text of each error output."""
    code = "[...jupyterapp.shell.currentWidget.content.model.cells].filter(c => c.type === 'code')"
    page.evaluate("jupyterapp.commands.execute('notebook:run-all-cells')")
    # the command ends at the first error, even one that is meant; the cells after it are still to come
    page.wait_for_function(f"{code}.every(c => c.executionCount)")
    page.wait_for_function(f"window.{KERNEL_IS_IDLE}")
    # a cell that is drawn later moves all below it
    page.wait_for_function("jupyterapp.shell.currentWidget.content.widgets.every(cell => !cell.isPlaceholder())")
    return page.evaluate(
        f"{code}.flatMap(c => c.outputs.toJSON()).filter(o => o.output_type === 'error').map(o => o.evalue)"
    )


def places(panel, *parts):
    """The edges of the last of each of these parts of a panel, in pixels; heights count from the panel's top.

    All in one step: between two questions to a page JupyterLab may scroll it or draw a cell above.
    """
    return panel.evaluate(
        """(panel, parts) => {
          panel.scrollIntoView()
          const above = panel.getBoundingClientRect().top
          return parts.map(part => [...panel.querySelectorAll(part)].at(-1).getBoundingClientRect()).map(
            ({left, right, top, bottom}) => ({left, right, top: top - above, bottom: bottom - above}))
        }""",
        parts,
    )


def press(page, key, tries=1):
    """Press ``key`` and wait for the next picture; milliseconds from the key to the picture, ``tries`` times."""
    taken = []
    for _ in range(tries):
        before = page.evaluate("seen.pictures.length")
        page.keyboard.press(key)
        page.wait_for_function("n => seen.pictures.length > n", arg=before)
        taken.append(page.evaluate("seen.pictures.at(-1) - seen.keys.at(-1)"))
        page.wait_for_timeout(100)
    return taken


def drag(page, slider, steps=60, seconds=2.0):
    """Drag ``slider`` (its number on the page) to its right end; milliseconds until the last picture was there."""
    handle = page.locator(SLIDER).nth(slider).bounding_box()
    track = page.locator(".jp-Notebook .noUi-base").nth(slider).bounding_box()
    x, y = handle["x"] + handle["width"] / 2, handle["y"] + handle["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, steps + 1):
        page.mouse.move(x + (track["x"] + track["width"] - x) * step / steps, y)
        page.wait_for_timeout(1000 * seconds / steps)
    page.evaluate("seen.dragged = performance.now()")
    page.mouse.up()
    page.wait_for_function("performance.now() - Math.max(seen.dragged, seen.pictures.at(-1)) > 1500")
    return page.evaluate("seen.pictures.at(-1) - seen.dragged")
