"""Key press to picture in JupyterLab: lesson 01's panel, the same figure by plain ``interact``, pictures made before.

    python tests/benchmarks/bench_panel.py

All three in turns on one machine, so only the ratios at the end carry over to another. Each way gets the same 40
presses of the first slider and the same drag of 60 steps in 2 s, in which only so many pictures can be shown.
"""

import statistics
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path

import nbformat

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))
import lab

START = """import cellkit as ck
block = ck.teardown.read("otter_lane_block.csv")
panel = ck.panel.energy_panel(block)
"""
WAYS = {
    "panel": "panel",
    "interact": """%matplotlib inline
import ipywidgets
from matplotlib import pyplot
def draw(removed):
    rest = {"put_back": ck.Q_(4, "g"), "volume": ck.Q_(44, "mL"), "salt": ck.Q_(1, "mol/L")}
    rebuild = ck.panel.rebuild(block, "copper", removed=ck.Q_(removed, "g"), **rest)
    figure, (upper, lower) = pyplot.subplots(2, 1, figsize=(6.4, 4))
    energies = [31.2, 31.2 * (1 + removed / 204), rebuild.energy_density("plates").to("Wh/kg").magnitude]
    charges = [charge.to("Ah").magnitude for charge in rebuild.limits.values()]
    upper.bar_label(upper.barh(["unmodified", "shortcut", "rebuild"], energies, color="tab:blue"), fmt=" %.0f Wh/kg")
    lower.bar_label(lower.barh(list(rebuild.limits), charges, color="tab:gray"), fmt=" %.1f Ah")
    upper.set(xlabel="Energy per mass / Wh/kg", xlim=(0, 68))
    lower.set(xlabel="Charge / Ah", xlim=(0, 5))
    pyplot.show()
ipywidgets.interact(draw, removed=ipywidgets.FloatSlider(70, min=0, max=70, step=1));""",
    "prepared": """box, pages = panel.boxes["removed"], {}
for step in range(71):
    box.value = step
    pages[box.value] = panel._screen.value
box.unobserve(panel._follow, "value")
box.observe(lambda change: setattr(panel._screen, "value", pages[change["new"]]), "value")
panel""",
}


def ready(page, picture):
    """Run the notebook on ``page`` and start to watch its ``picture``."""
    if errors := lab.run_all(page):
        raise RuntimeError(errors)
    page.wait_for_selector(picture)
    page.wait_for_timeout(1500)
    page.evaluate(lab.WATCH, picture)
    page.locator(lab.SLIDER).first.focus()
    lab.press(page, "ArrowLeft", tries=5)


def main():
    if lab.chromium() is None:
        sys.exit("no Chromium on this machine (its path can be given in CHROMIUM)")
    with tempfile.TemporaryDirectory() as folder, ExitStack() as stack:
        kernel = {"name": "python3", "display_name": "Python 3"}
        for way, source in WAYS.items():
            cell = nbformat.v4.new_code_cell(START + source)
            notebook = nbformat.v4.new_notebook(cells=[cell], metadata={"kernelspec": kernel})
            nbformat.write(notebook, Path(folder) / f"{way}.ipynb")
        address, chromium = stack.enter_context(lab.jupyter_lab(folder)), stack.enter_context(lab.browser())
        pages = {way: stack.enter_context(lab.opened(chromium, address(f"{way}.ipynb"))) for way in WAYS}
        for way, page in pages.items():
            ready(page, ".jp-Notebook .jp-OutputArea img" if way == "interact" else lab.PICTURE)
        keys = {way: [] for way in WAYS}
        for _ in range(8):  # in turns, so that what else the machine does falls on all alike
            for way, page in pages.items():
                keys[way] += lab.press(page, "ArrowLeft", tries=5)
        for way, page in pages.items():
            median, late = statistics.median(keys[way]), statistics.quantiles(keys[way], n=20)[-1]
            before = page.evaluate("seen.pictures.length")
            settled = lab.drag(page, slider=0)
            drawn, blank = page.evaluate("seen.pictures.length") - before, page.evaluate("seen.blank")
            print(f"{way:9s} key to picture: median {median:4.0f} ms, p95 {late:4.0f} ms;", end=" ")
            print(f"drag: {drawn} pictures, last {settled:.0f} ms after the end; {blank} blank frames")
    panel, interact, prepared = (statistics.median(keys[way]) for way in WAYS)
    print(f"interact / panel {interact / panel:.1f}")
    print(f"panel / prepared {panel / prepared:.2f}")


if __name__ == "__main__":
    main()
