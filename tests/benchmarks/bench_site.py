"""How heavy the in-browser edition is, how long a first visit takes, what lessons cost of memory; run by hand.

    python tests/benchmarks/bench_site.py [SITE ...]

Measured are built sites in turns, or one that is built here. For each lesson one learner with an empty browser opens
it, waits for Python, and runs all of it. Bytes are those of the files that were asked for, as they lie there and as a
server sends them that compresses text; seconds are those on the clock and those of the browser's processors; memory is
the proportional set size of its processes. Last, one browser opens four lessons one after the other.

Each page runs itself, by a script in a copy of the site: a browser that Playwright drives keeps all that it has
fetched a second time, in base64, and its cache in memory. No other Chromium may be open: the two would share the
program's pages, about 300 MiB, and each seem the smaller.
"""

import json
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from urllib.parse import quote

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))

import lab
import psutil
import static_site

LESSONS = sorted(path.name for path in lab.NOTEBOOKS.glob("[!.]*.ipynb"))
RUNS_ITSELF = """<script type="module">
const pause = ms => new Promise(wait => setTimeout(wait, ms));
const until = async holds => {
  for (;; await pause(50)) try { if (holds()) return } catch {}
};
const done = step => fetch(`/done/${step}`);
await until(() => document.querySelector(".jp-Notebook .jp-RenderedMarkdown h1"));
done("shown");
for (const path of LESSONS) {
  await until(() => window.jupyterapp);
  if (path !== LESSONS[0]) void jupyterapp.commands.execute("docmanager:open", {path});
  await until(() => jupyterapp.shell.currentWidget.context.path === path && IS_IDLE);
  done(`ready ${path}`);
  void jupyterapp.commands.execute("notebook:run-all-cells");
  await until(() => CODE.every(c => c.executionCount && c.executionState === "idle"));
  done(`run ${path}`);
  await pause(2000); // in which memory is read
}
const last = jupyterapp.shell.currentWidget;
await last.sessionContext.shutdown();
last.dispose();
await pause(5000);
done("shut");
</script>"""


def main():
    with tempfile.TemporaryDirectory() as folder:
        sites = [*map(Path, sys.argv[1:])] or [static_site.built(Path(folder) / "site")]
        sites = [
            shutil.copytree(site, Path(folder) / f"copy {number}" / site.name) for number, site in enumerate(sites)
        ]
        for site in sites:
            files = [f"/{each.relative_to(site).as_posix()}" for each in site.rglob("*") if each.is_file()]
            print(f"{site.name}: {weight(site, files)}")
        print("seconds on the clock and of processors, from the click; run all: from Python's being ready")
        for lesson in LESSONS:
            for site in sites:
                visit(site, lesson)
        for site in sites:
            visit(site, *LESSONS[1:5])


def visit(site, first, *more):
    """Print how long a first visit to a lesson of ``site`` takes, and what it and ``more`` lessons weigh."""
    page = site / "lab" / "index.html"
    plain = page.read_text(encoding="utf-8")
    script = RUNS_ITSELF.replace("CODE", static_site.CODE).replace("IS_IDLE", lab.KERNEL_IS_IDLE)
    script = script.replace("LESSONS", json.dumps([first, *more]))
    page.write_text(plain.replace("</body>", f"{script}</body>"), encoding="utf-8")
    # the browser's helpers may write into its folder a moment longer than it runs
    own = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
    with static_site.served(site) as (address, asked), own as profile:
        start = clock()
        command = [lab.chromium(), *lab.FLAGS, f"--user-data-dir={profile}", f"{address}/lab/index.html?path={first}"]
        browser = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

        def wait_for(step):
            while (f"/done/{quote(step)}", 404) not in asked:
                time.sleep(0.02)

        wait_for("shown")
        said = [f"{site.name:<10} {first[:2]}", f"shown {since(start)}"]
        wait_for(f"ready {first}")
        ready = clock()
        said.append(f"Python ready {since(start)}")
        wait_for(f"run {first}")
        said += [f"run all {since(ready)}", f"together {since(start)}", f"{memory():.0f} MiB"]
        said.append(weight(site, {path for path, code in asked if code == 200}))
        for name in more:
            wait_for(f"run {name}")
            said.append(f"{name[:2]} too {memory():.0f} MiB")
        if more:
            wait_for("shut")
            said.append(f"without it {memory():.0f} MiB")
        browser.terminate()
        browser.wait()
    page.write_text(plain, encoding="utf-8")
    print(", ".join(said), flush=True)


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
