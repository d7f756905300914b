"""Live controls: sliders with a labelled number box each, a picture that is swapped in place, a sentence in words.

The front end keeps one message of a control under way and joins what comes meanwhile, so a fast drag skips pictures
instead of queueing them and always ends on the last value. Picture and sentence travel together in one message.
"""

import base64
import html
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

import ipywidgets as widgets
import numpy as np
from contourpy import contour_generator
from IPython.display import display
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.patches import Rectangle

from cellkit.cells.block import Block
from cellkit.cells.cell import Cell, shortcut_ratio
from cellkit.chemistry.potentials import NEGATIVES, half_cell, rest_voltage, rest_voltage_uncertainty
from cellkit.chemistry.solution import CONCENTRATION, Electrolyte, from_molality, from_molarity
from cellkit.designs.comparison import Comparison, specific_energy_map
from cellkit.designs.design import CONSTRUCTIONS, EXAMPLE, Design
from cellkit.show.figures import COLOURS, HEIGHT, INK, PALE, WIDTH, Moving, Picture, canvas, look
from cellkit.tables.metals import METALS
from cellkit.units import Q_, Constraint, InputError, aloud, expect, one_of, quantity, to_si

LEVELS = {"reacting": "reacting masses", "plates": "plates, electrolyte and separators", "block": "the whole block"}
ACID = Q_(1, "mol/L")  # H2SO4 in the new electrolyte
_WIDE, _BOX = {"description_width": "230px"}, {"width": "340px", "max_width": "100%"}
# shorter, and then below its box, where the screen is small
_SLIDER = {"flex": "1 1 150px", "width": "auto", "max_width": "280px"}
# what a small screen or a learner's own colours hide: the end of the sentence; which button is chosen, tracks, handles
STYLE = """<style>
.cellkit-panel .jupyter-button.mod-active { outline: 2px solid currentColor; outline-offset: -2px }
@media (max-width: 1000px) {
  .cellkit-panel .widget-html-content { min-width: 0; overflow-x: auto }
  .cellkit-panel .widget-html p { height: auto !important; min-height: 4.2em; margin: 0 }
  .cellkit-panel .widget-text { flex-wrap: wrap; height: auto }
  .cellkit-panel .widget-text input { min-width: 5em }
}
@media (forced-colors: active) {
  .cellkit-panel .jupyter-button { border: 1px solid ButtonText }
  .cellkit-panel .jupyter-button.mod-active { forced-color-adjust: none; background: Highlight; color: HighlightText }
  .cellkit-panel .noUi-target { border: 1px solid CanvasText }
  .cellkit-panel .noUi-handle { border: 2px solid ButtonText }
  .cellkit-panel .noUi-handle:focus, .cellkit-panel .jupyter-button:focus { outline: 3px solid Highlight }
}
</style>"""


class Slider(NamedTuple):
    """A quantity that a learner moves: its label and unit, the range in that unit, the step, where it starts."""

    label: str
    unit: str
    low: float
    high: float
    step: float
    start: float

    def widgets(self):
        """A number box that carries the label and a slider beside it, linked: the box, and the row of both."""
        limits = {"min": self.low, "max": self.high, "step": self.step, "value": self.start}
        box = widgets.BoundedFloatText(description=f"{self.label} / {self.unit}", style=_WIDE, layout=_BOX, **limits)
        slider = widgets.FloatSlider(readout=False, layout=_SLIDER, **limits)
        # a slider counts its steps in binary fractions and gives 67.00000000000001
        widgets.link((slider, "value"), (box, "value"), transform=(lambda value: round(value, 6), lambda value: value))
        return box, widgets.HBox([box, slider], layout={"flex_flow": "row wrap"})


