"""Every panel in a real JupyterLab: seen whole on a laptop and a phone, read out, each handle with name and value."""

import lab
import pytest

pytest.importorskip("playwright", reason="playwright for Python is not installed")
if lab.chromium() is None:
    pytest.skip("no Chromium on this machine (its path can be given in CHROMIUM)", allow_module_level=True)

import accessibility

OPENING = 'import cellkit as ck\ndesign = ck.designs.read_design("osier_yard_design.csv")'
LOG = 'ck.logs.read_shelf_log("self_discharge_copper.csv")'
PANELS = {
    "energy": "ck.show.energy_panel(design)",
    "recipe": "ck.show.recipe_panel(design)",
    "volts": "ck.show.VoltPanel()",
    "load": "ck.show.load_panel(design)",
    "shelf": f"ck.show.shelf_panel(ck.logs.fit_arrhenius({LOG}))",
    "map": "ck.show.design_map(design)",
}
SCREENS = {
    "laptop": {"width": 1366, "height": 768},
    "phone": {"width": 390, "height": 844},
}
# what each row of controls says of itself; what reaches beyond the panel
ROWS = """panel => [...panel.querySelectorAll('.cellkit-row')].map(row => {
  const handle = row.querySelector('.noUi-handle')
  return {label: row.querySelector('label').textContent, box: row.querySelector('input').value,
          name: handle.ariaLabel, value: handle.getAttribute('aria-valuetext')}
})"""
CUT = """panel => [...panel.querySelectorAll('*')].filter(
  each => each.getBoundingClientRect().right > panel.getBoundingClientRect().right + 1
).map(each => each.className)"""


@pytest.fixture(scope="module")
def ran(one_page, folder):
    """The page with all panels, run and being watched."""
    lab.write(folder / "panels.ipynb", [OPENING, *PANELS.values()])
    lab.turn_to(one_page, "panels.ipynb")
    assert lab.run_all(one_page) == []
    one_page.evaluate(lab.WATCH, lab.PICTURE)
    return one_page


@pytest.fixture(scope="module", params=SCREENS)
def page(request, ran):
    """That page on each screen; a laptop has the list of files beside it."""
    ran.set_viewport_size(SCREENS[request.param])
    beside = "jupyterapp.commands.execute('application:toggle-left-area')"
    if request.param == "laptop":
        ran.evaluate(beside)
    yield ran
    if request.param == "laptop":
        ran.evaluate(beside)


@pytest.mark.parametrize("name", PANELS)
def test_seen_whole_moved_and_read_out(page, keep, name):
    number = list(PANELS).index(name)
    page.evaluate(
        "n => jupyterapp.shell.currentWidget.content.scrollToItem(n + 1, 'start')", number
    )  # a cell that is out of sight is not drawn
    where = f".jp-Notebook .jp-Cell[data-windowed-list-index='{number + 1}'] .cellkit-panel"
    panel = page.locator(where)
    words, rows = panel.locator(".cellkit-words"), panel.locator(".cellkit-row")
    room = page.locator(".jp-NotebookPanel-notebook").bounding_box()
    place, sentence, row = lab.places(panel, "img", ".cellkit-words p", ".cellkit-row")
    if page.viewport_size["width"] > 1000:  # picture, sentence and controls beside each other
        assert max(part["bottom"] for part in (place, sentence, row)) - place["top"] <= room["height"]
        assert max(part["right"] for part in (place, sentence, row)) <= room["x"] + room["width"]
        assert row["left"] >= place["right"]
    assert (place["right"] - place["left"]) / (place["bottom"] - place["top"]) == pytest.approx(1.6, rel=0.01)
    assert panel.evaluate(CUT) == []
    assert min(track.bounding_box()["width"] for track in rows.locator(".noUi-target").all()) > 150

    region, before = words.element_handle(), words.inner_text()
    panel.locator(".noUi-handle").first.focus()
    lab.press(page, "ArrowLeft", tries=3)
    keep(page, f"panel_{name}_{page.viewport_size['width']}")
    assert words.inner_text() != before
    assert region.evaluate("region => region.isConnected && region.ariaLive") == "polite", "else it is not read out"
    for row in panel.evaluate(ROWS):
        assert row["name"] == row["label"]
        assert row["value"] == row["box"]
    assert accessibility.faults(page, where) == []
