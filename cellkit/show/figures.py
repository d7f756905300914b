"""Pictures of the course: one look for every cell type, a sentence in words with each, and a kept figure that moves.

A picture shows itself when it is the last line of a cell: its sentence as text, then the PNG with a fixed size and the
sentence as alternative text. The figures belong to no plotting session, so nothing has to be closed and no object leaks
into the output.
"""

import base64
import io
import sys
import textwrap
import warnings
from dataclasses import dataclass

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.colors import to_hex, to_rgb
from matplotlib.figure import Figure
from matplotlib.font_manager import findfont
from matplotlib.patches import Rectangle
from matplotlib.text import Text
from PIL import Image, ImageDraw, ImageFont

from cellkit.designs.comparison import Comparison
from cellkit.designs.design import CONSTRUCTIONS
from cellkit.tables.metals import METALS
from cellkit.units import Constraint, InputError, expect, one_of, shown, to_si

WIDTH, HEIGHT, DPI = 640, 400, 100
INK, PALE = "#222222", "#d0d0d0"
COLOURS = {"lead": "#4d4d4d", "carbon": "#a0007d", "warning": "#e0a100"} | {m.name: m.colour for m in METALS.values()}
DASHES = ["-", "--", "-.", ":"]
LINES = {"lead": "-", "carbon": ":"} | {metal.name: metal.line for metal in METALS.values()}


def look(kind, default=INK):
    """Colour and line style of a cell type, ``"lead"``, ``"carbon"`` or a metal; the ``default`` for anything else."""
    return {"color": COLOURS.get(kind, default), "linestyle": LINES.get(kind, "-")}


def looks(kinds):
    """The :func:`look` of each of several lines; a second of one colour, or one of no cell, takes dashes of its own."""
    found = []
    for style in map(look, kinds):
        taken = [other["linestyle"] for other in found if style["color"] in (INK, other["color"])]
        free = [dashes for dashes in (style["linestyle"], *DASHES) if dashes not in taken]
        found.append(style | {"linestyle": free[0] if free else "-"})
    return found


def cell_type(construction):
    """The cell type whose look a construction has."""
    return "carbon" if CONSTRUCTIONS[construction].wrap else CONSTRUCTIONS[construction].negative


def _label(key):
    """What names a bar or line: a key is a label, or a cell type with more words about it."""
    label = ", ".join(map(str, key)) if isinstance(key, tuple) else str(key)
    return label.encode("utf-8", "replace").decode()  # half a letter cannot be drawn


def _kind(key):
    return key[0] if isinstance(key, tuple) and key else key


def canvas(rows=1, height=HEIGHT, **grid):
    """A white figure of a fixed size in pixels with ``rows`` axes one above the other."""
    figure = Figure(figsize=(WIDTH / DPI, height / DPI), dpi=DPI, facecolor="white")
    FigureCanvasAgg(figure)
    axes = figure.subplots(rows, 1, gridspec_kw={"left": 0.11, "right": 0.97, "top": 0.97, "bottom": 0.14} | grid)
    for ax in np.ravel(axes):
        ax.spines[["top", "right"]].set_visible(False)
    return figure, axes


