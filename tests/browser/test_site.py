"""The in-browser edition: every lesson runs with nothing but the site's own files, and a learner's work stays."""

import base64
import json
import os
import re
import shutil
import subprocess
from pathlib import Path

import lab
import nbformat
import pytest

pytest.importorskip("playwright", reason="playwright for Python is not installed")
pytest.importorskip("jupyterlite_pyodide_kernel", reason='the extra "site" is not installed')
pytest.importorskip("jupyterlite_core", reason='the extra "site" is not installed')
if lab.chromium() is None:
    pytest.skip("no Chromium on this machine (its path can be given in CHROMIUM)", allow_module_level=True)
if shutil.which("npm") is None:
    pytest.skip("no npm on this machine: the browser's Python comes from there", allow_module_level=True)

import pyodide_folder
import static_site

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
def server(site):
    with static_site.served(site) as address_and_asked:
        yield address_and_asked


@pytest.fixture(scope="module")
def address(server):
    return server[0]


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


WIDTHS = """async () => {
  const pictures = [...jupyterapp.shell.currentWidget.node.querySelectorAll('.jp-OutputArea img')];
  await Promise.all(pictures.map(picture => picture.decode().catch(() => {})));
  return pictures.map(picture => picture.naturalWidth);
}"""


def valid(lesson, path):
    """Assert that the notebook ``lesson`` is one by its own format, and as heavy as the stored one at ``path``."""
    nbformat.validate(json.loads(lesson))
    # lines that the store keeps short, and what the widgets look like: a little more or less, never a multiple
    assert 0.5 < len(lesson) / path.stat().st_size < 1.5


@pytest.mark.parametrize("lesson", LESSONS)
def test_lesson_says_and_draws_what_it_does_elsewhere(page, server, keep, lesson):
    address, asked = server
    if os.environ.get("BROWSER_FRESH_KERNELS"):
        static_site.open_site(page, address, lesson)
    else:
        static_site.open_beside(page, lesson)
    stored = json.loads((lab.NOTEBOOKS / lesson).read_text(encoding="utf-8"))["cells"]
    stored = [(cell["metadata"].get("tags", []), cell["outputs"]) for cell in stored if cell["cell_type"] == "code"]
    page.wait_for_function("jupyterapp.shell.currentWidget.content.widgets.every(cell => !cell.isPlaceholder())")
    assert page.evaluate(f"{static_site.CODE}.every(c => !c.outputs.length && !c.executionCount)"), "before it is run"
    cells = static_site.run_all(page)
    keep(page, f"site_{Path(lesson).stem}")
    shown = page.evaluate(WIDTHS)
    assert min(shown, default=640) >= 640, "a picture is as wide as it was drawn, or broken"
    assert len(shown) >= sum(pictures(outputs) for _, outputs in stored)
    for (tags, outputs), (_, old) in zip(cells, stored, strict=True):
        assert any(output["output_type"] == "error" for output in outputs) == ("raises-exception" in tags), outputs
        assert settled(words(outputs)) == settled(words(old))
        assert pictures(outputs) == pictures(old)
    if lesson == LESSONS[0]:
        fetched = {path.rpartition("/")[2].partition("-")[0] for path, _ in asked if path.endswith(".whl")}
        assert {"numpy", "matplotlib"} <= fetched
        assert not {"scipy", "fonttools", "jedi"} & fetched, "what this lesson does not import"
    page.evaluate("jupyterapp.commands.execute('docmanager:save')")
    kept = "path => jupyterapp.serviceManager.contents.get(path, {content: true}).then(f => JSON.stringify(f.content))"
    valid(page.evaluate(kept, lesson), lab.NOTEBOOKS / lesson)
    with page.expect_download() as download:
        page.evaluate("void jupyterapp.commands.execute('docmanager:download')")
    valid(download.value.path().read_text(encoding="utf-8"), lab.NOTEBOOKS / lesson)


