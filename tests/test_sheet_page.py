"""A printed page: nothing cut off, nothing over something else, readable in grey, saved without losing anything."""

import errno
import io
import itertools
import os
import subprocess
import sys
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.colors import to_rgb
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from PIL import Image

from cellkit import InputError
from cellkit.show.sheet_layout import MARGIN
from cellkit.show.sheet_page import LONGEST, PAPERS, Line, Section, Sheet

SMALL = (
    (
        Section(
            "Weigh",
            (
                Line("row", "copper sulfate CuSO4·5H2O, as it stands on the bag", "22.7 g", "g"),
                Line("caution", "Goggles on. Acid into water, never water into acid."),
                Line("step", "Water first, all of it, into the wide jar that you weighed before."),
                Line("step", "Then the acid."),
            ),
        ),
    ),
    (Section("Write down", (Line("row", "date", unit=""), Line("plain", "Everything in ink."))),),
)
few = settings(max_examples=25)


def sheet(title="My cell", summary="Three cells with copper."):
    return Sheet(title, summary, SMALL)


def boxes(figure):
    """Extent [px] of each text on the page, by its words and place."""
    renderer = figure.canvas.get_renderer()
    return [(text.get_text(), text.get_window_extent(renderer)) for text in figure.texts]


def faults(figure):
    """Texts that leave the printable page or touch one another."""
    margin = (MARGIN - 1) / 72 * figure.dpi
    width, height = figure.bbox.width, figure.bbox.height
    found, wrong = boxes(figure), []
    for words, box in found:
        if box.x0 < margin or box.y0 < margin or box.x1 > width - margin or box.y1 > height - margin:
            wrong.append(("outside", words))
    for (words, one), (others, two) in itertools.combinations(found, 2):
        across = min(one.x1, two.x1) - max(one.x0, two.x0)
        down = min(one.y1, two.y1) - max(one.y0, two.y0)
        if across > 0.5 and down > 0.5:
            wrong.append(("over one another", words, others))
    return wrong


def luminance(colour):
    """Relative luminance of WCAG 2 (from memory)."""
    parts = np.array(to_rgb(colour))
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return linear @ [0.2126, 0.7152, 0.0722]