@dataclass(frozen=True)
class Picture:
    """A figure and the sentence in words that says what it shows.

    Displayed, it prints the sentence and then shows the figure at twice its pixels, with the sentence as ``alt``.
    """

    figure: Figure
    sentence: str

    def __post_init__(self):
        for text in self.figure.findobj(Text):
            text.set_parse_math(False)  # a name out of a learner's file may hold dollars

    def png(self, scale=2):
        """The picture as PNG bytes: the same data gives the same bytes."""
        out = io.BytesIO()
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", "Glyph")  # a letter that the font lacks is drawn as an empty box
            self.figure.savefig(out, format="png", dpi=DPI * scale, metadata={"Software": None})
            self._forget_pixels()
        return out.getvalue()

    def _forget_pixels(self):
        """Let go of the 4 MB drawn on last: canvas and texts keep them, and the history of outputs the figure."""
        FigureCanvasAgg(self.figure)
        small = RendererAgg(1, 1, DPI)
        for text in self.figure.findobj(Text):
            seen = text.get_visible()
            text.set_visible(False)  # it takes the small one and draws nothing, which takes as long as all else
            text.draw(small)
            text.set_visible(seen)

    def bundle(self):
        """Data and metadata of the picture by MIME type, the PNG as base64 text; its text is a fixed phrase."""
        width, height = (round(side * DPI) for side in self.figure.get_size_inches())
        shape = {"width": width, "height": height, "alt": self.sentence}
        png = base64.b64encode(self.png()).decode()  # a kernel inside a browser does not encode bytes on their way out
        return {"image/png": png, "text/plain": "[picture of the sentence above]"}, {"image/png": shape}

    def _ipython_display_(self):
        from IPython.display import display

        if pyplot := sys.modules.get("matplotlib.pyplot"):
            pyplot.close(self.figure)
        data, metadata = self.bundle()
        print(textwrap.fill(self.sentence.replace(" %", "\N{NO-BREAK SPACE}%"), 100).replace("\N{NO-BREAK SPACE}", " "))
        display(data, raw=True, metadata=metadata)


class Moving:
    """A figure kept for a slider: everything but the ``artists`` is drawn once, the artists anew for each picture.

    The axis limits stay as they are now. The course's colours and their blends with white (black stands for every grey)
    are all that a picture can show: a palette makes the PNG a third of the size and faster to write.
    Texts, which have to be single upright lines, lie on top: Pillow writes them ten times faster than the figure.
    """

    def __init__(self, figure, artists):
        self.figure, self.artists = figure, [artist for artist in artists if not isinstance(artist, Text)]
        self.texts = {artist: _font(artist) for artist in artists if isinstance(artist, Text)}
        for artist in (*self.artists, *self.texts):
            artist.set_animated(True)
        figure.canvas.draw()
        self._background = figure.canvas.copy_from_bbox(figure.bbox)
        steps = np.append(1, np.linspace(0.93, 0, 31))[:, None]  # Pillow would take a paler one for white
        colours = ["black", *(colour for kind, colour in COLOURS.items() if kind != "lead")]
        ramps = [(1 - steps) * to_rgb(colour) + steps for colour in colours]
        self._palette = Image.new("P", (1, 1))
        self._palette.putpalette((np.vstack(ramps) * 255).round().astype(np.uint8).tobytes())

    def png(self):
        """PNG bytes of the figure as its artists stand now."""
        canvas = self.figure.canvas
        canvas.restore_region(self._background)
        for artist in self.artists:
            artist.axes.draw_artist(artist)
        image = Image.frombytes("RGB", canvas.get_width_height(), canvas.buffer_rgba(), "raw", "RGBX")
        pen = ImageDraw.Draw(image)
        for text, font in self.texts.items():
            _write(pen, image.height, text, font)
        out = io.BytesIO()
        image.quantize(palette=self._palette, dither=Image.Dither.NONE).save(out, "png", compress_level=1)
        return out.getvalue()


def _font(text):
    """Pillow's font for a text of a figure."""
    path, size = findfont(text.get_fontproperties()), text.get_fontsize() * text.figure.dpi / 72
    return ImageFont.truetype(path, size, layout_engine=ImageFont.Layout.BASIC)


def _write(pen, height, text, font):
    """Write one text where its figure, ``height`` pixels high, would have it."""
    x, y = text.get_transform().transform(text.get_position())
    if not (text.get_visible() and text.get_text() and np.isfinite(x + y)):
        return
    _, top, _, bottom = font.getbbox("lp", anchor="ls")
    lift = {"center": (top + bottom) / 2, "top": top, "bottom": bottom}.get(text.get_verticalalignment(), 0)
    place = x, round(height - y - lift)
    side = {"left": "l", "center": "m", "right": "r"}[text.get_horizontalalignment()]
    pen.text(place, text.get_text(), fill=to_hex(text.get_color()), font=font, anchor=side + "s")


