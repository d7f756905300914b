"""The build sheet of all five constructions: the words of HTML and text, numbers computed elsewhere, files.

What a browser makes of the page is in ``tests/browser/test_sheet_page.py``.
"""

import errno
import os
import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cellkit as ck
from cellkit import Q_, InputError
from cellkit.chemistry.recipe import neutralise
from cellkit.chemistry.solution import Electrolyte
from cellkit.designs.review import Review
from cellkit.show.sheet import Sheet, build_sheet

SMALL = """
    # Weigh
    | copper sulfate CuSO4·5H2O, as it stands on the bag | 22.7 g | g
    + Water first, all of it,
      into the wide jar that you weighed before.
    ! Goggles on. Acid into water, never water into acid.
    + Then the acid.
    # Nothing to say
    # Write down
    _ date |
    - Everything in ink."""
PLAN = ck.designs.read_design("osier_yard_design.csv")  # invented
REBUILT = ["copper", "zinc", "copper with tank"]
STRETCHED = [item for item, kind in ck.designs.design.PLANNED.items() if getattr(kind, "high", 0) > 1]
ODD = {
    "no acid to pour": {"fill acid": 0.0},
    "nothing held": {"held electrolyte": 0.0},
    "no tank": {"tank volume": 0.0, "tank and tubing": 0.0},
    "more volts than it has": {"end voltage": 1.6},
    "a tiny load": {"load current": 1e-6},
}
SUFFIXES = ".html", ".txt"


@cache
def made(name):
    return build_sheet(PLAN, name)


def sheet(title="My cell", summary="Three cells with copper."):
    return Sheet(title, summary, SMALL)


class Page(HTMLParser):
    """Tags with their attributes, and the words of each outermost element that holds words."""

    def __init__(self, page):
        super().__init__()
        self.tags, self.open, self.words = [], [], {}
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.setdefault(self.open[-1] if self.open else "", []).append(data)


def said(page, *left_out):
    """All words of a page, one after the other, in lower case."""
    words = [word for tag, texts in Page(page).words.items() if tag not in left_out for word in texts]
    return sorted(re.findall(r"[^\W_]+", " ".join(words).lower()))


# ---- one content, two forms


def test_words_read_aloud():
    assert sheet().text == (
        "My cell\nThree cells with copper.\n\nWEIGH\n"
        "copper sulfate CuSO4·5H2O, as it stands on the bag: 22.7 g, measured: ________\u00a0g\n"
        "1. Water first, all of it, into the wide jar that you weighed before.\n"
        "Caution: Goggles on. Acid into water, never water into acid.\n"
        "2. Then the acid.\n\nWRITE DOWN\ndate: ________\nEverything in ink."
    )


def test_page_says_what_its_parts_are():
    page = Page(sheet().html)
    tags = [tag for tag, _ in page.tags]
    assert page.tags[0] == ("html", {"lang": "en"})
    assert page.words["title"] == page.words["h1"] == ["My cell"]
    assert page.words["h2"] == ["Weigh", "Write down"]
    assert [attrs["value"] for tag, attrs in page.tags if tag == "li"] == ["1", "2"]  # numbers go on after a caution
    assert page.words["strong"] == ["Caution:"]
    assert [attrs for tag, attrs in page.tags if tag == "th"] == [{"scope": "row"}] * 2
    assert page.words["span"] == ["measured:", "to write in:"]
    assert tags.count("td") == 3
    assert "width=device-width" in dict(page.tags)["meta"]["content"]


@pytest.mark.parametrize("name", ck.designs.CONSTRUCTIONS)
def test_page_says_what_the_text_says(name):
    whole = made(name)
    text = sorted(re.findall(r"[^\W_]+", whole.text.lower()))
    numbers = re.findall(r"^(\d+)\. ", whole.text, re.MULTILINE)  # on the page the browser counts
    page = said(whole.html, "title", "style")
    for number in numbers:
        page.append(number)
    for asked in re.findall(r"to write in:", whole.html):
        for word in re.findall(r"\w+", asked):
            page.remove(word)
    assert sorted(page) == text
    assert whole.text.count(", measured: ") >= 9


