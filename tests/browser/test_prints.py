"""The pages to print, in a browser: sheets on one page, no word cut in two, charts that a phone can show."""

import importlib.util
import re

import lab
import pytest

pytest.importorskip("playwright", reason="playwright for Python is not installed")
if lab.chromium() is None:
    pytest.skip("no Chromium on this machine (its path can be given in CHROMIUM)", allow_module_level=True)

LONGER = {"labels": 3, "shopping": 3, "design_blank": 2}  # pages; every other sheet for the room is one
# words of the page of which a part stands on another line, by the rectangles of their letters
CUT = r"""() => {
  const cut = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), range = document.createRange();
  for (let node; (node = walk.nextNode());)
    for (const word of node.data.matchAll(/[\p{L}\p{N}]+/gu)) {
      range.setStart(node, word.index);
      range.setEnd(node, word.index + word[0].length);
      const lines = [...range.getClientRects()].map(r => Math.round(r.bottom));
      if (new Set(lines).size > 1) cut.push(word[0]);
    }
  return cut;
}"""

SPILT = "[...document.querySelectorAll('td, th')].filter(e => e.scrollWidth > e.clientWidth).map(e => e.innerText)"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = lab.NOTEBOOKS / "teaching" / "prints.py"
    spec = importlib.util.spec_from_file_location("prints", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    out = tmp_path_factory.mktemp("prints")
    for paper in module.PAPERS:
        module.write(out, paper)
    return out


@pytest.fixture(scope="module")
def page(chromium):
    page = chromium.new_context(viewport={"width": 680, "height": 960}).new_page()
    yield page
    page.context.close()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_sheets_fit_their_paper(folder, page, paper):
    size = {"A4": (595, 842), "Letter": (612, 792)}[paper]
    for path in sorted((folder / paper / "sheets").glob("*.html")):
        page.goto(path.as_uri())
        pdf = page.pdf(prefer_css_page_size=True)
        boxes = re.findall(rb"/MediaBox ?\[0 0 ([\d.]+) ([\d.]+)\]", pdf)
        assert len(boxes) == LONGER.get(path.stem, 1), path.stem
        assert {(round(float(wide)), round(float(high))) for wide, high in boxes} == {size}


WIDTHS = {680: "print", 390: "screen"}  # 180 mm of paper, and a phone held upright


def test_no_word_is_cut_and_nothing_is_wider_than_the_page(folder, page):
    for path in sorted((folder / "A4").rglob("*.html")):
        page.goto(path.as_uri())
        for width, media in WIDTHS.items():
            page.set_viewport_size({"width": width, "height": 960})
            page.emulate_media(media=media)
            assert page.evaluate(CUT) == [], (path.stem, width)
            assert page.evaluate("document.documentElement.scrollWidth") <= width, (path.stem, width)
            assert page.evaluate(SPILT) == [], (path.stem, width)


def test_charts_keep_their_size_on_a_phone(folder, page):
    page.set_viewport_size({"width": 390, "height": 844})
    page.emulate_media(media="screen")
    for path in sorted((folder / "A4" / "lessons").glob("*.html")):
        page.goto(path.as_uri())
        pictures = page.evaluate("[...document.images].map(i => [i.width, i.naturalWidth, i.alt.split(' ').length])")
        assert [picture for picture in pictures if picture[0] < 600 or picture[1] < 600 or picture[2] < 4] == []