def beyond(ax, known, end):
    """Shade what lies beyond the last measurement, of shares in percent over time."""
    amber = COLOURS["warning"]
    ax.axvspan(known, end, facecolor=amber, alpha=0.15, hatch="//", edgecolor=amber)
    ax.text((known + end) / 2, 4, "BEYOND THE DATA: a guess", ha="center", fontsize=10, weight="bold")


def _bars(names, sizes, texts, colours, left):
    """A figure of horizontal bars, the first on top, each with its text at its end."""
    figure, ax = canvas(left=left, right=0.93)
    ax.bar_label(ax.barh(names, sizes, color=colours, height=0.62), texts, padding=4)
    ax.invert_yaxis()
    return figure, ax


def _amounts(what, values, label, unit):
    """Bars of quantities, a dict, and their numbers in ``unit`` by label."""
    kind = Constraint(unit, f'Q_(30, "{unit}")', low=0.0, single=True)
    sizes = [to_si(f"{what}[{_label(name)!r}]", value, kind) for name, value in _named(what, values).items()]
    colours = [look(_kind(name), COLOURS["lead"])["color"] for name in values]
    names = [textwrap.fill(_label(name), 20) for name in values]
    figure, ax = _bars(names, sizes, [f"{size:.0f} {unit}" for size in sizes], colours, left=0.27)
    ax.set(xlabel=f"{label} / {unit}", xlim=(0, 1.2 * max(sizes)))
    return figure, dict(zip(map(_label, values), sizes, strict=True))


def mass_bars(masses):
    """Masses by part, a dict, as bars: a :class:`Picture` whose sentence gives total, heaviest part and its share."""
    figure, grams = _amounts("masses", masses, "Mass", "g")
    total, heaviest = sum(grams.values()), max(grams, key=grams.get)
    words = f"The parts weigh {total:.0f} g. The heaviest: {heaviest}, {grams[heaviest] / total:.0%} of that."
    return Picture(figure, words)


def energy_bars(energies):
    """Energy per mass of one cell at several levels, or of several cells, a dict, as bars: a :class:`Picture`.

    A key is a label, or a pair of the cell type and more words, which gives the bar its colour.
    """
    figure, shown = _amounts("energies", energies, "Energy per mass", "Wh/kg")
    return Picture(figure, "; ".join(f"{name}: {value:.0f} Wh/kg" for name, value in shown.items()) + ".")


