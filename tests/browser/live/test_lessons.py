"""Every lesson in a real JupyterLab and a real Chromium: it runs, and its live control follows hand and keyboard."""

import importlib.util
import re
from pathlib import Path

import lab
import pytest

import cellkit as ck

pytest.importorskip("playwright", reason="playwright for Python is not installed")
if lab.chromium() is None:
    pytest.skip("no Chromium on this machine (its path can be given in CHROMIUM)", allow_module_level=True)

import accessibility

LESSONS = sorted(path.name for path in lab.NOTEBOOKS.glob("[!.]*.ipynb"))
WITH_PANEL = "01_weigh_the_plates.ipynb"
PANELS = [lesson for lesson in LESSONS if "live control" in (lab.NOTEBOOKS / lesson).read_text(encoding="utf-8")]
# what JupyterLab or Notebook itself and the server say on a machine without network or with an empty settings folder,
# or of a notebook that is just being closed
NOT_OURS = re.compile(
    r"favicon|/api/(me|kernels|sessions|settings|contents)|ResizeObserver|net::ERR_|404 \(Not Found\)|"
    r"reading '(schema|footer)'|debugger state"
)

NAMED = "[...document.querySelectorAll('.jp-Notebook .noUi-handle')].every(handle => handle.ariaLabel)"

SECONDS = 0.2  # what the slow panel takes for a picture
SLOW = f"""import time, cellkit as ck
panel = ck.show.energy_panel(ck.designs.read_design("osier_yard_design.csv"))
quick = panel.look
panel.look = lambda **values: (time.sleep({SECONDS}), quick(**values))[1]
panel"""


@pytest.fixture(scope="module", params=LESSONS)
def ran(request, one_page, keep):
    """The page with each lesson, run, with its name and the errors that it showed."""
    one_page.set_viewport_size({"width": 1200, "height": 1600})
    lab.turn_to(one_page, request.param)
    one_page.lesson, one_page.errors = request.param, lab.run_all(one_page)
    keep(one_page, Path(one_page.lesson).stem)
    return one_page


def test_lesson_runs_top_to_bottom(ran):
    meant = "[...jupyterapp.shell.currentWidget.content.model.cells].flatMap(c => c.getMetadata('tags') ?? [])"
    assert len(ran.errors) == ran.evaluate(meant).count("raises-exception"), ran.errors
    assert ran.evaluate("[...document.querySelectorAll('.jp-Notebook .jp-OutputArea img')].length") > 0 or (
        ran.lesson.startswith("00")
    )
    assert [text for text in ran.complaints if not NOT_OURS.search(text)] == []
    ran.set_viewport_size({"width": 1200, "height": 12_000})  # contrast is only seen in what is drawn
    ran.wait_for_function(NAMED)
    assert accessibility.faults(ran) == []


@pytest.mark.parametrize("ran", PANELS, indirect=True)
def test_sentence_and_controls_are_seen_together_at_200_percent(ran, keep):
    """A screen of 1366 × 768 enlarged twice, file list closed: what moves and what is moved need no scrolling."""
    ran.set_viewport_size({"width": 683, "height": 384})
    ran.wait_for_selector(lab.PICTURE, state="attached")
    panel = ran.locator(".jp-Notebook .cellkit-panel").last
    words, last = lab.places(panel, ".cellkit-words p", ".noUi-handle")
    keep(ran, f"{Path(ran.lesson).stem}_200_percent")
    assert last["bottom"] - words["top"] < ran.locator(".jp-NotebookPanel-notebook").bounding_box()["height"]
    whole = "e => e.scrollHeight <= e.clientHeight && e.scrollWidth <= e.clientWidth"
    assert panel.locator(".cellkit-words p").evaluate(whole)
    assert min(track.bounding_box()["width"] for track in ran.locator(".jp-Notebook .noUi-target").all()) > 100


def watch(page):
    """Bring the panel of a notebook that has run into view and start to watch its picture."""
    page.set_viewport_size({"width": 1200, "height": 1600})
    page.locator(lab.SLIDER).first.scroll_into_view_if_needed()
    page.wait_for_selector(lab.PICTURE)
    page.evaluate(lab.WATCH, lab.PICTURE)


@pytest.fixture(scope="module")
def panel(ran):
    """A lesson with its panel in view and being watched."""
    watch(ran)
    return ran


on_the_panel = pytest.mark.parametrize("ran", [WITH_PANEL], indirect=True)