def test_slider_moves_picture_and_words(page):
    tabs = "[...jupyterapp.shell.widgets('main')].map(tab => tab.context?.path)"
    played = PANEL in page.evaluate(tabs)
    static_site.open_beside(page, PANEL)
    if not played:
        static_site.run_all(page)
    picture = page.locator(lab.PICTURE).first
    before = picture.get_attribute("alt")
    page.locator(lab.SLIDER).first.focus()
    for _ in range(5):
        page.keyboard.press("ArrowLeft")
    page.wait_for_function("([p, words]) => document.querySelector(p).alt !== words", arg=[lab.PICTURE, before])


def test_a_package_that_cannot_be_fetched_is_asked_for_again(site, page):
    wheel = next(site.glob("static/python-*/pytz-*.whl"))  # the course has it and no lesson needs it
    gone = wheel.rename(wheel.with_suffix(".gone"))
    says = "pytz could not be fetched. Is there a network? Then run the cell again."
    assert words(static_site.run_code(page, "import pytz")) == says
    gone.rename(wheel)
    assert words(static_site.run_code(page, "import pytz; print(pytz.UTC)")) == "UTC\n"


def test_names_are_completed(page):
    static_site.run_code(page, "import cellkit as ck")
    completed = page.evaluate(
        """code => jupyterapp.shell.currentWidget.sessionContext.session.kernel
            .requestComplete({code, cursor_pos: code.length}).then(reply => reply.content)""",
        "ck.designs.read_des",
    )
    assert any(match.endswith("read_design") for match in completed["matches"]), completed


def test_own_file_and_own_work_stay_and_can_be_taken_home(shut_in, page, address, tmp_path):
    # a learner of its own: after the reload each tab that the other tests left open would start a Python
    page.close()
    page = shut_in.new_context(accept_downloads=True).new_page()
    static_site.open_site(page, address, LESSONS[0])
    own = tmp_path / "my_block.csv"
    rows = (lab.NOTEBOOKS.parent / "data" / "bench" / "osier_yard_block.csv").read_text(encoding="utf-8")
    own.write_text(rows.replace("whole block,730", "whole block,731"), encoding="utf-8")
    with page.expect_file_chooser() as chooser:
        page.locator(UPLOAD).click()
    chooser.value.set_files(own)
    page.wait_for_function("jupyterapp.shell.currentWidget?.context?.path === 'my_block.csv'")  # shown once it is there
    page.evaluate("path => jupyterapp.commands.execute('docmanager:open', {path})", LESSONS[0])
    source = """import cellkit as ck
print(f"{ck.cells.read_block('my_block.csv').items['whole block'].to('g'):.0f~P}")
ck.show.Exercises("exercises/00.py")("label energy", ck.Q_(28, "hour"))"""
    assert words(static_site.run_code(page, source)).startswith("731 g\nYes. ")
    page.evaluate("jupyterapp.commands.execute('docmanager:save')")
    with page.expect_download() as download:
        page.evaluate("void jupyterapp.commands.execute('docmanager:download')")

    page.goto(f"{address}/lab/index.html?path=glossary.md")
    page.wait_for_function("window.jupyterapp?.shell.currentWidget?.context?.path === 'glossary.md'")
    get = "path => jupyterapp.serviceManager.contents.get(path, {content: true}).then(file => file.content)"
    assert json.loads(base64.b64decode(page.evaluate(get, "my_progress.json"))) == {"00": ["label energy"]}
    for lesson in (page.evaluate(get, LESSONS[0]), json.loads(download.value.path().read_text(encoding="utf-8"))):
        assert "".join(lesson["cells"][-1]["source"]) == source