def curves(x, lines, x_label, y_label, plus_minus=None, levels=None, thin=()):
    """Lines over one axis, each named at its end, in the look of its cell type: a :class:`Picture`.

    ``lines`` maps names to plain numbers in the unit of ``y_label``: a name is a label, or a pair of the cell type and
    more words. ``plus_minus`` gives some of them half the width of a band, ``levels`` are named horizontal lines to
    compare with, ``thin`` the names of lines drawn thin. A label is ``"Quantity / unit"``, or ``"Quantity"`` of what
    has none. The sentence says where each line starts and ends, how uncertain it is, and where the levels lie.
    """
    quantity, unit = _parts("x_label", x_label)
    y_name, y_unit = _parts("y_label", y_label)
    x = _plain("x", x, np.shape(x))
    if x.ndim != 1 or x.min() == x.max():
        raise InputError(f"x is {shown(x)}; a line needs two or more values in a row. Try x=[0, 1].")
    lines = {name: _plain(_label(name), values, x.shape) for name, values in _named("lines", lines).items()}
    plus_minus, levels = ({} if given is None else given for given in (plus_minus, levels))
    expect("plus_minus", plus_minus, dict, '{"lead": 0.01}')
    for what, names in {"plus_minus": plus_minus, "thin": expect("thin", thin, tuple, '("lead",)')}.items():
        if unknown := [name for name in names if name not in lines]:
            raise InputError(f"{what} is of {unknown[0]!r}; allowed are the lines {', '.join(map(repr, lines))}.")
    levels = {name: _plain(name, height, ()) for name, height in expect("levels", levels, dict, '{"end": 1.9}').items()}
    figure, ax = canvas(right=0.74)
    words, ends = [], {}
    low, high = (f"{end:g}{unit}" for end in (x[0], x[-1]))
    for (name, values), style in zip(lines.items(), looks(map(_kind, lines)), strict=True):
        ax.plot(x, values, linewidth=1 if name in thin else 2.2, **style)
        text = f"{_label(name)} from {values[0]:.3g} to {values[-1]:.3g}{y_unit}"
        if name in plus_minus:
            half = _plain(_label(name), plus_minus[name], x.shape)
            ax.fill_between(x, values - half, values + half, color=style["color"], alpha=0.25, linewidth=0)
            text += f" (± {half.max():.2g}{y_unit})"
        words.append(text)
        ends[_label(name)] = values[-1], style["color"]
    for name, height in levels.items():
        ax.axhline(height, color=COLOURS["warning"], linewidth=1.5, linestyle=(0, (1, 1)))
        words.append(f"{name} at {height:.3g}{y_unit}")
        ends[name] = height, INK
    ax.set(xlabel=x_label, ylabel=y_label, xlim=(x.min(), x.max()))
    bottom, top = ax.get_ylim()
    last = -np.inf
    for name, (height, colour) in sorted(ends.items(), key=lambda item: item[1][0]):  # apart where they would overlap
        last = max(height, last + 0.055 * (top - bottom))
        ax.text(1.02, last, name, color=colour, va="center", transform=ax.get_yaxis_transform(), fontsize=9)
    return Picture(figure, f"{y_name} as {quantity.lower()} goes from {low} to {high}: " + "; ".join(words) + ".")


def _named(what, values):
    """``values`` if they are a dict with something in it, else an :class:`InputError`."""
    if not expect(what, values, dict, '{"lead": ...}'):
        raise InputError(f"{what} is {values!r}; there is nothing to draw. Try {what}={{'lead': ...}}.")
    return values


def _plain(name, values, shape):
    """Finite floats that fill ``shape``, or an :class:`InputError`: figures take plain numbers in the label's unit."""
    numbers = to_si(name, values, Constraint("", "quantity.magnitude"))
    if np.shape(numbers) not in ((), shape):
        raise InputError(f"{name} has {np.size(numbers)} numbers; it has to have as many as x, or one.")
    return np.broadcast_to(numbers, shape)


def _parts(name, label):
    """Quantity and unit of a label; the unit as it follows a number in words, nothing of a label without one."""
    quantity, _, unit = expect(name, label, str, '"Current / A"').partition(" / ")
    return quantity, f" {unit}" if unit else ""