def frame(png, sentence):
    """Picture and sentence as HTML whose size never changes; the sentence is the picture's alternative text too."""
    words, data = html.escape(sentence), base64.b64encode(png).decode()
    return (
        f'<img width="{WIDTH}" height="{HEIGHT}" decoding="sync" style="max-width: none" '
        f'alt="{words}" src="data:image/png;base64,{data}">'
        f'<p style="max-width: {WIDTH}px; height: 6em; overflow: auto; line-height: 1.4">{words}</p>'
    )


class Live:
    """A picture with its sentence over rows of controls; shown when it is the last line of a cell.

    A panel built on it gives ``sliders``, a :class:`Slider` by name, and ``look(**values)``, which sets ``sentence``
    and ``png`` from the SI values of all of them; ``boxes`` are the number boxes by name.
    """

    sliders: dict

    def __init__(self, figure, *above):
        pairs = {name: slider.widgets() for name, slider in self.sliders.items()}
        self.figure, self.boxes = figure, {name: box for name, (box, _) in pairs.items()}
        self._screen = widgets.HTML()
        rows = [row for _, row in pairs.values()]
        self._widget = widgets.VBox([widgets.HTML(STYLE), self._screen, *above, *rows]).add_class("cellkit-panel")
        for source in (*above, *self.boxes.values()):
            source.observe(self._follow, "value")
        self._follow()

    def _follow(self, change=None):
        given = {name: Q_(box.value, self.sliders[name].unit) for name, box in self.boxes.items()}
        self.look(**{name: value.to_base_units().magnitude for name, value in given.items()})
        self._screen.value = frame(self.png, self.sentence)

    def picture(self):
        """The panel's picture as it stands, to keep where no kernel runs."""
        return Picture(self.figure, self.sentence)

    def _ipython_display_(self):
        view = self._widget._repr_mimebundle_()
        display(view | {"text/plain": "[live control: run this cell to move it]"}, raw=True)


class EnergyChart:
    """Energy per mass of a rebuild against the unmodified cell and the shortcut; below it, what limits its charge.

    ``energy``, ``charge``: the unmodified cell's energy per mass [Wh/kg] and charge [Ah]; they set the axes.
    ``reagents``: what can limit the charge, in the order of the bars.
    """

    def __init__(self, energy, charge, reagents):
        figure, (upper, lower) = canvas(2, left=0.24, right=0.97, top=0.97, bottom=0.13, hspace=0.5)
        self.figure, self.reagents = figure, list(reagents)
        names = ["unmodified", "shortcut", "rebuild"]
        upper.barh(names, [energy, 0, 0], color=COLOURS["lead"], height=0.62)
        upper.text(energy, 0, f" {energy:.0f} Wh/kg", va="center")
        self._energies = upper.barh(names[1:], [0, 0], height=0.62)
        self._energies[0].set(facecolor="white", edgecolor=COLOURS["lead"], hatch="////")
        self._charges = lower.barh(self.reagents, [0] * len(self.reagents), height=0.62)
        self._labels = [upper.text(0, row, "", va="center") for row in (1, 2)] + [lower.text(0, 0, "", va="center")]
        self._beyond = lower.plot([], [], linestyle="none", marker=">", color=INK)[0]
        for ax, label, limit in (upper, "Energy per mass / Wh/kg", 2.2 * energy), (lower, "Charge / Ah", 1.6 * charge):
            ax.invert_yaxis()
            ax.set(xlabel=label, xlim=(0, limit))
        moving = [*self._energies, *self._charges, self._beyond, *self._labels]
        self._moving = Moving(figure, moving, ["black", *(COLOURS[metal] for metal in METALS)])

    def png(self, kind, energy, shortcut_ratio, charges, limiting):
        """PNG bytes for a rebuild of ``kind``: Wh/kg, the shortcut's Wh/kg, Ah by reagent and which one ends it."""
        edge = self._beyond.axes.get_xlim()[1]
        self._energies[1].set_facecolor(COLOURS[kind])
        for row, (value, whose) in enumerate(((shortcut_ratio, ""), (energy, f", {kind}"))):
            self._energies[row].set_width(value)
            self._labels[row].set(
                text=f" {value:.0f} Wh/kg{whose}", x=min(value, 0.72 * self._labels[row].axes.get_xlim()[1])
            )
        for row, name in enumerate(self.reagents):
            ends = name == limiting
            self._charges[row].set(width=charges[name], facecolor=COLOURS[kind] if ends else PALE)
            if ends:
                self._labels[2].set(x=charges[name], y=row, text=f" {charges[name]:.2g} Ah: the limit")
        beyond = [row for row, name in enumerate(self.reagents) if charges[name] > edge]
        self._beyond.set_data([0.98 * edge] * len(beyond), beyond)
        return self._moving.png()

    def refusal(self):
        """PNG bytes without a rebuild, to go with the words that say why."""
        for bar in (*self._energies, *self._charges):
            bar.set_width(0)
        self._beyond.set_data([], [])
        for label, text in zip(self._labels, ("", " no such cell", ""), strict=True):
            label.set(text=text, x=0)
        return self._moving.png()


