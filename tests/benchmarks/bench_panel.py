"""Key press to picture in JupyterLab: lesson 01's panel, the same figure by plain ``interact``, pictures made before.

    python tests/benchmarks/bench_panel.py

All three in turns on one machine, so only the ratios at the end carry over to another. Each way gets 5 presses of the
first slider in each of 12 rounds, and then the same drag of 60 steps in 2 s, in which only so many pictures can be
shown. Behind the ratio of the medians stands the middle half of the ratios of the single rounds.
"""

import itertools
import statistics
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path

import nbformat

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))
import lab

ROUNDS = 12
START = """import cellkit as ck
design = ck.designs.read_design("osier_yard_design.csv")
block, panel = design.block, ck.show.energy_panel(design)
"""
WAYS = {
    "panel": "panel",
    "interact": """%matplotlib inline
import ipywidgets
from matplotlib import pyplot
def draw(removed):
    molar = ck.Q_(1, "mol/L")
    fill = ck.chemistry.from_molarity(ck.Q_(44, "mL"), acid=molar, salt=molar, metal="copper")
    felt = ck.cells.felt_capacity("copper", 2 * block.plate_area, ck.Q_(2, "mm"))
    rebuild = block.rebuilt_cell(fill, ck.Q_(74 - removed, "g"), felt)
    figure, (upper, lower) = pyplot.subplots(2, 1, figsize=(6.4, 4))
    promised = 31.2 * ck.cells.shortcut_ratio(removed / 204).magnitude
    energies = [31.2, promised, rebuild.specific_energy("plates").to("Wh/kg").magnitude]
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
box.unobserve_all("value")
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
        rounds = {way: [] for way in WAYS}
        for _ in range(ROUNDS):  # in turns, so that what else the machine does falls on all alike
            for way, page in pages.items():
                page.bring_to_front()
                rounds[way].append(lab.press(page, "ArrowLeft", tries=5))
        keys = {way: list(itertools.chain(*rounds[way])) for way in WAYS}
        for way, page in pages.items():
            median, late = statistics.median(keys[way]), statistics.quantiles(keys[way], n=20)[-1]
            before = page.evaluate("seen.pictures.length")
            settled = lab.drag(page, slider=0)
            drawn, blank = page.evaluate("seen.pictures.length") - before, page.evaluate("seen.blank")
            print(f"{way:9s} key to picture: median {median:4.0f} ms, p95 {late:4.0f} ms;", end=" ")
            print(f"drag: {drawn} pictures, last {settled:.0f} ms after the end; {blank} blank frames")
    for slow, quick in ("interact", "panel"), ("panel", "prepared"):
        medians = [[statistics.median(one) for one in rounds[way]] for way in (slow, quick)]
        low, _, high = statistics.quantiles([a / b for a, b in zip(*medians, strict=True)], n=4)
        ratio = statistics.median(keys[slow]) / statistics.median(keys[quick])
        print(f"{slow} / {quick} {ratio:.2f} ({low:.2f} to {high:.2f})")


if __name__ == "__main__":
    main()