def ladder(levels):
    """Both electrodes of each cell as steps, with the range between hydrogen and oxygen where water stays whole.

    ``levels`` maps each negative to the potentials [V] of ``"lead dioxide"``, itself, ``"hydrogen"`` and ``"oxygen"``,
    all in the solution of that cell. The sentence gives the volts between the steps and how far each lies outside the
    range.
    """
    figure, ax = canvas(bottom=0.09)
    words, height = [], Constraint("V", 'Q_(1.7, "V")', single=True)
    for x, (kind, of_cell) in enumerate(expect("levels", levels, dict, "{'copper': {...}}").items()):
        names = "lead dioxide", one_of("a name in levels", kind, COLOURS), "hydrogen", "oxygen"
        expect(kind, of_cell, dict, '{"lead dioxide": Q_(1.7, "V"), ...}')
        top, bottom, low, high = (to_si(name, of_cell.get(name), height) for name in names)
        ax.add_patch(Rectangle((x - 0.42, low), 0.84, high - low, color=PALE, alpha=0.6, linewidth=0))
        for volts, gas, side in (low, "hydrogen below", "top"), (high, "oxygen above", "bottom"):
            ax.hlines(volts, x - 0.42, x + 0.42, COLOURS["warning"], linewidth=1.5, linestyle=(0, (1, 1)))
            ax.text(x + 0.42, volts, gas, fontsize=8, ha="right", va=side)
        for volts, name, colour, lift in (top, "lead dioxide", INK, 0.09), (bottom, kind, COLOURS[kind], -0.1):
            ax.hlines(volts, x - 0.42, x + 0.1, colour, linewidth=4)
            ax.text(x - 0.42, volts + lift, f"{name} {volts:+.2f} V", color=colour, fontsize=9, va="center")
        ax.annotate("", (x - 0.2, top), (x - 0.2, bottom), arrowprops={"arrowstyle": "<->", "color": COLOURS[kind]})
        ax.text(x - 0.16, 0.75, f"{top - bottom:.2f} V", color=COLOURS[kind], fontsize=11, weight="bold")
        place = "inside it" if low <= bottom <= high else f"{low - bottom:.2f} V below it"
        words.append(
            f"{kind} cell: {top - bottom:.2f} V between its electrodes, the lead dioxide {top - high:.2f} V above the "
            f"range where water stays whole, the {kind} {place}"
        )
    ax.set(ylabel="Potential against standard hydrogen / V", xlim=(-0.5, len(levels) - 0.5), ylim=(-1.05, 2.05))
    ax.set_xticks(range(len(levels)), [f"{kind} cell" for kind in levels])
    return Picture(figure, "At rest. " + "; ".join(words) + ".")


def band_bars(found):
    """Wh/kg of each construction of a :class:`Comparison`: a bar to the median draw, a line over nine draws of ten."""
    figure, ax = canvas(left=0.29, right=0.95)
    expect("found", found, Comparison, "cellkit.designs.compare(design)")
    bands = {key: found.specific_energy(key).magnitude for key in found.specific_energies if key not in found.refused}
    top, words = max(high for _, _, high in bands.values()), []
    for name, (low, middle, high) in bands.items():
        colour, row = look(cell_type(name))["color"], len(words)
        hatch = "//" if CONSTRUCTIONS[name].tank else None
        ax.barh(row, middle, height=0.6, color=colour, alpha=0.55, hatch=hatch, edgecolor=colour)
        ax.plot([low, high], [row, row], color="black", linewidth=2, marker="|", markersize=10)
        ax.text(1.04 * top, row, f"{low:.0f} to {high:.0f} Wh/kg", va="center")
        words.append(f"{CONSTRUCTIONS[name].name} {middle:.0f} ({low:.0f} to {high:.0f})")
    ax.axvline(bands["lead"][1], color=INK, linewidth=1, linestyle=(0, (4, 2)))
    ax.set_yticks(range(len(bands)), [CONSTRUCTIONS[name].name.replace(" with", "\nwith") for name in bands])
    ax.invert_yaxis()
    ax.set(xlabel="Energy per mass of the whole block, under load / Wh/kg", xlim=(0, 1.35 * top))
    return Picture(figure, "Wh/kg of the whole block, in brackets nine draws of ten: " + "; ".join(words) + ".")


def sensitivity_bars(found, construction):
    """What decides whether a construction beats the block: the five inputs with the largest sensitivity.

    The sentence names them with their shares, and what all others come to together.
    """
    shares = expect("found", found, Comparison, "cellkit.designs.compare(design)").sensitivity(construction)
    largest, name = dict(list(shares.items())[:5]), CONSTRUCTIONS[construction].name
    texts, colour = [f"{share:.0%}" for share in largest.values()], look(cell_type(construction))["color"]
    figure, ax = _bars(list(largest), list(largest.values()), texts, colour, left=0.36)
    ax.set(xlabel=f"Squared rank correlation, {name}", xlim=(0, 1))
    words = ", ".join(map(" ".join, zip(largest, texts, strict=True)))
    rest = sum(shares.values()) - sum(largest.values())
    return Picture(figure, f"What decides for the {name}: {words}; all others together {rest:.0%}.")