class EnergyPanel(Live):
    """See :func:`energy_panel`. ``metal`` are the buttons."""

    def __init__(self, design, level, acid):
        self._design, self._level, self._acid = design, level, to_si("acid", acid, CONCENTRATION)
        before = design.block.lead_cell()
        self._energy, self._mass = before.specific_energy(level).to("Wh/kg"), Cell.mass.si(before, level)
        self._charge, self._lead = before.capacity.to("Ah"), before.negative_mass
        self._kept = lru_cache(maxsize=128)(self._filled)
        lead = round(before.masses["negative plates"].to("g").magnitude, 1)
        volume = before.electrolyte.volume.to("mL").magnitude
        self.sliders = {
            "removed": Slider("Plate mass removed per cell", "g", 0, lead, 1, lead),
            "put_back": Slider("Plate mass put back per cell", "g", 0.5, lead, 0.5, 4),
            "volume": Slider("Electrolyte per cell", "mL", 10, round(2 * volume), 1, round(volume)),
            "salt": Slider("Metal sulfate", "mol/L", 0.05, 3, 0.05, 1),
        }
        # buttons, since JupyterLab takes the arrow keys away from a drop-down list
        self.metal = widgets.ToggleButtons(description="Metal", options=list(METALS), style=_WIDE)
        reagents = ("PbO2", "metal ions", "felt", "acid")
        self._chart = EnergyChart(self._energy.magnitude, self._charge.magnitude, reagents)
        super().__init__(self._chart.figure, self.metal)

    def _filled(self, metal, volume, salt):
        """The rebuilt cell with lead's mass for its negatives: their mass changes neither its charge nor its volts."""
        fill = from_molarity.si(volume, acid=self._acid, salt=salt, metal=metal)
        return Block.rebuilt_cell.si(self._design.block, fill, self._lead, self._design.felt_room(metal))

    def look(self, removed, put_back, **fill):
        """Sentence and picture for these values."""
        metal = self.metal.value
        filled = self._kept(metal, **fill)
        # lead that is not removed stays in as dead mass
        cell = replace(filled, negative_mass=self._lead - removed + put_back)
        energy = Cell.energy.si(filled) / Cell.mass.si(cell, self._level)
        if not energy > 0:
            try:
                with aloud():
                    self._filled(metal, **fill)
            except InputError as error:
                self.sentence, self.png = f"No such cell: {error}", self._chart.refusal()
                return
        energy, limits, limiting = quantity(energy, "J/kg -> Wh/kg"), cell.limits, str(cell.limiting)
        promise = float(shortcut_ratio.si(removed / self._mass))
        self.sentence = (
            f"This {metal} rebuild gives {energy:.1f~P} of {LEVELS[self._level]} at rest voltage, "
            f"{energy.magnitude / self._energy.magnitude - 1:+.0%} against the {self._energy:.1f~P} of the lead cell. "
            f"The shortcut promises {promise - 1:+.0%}. "
            f"It holds {limits[limiting]:.2f~P} where lead held {self._charge:.2f~P}; what runs out first: {limiting}."
        )
        charges = {name: charge.magnitude for name, charge in limits.items()}
        self.png = self._chart.png(metal, energy.magnitude, self._energy.magnitude * promise, charges, limiting)


