"""Typesetting of a sheet: words broken by measured width, in two columns on one page."""

import functools

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from cellkit.show.figures import DPI

MARGIN, GUTTER = 36.0, 16.0  # points; what common printers leave blank is less
LEADING = 1.3
INK, RULE, SHADE = "black", "#555555", "#e9e9e9"


def _font(bold, size):
    """The font that matplotlib brings, so that a sheet is the same on every machine."""
    return FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal", size=size)


@functools.cache
def _glyphs():
    """Code points that the font has, plain and bold."""
    return set.intersection(*(set(get_font(findfont(_font(bold, 10))).get_charmap()) for bold in (False, True)))


@functools.cache
def _measurer():
    return FigureCanvasAgg(Figure(dpi=DPI)).get_renderer()


@functools.lru_cache(maxsize=10_000)
def _wide(word, bold, size):
    """Width of a word in points: on a screen, where hinting moves it by some percent, or in print, as is more."""
    seen = (
        _measurer().get_text_width_height_descent(word, _font(bold, points), False)[0] / points for points in (size, 72)
    )
    return max(seen) * size * 72 / DPI


class Page:
    """A page under construction: ``y`` runs down the column, all lengths in points."""

    def __init__(self, inches, size):
        self.figure = Figure(figsize=inches, dpi=DPI, facecolor="white")
        FigureCanvasAgg(self.figure)
        self.width, self.height = (72 * side for side in inches)
        self.size, self.leading = size, LEADING * size

    def set(self, sheet):
        """Lay the sheet out; whether it fits."""
        self.y, full = self.height - MARGIN, self.width - 2 * MARGIN
        self.put(sheet.title, MARGIN, full, bold=True, scale=1.5)
        self.y -= 0.3 * self.leading
        self.put(sheet.summary, MARGIN, full)
        top, each = self.y - 0.4 * self.leading, (full - GUTTER) / 2
        lowest = top
        for column, x in zip(sheet.columns, (MARGIN, MARGIN + each + GUTTER), strict=True):
            self.y = top
            for section in column:
                self.section(section, x, each)
            lowest = min(lowest, self.y)
        return lowest >= MARGIN

    def section(self, section, x, width):
        """A heading over a rule, and the lines below it."""
        self.y -= 0.35 * self.leading
        self.put(section.heading, x, width, bold=True, scale=1.12)
        self.rule(x, x + width, self.y - 1, 0.8)
        self.y -= 0.3 * self.leading
        for number, line in section.numbered():
            getattr(self, line.kind)(line, number, x, width)
            self.y -= 0.18 * self.leading

    def plain(self, line, number, x, width):
        """Words over the whole width."""
        self.put(line.text, x, width)

    def step(self, line, number, x, width):
        """A number, and words indented behind it."""
        top, indent = self.y, 2.1 * self.size
        self.put(f"{number}.", x, indent, bold=True)
        self.y = top
        self.put(line.text, x + indent, width - indent)

    def caution(self, line, number, x, width):
        """Bold words on a shade, within a frame: it has to stand out in grey too."""
        pad = 0.35 * self.size
        self.y -= 0.1 * self.leading
        top = self.y
        self.y -= pad / 2
        self.put(line.words(number), x + pad, width - 2 * pad, bold=True)
        self.y -= pad
        box = {"facecolor": SHADE, "edgecolor": INK, "linewidth": 0.9, "zorder": 0}
        corner, extent = self.at(x, self.y), self.at(width, top - self.y)
        self.figure.add_artist(Rectangle(corner, *extent, transform=self.figure.transFigure, **box))
        self.y -= 0.12 * self.leading

    def row(self, line, number, x, width):
        """Label, value and, where there is something to write, a rule with its unit."""
        self.y -= 0.05 * self.leading
        blank = 0.0 if line.unit is None else (0.25 if line.value else 0.42) * width
        unit = self.measure(line.unit or "")
        value = (0.33 if blank else 0.5) * width if line.value else 0.0
        label, top, bottoms = width - value - blank - 4, self.y, []
        for words, left, room, bold in (
            (line.text, x, label, False),
            (line.value, x + label + 4, value - 4, True),
        ):
            self.y = top
            if words:
                self.put(words, left, room, bold=bold)
            bottoms.append(self.y)
        if blank:
            self.y = top
            right = x + width
            self.put(line.unit, right - unit, unit + 1)
            self.rule(right - blank + 2, right - unit - 3, top - self.size, 0.6)
        self.y = min(bottoms)

    def put(self, words, x, width, bold=False, scale=1.0):
        """Words at ``x``, broken where they are wider than ``width``; ``y`` moves below them."""
        for words_of_line in self.wrapped(words, width, bold, scale):
            self.y -= LEADING * self.size * scale
            baseline = self.at(x, self.y + 0.3 * self.size * scale)
            font = _font(bold, self.size * scale)
            self.figure.text(*baseline, words_of_line, fontproperties=font, color=INK, va="baseline", parse_math=False)

    def wrapped(self, words, width, bold, scale):
        """Lines no wider than ``width``; a word that is wider on its own is broken too."""
        words = "".join(c if ord(c) in _glyphs() or c.isspace() else "□" for c in words)
        lines, line = [], ""
        for word in words.split():
            longer = f"{line} {word}".strip()
            if self.measure(longer, bold, scale) <= width:
                line = longer
                continue
            if line:
                lines.append(line)
            while self.measure(word, bold, scale) > width:
                fits = max(n for n in range(1, len(word)) if n == 1 or self.measure(word[:n], bold, scale) <= width)
                lines.append(word[:fits])
                word = word[fits:]
            line = word
        return [*lines, line] if line else lines

    def measure(self, words, bold=False, scale=1.0):
        """Width of words, with a percent for what kerning may add."""
        size, pieces = self.size * scale, words.split(" ")
        blank = _wide("a a", bold, size) - 2 * _wide("a", bold, size)
        return 1.01 * (sum(_wide(piece, bold, size) for piece in pieces) + blank * (len(pieces) - 1))

    def rule(self, left, right, y, width):
        """A horizontal line."""
        ends = zip(self.at(left, y), self.at(right, y), strict=True)
        line = Line2D(*ends, transform=self.figure.transFigure, color=RULE, linewidth=width)
        self.figure.add_artist(line)

    def at(self, x, y):
        """Points as fractions of the page."""
        return x / self.width, y / self.height
