"""Every lesson in a real JupyterLab and a real Chromium: it runs, and its live control follows hand and keyboard."""

import os
import re
import shutil
from pathlib import Path

import lab
import pytest

pytest.importorskip("playwright", reason="playwright for Python is not installed")
if lab.chromium() is None:
    pytest.skip("no Chromium on this machine (its path can be given in CHROMIUM)", allow_module_level=True)

LESSONS = sorted(path.name for path in lab.NOTEBOOKS.glob("[!.]*.ipynb"))
WITH_PANEL = "01_weigh_the_plates.ipynb"
# what JupyterLab itself and its server say on a machine without network or with an empty settings folder
NOT_OURS = re.compile(
    r"favicon|/api/(me|kernels|sessions|settings|contents)|ResizeObserver|net::ERR_|404 \(Not Found\)"
)


@pytest.fixture(scope="session")
def server(tmp_path_factory):
    """A JupyterLab over a copy of the lessons, so that nothing here is written to."""
    folder = tmp_path_factory.mktemp("lessons")
    for path in lab.NOTEBOOKS.glob("[!.]*.ipynb"):
        shutil.copy(path, folder)
    with lab.jupyter_lab(folder) as address:
        yield address


@pytest.fixture(scope="session")
def chromium():
    with lab.browser() as started:
        yield started


@pytest.fixture(scope="session")
def artefacts(tmp_path_factory):
    """Where screenshots go: the folder named in BROWSER_ARTEFACTS, or pytest's own temporary one."""
    named = os.environ.get("BROWSER_ARTEFACTS")
    folder = Path(named) if named else tmp_path_factory.mktemp("screenshots")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.mark.parametrize("lesson", LESSONS)
def test_lesson_runs_top_to_bottom(server, chromium, artefacts, lesson):
    with lab.opened(chromium, server(lesson)) as page:
        meant = "[...jupyterapp.shell.currentWidget.content.model.cells].flatMap(c => c.getMetadata('tags') ?? [])"
        errors = lab.run_all(page)
        page.screenshot(path=artefacts / f"{Path(lesson).stem}.png")
        assert len(errors) == page.evaluate(meant).count("raises-exception"), errors
        assert page.evaluate("[...document.querySelectorAll('.jp-Notebook .jp-OutputArea img')].length") > 0 or (
            lesson.startswith("00")
        )
        assert [text for text in page.complaints if not NOT_OURS.search(text)] == []


@pytest.fixture(scope="module")
def panel(server, chromium, artefacts):
    """Lesson 01, run, with its panel in view and being watched."""
    with lab.opened(chromium, server(WITH_PANEL)) as page:
        lab.run_all(page)
        page.locator(lab.SLIDER).first.scroll_into_view_if_needed()
        page.wait_for_selector(lab.PICTURE)
        page.evaluate(lab.WATCH, lab.PICTURE)
        yield page
        page.screenshot(path=artefacts / "panel.png")
        assert [text for text in page.complaints if not NOT_OURS.search(text)] == []


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


def test_boxes_have_names_and_move_the_slider(panel):
    box = panel.get_by_label("Electrolyte per cell / mL")
    handle = panel.locator(lab.SLIDER).nth(2)
    box.fill("60")
    before = panel.evaluate("seen.pictures.length")
    box.press("Enter")
    panel.wait_for_function("n => seen.pictures.length > n", arg=before)
    assert float(handle.get_attribute("aria-valuenow")) == 60


def test_drag_ends_on_the_last_value(panel):
    end = panel.locator(lab.SLIDER).nth(1).get_attribute("aria-valuemax")
    drawn = panel.evaluate("seen.pictures.length")
    settled = lab.drag(panel, slider=1)
    after = state(panel)
    assert float(after["boxes"][1]) == float(end)
    assert panel.evaluate("seen.pictures.length") - drawn <= 61, "no more pictures than values"
    # a queue of stale pictures would take seconds to empty; generous for a busy machine, not a speed claim
    assert settled < 1000
    panel.locator(lab.SLIDER).nth(1).focus()
    lab.press(panel, "ArrowLeft")
    lab.press(panel, "ArrowRight")
    assert state(panel) == after, "the drag left the picture of its last value"


def test_metal_by_keyboard(panel):
    panel.get_by_role("button", name="zinc", exact=True).focus()
    lab.press(panel, "Space")
    assert state(panel)["words"].startswith("This zinc rebuild")


def test_what_cannot_be_is_said(panel):
    box = panel.get_by_label("Metal sulfate / mol/L")
    for value, words in (("3", "No such cell"), ("1", "This zinc rebuild")):
        before = panel.evaluate("seen.pictures.length")
        box.fill(value)
        box.press("Enter")
        panel.wait_for_function("n => seen.pictures.length > n", arg=before)
        assert state(panel)["words"].startswith(words)


def test_never_blank_and_never_moving(panel):
    place = panel.locator(lab.PICTURE).bounding_box()
    panel.evaluate("seen.frames = seen.blank = 0")
    panel.locator(lab.SLIDER).first.focus()
    for step in range(40):
        lab.press(panel, "ArrowLeft" if step < 20 else "ArrowRight")
        assert panel.locator(lab.PICTURE).bounding_box() == place
    assert panel.evaluate("seen.frames") > 100
    assert panel.evaluate("seen.blank") == 0