def energy_panel(design, level="plates", acid=ACID):
    """What a rebuild does to the energy per mass, live: it shows itself as the last line of a cell.

    ``level`` are the masses that count, ``acid`` is in the new electrolyte with what the separators still hold. At rest
    voltage: a load gets less. Block and felt are those of the design list. What no cell can be is said in the panel.

    >>> import cellkit as ck
    >>> panel = energy_panel(ck.designs.read_design("osier_yard_design.csv"))
    >>> panel.sentence.split(" of ")[0]
    'This copper rebuild gives 22.8 Wh/kg'
    """
    return EnergyPanel(expect("design", design, Design, EXAMPLE), level, acid)


def _heights(kind, levels):
    """Volts of lead dioxide, the negative, hydrogen and oxygen, or an :class:`InputError`."""
    names = "lead dioxide", one_of("a name in levels", kind, COLOURS), "hydrogen", "oxygen"
    expect(kind, levels, dict, '{"lead dioxide": Q_(1.7, "V"), ...}')
    if missing := [name for name in names if name not in levels]:
        raise InputError(f"{kind} has no {', '.join(missing)}; it needs {', '.join(names)}.")
    return [to_si(name, levels[name], Constraint("V", 'Q_(1.7, "V")', single=True)) for name in names]


def ladder(levels):
    """Both electrodes of each cell as steps, with the range between hydrogen and oxygen where water stays whole.

    ``levels`` maps each negative to the potentials [V] of ``"lead dioxide"``, itself, ``"hydrogen"`` and ``"oxygen"``,
    all in the solution of that cell. The sentence gives the volts between the steps and how far each lies outside the
    range.
    """
    expect("levels", levels, dict, "{'copper': {...}}")
    heights = {kind: _heights(kind, of_cell) for kind, of_cell in levels.items()}
    figure, ax = canvas(left=0.11, right=0.97, top=0.97, bottom=0.09)
    words = []
    for x, (kind, (top, bottom, low, high)) in enumerate(heights.items()):
        ax.add_patch(Rectangle((x - 0.42, low), 0.84, high - low, color=PALE, alpha=0.6, linewidth=0))
        for height, gas in (low, "hydrogen below"), (high, "oxygen above"):
            ax.plot([x - 0.42, x + 0.42], [height] * 2, color=COLOURS["warning"], linewidth=1.5, linestyle=(0, (1, 1)))
            ax.text(x + 0.42, height, gas, fontsize=8, ha="right", va="bottom" if height == high else "top")
        for height, name, colour, lift in (top, "lead dioxide", INK, 0.09), (bottom, kind, COLOURS[kind], -0.1):
            ax.plot([x - 0.42, x + 0.1], [height] * 2, color=colour, linewidth=4, solid_capstyle="butt")
            ax.text(x - 0.42, height + lift, f"{name} {height:+.2f} V", color=colour, fontsize=9, va="center")
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