@pytest.mark.parametrize("name", ck.designs.CONSTRUCTIONS)
def test_page_runs_nothing_and_fetches_nothing(name):
    html = made(name).html
    tags = {tag for tag, _ in Page(html).tags}
    allowed = "html head meta title style body main article header div section h1 h2 p strong ol li table tr th td span"
    assert tags <= set(allowed.split())
    assert not re.search(r"url\(|@import|src=|href=|://|\son\w+=", html)


def test_in_a_notebook_it_shows_itself_and_touches_nothing_else():
    shown = made("zinc")._repr_html_()
    page = Page(shown)
    assert page.tags[0] == ("article", {"class": "build-sheet"})
    assert "h1" not in dict(page.tags)  # the notebook has its own
    assert shown == build_sheet(PLAN, "zinc")._repr_html_()
    (style,) = page.words["style"]
    rules = re.sub(r"\{[^{}]*\}", "", re.sub(r"@(?:media|container)[^{]*\{", "", style).replace("} }", "}"))
    selectors = [selector.strip(" }\n") for selector in re.split(r"[,\n]|(?<=\s)(?=article)", rules)]
    selectors = [selector for selector in selectors if selector]
    assert len(selectors) > 15
    assert [selector for selector in selectors if not selector.startswith("article.build-sheet")] == []
    assert repr(made("zinc")) == str(made("zinc")) == made("zinc").text


# ---- names


def test_the_name_of_a_list_is_plain_text_inside_the_page():
    name = "A $5 <b>cell</b> & | more.csv"
    mine = build_sheet(replace(PLAN, listed_in=name), "zinc")
    assert mine.title == "Build sheet: zinc rebuild"
    assert f"List: {name}. " in mine.text
    assert "List: A $5 &lt;b&gt;cell&lt;/b&gt; &amp; | more.csv. " in mine.html
    assert [tag for tag, _ in Page(mine.html).tags] == [tag for tag, _ in Page(made("zinc").html).tags]


def test_half_a_letter_does_not_stop_saving(tmp_path):
    """A lone surrogate, which no file can hold, as some file names on disk become."""
    for suffix in SUFFIXES:
        assert sheet(summary="cell \ud83d").save(tmp_path / f"my{suffix}").stat().st_size


# ---- what a design makes of it


def first_number(text, row):
    """The number after a row's label."""
    return float(re.search(rf"^{re.escape(row)}[^:]*: (?:up to )?([\d.]+)", text, re.MULTILINE)[1])


@pytest.mark.parametrize("odd", ODD)
@pytest.mark.parametrize("name", ck.designs.CONSTRUCTIONS)
def test_odd_designs_still_make_a_sheet(name, odd):
    strange = build_sheet(ck.designs.Design.varied.si(PLAN, ODD[odd]), name)
    assert not re.search(r"\bnan\b|\binf\b", strange.text)
    assert not re.search(r"^[-!+|#] ", strange.text, re.MULTILINE)


