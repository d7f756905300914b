"""One printed page: words laid out by measured width, the same words as plain lines, saved without losing anything."""

import io
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import matplotlib
from PIL import Image

from cellkit.show.figures import DPI, Picture
from cellkit.show.sheet_layout import Page
from cellkit.tables.saving import write
from cellkit.units import InputError, expect, one_of, shown

PAPERS = {"A4": (210 / 25.4, 297 / 25.4), "Letter": (8.5, 11.0)}  # inches
SIZES = (9.5, 9.0, 8.5, 8.0, 7.5, 7.0)  # points, the first that fits is taken
LONGEST = 80  # characters of a title
SUFFIXES = (".pdf", ".png", ".txt")


class GreyPicture(Picture):
    """A picture of black on white, a fifth of the size."""

    def png(self, scale=2):
        """PNG bytes in sixteen greys: the same figure gives the same bytes."""
        out = io.BytesIO()
        grey = Image.open(io.BytesIO(super().png(scale))).convert("L").quantize(16, dither=Image.Dither.NONE)
        grey.save(out, "png", optimize=True, dpi=(DPI * scale, DPI * scale))
        return out.getvalue()


class Line(NamedTuple):
    """One entry of a section.

    ``kind`` is ``"plain"``, ``"step"`` (numbered), ``"caution"``, or ``"row"``: a label with its ``value``, and with
    ``unit`` a blank to write what was measured.
    """

    kind: str
    text: str
    value: str = ""
    unit: str | None = None

    def words(self, number):
        """The line as it reads aloud."""
        start = {"step": f"{number}. ", "caution": "Caution: "}.get(self.kind, "")
        blank = "" if self.unit is None else f"{', measured' if self.value else ''}: ________ {self.unit}".rstrip()
        return f"{start}{self.text}{': ' if self.value else ''}{self.value}{blank}"


class Section(NamedTuple):
    """A heading and its lines."""

    heading: str
    lines: tuple

    def numbered(self):
        """Each line with its number among the steps."""
        steps = 0
        for line in self.lines:
            steps += line.kind == "step"
            yield steps, line


@dataclass(frozen=True)
class Sheet:
    """What stands on one page: ``title``, ``summary`` and two ``columns`` of sections."""

    title: str
    summary: str
    columns: tuple

    def __post_init__(self):
        object.__setattr__(self, "title", " ".join(str(self.title).split()))
        if len(self.title) > LONGEST:
            raise InputError(
                f"the title has {len(self.title)} characters, allowed are {LONGEST}; try {self.title[:LONGEST]!r}."
            )

    @property
    def text(self):
        """The whole sheet as lines of plain text, in reading order."""
        lines = [self.title, self.summary]
        for section in (section for column in self.columns for section in column):
            lines += ["", section.heading.upper(), *(line.words(number) for number, line in section.numbered())]
        return "\n".join(lines)

    @property
    def sentence(self):
        """What the picture of the sheet shows, in one sentence; :attr:`text` has all of it."""
        headings = ", ".join(section.heading.lower() for column in self.columns for section in column)
        return f"One page, {self.title}: {self.summary} Its sections: {headings}."

    def figure(self, paper="A4"):
        """The page as a figure, in the largest of ``SIZES`` in which it fits."""
        one_of("paper", paper, PAPERS)
        for size in SIZES:
            page = Page(PAPERS[paper], size)
            if page.set(self):
                return page.figure
        raise InputError(
            f"the sheet has more words than one page of {paper} holds. Try a shorter title or the .txt form."
        )

    def picture(self, paper="A4"):
        """The page as a :class:`~cellkit.show.Picture` to look at in a notebook."""
        return GreyPicture(self.figure(paper), self.sentence)

    def save(self, path, paper="A4", replace=False):
        """Write the sheet to a file; its suffix decides: ``.pdf``, ``.png`` or ``.txt``.

        Parameters
        ----------
        path : str or path
            A folder that is there, and a name in it. ``~`` is your home folder.
        paper : str
            ``"A4"`` or ``"Letter"``.
        replace : bool
            Whether a file of this name may be replaced. The old one stays whole until the new one is.

        Returns
        -------
        Path
            Where it now is.

        Raises
        ------
        InputError
            For another suffix or paper, a folder that is missing, a file that is already there, a full disk.
        """
        one_of("paper", paper, PAPERS)
        expect("replace", replace, bool, "True")
        kind = Path(str(path)).suffix.lower()
        if kind not in SUFFIXES:
            raise InputError(
                f"path is {shown(path)} and ends in {kind!r}; allowed are {', '.join(SUFFIXES)}. Try 'my_cell.pdf'."
            )
        if kind == ".txt":
            data = (self.text + "\n").encode()
        elif kind == ".png":
            data = self.picture(paper).png()
        else:
            data = self._pdf(paper)
        return write(path, data, replace)

    def _pdf(self, paper):
        out, meta = io.BytesIO(), {"CreationDate": None, "Title": self.title}  # no date: same sheet, same bytes
        with matplotlib.rc_context({"pdf.fonttype": 42}):
            self.figure(paper).savefig(out, format="pdf", metadata=meta)
        return out.getvalue()