class VoltPanel(Live):
    """Three meters that follow acid, salt and temperature.

    Each meter has a needle for the rest voltage, a band for its uncertainty and a thin line for the ideal answer.
    """

    HALF_SCALE = 0.3  # V to either side of the standard voltage
    sliders = {
        "acid": Slider("Sulfuric acid", "mol/kg", 0.1, 6.0, 0.1, 1.0),
        "salt": Slider("Metal sulfate", "mol/kg", 0.01, 1.2, 0.01, 0.5),
        "temperature": Slider("Temperature", "degC", 0, 45, 1, 25),
    }

    def __init__(self):
        figure, axes = canvas(len(NEGATIVES), left=0.1, right=0.97, top=0.97, bottom=0.13, hspace=0.9)
        self._meters = {kind: self._meter(ax, kind) for kind, ax in zip(NEGATIVES, axes, strict=True)}
        axes[-1].set_xlabel("Rest voltage / V")
        moving = [artist for meter in self._meters.values() for artist in meter]
        self._moving = Moving(figure, moving, ["black", *(COLOURS[metal] for metal in METALS)])
        super().__init__(figure)

    def _meter(self, ax, kind):
        """Band, needle, line of the ideal answer and words of one meter, drawn on ``ax``."""
        colour = COLOURS[kind]
        middle = round(20 * (half_cell("lead dioxide")["e0"] - half_cell(kind)["e0"])) / 20
        ax.set(xlim=(middle - self.HALF_SCALE, middle + self.HALF_SCALE), ylim=(0, 1), yticks=[])
        ax.spines["left"].set_visible(False)
        ax.text(-0.015, 0.4, kind, color=colour, ha="right", transform=ax.transAxes)
        band = ax.add_patch(Rectangle((0, 0), 0, 0.7, color=colour, alpha=0.3, linewidth=0))
        needle = ax.plot([0, 0], [0, 0.7], color=colour, linewidth=2.2)[0]
        ideal = ax.plot([0, 0], [0, 0.7], color=colour, linewidth=1, linestyle=":")[0]
        return band, needle, ideal, ax.text(0, 0.8, "", color=colour, fontsize=9)

    def look(self, acid, salt, temperature):
        """Sentence and picture for these values."""
        words = []
        for kind, (band, needle, ideal, label) in self._meters.items():
            metal, salt_here = (None, 0.0) if kind == "lead" else (kind, salt)
            dissolved = from_molality.si(1.0, acid, salt_here, metal, temperature).salt
            state = kind, acid, dissolved, temperature
            real, wrong = (float(rest_voltage.si(*state, ideal=flag)) for flag in (False, True))
            half, text = np.nan, "not known: too much salt, or too much acid beside it"
            if not np.isnan(real):
                half = float(rest_voltage_uncertainty.si(*state))
                text = f"{real:.3f} V ± {1000 * half:.0f} mV; ideal {wrong:.3f} V"
            band.set(x=real - half, width=2 * half)
            needle.set_xdata([real, real])
            ideal.set_xdata([wrong, wrong])
            label.set(text=text, x=label.axes.get_xlim()[0] if np.isnan(real) else real)
            words.append(f"{kind} {text}")
        mixed = f"{acid:.2g} mol/kg acid with {salt:.2g} mol/kg metal sulfate"
        self.sentence = (
            f"In {mixed} (the lead cell without) at {temperature - 273.15:.0f} °C: " + "; ".join(words) + "."
        )
        self.png = self._moving.png()


AROUND = np.linspace(0.25, 2.5, 100), np.linspace(5 / 18, 35 / 18, 100)  # of the design's fill and its plates
DARKEST, MOST = 0.7, 60  # of a colour at the dark end of the scale; its Wh/kg
NAMED = 0.04  # least share of the map that gets its name written on it


def _kind(key):
    """The name under which a construction has its colour."""
    return "carbon" if CONSTRUCTIONS[key].wrap else CONSTRUCTIONS[key].negative


def _scale(construction):
    return LinearSegmentedColormap.from_list(construction, ["white", (COLOURS[_kind(construction)], DARKEST)])


def _listed(design, key):
    """Whether the list has every row that a construction needs."""
    try:
        return bool(Design.cell.si(design, key))
    except InputError:
        return False


