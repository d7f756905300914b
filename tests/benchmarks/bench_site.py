"""How heavy the in-browser edition is, how long a first visit takes, what lessons cost of memory; run by hand.

    python tests/benchmarks/bench_site.py [SITE ...]

Measured are built sites, one after the other, or one that is built here. One learner with an empty browser opens lesson
01, waits for Python, runs all of it, opens lesson 02 beside it, runs all of that, and shuts lesson 02 again. Bytes are
those of the files that were asked for, as they lie there and as a server sends them that compresses text. Memory is the
proportional set size of all processes of the browser.
"""

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))

import lab
import psutil
import static_site
from playwright.sync_api import sync_playwright


def main():
    with tempfile.TemporaryDirectory() as folder:
        for site in map(Path, sys.argv[1:]) if sys.argv[1:] else [static_site.built(Path(folder) / "site")]:
            measure(site)


def measure(site):
    """Print what one site weighs and how long a first visit to it takes."""
    files = [f"/{path.relative_to(site).as_posix()}" for path in site.rglob("*") if path.is_file()]
    print(weight(site.name, site, files))
    with (
        static_site.served(site) as (address, asked),
        sync_playwright() as playwright,
        static_site.shut_in_browser(playwright) as (browser, tried),
    ):
        page = browser.new_page()
        print(f"browser with an empty page: {memory():.0f} MiB")
        start = time.perf_counter()
        page.goto(f"{address}/lab/index.html?path=01_weigh_the_plates.ipynb")
        page.wait_for_selector(".jp-Notebook .jp-RenderedMarkdown h1", timeout=240_000)
        said = [f"lesson shown after {time.perf_counter() - start:.1f} s"]
        page.wait_for_function(f"window.{lab.KERNEL_IS_IDLE}", timeout=240_000)
        said.append(f"Python ready after {time.perf_counter() - start:.1f} s")
        static_site.run_all(page)
        said.append(f"lesson 01 run after {time.perf_counter() - start:.1f} s")
        print(", ".join(said))
        print(f"one lesson open: {memory():.0f} MiB")
        start = time.perf_counter()
        page.evaluate("void jupyterapp.commands.execute('docmanager:open', {path: '02_mix_the_electrolyte.ipynb'})")
        page.wait_for_function(
            f"jupyterapp.shell.currentWidget?.context?.path.startsWith('02') && {lab.KERNEL_IS_IDLE}",
            timeout=240_000,
        )
        static_site.run_all(page)
        print(f"lesson 02 opened and run in {time.perf_counter() - start:.1f} s")
        print(f"two lessons open: {memory():.0f} MiB")
        page.evaluate("jupyterapp.shell.currentWidget.sessionContext.shutdown()")
        page.evaluate("jupyterapp.shell.currentWidget.dispose()")
        page.wait_for_timeout(5000)
        print(f"one of them shut: {memory():.0f} MiB")
        got = {path for path, code in asked if code == 200}
        print(weight("first visit", site, got))
        print(f"asked of anybody else: {tried or 'nothing'}")


def memory():
    """Memory [MiB] of the browser that this process started."""
    family = [each for each in psutil.Process().children(recursive=True) if "chrom" in each.name()]
    return sum(each.memory_full_info().pss for each in family) / 2**20


def weight(name, site, paths):
    raw, compressed = (size / 1e6 for size in static_site.weight(site, paths))
    return f"{name:<12}{raw:6.1f} MB raw, {compressed:5.1f} MB compressed, {len(paths)} files"


if __name__ == "__main__":
    main()