@settings(max_examples=settings().max_examples // 4)
@given(
    st.sampled_from(sorted(ck.designs.CONSTRUCTIONS)),
    st.dictionaries(st.sampled_from(STRETCHED), st.floats(0.05, 6), max_size=4),
)
def test_any_design_makes_a_sheet_or_is_refused(name, stretched):
    changes = {item: PLAN.values[item] * factor for item, factor in stretched.items()}
    try:
        any_sheet = build_sheet(ck.designs.Design.varied.si(PLAN, changes), name)
    except InputError:
        return
    assert not re.search(r"\bnan\b|\binf\b| -\d", any_sheet.text)


@pytest.mark.parametrize("name", REBUILT)
def test_what_is_weighed_is_what_the_cells_hold(name):
    """Weighed in grams and mixed with what is held, it gives the fill of three cells, to the rounding of the sheet."""
    text, fill, held = made(name).text, Review(PLAN, name).cell.electrolyte, PLAN.held()
    metal = fill.metal
    crystals = first_number(text, f"{metal} sulfate") * PLAN["purity"].to("").magnitude
    molar = {"copper": 249.68, "zinc": 287.55}[metal]  # g/mol, handbook figures, from memory
    assert crystals / molar == pytest.approx(3 * fill.salt, rel=0.003)
    acid = first_number(text, "battery acid, 37 %") * 0.37 / 98.08
    assert acid == pytest.approx(3 * (fill.acid - held.acid), rel=0.005)
    bound = crystals / molar * {"copper": 5, "zinc": 7}[metal] * 18.015
    water = first_number(text, "water, distilled") + bound + first_number(text, "battery acid, 37 %") * 0.63
    assert water == pytest.approx(3000 * (fill.water - held.water), rel=0.003)


def test_recipe_is_the_one_of_lesson_02():
    each = ck.chemistry.weigh_out(PLAN.fresh("copper"), "CuSO4·5H2O", PLAN["purity"], PLAN["stock acid"])
    text = made("copper").text
    assert first_number(text, "copper sulfate") == pytest.approx(3 * each.crystals.to("g").magnitude, 2e-3)
    assert first_number(text, "water, distilled") == pytest.approx(3 * each.water.to("g").magnitude, 2e-3)


@pytest.mark.parametrize("name", ck.designs.CONSTRUCTIONS)
def test_numbers_are_those_of_the_review(name):
    review, text = Review(PLAN, name), made(name).text
    back = review.charge_returned().best.to("").magnitude
    assert first_number(text, "charge that comes back") == pytest.approx(
        back * review.cell.capacity.magnitude, abs=0.05
    )
    assert first_number(text, "run at 100 mA") == pytest.approx(back * review.run().best.magnitude, abs=0.5)
    at_rest = review.cell.rest_voltage(0.1).magnitude
    assert first_number(text, "cell at rest, nearly full") == pytest.approx(at_rest, abs=0.006)
    assert f"limited by {review.cell.limiting if back else 'what hydrogen takes'}" in text
    for finding in review.findings():
        assert (finding.question in text) != finding.yes


@pytest.mark.parametrize("name", REBUILT)
def test_first_charge_is_planned_with_its_oxygen(name):
    review, text = Review(PLAN, name), made(name).text
    first, stop = review.first_charge, (1 - review.full_depth()) * review.first_charge.charge
    plan = text[text.index("FIRST CHARGE") : text.index("EXPECT")]
    assert f"make {first.oxygen_volume:.1f~P} of oxygen in each cell" in plan
    assert f"Stop after {stop:.2f~P}" in plan
    assert "EN IEC 62485-2, from memory" in plan


def test_a_metal_below_hydrogen_makes_hydrogen():
    """E° of zinc is -0.76 V, of copper +0.34 V against hydrogen: handbook figures, from memory."""
    warned = {name for name in ck.designs.CONSTRUCTIONS if "makes hydrogen in acid day and night" in made(name).text}
    assert warned == {"zinc"}


def test_how_it_is_opened():
    """A charged block: under water; a discharged one: down to 1.75 V a cell before (common practice, no source)."""
    listed = PLAN.values | {"positives": "discharged", "charged density": 1270.0, "electrolyte density": 1100.0}
    empty = build_sheet(ck.designs.Design(listed), "zinc").text
    charged, discharged = (
        "under water in a rigid tub at once, never dried",
        "discharge the block to 5.25 V (1.75 V a cell)",
    )
    for name in (*REBUILT, "carbon-wrapped lead"):
        assert charged in made(name).text
        assert discharged not in made(name).text
    assert discharged in empty
    assert charged not in empty
    assert "positives are full" not in empty
    assert "positives are full" not in made("carbon-wrapped lead").text


def test_little_gas_still_asks_for_air():
    """0.05 × 2 cells × 1 mA is 0.0001 m³/h, EN IEC 62485-2 from memory: rounded, but never to nothing."""
    tiny = PLAN.varied({"charging current": Q_(1, "mA")})
    assert "At least 0.00015 m³/h" in build_sheet(tiny, "copper").text


@pytest.mark.parametrize("name", ck.designs.CONSTRUCTIONS)
def test_gas_by_hand(name):
    """1 Ah makes 0.4565 L of hydrogen at 25 °C; all that a charge passes, three cells; 4 % of a closed box."""
    review = Review(PLAN, name)
    passed = review.first_charge.charge if name in REBUILT else review.cell.capacity
    litres = 3 * passed.to("Ah").magnitude * 0.4565
    assert f"up to {litres:.1f} L of hydrogen, 4 % of the air in a box of {litres / 0.04:.0f} L" in made(name).text


@pytest.mark.parametrize("name", ck.designs.CONSTRUCTIONS)
def test_first_aid_and_fuse_are_those_of_the_teaching_pages(name):
    text = made(name).text
    assert "at least 30 minutes, while somebody else calls" in text
    assert "just above the load and below what the wire carries, rated for direct current" in text


def test_zinc_is_stopped_by_charge_and_told_of_its_gases():
    zinc, copper = made("zinc").text, made("copper").text
    assert "no rise when its ions end" in zinc
    assert "a quick rise" in copper
    assert "no rise" not in copper
    assert zinc.index("arsenic") < zinc.index("Crystals in")
    assert "do the pilot before this" in zinc
    assert "Later charges end at (what came out) / 0.97" in copper


@pytest.mark.parametrize("name", ck.designs.CONSTRUCTIONS)
def test_tank_steps_are_for_a_tank(name):
    assert ("tank go 20 mL for each cell" in made(name).text) == ("with plain water on a tray" in made(name).text)
    assert ("tank go 20 mL for each cell" in made(name).text) == (name == "copper with tank")


@pytest.mark.parametrize("name", ck.designs.CONSTRUCTIONS)
def test_cautions_come_before_the_hand_moves(name):
    text = made(name).text
    order = ["lead dust", "Acid into water", "slowly into the water", "a fuse of", "explodes", "the drain"]
    if name not in REBUILT:
        order = ["a fuse of", "explodes", "Charge with", "the drain"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)
    assert "Local codes and licensed practice come first" in text


@pytest.mark.parametrize("name", ck.designs.CONSTRUCTIONS)
def test_every_expected_number_has_a_place_for_the_measured_one(name):
    lines = made(name).text.splitlines()
    expected = lines[lines.index("EXPECT") + 1 : lines.index("WRITE DOWN AS YOU GO") - 2]
    assert len(expected) == 8
    week = expected.pop(4)
    assert re.search(r"at rest: (not predicted|flat: nothing left|\d.*to .* V), measured: _+\sV$", week)
    assert all(re.search(r"\d.* (V|Ah|h|Wh/kg), measured: _+\s(V|Ah|h|Wh/kg)$", line) for line in expected)
    assert all("±" in line or "to " in line for line in expected)


def test_hand_in_by_hand():
    """Old acid of three cells: 138 g at 1.27 g/mL, of which 35.7 % are H2SO4 by the hydrometer; 168.01 / 98.08 g/g."""
    text = made("zinc").text
    share = PLAN.block.electrolyte().mass_fractions[0].to("").magnitude
    assert "109 mL of old acid" in text
    assert f"{138 * share * 168.01 / 98.08:.0f} g of baking soda" in text
    spent = Review(PLAN, "zinc").cell.at_depth(0.0)
    three = Electrolyte(3 * spent.water, 3 * spent.acid, 3 * spent.salt, "zinc")
    assert f"up to {neutralise(three).bicarbonate:.0f~P} for the spent" in text


def test_refusals_reach_the_learner():
    with pytest.raises(InputError, match="construction is 'silver'"):
        build_sheet(PLAN, "silver")
    with pytest.raises(InputError, match="more than dissolves"):
        build_sheet(ck.designs.Design.varied.si(PLAN, {"fill salt": 1500.0}), "copper")
    with pytest.raises(InputError, match="more water already"):
        build_sheet(ck.designs.Design.varied.si(PLAN, {"stock acid": 0.02}), "copper")


# ---- saving


@pytest.mark.parametrize("suffix", [*SUFFIXES, ".HTML"])
def test_same_sheet_same_bytes(tmp_path, suffix):
    one, two = (build_sheet(PLAN, "zinc").save(tmp_path / f"{n}{suffix}") for n in "ab")
    assert one.read_bytes() == two.read_bytes()
    start = {".html": b"<!DOCTYPE html>", ".txt": b"Build sheet"}[suffix.lower()]
    assert one.read_bytes().startswith(start)
    assert sorted(p.name for p in tmp_path.iterdir()) == [f"a{suffix}", f"b{suffix}"]


def test_files_hold_the_words_in_utf_8(tmp_path):
    page = made("copper").save(tmp_path / "my.html").read_text(encoding="utf-8")
    assert page == made("copper").html
    assert "CuSO4·5H2O" in page
    assert '<meta charset="utf-8">' in page


def test_an_old_file_is_kept_unless_asked(tmp_path):
    path = tmp_path / "sheet.txt"
    path.write_text("mine")
    with pytest.raises(InputError, match="already there; save under another name, or say replace=True"):
        sheet().save(path)
    assert path.read_text() == "mine"
    sheet().save(path, replace=True)
    assert path.read_text(encoding="utf-8") == sheet().text + "\n"


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("sheet", r"ending of path is ''; allowed are '\.html', '\.txt'"),
        ("sheet.doc", r"ending of path is '\.doc'"),
        ("she\0et.html", "cannot be the name of a file"),
        ("s" * 5000 + ".html", "(cannot be the name of a file|could not be written)"),
        ("missing/sheet.html", "there is no folder"),
    ],
)
def test_where_it_cannot_go(tmp_path, name, says):
    with pytest.raises(InputError, match=says):
        sheet().save(f"{tmp_path}/{name}")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("path", [None, 3, ["sheet.html"], "~nobody-of-this-name/sheet.html"])