def map_axes(design):
    """Volumes [mL] and positive plates [g] of one cell that the map of a design spans."""
    middle = 1e6 * design.values["fill volume"], 1e3 * design.values["positive plates"] / design.block.cells
    return tuple(around * here for around, here in zip(AROUND, middle, strict=True))


def _outline(axes, height, level=0.0):
    """Points of the contour of ``height`` over the map, pieces kept apart by NaN."""
    pieces = contour_generator(*axes, np.ma.masked_invalid(height)).lines(level)
    return np.vstack([np.vstack([piece, [[np.nan, np.nan]]]) for piece in pieces] or [[[np.nan, np.nan]]]).T


class DesignMap(Live):
    """See :func:`design_map`. ``construction`` are the buttons."""

    SLIDERS = {
        "fill salt": ("Metal sulfate poured in", "mol/L", 0.05, 3, 0.05),
        "fill acid": ("Acid poured in", "mol/L", 0, 3, 0.05),
        "tank volume": ("Tank per cell", "mL", 0, 100, 1),
        "charge kept by positives": ("Charge kept by positives", "percent", 30, 100, 1),
    }

    def __init__(self, design):
        self._design = design
        self._before = Cell.specific_energy.si(design.cell("lead"), "block") / 3600
        self._volumes, self._plates = self._axes = map_axes(design)
        self.sliders = {}
        for item, (label, unit, least, most, step) in self.SLIDERS.items():
            if item in design.values:  # the row of a tank may be blank
                here = round(float(design[item].to(unit).magnitude), 3)
                self.sliders[item] = Slider(label, unit, min(least, here), max(most, here), step, here)
        # buttons, since JupyterLab takes the arrow keys away from a drop-down list
        wide = {"button_width": "auto"}
        self.construction = widgets.ToggleButtons(
            options=[(c.name, c.key) for c in CONSTRUCTIONS.values() if _listed(design, c.key)], style=wide
        )
        self.construction.value = next(key for _, key in self.construction.options if CONSTRUCTIONS[key].metal)
        figure, (ax, key) = self._canvas()
        extent = (*self._volumes[[0, -1]], *self._plates[[0, -1]])
        looks = {"origin": "lower", "aspect": "auto", "vmin": 0, "vmax": MOST, "interpolation": "nearest"}
        self._image = ax.imshow(np.zeros((2, 2)), extent=extent, **looks)
        self._key = key.imshow(np.linspace(0, MOST, 64)[:, None], extent=(0, 1, 0, MOST), **looks)
        self._even = ax.plot([], [], color="black", linewidth=2.5)[0]
        self._borders = ax.plot([], [], color=INK, linewidth=1)[0]
        self._mine = ax.plot([], [], "o", color="black", markerfacecolor="white", markersize=8, clip_on=False)[0]
        self._names = [ax.text(np.nan, np.nan, "", ha="center", va="center", fontsize=9) for _ in range(6)]
        moving = [self._image, self._key, self._borders, self._even, self._mine, *self._names]
        kinds = {_kind(name) for name in CONSTRUCTIONS}
        self._moving = {kind: Moving(figure, moving, ["black", COLOURS[kind]]) for kind in sorted(kinds)}
        super().__init__(figure, self.construction)

    def _canvas(self):
        figure, ax = canvas(left=0.1, right=0.83, top=0.97, bottom=0.14)
        ax.set(xlabel="Electrolyte per cell / mL", ylabel="Positive plates per cell / g")
        ax.set(xlim=self._volumes[[0, -1]], ylim=self._plates[[0, -1]])
        key = figure.add_axes([0.88, 0.14, 0.03, 0.83])
        key.yaxis.tick_right()
        key.set(xticks=[], ylim=(0, MOST), xlim=(0, 1))
        figure.text(0.975, 0.55, "Energy per mass / Wh/kg", rotation=90, va="center", ha="center")
        return figure, (ax, key)

    def look(self, **values):
        """Sentence and picture for these values of the design."""
        name = self.construction.value
        design = Design.varied.si(self._design, self._design.carried(values))
        here = specific_energy_map.si(design, name, self._volumes / 1e6, self._plates / 1e3)
        density = here.specific_energy / 3600
        for picture in (self._image, self._key):
            picture.set_cmap(_scale(name))
        self._image.set_data(density)
        self._even.set_data(*_outline(self._axes, density - self._before))
        shares = self._regions(here)
        self.sentence = self._sentence(name, design, density, shares)
        self.png = self._moving[_kind(name)].png()

    def _regions(self, here):
        """Draw borders between regions and name the larger ones; share of the map that each reagent limits."""
        borders, shares, texts = [], {}, iter(self._names)
        known, better = np.isfinite(here.specific_energy), here.specific_energy / 3600 > self._before
        parts = []
        for reagent, charge in here.limits.items():
            others = np.minimum.reduce([other for name, other in here.limits.items() if name != reagent])
            least = known & (here.limiting == reagent)
            shares[reagent] = least.mean()
            borders.append(_outline(self._axes, np.where(known, np.log(charge / others), np.nan)))
            if shares[reagent] >= NAMED:
                parts.append((reagent, max(least & better, least & ~better, key=np.sum)))
        if known.mean() <= 1 - NAMED:
            parts.append(("no such solution", ~known))
        places = [_inside(self._axes, part) for _, part in parts]
        for (name, _), place in zip(parts, places, strict=True):
            next(texts).set(position=place, text=name)
        if better.mean() >= NAMED:
            x, y = _inside(self._axes, max((better & (here.limiting == name) for name in here.limits), key=np.sum))
            wide, high = np.ptp(self._volumes) / 4, np.ptp(self._plates) / 18
            beside = any(abs(x - a) < wide and abs(y - b) < high for a, b in places)
            next(texts).set(position=(x, y - high * beside), text="better than the block")
        elif known.any():
            next(texts).set(position=(self._volumes[50], self._plates[4]), text="nowhere better than the block")
        for text in texts:
            text.set_text("")
        del borders[int(np.argmax(list(shares.values())))]  # its borders are drawn from the other side
        self._borders.set_data(*np.hstack(borders))
        return shares

    def _sentence(self, name, design, density, shares):
        volumes, plates = (f"{axis[0]:.0f} to {axis[-1]:.0f}" for axis in self._axes)
        chosen = CONSTRUCTIONS[name].name.capitalize()
        words = f"{chosen}, {volumes} mL and {plates} g of positives in a cell, at rest voltage: "
        if np.isnan(density).all():
            self._mine.set_data([], [])
            return words + "its solution does not exist anywhere on the map."
        row, column = np.unravel_index(np.nanargmax(density), density.shape)
        words += (
            f"better than the unmodified block's {self._before:.0f} Wh/kg on {np.mean(density > self._before):.0%} of "
            f"the map; at most {density[row, column]:.0f} Wh/kg, with {self._volumes[column]:.0f} mL and "
            f"{self._plates[row]:.0f} g. First to run out: "
            + ", ".join(f"{reagent} on {share:.0%}" for reagent, share in shares.items() if share >= 0.005)
            + ". "
        )
        return words + self._here(name, design)

    def _here(self, name, design):
        """Mark the design itself; its Wh/kg in words."""
        lead = CONSTRUCTIONS[name].metal is None
        cell = Design.cell.si(design, name)
        filled = (
            Electrolyte.volume.si(cell.electrolyte)
            if lead
            else design.planned("fill volume", CONSTRUCTIONS[name].metal)
        )
        volume = 1e6 * filled
        self._mine.set_data([volume], [1e3 * design.values["positive plates"] / design.block.cells])
        energy = Cell.specific_energy.si(cell, "block") / 3600
        if np.isnan(energy):
            return "The design itself has no such solution."
        return f"The design itself, the ring: {energy:.1f} Wh/kg, limited by {cell.limiting}."


