"""Script-bearing labels, titles and CSV headers in a real JupyterLab: shown as they are typed, and nothing runs."""

import lab
import pytest

pytest.importorskip("playwright", reason="playwright for Python is not installed")
if lab.chromium() is None:
    pytest.skip("no Chromium on this machine (its path can be given in CHROMIUM)", allow_module_level=True)

SCRIPT = "<script>window.pwned = 'script'</script>"
IMAGE = "<img src='x' onerror='window.pwned = 1'>"
BAD = f'{SCRIPT} \\">{IMAGE}'
CELLS = [
    f"""import matplotlib, pathlib
import cellkit as ck
from cellkit import Q_
bad = "{BAD}" """,
    'ck.show.mass_bars({bad: Q_(3, "g"), "other": Q_(2, "g")})',
    'ck.show.curves([0, 1], {bad: [0, 1]}, "Time / s", "Voltage / V", levels={f"level {bad}": 1})',
    """class Mine(ck.show.live.Live):
    sliders = {"one": ck.show.live.Slider(bad, "g", 0, 1, 0.1, 0.5)}
    def look(self, one):
        self.bar.set_width(one)
        return f"{1000 * one:g} {bad}"
figure, ax = ck.show.figures.canvas()
Mine.bar = ax.barh([bad], [0])[0]
mine = Mine(figure, [Mine.bar])
mine""",
    """quoted = '"' + bad.replace('"', '""') + '"'
rows = ("0,1.31,0", "10,1.25,0.3", "20,1.25,0.3")
text = "\\n".join(f"{row},{quoted}" for row in ("time_min,voltage_V,current_A", *rows))
pathlib.Path("my_log.csv").write_text(text)
log = ck.logs.read_bench_log("my_log.csv")
print(log)
log""",
    """pathlib.Path("bad.csv").write_text(f"{quoted},voltage_V,current_A\\n0,1,2\\n")
ck.logs.read_bench_log("bad.csv")""",
    """rows = "".join(f"{quoted},20,{day},{1000 - 10 * day}\\n" for day in range(5))
pathlib.Path("shelf.csv").write_text("cell,temperature_degC,time_day,capacity_mAh\\n" + rows)
shelf = ck.logs.read_shelf_log("shelf.csv")
print(shelf)
ck.show.shelf_measurements(shelf)""",
    'ck.show.build_sheet(ck.designs.read_design("osier_yard_design.csv"), "<script>pwned=1</script>")',
    """from cellkit.show.sheet import Sheet
marked = "".join(f"\\n{mark} {bad} | {bad} | {bad}" for mark in "-+!|_")
sheet = Sheet(bad, bad, f"\\n# {bad}{marked}")
print(sheet.text)
sheet""",
    """from cellkit.show import Exercise
print(Exercise("right", slips={bad: bad}).judge(bad).words)
print(Exercise("right", why=bad, words=(bad,)).compare(bad))""",
]
MEANT = [5, 7]  # cells that are refused, with the words in the message


@pytest.fixture(scope="module")
def page(one_page, folder):
    """A notebook of all these, run."""
    lab.write(folder / "hostile.ipynb", CELLS, MEANT)
    # trusted and run by hand, so that the page would do whatever an output tells it to
    lab.turn_to(one_page, "hostile.ipynb")
    one_page.errors = lab.run_all(one_page)
    one_page.set_viewport_size({"width": 1200, "height": 9000})  # a page shows no more than what is in view
    one_page.wait_for_selector(lab.PICTURE)
    one_page.wait_for_timeout(1000)  # for whatever would load late
    return one_page


def test_all_of_it_was_shown(page):
    assert len(page.errors) == len(MEANT)
    shown = page.locator(".jp-Notebook .jp-OutputArea").all_inner_texts()
    assert sum(SCRIPT in " ".join(text.split()) for text in shown) >= 6
    assert sum("pwned" in text for text in shown) >= 8  # with the two refusals, which quote it
    assert SCRIPT in page.locator(lab.PICTURE).get_attribute("alt")
    assert any(SCRIPT in label for label in page.locator(".jp-Notebook .widget-label").all_text_contents())


def test_nothing_of_it_ran(page):
    assert page.evaluate("window.pwned") is None
    made = "[...document.querySelectorAll('.jp-OutputArea script, .jp-OutputArea [onerror], .jp-OutputArea [src=x]')]"
    assert page.evaluate(f"{made}.length") == 0


def test_a_moved_slider_runs_nothing_either(page):
    box = page.locator(".jp-Notebook input[type=number]").first
    box.fill("0.7")
    box.press("Enter")
    page.wait_for_function("document.querySelector('.jp-Notebook .widget-html p').innerText.startsWith('0.7')")
    page.wait_for_timeout(500)
    assert page.evaluate("window.pwned") is None


def test_zz_the_page_would_have_told(page):
    """Markup that is not escaped does run here, so the tests above can fail."""
    code = "import ipywidgets; ipywidgets.HTML(bad)"
    page.evaluate(
        """code => {
        jupyterapp.shell.currentWidget.content.model.cells.get(3).sharedModel.setSource(code);
        jupyterapp.shell.currentWidget.content.activeCellIndex = 3;
        return jupyterapp.commands.execute('notebook:run-cell');
    }""",
        code,
    )
    page.wait_for_function("window.pwned")