def state(page):
    """What a learner has before the eyes: picture, its alternative text, the sentence, the numbers in the boxes."""
    picture = page.locator(lab.PICTURE)
    boxes = [box.input_value() for box in page.locator(".jp-Notebook input[type=number]").all()]
    sentence = page.locator(".jp-Notebook .widget-html p").inner_text()
    return {
        "src": picture.get_attribute("src"),
        "alt": picture.get_attribute("alt"),
        "words": sentence,
        "boxes": boxes,
    }


@on_the_panel
@pytest.mark.parametrize("slider", range(4))
def test_keyboard_moves_picture_words_and_number(panel, slider):
    before = state(panel)
    panel.locator(lab.SLIDER).nth(slider).focus()
    lab.press(panel, "ArrowLeft", tries=3)
    after = state(panel)
    assert after["src"] != before["src"]
    assert after["words"] != before["words"]
    assert after["alt"] == after["words"]
    assert [a == b for a, b in zip(after["boxes"], before["boxes"], strict=True)] == [n != slider for n in range(4)]


@on_the_panel
def test_a_picture_that_comes_before_its_panel_gives_names_later(panel):
    """As the first one may: it loads while ipywidgets still puts the panel together."""
    named = panel.evaluate(
        """picture => {
          const early = document.querySelector(picture).cloneNode(), live = document.querySelector('.cellkit-panel')
          const handles = [...live.querySelectorAll('.noUi-handle')]
          handles.forEach(handle => handle.removeAttribute('aria-label'))
          early.dispatchEvent(new Event('load'))
          setTimeout(() => live.append(early), 300)
          return handles.some(handle => handle.ariaLabel)
        }""",
        lab.PICTURE,
    )
    assert not named
    panel.wait_for_function(NAMED)
    panel.evaluate("document.querySelector('.cellkit-panel > img').remove()")


@on_the_panel
def test_boxes_have_names_and_move_the_slider(panel):
    box = panel.get_by_role("spinbutton", name="Electrolyte per cell / mL")
    handle = panel.locator(lab.SLIDER).nth(2)
    box.fill("60")
    before = panel.evaluate("seen.pictures.length")
    box.press("Enter")
    panel.wait_for_function("n => seen.pictures.length > n", arg=before)
    assert float(handle.get_attribute("aria-valuenow")) == 60


@on_the_panel
def test_drag_ends_on_the_last_value(panel):
    end = panel.locator(lab.SLIDER).nth(1).get_attribute("aria-valuemax")
    drawn = panel.evaluate("seen.pictures.length")
    lab.drag(panel, slider=1)
    after = state(panel)
    assert float(after["boxes"][1]) == float(end)
    assert panel.evaluate("seen.pictures.length") - drawn <= 61, "no more pictures than values"
    late = panel.evaluate("seen.pictures.filter(t => t > seen.dragged).length")
    assert late <= 2, "the one under way and that of the last value, not a queue of stale ones"
    panel.locator(lab.SLIDER).nth(1).focus()
    lab.press(panel, "PageDown")  # one step alone can leave picture and words as they are
    lab.press(panel, "PageUp")
    assert state(panel) == after, "the drag left the picture of its last value"


@on_the_panel
def test_tab_reaches_every_control_and_typing_moves_it(panel):
    panel.get_by_role("button", name="zinc", exact=True).focus()
    sliders = ck.show.energy_panel(ck.designs.read_design("osier_yard_design.csv")).sliders
    names = [slider.label for slider in sliders.values()]
    for number, (name, value) in enumerate(zip(names, ("20", "6", "50", "0.8"), strict=True)):
        panel.keyboard.press("Tab")
        assert panel.evaluate("document.activeElement.labels[0].innerText").startswith(name)
        before = panel.evaluate("seen.pictures.length")
        panel.keyboard.press("Control+A")
        panel.keyboard.type(value)
        panel.keyboard.press("Tab")
        panel.wait_for_function("n => seen.pictures.length > n", arg=before)
        assert panel.evaluate("document.activeElement.getAttribute('role')") == "slider"
        assert float(panel.evaluate("document.activeElement.getAttribute('aria-valuenow')")) == float(value)
        assert state(panel)["boxes"][number] == value


@on_the_panel
def test_metal_by_keyboard(panel):
    panel.get_by_role("button", name="zinc", exact=True).focus()
    lab.press(panel, "Space")
    assert state(panel)["words"].startswith("This zinc rebuild")