def _inside(axes, region):
    """Place on the map furthest from the edges of a region, for words three times as wide as a line is high."""
    from scipy.ndimage import distance_transform_edt

    deep = distance_transform_edt(np.pad(region[::2, ::2], 1), sampling=(1, 1 / 3))[1:-1, 1:-1]
    row, column = np.unravel_index(np.argmax(deep), deep.shape)
    return axes[0][2 * column], axes[1][2 * row]


def design_map(design):
    """Wh/kg of the whole block at rest voltage over electrolyte and positive plates, live; buttons for constructions.

    The sliders start at the design. The thick line: as good as the unmodified block. Thin: where another reagent takes
    over. The ring: the design.

    >>> from cellkit.designs import read_design
    >>> design_map(read_design("osier_yard_design.csv")).sentence.split(". ")[-1]
    'The design itself, the ring: 16.0 Wh/kg, limited by metal ions.'
    """
    return DesignMap(expect("design", design, Design, EXAMPLE))


def band_bars(found):
    """Wh/kg of each construction of a :class:`Comparison`: a bar to the median draw, a line over nine draws of ten."""
    figure, ax = canvas(left=0.29, right=0.95, top=0.97, bottom=0.14)
    expect("found", found, Comparison, "cellkit.designs.compare(design)")
    bands = {name: found.specific_energy(name).magnitude for name in found.specific_energies}
    top = max(high for _, _, high in bands.values())
    for row, (name, (low, middle, high)) in enumerate(bands.items()):
        colour = look(_kind(name))["color"]
        hatch = "//" if CONSTRUCTIONS[name].tank else None
        ax.barh(row, middle, height=0.6, color=colour, alpha=0.55, hatch=hatch, edgecolor=colour)
        ax.plot([low, high], [row, row], color="black", linewidth=2, marker="|", markersize=10)
        ax.text(1.04 * top, row, f"{low:.0f} to {high:.0f} Wh/kg", va="center")
    ax.axvline(bands["lead"][1], color=INK, linewidth=1, linestyle=(0, (4, 2)))
    ax.set_yticks(range(len(bands)), [CONSTRUCTIONS[name].name.replace(" with", "\nwith") for name in bands])
    ax.invert_yaxis()
    ax.set(xlabel="Energy per mass of the whole block, under load / Wh/kg", xlim=(0, 1.35 * top))
    words = (
        f"{CONSTRUCTIONS[name].name} {middle:.0f} ({low:.0f} to {high:.0f})"
        for name, (low, middle, high) in bands.items()
    )
    return Picture(figure, "Wh/kg of the whole block, in brackets nine draws of ten: " + "; ".join(words) + ".")


def sensitivity_bars(found, construction, most=5):
    """What decides whether a construction beats the block: the ``most`` inputs with the largest sensitivity.

    The sentence names them with their shares, and what all others come to together.
    """
    shares = expect("found", found, Comparison, "cellkit.designs.compare(design)").sensitivity(construction)
    most = int(to_si("most", most, Constraint("", "5", low=1, whole=True, single=True)))
    shown = dict(list(shares.items())[:most])
    figure, ax = canvas(left=0.36, right=0.93, top=0.97, bottom=0.14)
    bars = ax.barh(list(shown), list(shown.values()), height=0.6, color=look(_kind(construction))["color"])
    ax.bar_label(bars, [f"{share:.0%}" for share in shown.values()], padding=4)
    ax.invert_yaxis()
    ax.set(xlabel=f"Squared rank correlation, {CONSTRUCTIONS[construction].name} / 1", xlim=(0, 1))
    words = ", ".join(f"{name} {share:.0%}" for name, share in shown.items())
    rest = sum(shares.values()) - sum(shown.values())
    return Picture(
        figure, f"What decides for the {CONSTRUCTIONS[construction].name}: {words}; all others together {rest:.0%}."
    )
