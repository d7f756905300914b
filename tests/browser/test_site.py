"""The in-browser edition: every lesson runs with nothing but the site's own files, and a learner's work stays."""

import base64
import json
import os
import re
import shutil
import subprocess
from pathlib import Path

import lab
import pytest

pytest.importorskip("playwright", reason="playwright for Python is not installed")
pytest.importorskip("jupyterlite_pyodide_kernel", reason='the extra "site" is not installed')
pytest.importorskip("jupyterlite_core", reason='the extra "site" is not installed')
if lab.chromium() is None:
    pytest.skip("no Chromium on this machine (its path can be given in CHROMIUM)", allow_module_level=True)
if shutil.which("npm") is None:
    pytest.skip("no npm on this machine: the browser's Python comes from there", allow_module_level=True)

import static_site
from jupyterlite_pyodide_kernel.constants import PYODIDE_CDN_URL

PANEL = "01_weigh_the_plates.ipynb"
UPLOAD = ".jp-FileBrowser-toolbar [data-jp-item-name='uploader'] jp-button"
LESSONS = sorted(path.name for path in lab.NOTEBOOKS.glob("[!.]*.ipynb"))


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    try:
        return static_site.built(tmp_path_factory.mktemp("site") / "out")
    except (subprocess.CalledProcessError, OSError) as error:
        pytest.skip(f"Python for the browser cannot be put together here: {error}")


@pytest.fixture(scope="module")
def address(site):
    with static_site.served(site) as (address, _):
        yield address


@pytest.fixture(scope="module")
def shut_in(playwright):
    with static_site.shut_in_browser(playwright) as (started, tried):
        yield started
        assert tried == []


@pytest.fixture(scope="module")
def learner(shut_in):
    """One learner's browser, with all that it keeps."""
    context = shut_in.new_context(viewport={"width": 1200, "height": 1600}, accept_downloads=True)
    yield context
    context.close()


@pytest.fixture(scope="module")
def page(learner, address):
    """The site's page with lesson 00, and the one Python that all tests share unless BROWSER_FRESH_KERNELS is set."""
    page = learner.new_page()
    static_site.open_site(page, address, LESSONS[0])
    return page


def words(outputs):
    """What an output area says, without pictures."""
    return "".join("".join(output.get("text", "")) + output.get("evalue", "") for output in outputs)


def pictures(outputs):
    return sum("image/png" in output.get("data", {}) for output in outputs)


def settled(text):
    """``text`` without the one number that differs on purpose: a browser has no jupyterlab to count."""
    return re.sub(r"(?<=Python and )\d+(?= packages)", "n", text)


@pytest.mark.parametrize("lesson", LESSONS)
def test_lesson_says_and_draws_what_it_does_elsewhere(page, address, artefacts, lesson):
    if os.environ.get("BROWSER_FRESH_KERNELS"):
        static_site.open_site(page, address, lesson)
    else:
        static_site.open_beside(page, lesson)
    cells = static_site.run_all(page)
    page.screenshot(path=artefacts / f"site_{Path(lesson).stem}.png")
    stored = json.loads((lab.NOTEBOOKS / lesson).read_text(encoding="utf-8"))["cells"]
    stored = [(cell["metadata"].get("tags", []), cell["outputs"]) for cell in stored if cell["cell_type"] == "code"]
    for (tags, outputs), (_, before) in zip(cells, stored, strict=True):
        assert any(output["output_type"] == "error" for output in outputs) == ("raises-exception" in tags), outputs
        assert settled(words(outputs)) == settled(words(before))
        assert pictures(outputs) == pictures(before)


def test_slider_moves_picture_and_words(page):
    static_site.open_beside(page, PANEL)
    static_site.run_all(page)
    picture = page.locator(lab.PICTURE).first
    before = picture.get_attribute("alt")
    page.locator(lab.SLIDER).first.focus()
    for _ in range(5):
        page.keyboard.press("ArrowLeft")
    page.wait_for_function("([p, words]) => document.querySelector(p).alt !== words", arg=[lab.PICTURE, before])


def test_own_file_and_own_work_stay_and_can_be_taken_home(shut_in, page, address, tmp_path):
    # a learner of its own: after the reload each tab that the other tests left open would start a Python
    page.close()
    page = shut_in.new_context(accept_downloads=True).new_page()
    static_site.open_site(page, address, LESSONS[0])
    own = tmp_path / "my_block.csv"
    rows = (lab.NOTEBOOKS.parent / "data" / "bench" / "otter_lane_block.csv").read_text(encoding="utf-8")
    own.write_text(rows.replace("whole block,730", "whole block,731"), encoding="utf-8")
    with page.expect_file_chooser() as chooser:
        page.locator(UPLOAD).click()
    chooser.value.set_files(own)
    page.wait_for_function("jupyterapp.shell.currentWidget?.context?.path === 'my_block.csv'")  # shown once it is there
    page.evaluate("path => jupyterapp.commands.execute('docmanager:open', {path})", LESSONS[0])
    source = """import cellkit as ck
print(f"{ck.cells.read_block('my_block.csv').items['whole block'].to('g'):.0f~P}")
ck.show.Exercises("exercises/00.py")("label energy", ck.Q_(84, "Wh"))"""
    assert words(static_site.run_code(page, source)) == "731 g\nYes. Energy is volts times ampere-hours.\n"
    page.evaluate("jupyterapp.commands.execute('docmanager:save')")

    page.goto(f"{address}/lab/index.html?path={LESSONS[0]}")
    page.wait_for_function(f"window.jupyterapp?.shell.currentWidget?.context?.isReady && {static_site.CODE}.length > 1")
    assert page.evaluate(f"{static_site.CODE}.at(-1).sharedModel.getSource()") == source
    kept = "jupyterapp.serviceManager.contents.get('my_progress.json', {content: true}).then(file => file.content)"
    assert json.loads(base64.b64decode(page.evaluate(kept))) == {"00": ["label energy"]}
    with page.expect_download() as download:
        page.evaluate("void jupyterapp.commands.execute('docmanager:download')")
    assert source in ["".join(cell["source"]) for cell in json.loads(download.value.path().read_text())["cells"]]


def test_without_a_local_python_all_else_comes_from_the_public_one(site, tmp_path):
    for wheel in site.glob("static/course-*/*.whl"):
        shutil.copy(wheel, tmp_path)
    official = json.loads((static_site.pyodide_folder.folder() / "pyodide-lock.json").read_text(encoding="utf-8"))
    names = set(official["packages"])
    for name, record in static_site.builder().lock(official, tmp_path)["packages"].items():
        place, _, file = record["file_name"].rpartition("/")
        assert place == (PYODIDE_CDN_URL if name in names else ""), file
