"""Every lesson as a page without a kernel: pictures and words are there, nothing is broken, axe-core finds no fault."""

import lab
import pytest

pytest.importorskip("playwright", reason="playwright for Python is not installed")
if lab.chromium() is None:
    pytest.skip("no Chromium on this machine (its path can be given in CHROMIUM)", allow_module_level=True)

import accessibility

LESSONS = sorted(lab.NOTEBOOKS.glob("[!.]*.ipynb"))


@pytest.fixture(scope="module")
def exporter():
    """Of nbconvert's templates the classic one carries the alternative texts over."""
    from nbconvert import HTMLExporter

    return HTMLExporter(template_name="classic")


@pytest.fixture(scope="module")
def page(chromium):
    """A page that may load nothing but files of this machine."""
    page = chromium.new_context(viewport={"width": 1100, "height": 3000}).new_page()
    local = ("file:", "data:")
    page.route("**/*", lambda way: way.continue_() if way.request.url.startswith(local) else way.abort())
    yield page
    page.context.close()


@pytest.mark.parametrize("lesson", LESSONS, ids=[path.stem for path in LESSONS])
def test_page(lesson, exporter, page, tmp_path):
    html, _ = exporter.from_filename(lesson)
    (tmp_path / "lesson.html").write_text(html, encoding="utf-8")
    page.goto((tmp_path / "lesson.html").as_uri())
    pictures = page.evaluate("[...document.images].map(i => [i.complete && i.naturalWidth, i.alt.split(' ').length])")
    assert [picture for picture in pictures if picture[0] < 100 or picture[1] < 4] == []
    text = page.inner_text("body")
    assert [broken for broken in ("model not found", "Loading widget", "Error displaying") if broken in text] == []
    assert accessibility.faults(page) == []
