"""The build sheet in a real Chromium: one page on A4 and on Letter, nothing cut on a phone, nothing run or fetched."""

import re
from dataclasses import replace
from functools import cache

import lab
import pytest

pytest.importorskip("playwright", reason="playwright for Python is not installed")
if lab.chromium() is None:
    pytest.skip("no Chromium on this machine (its path can be given in CHROMIUM)", allow_module_level=True)

from axe_playwright_python.sync_playwright import Axe
from test_own_designs import OWN, written

import cellkit as ck
from cellkit import InputError
from cellkit.show.sheet import build_sheet

PLAN = ck.designs.read_design("osier_yard_design.csv")  # invented
LONG = replace(PLAN, listed_in="W" * 80)  # the name of a file that is read
PAPERS = {"A4": (210, 297), "Letter": (215.9, 279.4)}  # mm: ISO 216; 8.5 × 11 in
BOTH = (210, 279.4)  # as narrow as the one and as short as the other: what fits on it fits on both
ODD = {
    "as it is": {},
    "no acid to pour": {"fill acid": 0.0},
    "more volts than it has": {"end voltage": 1.6},
    "a tiny load": {"load current": 1e-6},
    "much of all": {"fill volume": 0.4, "load current": 0.7, "held electrolyte": 0.0},
}
# what sticks out to the right of the window, or is wider than the element that holds it
CUT = """[...document.querySelectorAll('body *')].filter(e => !e.closest('.blank span') &&
  (e.getBoundingClientRect().right > innerWidth + 0.5 || e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0))
  .map(e => e.outerHTML.slice(0, 120))"""
LEVELS = "[...document.querySelectorAll('section')].map(s => s.getBoundingClientRect().left)"


@cache
def made(name, odd="as it is"):
    return build_sheet(ck.designs.Design.varied.si(LONG, ODD[odd]), name)


@pytest.fixture(scope="module")
def only(chromium):
    """The page that all tests share: a new one each time takes longer than the rest."""
    page = chromium.new_context().new_page()
    page.on("request", lambda request: page.asked.append(request.url))
    yield page
    page.context.close()


@pytest.fixture
def opened(only, tmp_path):
    """A function that opens a sheet from a file; ``asked`` gathers what the page fetches."""

    def opener(sheet, width=1100):
        only.set_viewport_size({"width": width, "height": 800})
        only.emulate_media(media="null")
        only.asked = []
        only.goto(sheet.save(tmp_path / "my_cell.html", replace=True).as_uri())
        return only

    return opener


def printed(page, size):
    """On how many pages of paper of this size [mm] the page comes."""
    pdf = page.pdf(**{side: f"{length}mm" for side, length in zip(("width", "height"), size, strict=True)})
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    assert len(boxes) == pdf.count(b"/Type /Page\n")
    for box in boxes:
        assert [float(side) * 25.4 / 72 for side in box] == pytest.approx(size, abs=0.4)  # up to whole pixels
    return len(boxes)


@pytest.mark.parametrize("name", ck.designs.CONSTRUCTIONS)
def test_one_page_on_paper(opened, name):
    for odd in ODD:
        try:
            page = opened(made(name, odd))
        except InputError:
            assert odd == "much of all"
            continue
        assert printed(page, BOTH) == 1, odd
    page = opened(made(name))
    assert {paper: printed(page, size) for paper, size in PAPERS.items()} == dict.fromkeys(PAPERS, 1)


@pytest.mark.parametrize("own", OWN)
def test_one_page_for_designs_unlike_the_example(opened, own, tmp_path):
    design = ck.designs.read_design(written(own, tmp_path))
    for name in ck.designs.CONSTRUCTIONS:
        page = opened(build_sheet(replace(design, listed_in="W" * 80), name))
        assert printed(page, BOTH) == 1, name


