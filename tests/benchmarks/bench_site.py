"""How heavy the in-browser edition is and how long a first visit takes, printed; run by hand.

    python tests/benchmarks/bench_site.py

One learner with an empty browser opens lesson 00, waits for Python, runs its first cell. Bytes are those of the files
that were asked for, as they lie there and as a server sends them that compresses text.
"""

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))

import lab
import static_site
from playwright.sync_api import sync_playwright


def main():
    with tempfile.TemporaryDirectory() as folder:
        site = static_site.built(Path(folder) / "site")
        files = [f"/{path.relative_to(site).as_posix()}" for path in site.rglob("*") if path.is_file()]
        print(weight("site", site, files))
        with (
            static_site.served(site) as (address, asked),
            sync_playwright() as playwright,
            static_site.shut_in_browser(playwright) as (browser, tried),
        ):
            page = browser.new_page()
            start = time.perf_counter()
            page.goto(f"{address}/lab/index.html?path=00_start_here.ipynb")
            page.wait_for_selector(".jp-Notebook .jp-RenderedMarkdown h1")
            seen = time.perf_counter() - start
            page.wait_for_function(f"window.{lab.KERNEL_IS_IDLE}", timeout=240_000)
            ready = time.perf_counter() - start
            page.evaluate("jupyterapp.shell.currentWidget.content.activeCellIndex = 1")
            page.evaluate("void jupyterapp.commands.execute('notebook:run-cell')")
            page.wait_for_function(f"{static_site.CODE}[0].outputs.length", timeout=240_000)
            done = time.perf_counter() - start
            got = {path for path, code in asked if code == 200}
            print(weight("first visit", site, got))
            print(
                f"lesson shown after {seen:.1f} s, Python ready after {ready:.1f} s, first cell done after {done:.1f} s"
            )
            print(f"asked of anybody else: {tried or 'nothing'}")


def weight(name, site, paths):
    raw, compressed = (size / 1e6 for size in static_site.weight(site, paths))
    return f"{name:<12}{raw:6.1f} MB raw, {compressed:5.1f} MB compressed, {len(paths)} files"


if __name__ == "__main__":
    main()