@on_the_panel
def test_what_cannot_be_is_said(panel):
    box = panel.get_by_role("spinbutton", name="Metal sulfate / mol/L")
    for value, words in (("3", "No such cell"), ("1", "This zinc rebuild")):
        before = panel.evaluate("seen.pictures.length")
        box.fill(value)
        box.press("Enter")
        panel.wait_for_function("n => seen.pictures.length > n", arg=before)
        assert state(panel)["words"].startswith(words)


@on_the_panel
def test_never_blank_and_never_moving(panel):
    live, parts = panel.locator(".jp-Notebook .cellkit-panel"), ("img", ".cellkit-words", ".noUi-base")
    before = lab.places(live, *parts)
    panel.evaluate("seen.frames = seen.blank = 0")
    panel.locator(lab.SLIDER).first.focus()
    for step in range(24):
        lab.press(panel, "ArrowLeft" if step < 12 else "ArrowRight")
        assert lab.places(live, *parts) == before
    assert panel.evaluate("seen.frames") > 100
    assert panel.evaluate("seen.blank") == 0


@on_the_panel
def test_tracks_and_the_chosen_button_are_seen_in_forced_colours(panel, keep):
    panel.emulate_media(forced_colors="active")
    keep(panel, "forced_colours")
    look = "(e, what) => getComputedStyle(e)[what]"
    assert panel.locator(".jp-Notebook .noUi-target").first.evaluate(look, "borderTopWidth") == "1px"
    chosen, other = (panel.get_by_role("button", name=name, exact=True) for name in ("copper", "zinc"))
    assert chosen.evaluate(look, "backgroundColor") != other.evaluate(look, "backgroundColor")
    panel.emulate_media(forced_colors="none")


@on_the_panel
def test_nobody_complained_of_all_that(panel):
    assert [text for text in panel.complaints if not NOT_OURS.search(text)] == []


def test_slow_pictures_are_skipped_and_the_last_value_stays(one_page, folder):
    page = one_page
    lab.write(folder / "slow.ipynb", [SLOW])
    lab.turn_to(page, "slow.ipynb")
    lab.run_all(page)
    watch(page)
    lab.drag(page, slider=2)
    shown, late = page.evaluate("[seen.pictures.length, seen.pictures.filter(t => t > seen.dragged).length]")
    expected = ck.show.energy_panel(ck.designs.read_design("osier_yard_design.csv"))
    expected.boxes["volume"].value = expected.boxes["volume"].max
    after = state(page)
    assert float(after["boxes"][2]) == expected.boxes["volume"].max
    assert after["words"] == after["alt"] == expected.sentence
    assert shown > 2, "the picture follows during the drag"
    assert late <= 2, "the one under way and that of the last value"
    first, dragged = page.evaluate("[seen.pictures[0], seen.dragged]")
    assert shown <= (dragged - first) / (1000 * SECONDS) + 1 + late, "no more than can be drawn in the time"
    assert page.evaluate("seen.blank") == 0


@pytest.mark.skipif(importlib.util.find_spec("notebook") is None, reason="Notebook 7 is not installed")
def test_panel_in_notebook_7(folder, chromium, keep):
    """By keyboard too, though from the boxes: Notebook 7 takes a slider's arrow keys to move between cells."""
    with lab.jupyter_lab(folder, "notebook.app") as address, lab.opened(chromium, address(WITH_PANEL)) as page:
        lab.run_all(page)
        watch(page)
        states = [state(page)]
        page.get_by_role("spinbutton", name="Plate mass removed per cell / g").focus()
        lab.press(page, "ArrowDown", tries=3)
        states.append(state(page))
        page.get_by_role("button", name="zinc", exact=True).focus()
        lab.press(page, "Space")
        states.append(state(page))
        lab.drag(page, slider=1)
        states.append(state(page))
        keep(page, "notebook_7")
        assert len({each["words"] for each in states}) == len({each["src"] for each in states}) == 4
        for each in states:
            assert each["alt"] == each["words"]
        values = [float(handle.get_attribute("aria-valuenow")) for handle in page.locator(lab.SLIDER).all()]
        assert values == [float(value) for value in states[-1]["boxes"]]
        assert page.evaluate("seen.blank") == 0
        assert [text for text in page.complaints if not NOT_OURS.search(text)] == []