def test_the_test_sees_a_second_page(opened):
    page = opened(made("copper"))
    page.evaluate("document.querySelector('main').append(document.querySelector('article').cloneNode(true))")
    assert printed(page, PAPERS["A4"]) == 2


@pytest.mark.parametrize("width", [320, 390, 1100])
@pytest.mark.parametrize("name", ck.designs.CONSTRUCTIONS)
def test_nothing_is_cut(opened, name, width, keep):
    page = opened(made(name), width)
    assert page.evaluate(CUT) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert len(set(page.evaluate(LEVELS))) == (1 if width < 400 else 2)  # columns
    keep(page, f"sheet_{name}_{width}", full_page=True)


def test_the_test_sees_what_is_cut(opened):
    page = opened(made("copper"), 390)
    page.evaluate("document.querySelector('h1').style.whiteSpace = 'nowrap'")
    page.evaluate("document.querySelector('h1').textContent = 'W'.repeat(80)")
    assert page.evaluate(CUT)


@pytest.mark.parametrize("media", ["screen", "print"])
@pytest.mark.parametrize("name", ck.designs.CONSTRUCTIONS)
def test_axe_finds_no_fault(opened, name, media):
    page = opened(made(name))
    page.emulate_media(media=media)
    assert [fault["id"] for fault in Axe().run(page).response["violations"]] == []


def test_a_shade_that_a_printer_is_not_asked_for_is_printed(opened):
    page = opened(made("copper"))
    page.emulate_media(media="print")
    kept = page.eval_on_selector_all(".caution", "all => all.map(e => getComputedStyle(e).printColorAdjust)")
    assert set(kept) == {"exact"}


def test_markup_in_the_name_of_a_list_is_shown_and_nothing_is_fetched(opened):
    name = "<img src=x onerror=pwned=1></p><script>pwned=1</script>"
    page = opened(build_sheet(replace(PLAN, listed_in=name), "zinc"))
    assert name in page.inner_text("header p")
    assert page.evaluate("window.pwned") is None
    assert page.locator("script, img, link").count() == 0
    assert page.asked == [page.url]


def test_a_dark_notebook_does_not_reach_it(opened):
    """The kind of rules that JupyterLab has for outputs, in their order and weight."""
    page = opened(made("zinc"))
    rules = "table, td, th { color: #eee; text-align: right; } .out:not(.text) :is(h2, h3) { font-weight: 400; }"
    rules += ".out:not(.text) table { table-layout: fixed; } .out:not(.text) tr:nth-child(odd) { background: #111; }"
    rules += ".out:not(.text) :is(td, th, tr) { color: #eee; text-align: right; }"
    page.set_content(f"<style>{rules}</style><div class=out>{made('zinc')._repr_html_()}</div>")
    looks = "all => all.map(e => getComputedStyle(e)).map(s => [s.color, s.backgroundColor, s.textAlign].join())"
    assert set(page.eval_on_selector_all("th, td:not(.blank)", looks)) == {"rgb(0, 0, 0),rgb(255, 255, 255),left"}
    assert page.eval_on_selector("h3", "e => getComputedStyle(e).fontWeight") == "700"


def test_its_style_stays_within_it(opened):
    """Beside it, in a page with words and a table of its own, nothing looks different from a page without it."""
    look = """() => ['body', '#mine', '#mine h2', '#mine p', '#mine td', '#mine th'].map(s => {
      const style = getComputedStyle(document.querySelector(s));
      return [...style].filter(name => !/(^|-)(width|height|size|origin)$/.test(name))
        .map(name => name + style.getPropertyValue(name)).join();
    })"""
    own = "<div id=mine><h2>Mine</h2><p class=caution>words</p><table><tr><th>a</th><td class=blank>b</td></tr></table>"
    page = opened(made("zinc"))
    page.set_content(own)
    alone = page.evaluate(look)
    page.set_content(f"{own}</div>{made('zinc')._repr_html_()}")
    assert page.evaluate(look) == alone