def test_a_page_that_cannot_have_own_files_says_so_first(site, playwright, keep):
    """Browsers keep service workers to https and to a computer's own pages, so Python sees no uploaded file."""
    with (
        static_site.served(site) as (address, _),
        static_site.shut_in_browser(playwright, "course.test") as (started, _),
    ):
        page = started.new_page()
        for host, said in (("course.test", True), ("127.0.0.1", False)):
            page.goto(f"{address.replace('127.0.0.1', host)}/lab/index.html?path={LESSONS[0]}")
            lesson = page.locator(".jp-Notebook h1")
            lesson.wait_for(timeout=120_000)
            assert page.get_by_role("dialog", name="Your own files will not work at this address").is_visible() == said
            assert page.evaluate("!navigator.serviceWorker") == said
            if said:
                keep(page, "site_no_files")
                assert page.evaluate("document.activeElement.innerText") == "Go on without them"
                page.keyboard.press("Enter")
                assert not page.locator("dialog").is_visible()
                lesson.click()
                page.wait_for_function(f"window.{lab.KERNEL_IS_IDLE}", timeout=240_000)
                assert words(static_site.run_code(page, "print(1 + 1)")) == "2\n", "lessons run"


def refusal(*arguments):
    """The words with which a build ends."""
    with pytest.raises(SystemExit) as ended:
        static_site.builder().build(*arguments)
    assert "https://github.com/pyodide/pyodide/releases/tag/" in ended.value.code
    return ended.value.code


def test_a_build_without_a_network_or_a_release_says_what_to_fetch(tmp_path, monkeypatch):
    for name in ("https_proxy", "HTTPS_PROXY"):
        monkeypatch.setenv(name, "http://127.0.0.1:9")  # the discard port: nobody listens
    assert "build with --pyodide FOLDER" in refusal(tmp_path / "out")
    assert "no Pyodide release was unpacked there" in refusal(tmp_path / "out", tmp_path / "nothing")
    release = tmp_path / "pyodide"
    release.mkdir()
    (release / "pyodide-lock.json").write_text("{}")
    assert f"lacks {', '.join(pyodide_folder.CORE)}" in refusal(tmp_path / "out", release)
    with pytest.raises(SystemExit, match="has one: give that folder"):
        static_site.builder().build(tmp_path / "out", tmp_path)
    assert os.listdir(tmp_path) == ["pyodide"]


def test_a_build_that_fails_leaves_the_earlier_site(tmp_path):
    release = shutil.copytree(static_site.pyodide_folder.folder(), tmp_path / "release")
    wheel = next(release.glob("numpy-*.whl"))
    wheel.unlink()
    site = tmp_path / "site"
    site.mkdir()
    (site / "jupyter-lite.json").write_text("earlier")
    assert f"lacks {wheel.name}. Fetch" in refusal(site, release)
    assert (site / "jupyter-lite.json").read_text() == "earlier"


def test_without_a_folder_python_comes_from_the_public_distribution(site, tmp_path, monkeypatch):
    builder, release = static_site.builder(), pyodide_folder.folder()
    monkeypatch.setattr(builder.constants, "PYODIDE_CDN_URL", release.as_uri())
    monkeypatch.setattr(builder, "compile_imports", lambda folder: None)  # as in the site of the other tests
    own, broken = (shutil.copytree(next(site.glob("static/course-*")), tmp_path / name) for name in ("own", "broken"))
    official = builder.official_lock(None)
    official["packages"]["other"] = official["packages"]["six"] | {"name": "other", "file_name": "other.whl"}
    numpy = official["packages"]["numpy"]["file_name"]
    settings = builder.add_python(tmp_path / "static", own, official, None)
    assert "disablePyPIFallback" not in settings
    assert next(tmp_path.glob(f"static/python-*/{numpy}")).read_bytes() == (release / numpy).read_bytes()
    lock = json.loads(next(tmp_path.glob("static/course-*/pyodide-lock.json")).read_text(encoding="utf-8"))
    away = {name for name, record in lock["packages"].items() if record["file_name"].startswith(release.as_uri())}
    assert away == {"other", "parso"}, "what the course does not need stays there"

    official = builder.official_lock(None)
    official["packages"]["numpy"]["sha256"] = "0"
    with pytest.raises(SystemExit, match=f"{numpy} is not the file"):
        builder.add_python(tmp_path / "static", broken, official, None)