def test_what_is_no_path_at_all(path):
    with pytest.raises(InputError, match="allowed are|cannot be the name|no folder"):
        sheet().save(path)


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize("old", [None, "mine"])
def test_a_full_disk_leaves_the_old_file(tmp_path, monkeypatch, step, old):
    def full(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    path = tmp_path / "sheet.html"
    if old:
        path.write_text(old)
    monkeypatch.setattr(os, step, full)
    with pytest.raises(InputError, match=r"could not be written: .*\. (The file|No file)"):
        sheet().save(path, replace=True)
    assert [p.name for p in tmp_path.iterdir()] == (["sheet.html"] if old else [])
    assert not old or path.read_text() == old


def test_a_write_that_stops_half_way_leaves_the_old_file(tmp_path):
    """A real one: the system lets this process write 1 kB per file and no more."""
    pytest.importorskip("resource")
    path = tmp_path / "sheet.txt"
    path.write_text("mine")
    code = (
        "import resource, signal, sys\n"
        "from cellkit.tables import saving\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))\n"
        "saving.write(sys.argv[1], b'x' * 100_000, True)\n"
    )
    done = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=False)
    assert "InputError" in done.stderr
    assert "as it was" in done.stderr
    assert path.read_text() == "mine"
    assert [p.name for p in tmp_path.iterdir()] == ["sheet.txt"]


