"""How heavy the in-browser edition is, how long a first visit takes, what lessons cost of memory; run by hand.

    python tests/benchmarks/bench_site.py [SITE ...]

Measured are built sites in turns, or one that is built here. For each lesson one learner with an empty browser opens
it, waits for Python, and runs all of it. Bytes are those of the files that were asked for, as they lie there and as a
server sends them that compresses text; seconds are those on the clock and those of the browser's processors; memory is
the proportional set size of its processes. Last, one browser opens four lessons one after the other.
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

LESSONS = sorted(path.name for path in lab.NOTEBOOKS.glob("[!.]*.ipynb"))


def main():
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        sites = [*map(Path, sys.argv[1:])] or [static_site.built(Path(folder) / "site")]
        for site in sites:
            files = [f"/{each.relative_to(site).as_posix()}" for each in site.rglob("*") if each.is_file()]
            print(f"{site.name}: {weight(site, files)}")
        print("seconds on the clock and of processors, from the click; run all: from Python's being ready")
        for lesson in LESSONS:
            for site in sites:
                visit(playwright, site, lesson)
        for site in sites:
            visit(playwright, site, *LESSONS[1:5])


def visit(playwright, site, first, *more):
    """Print how long a first visit to a lesson of ``site`` takes, and what it and ``more`` lessons weigh."""
    with (
        static_site.served(site) as (address, asked),
        static_site.shut_in_browser(playwright) as (browser, tried),
    ):
        page = browser.new_page()
        page.set_default_timeout(lab.PATIENCE)
        start, said = clock(), [f"{site.name:<10} {first[:2]}"]
        page.goto(f"{address}/lab/index.html?path={first}")
        page.wait_for_selector(".jp-Notebook .jp-RenderedMarkdown h1")
        said.append(f"shown {since(start)}")
        page.wait_for_function(f"window.{lab.KERNEL_IS_IDLE}")
        ready = clock()
        said.append(f"Python ready {since(start)}")
        static_site.run_all(page)
        said += [f"run all {since(ready)}", f"together {since(start)}", f"{memory():.0f} MiB"]
        said.append(weight(site, {path for path, code in asked if code == 200}))
        for name in more:
            page.evaluate("name => void jupyterapp.commands.execute('docmanager:open', {path: name})", name)
            page.wait_for_function(
                f"name => jupyterapp.shell.currentWidget?.context?.path === name && {lab.KERNEL_IS_IDLE}", arg=name
            )
            static_site.run_all(page)
            said.append(f"{name[:2]} too {memory():.0f} MiB")
        if more:
            page.evaluate("jupyterapp.shell.currentWidget.sessionContext.shutdown()")
            page.evaluate("jupyterapp.shell.currentWidget.dispose()")
            page.wait_for_timeout(5000)
            said.append(f"without it {memory():.0f} MiB")
        print(", ".join(said + [f"asked elsewhere {tried}"] * bool(tried)), flush=True)


def family():
    """Processes of the browser that this process started."""
    return [each for each in psutil.Process().children(recursive=True) if "chrom" in each.name()]


def memory():
    """Memory [MiB] of the browser."""
    return sum(each.memory_full_info().pss for each in family()) / 2**20


def clock():
    """Time [s], and what the browser has taken of processors [s]."""
    return time.perf_counter(), sum(sum(each.cpu_times()[:2]) for each in family())


def since(start):
    return "{:.1f} / {:.1f} s".format(*(now - then for now, then in zip(clock(), start, strict=True)))


def weight(site, paths):
    raw, compressed = (size / 1e6 for size in static_site.weight(site, paths))
    return f"{raw:.1f} MB raw, {compressed:.1f} MB compressed"


if __name__ == "__main__":
    main()