def contrast(one, two):
    high, low = sorted((luminance(one), luminance(two)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("paper", PAPERS)
def test_page_has_the_size_of_the_paper(paper):
    """ISO 216 A4 is 210 × 297 mm, US Letter 8.5 × 11 in."""
    sides = {"A4": (210, 297), "Letter": (215.9, 279.4)}[paper]
    assert 25.4 * sheet().figure(paper).get_size_inches() == pytest.approx(sides)


@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_is_cut_off_or_overlaps(paper):
    assert faults(sheet("A title that is as long as one may be, " * 2).figure(paper)) == []


def test_the_test_sees_faults():
    figure = sheet().figure()
    figure.text(0.5, 0.99, "too high")
    x, y = figure.texts[0].get_position()
    figure.text(x, y, "upon the title")
    assert {fault[0] for fault in faults(figure)} == {"outside", "over one another"}


@few
@given(st.text(max_size=LONGEST).filter(lambda t: len(" ".join(t.split())) <= LONGEST))
def test_any_title_is_plain_text_inside_the_page(title):
    page = sheet(title)
    figure = page.figure()
    assert faults(figure) == []
    assert page.text.split("\n")[0] == " ".join(title.split())
    with warnings.catch_warnings():
        warnings.simplefilter("error")  # such as for a glyph that the font lacks
        figure.canvas.draw()


def test_dollars_stay_dollars():
    figure = sheet("costs $5 to $x^{2$").figure()
    assert not any(text.get_parse_math() for text in figure.texts)
    figure.savefig(io.BytesIO(), format="pdf")


def test_a_title_that_is_too_long_is_refused():
    with pytest.raises(InputError, match=rf"{LONGEST + 1} characters, allowed are {LONGEST}"):
        sheet("x" * (LONGEST + 1))


def test_too_many_words_for_a_page_are_refused():
    lines = tuple(Line("plain", f"{n} " + "word " * 30) for n in range(60))
    crowded = Sheet("My cell", "Full.", ((Section("Much", lines),), ()))
    with pytest.raises(InputError, match="more words than one page"):
        crowded.figure()
    assert "59 word" in crowded.text


def test_readable_in_grey():
    """WCAG 2 asks 4.5 : 1 of small text and 3 : 1 of lines (from memory); print deserves more."""
    figure = sheet().figure()
    shades = [artist.get_facecolor()[:3] for artist in figure.artists if isinstance(artist, Rectangle)]
    assert len(shades) == 1
    for text in figure.texts:
        assert min(contrast(text.get_color(), paper) for paper in ("white", *shades)) > 10
    lines = [artist for artist in figure.artists if isinstance(artist, Line2D)]
    assert len(lines) == 4  # below two headings, and two to write on
    assert min(contrast(line.get_color(), "white") for line in lines) > 4.5


def test_grey_keeps_all_that_colour_shows():
    image = Image.open(io.BytesIO(sheet().picture().png()))
    colours = np.asarray(image.convert("RGB"), dtype=int)
    assert np.ptp(colours, axis=2).max() == 0


def test_words_of_the_page_and_of_the_text_are_the_same():
    page = sheet()
    drawn = " ".join(text.get_text() for text in page.figure().texts).split()
    read = page.text.replace("WEIGH", "Weigh").replace("WRITE DOWN", "Write down").split()
    only_read = {"________", "measured:", "g,", "bag:", "date:"}
    assert set(drawn) - set(read) <= {"g", "bag", "date"}
    assert set(read) - set(drawn) <= only_read


def test_the_sentence_comes_from_the_content():
    assert sheet().sentence == "One page, My cell: Three cells with copper. Its sections: weigh, write down."
    assert sheet().picture().sentence == sheet().sentence


# ---- saving


@pytest.mark.parametrize("suffix", [".pdf", ".png", ".txt", ".PDF"])
def test_same_sheet_same_bytes(tmp_path, suffix):
    one, two = (sheet().save(tmp_path / f"{name}{suffix}") for name in "ab")
    assert one.read_bytes() == two.read_bytes()
    start = {".pdf": b"%PDF", ".png": b"\x89PNG", ".txt": b"My cell"}[suffix.lower()]
    assert one.read_bytes().startswith(start)
    assert sorted(p.name for p in tmp_path.iterdir()) == [f"a{suffix}", f"b{suffix}"]


def test_pdf_carries_real_fonts_and_no_date(tmp_path):
    data = sheet().save(tmp_path / "sheet.pdf").read_bytes()
    assert b"CreationDate" not in data
    assert b"/Type3" not in data
    assert b"/CIDFontType2" in data or b"/TrueType" in data


@pytest.mark.parametrize("paper", PAPERS)
def test_papers_differ_in_the_file(tmp_path, paper):
    data = sheet().save(tmp_path / "sheet.pdf", paper).read_bytes()
    assert {"A4": b"595.2", "Letter": b"612 792"}[paper] in data


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
        ("sheet", r"ends in ''; allowed are \.pdf, \.png, \.txt"),
        ("sheet.doc", r"ends in '\.doc'"),
        ("she\0et.pdf", "cannot be the name of a file"),
        ("s" * 5000 + ".pdf", "(cannot be the name of a file|could not be written)"),
        ("missing/sheet.pdf", "there is no folder"),
    ],
)
def test_where_it_cannot_go(tmp_path, name, says):
    with pytest.raises(InputError, match=says):
        sheet().save(f"{tmp_path}/{name}")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("path", [None, 3, ["sheet.pdf"], "~nobody-of-this-name/sheet.pdf"])
def test_what_is_no_path_at_all(path):
    with pytest.raises(InputError, match="allowed are|cannot be the name|no folder"):
        sheet().save(path)


def test_paper_is_one_of_two(tmp_path):
    with pytest.raises(InputError, match="paper is 'A5'; allowed are 'A4', 'Letter'"):
        sheet().save(tmp_path / "sheet.pdf", "A5")


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize("old", [None, "mine"])
def test_a_full_disk_leaves_the_old_file(tmp_path, monkeypatch, step, old):
    def full(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    path = tmp_path / "sheet.pdf"
    if old:
        path.write_text(old)
    monkeypatch.setattr(os, step, full)
    with pytest.raises(InputError, match=r"could not be written: .*\. (The file|No file)"):
        sheet().save(path, replace=True)
    assert [p.name for p in tmp_path.iterdir()] == (["sheet.pdf"] if old else [])
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

    monkeypatch.setattr(os, "replace", stop)
    with pytest.raises(KeyboardInterrupt):
        sheet().save(tmp_path / "sheet.txt")
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