def test_an_interrupt_cleans_up(tmp_path, monkeypatch):
    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "link", stop)
    with pytest.raises(KeyboardInterrupt):
        sheet().save(tmp_path / "sheet.html")
    assert list(tmp_path.iterdir()) == []


def test_home_and_links_are_followed(tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    assert sheet().save("~/sheet.txt") == (tmp_path / "sheet.txt").resolve()
    try:
        (tmp_path / "link.txt").symlink_to(tmp_path / "sheet.txt")
    except OSError:
        pytest.skip("no links on this system")
    sheet("Another").save(tmp_path / "link.txt", replace=True)
    assert (tmp_path / "link.txt").is_symlink()
    assert (tmp_path / "sheet.txt").read_text(encoding="utf-8").startswith("Another")


# ---- enough to build from


def test_plates_and_strengths_are_on_it():
    """4 negatives in each of 3 cells; 6 faces in a cell; 100 mA; three cells in series (the list)."""
    text = made("copper").text
    for words in (
        "12 new plates, 4 a cell, 40 × 62 mm",
        "polyethylene, 0.3 mm in all",
        "on the 6 faces of a cell",
        "Stack N P N P N P N (N new, P positive)",
        "copper sulfate 1.00 mol/L, sulfuric acid 0.50 mol/L",
        "a fuse of 0.125 A",
        "0.5 mm² of copper carries 3 A",
        "3.39 V of the block",
        "osier_yard_design.csv",
        "draws",
    ):
        assert words in text, words
    assert f"a hydrometer in it reads {PLAN.fresh('copper').density.to('g/mL').magnitude:.3f}" in text


def test_a_flooded_block_has_no_mats_to_drink():
    flooded = build_sheet(ck.designs.Design(PLAN.values | {"kind of block": "flooded"}), "copper").text
    assert "the mat has drunk" in made("copper").text
    assert "mat " not in flooded
    assert "it has to cover the plates. Mark the level" in flooded
    assert "Pour off each cell" in flooded


def test_a_closed_block_is_not_weighed_in_parts():
    """Nothing is said of plates, dust or mats that stay in the case."""
    assert [word for word in ("drained", "dust", "Plates", "mat ", "poured", "tub") if word in made("lead").text] == []
    assert "the whole block: 730.0 g" in made("lead").text
