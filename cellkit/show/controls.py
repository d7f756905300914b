"""Live controls: sliders with a labelled number box each, a picture that is swapped in place, a sentence in words.

The front end keeps one message of a control under way and joins what comes meanwhile, so a fast drag skips pictures
instead of queueing them and always ends on the last value. Picture and sentence travel together in one message.
"""

import base64
import html
import weakref
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

import ipywidgets as widgets
import numpy as np
from contourpy import contour_generator
from IPython import get_ipython
from IPython.display import display
from matplotlib.collections import PolyCollection
from matplotlib.colors import LinearSegmentedColormap, to_rgb
from matplotlib.patches import Rectangle

from cellkit.cells.block import Block
from cellkit.cells.cell import Cell, shortcut_ratio
from cellkit.cells.load import CASES, LoadVoltages, voltage_under_load
from cellkit.chemistry.potentials import NEGATIVES, half_cell, rest_voltage, rest_voltage_uncertainty
from cellkit.chemistry.properties import DENSITY_ERROR
from cellkit.chemistry.solution import CONCENTRATION, Electrolyte, from_molality, from_molarity
from cellkit.designs.comparison import Comparison, specific_energy_map
from cellkit.designs.design import BY_METAL, CONSTRUCTIONS, EXAMPLE, Design
from cellkit.designs.review import Review
from cellkit.logs.self_discharge import ArrheniusFit, SelfDischargeFit, ShelfTime, tails
from cellkit.logs.shelf_log import EXAMPLE as SHELF_LOG
from cellkit.show.figures import COLOURS, HEIGHT, INK, PALE, WIDTH, Moving, Picture, canvas, look
from cellkit.tables.metals import METALS
from cellkit.units import Q_, Constraint, InputError, aloud, expect, one_of, quantity, to_si, ureg

LEVELS = {"reacting": "reacting masses", "plates": "plates, electrolyte and separators", "block": "the whole block"}
ACID = Q_(1, "mol/L")  # H2SO4 in the new electrolyte
# what a small screen or a learner's own colours hide: which button is chosen, tracks, handles, the end of a sentence
STYLE = """<style>
.cellkit-panel .widget-html-content { min-width: 0 }
.cellkit-panel .widget-html img { max-width: 100%; height: auto }
.cellkit-panel .widget-html p { min-height: 7em; line-height: 1.4; margin: 0 }
.cellkit-panel .widget-text { flex: 1 1 270px; width: auto; height: auto; flex-wrap: wrap }
.cellkit-panel .widget-text label { flex: 1 1 auto; white-space: normal; text-align: left }
.cellkit-panel .widget-text input { flex: 0 0 5.5em }
.cellkit-panel .widget-slider { flex: 1 1 150px; width: auto; min-width: 150px }
.cellkit-panel .widget-toggle-buttons { width: auto; height: auto; flex-wrap: wrap }
.cellkit-panel .widget-toggle-buttons .jupyter-button { width: auto }
.cellkit-panel .jupyter-button.mod-active { outline: 2px solid currentColor; outline-offset: -2px }
@media (max-width: 1000px) {
  .cellkit-panel .widget-html p { min-height: 4.2em; line-height: 1.3 }
  .cellkit-panel .cellkit-row > * { margin-top: 0; margin-bottom: 0 }
}
@media (forced-colors: active) {
  .cellkit-panel .jupyter-button { border: 1px solid ButtonText }
  .cellkit-panel .jupyter-button.mod-active { forced-color-adjust: none; background: Highlight; color: HighlightText }
  .cellkit-panel .noUi-target { border: 1px solid CanvasText }
  .cellkit-panel .noUi-handle { border: 2px solid ButtonText }
  .cellkit-panel .noUi-handle:focus, .cellkit-panel .jupyter-button:focus { outline: 3px solid Highlight }
}
</style>"""
# what widgets cannot say of themselves, each time a picture has come: a new sentence is read out, handles have the name
# of their row and no value such as 45.00000000000001
SPOKEN = """const panel = this.closest('.cellkit-panel')
panel?.querySelector('.cellkit-words').setAttribute('aria-live', 'polite')
panel?.querySelectorAll('.cellkit-row').forEach(row => {
  const handle = row.querySelector('.noUi-handle')
  handle?.setAttribute('aria-label', row.querySelector('label').textContent)
  handle?.setAttribute('aria-valuetext', +Number(handle.getAttribute('aria-valuetext')).toFixed(6))
})"""


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
        box = widgets.BoundedFloatText(
            description=f"{self.label} / {ureg.Unit(self.unit):~P}", style={"description_width": "initial"}, **limits
        )
        slider = widgets.FloatSlider(readout=False, **limits)
        # a slider counts its steps in binary fractions and gives 67.00000000000001
        widgets.link((slider, "value"), (box, "value"), transform=(lambda value: round(value, 6), lambda value: value))
        return box, widgets.HBox([box, slider], layout={"flex_flow": "row wrap"}).add_class("cellkit-row")


PLAN = {  # rows of a design that a learner moves: label, unit, least, most (None: 2.5 times the design's), step
    "fill salt": ("Metal sulfate poured in", "mol/L", 0.05, 3, 0.05),
    "fill acid": ("Acid poured in", "mol/L", 0, 3, 0.05),
    "fill volume": ("Poured into each cell", "mL", 1, None, 0.5),
    "held electrolyte": ("Old acid still in each cell", "g", 0, None, 0.5),
    "purity": ("Purity of the crystals", "percent", 50, 100, 0.5),
    "tank volume": ("Tank per cell", "mL", 0, 100, 1),
    "charge kept by positives": ("Charge kept by positives", "percent", 30, 100, 1),
}


def _planned(designs, *items):
    """Sliders that start at the first of some designs and reach all, by item; a row that is blank has none."""
    sliders = {}
    for item in items:
        if item in designs[0].values:
            label, unit, least, most, step = PLAN[item]
            all_here = [round(float(design[item].to(unit).magnitude), 3) for design in designs]
            most = np.ceil(2.5 * max(all_here) + 1) if most is None else most
            sliders[item] = Slider(label, unit, min(least, *all_here), max(most, *all_here), step, all_here[0])
    return sliders


def _single(design):
    """The design, if there is one value in each of its rows."""
    for item, value in expect("design", design, Design, EXAMPLE).values.items():
        if np.ndim(value):
            raise InputError(f"{item} has {np.size(value)} values; a panel shows one design at a time. Take one value.")
    return design


def _buttons(options):
    # buttons, since JupyterLab takes the arrow keys away from a drop-down list
    return widgets.ToggleButtons(options=options, style={"button_width": "auto"})


def _constructions(design, known):
    """Buttons of the constructions that are ``known`` of a design; the first rebuild is chosen."""
    keys = [key for key in CONSTRUCTIONS if known(design, key)]
    buttons = _buttons([(CONSTRUCTIONS[key].name, key) for key in keys])
    buttons.value = next((key for key in keys if CONSTRUCTIONS[key].metal), keys[0])
    return buttons


def _listed(design, key):
    """Whether the list has every row that a construction needs."""
    try:
        return bool(Design.cell.si(design, key))
    except InputError:
        return False


def frame(png, sentence):
    """Picture and sentence as HTML; the picture keeps its shape, and the sentence is its alternative text too."""
    words, data = html.escape(sentence), base64.b64encode(png).decode()
    size = f'width="{WIDTH}" height="{HEIGHT}" decoding="sync" onload="{html.escape(SPOKEN)}"'
    return f'<img {size} alt="{words}" src="data:image/png;base64,{data}">', f"<p>{words}</p>"


def _code_cell():
    """The id of the code cell that is being run, where there is a kernel and the front end tells it."""
    kernel = getattr(get_ipython(), "kernel", None)
    return kernel and kernel.get_parent().get("metadata", {}).get("cellId")


def _close(widget):
    """Let go of a widget and all that hangs on it: the kernel keeps what is not closed."""
    for part in (*getattr(widget, "children", ()), widget.layout, getattr(widget, "style", None)):
        if isinstance(part, widgets.DOMWidget):
            _close(part)
        elif part:
            part.close()
    widget.close()


class Live:
    """A picture with its sentence beside its controls; shown when it is the last line of a cell.

    A panel built on it gives ``sliders``, a :class:`Slider` by name, and ``look(**values)``, which sets its ``moving``
    artists to the SI values of all of them and returns the sentence; an InputError in it leaves the words alone.
    ``boxes`` are the number boxes by name, ``choice`` the buttons. Run again, a cell lets go of the panel it showed.
    """

    sliders: dict
    _shown_in = {}

    def __init__(self, figure, moving, choice=None):
        pairs = {name: slider.widgets() for name, slider in self.sliders.items()}
        self.figure, self.boxes, self.choice = figure, {name: box for name, (box, _) in pairs.items()}, choice
        self._moving, self._screen, self._words = Moving(figure, moving), widgets.HTML(), widgets.HTML()
        above = [choice] if choice else []
        self._words.add_class("cellkit-words")
        seen = widgets.VBox([self._screen, self._words], layout={"flex": f"0 1 {WIDTH + 4}px"})
        moved = widgets.VBox([*above, *(row for _, row in pairs.values())], layout={"flex": "1 1 280px"})
        self._widget = widgets.HBox([widgets.HTML(STYLE), seen, moved], layout={"flex_flow": "row wrap"})
        self._widget.add_class("cellkit-panel")
        weakref.finalize(self, _close, self._widget).atexit = False
        follow = weakref.WeakMethod(self._follow)
        for source in (*above, *self.boxes.values()):
            source.observe(lambda change: follow() and follow()(change), "value")
        self._follow()

    def _follow(self, change=None):
        given = {name: Q_(box.value, self.sliders[name].unit) for name, box in self.boxes.items()}
        artists = (*self._moving.artists, *self._moving.texts)
        for artist in artists:
            artist.set_visible(True)
        try:
            self.sentence = self.look(**{name: value.to_base_units().magnitude for name, value in given.items()})
        except InputError as error:
            self.sentence = f"No such cell: {error}"
            for artist in artists:
                artist.set_visible(False)
        self.png = self._moving.png()
        self._screen.value, self._words.value = frame(self.png, self.sentence)

    def picture(self):
        """The panel's picture as it stands, to keep where no kernel runs."""
        return Picture(self.figure, self.sentence)

    def _ipython_display_(self):
        cell = _code_cell()
        before = self._shown_in.get(cell)
        if before not in (None, self):
            _close(before._widget)
            vars(before).clear()  # the history of outputs keeps it
        if cell:
            self._shown_in[cell] = self
        if not vars(self):
            return print("This panel is gone: its cell was run again.")
        view = self._widget._repr_mimebundle_()
        display(view | {"text/plain": "[live control: run this cell to move it]"}, raw=True)


def _bars(ax, names):
    """Moving bars by name with a moving label each: both, and a function that sets them to values and texts."""
    ax.invert_yaxis()
    bars = ax.barh(names, [0] * len(names), height=0.62)
    labels = [ax.text(0, bar.get_y() + bar.get_height() / 2, "", va="center") for bar in bars]

    def grow(values, texts, colours):
        for bar, label, value, text, colour in zip(bars, labels, values, texts, colours, strict=True):
            bar.set(width=value, facecolor=colour)
            label.set(text=f" {text}", x=min(value, 0.72 * ax.get_xlim()[1]))

    return [*bars, *labels], grow


class EnergyPanel(Live):
    """See :func:`energy_panel`. ``choice`` is of the metal."""

    def __init__(self, design, level, acid):
        self._design, self._level = _single(design), level
        self._acid = to_si("acid", acid, replace(CONCENTRATION, single=True))
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
        super().__init__(*self._chart(self._energy.magnitude, self._charge.magnitude), _buttons(list(METALS)))

    def _chart(self, energy, charge):
        """Energy per mass of a rebuild with the unmodified cell and the shortcut; below it, what limits its charge."""
        figure, (upper, lower) = canvas(2, left=0.24, right=0.97, top=0.97, bottom=0.13, hspace=0.5)
        names = ["unmodified", "shortcut", "rebuild"]
        upper.barh(names, [energy, 0, 0], color=COLOURS["lead"], height=0.62)
        upper.text(energy, 0, f" {energy:.0f} Wh/kg", va="center")
        self._reagents = ["PbO2", "metal ions", "felt", "acid"]
        above, self._set_energies = _bars(upper, names[1:])
        below, self._set_charges = _bars(lower, self._reagents)
        above[0].set(edgecolor=COLOURS["lead"], hatch="////")
        self._beyond = lower.plot([], [], linestyle="none", marker=">", color=INK)[0]
        upper.set(xlabel="Energy per mass / Wh/kg", xlim=(0, 2.2 * energy))
        lower.set(xlabel="Charge / Ah", xlim=(0, 1.6 * charge))
        return figure, [*above, *below, self._beyond]

    def _filled(self, metal, volume, salt):
        """The rebuilt cell with lead's mass for its negatives: their mass changes neither its charge nor its volts."""
        fill = from_molarity.si(volume, acid=self._acid, salt=salt, metal=metal)
        return Block.rebuilt_cell.si(self._design.block, fill, self._lead, self._design.felt_room(metal))

    def look(self, removed, put_back, **fill):
        """Sentence and picture for these values."""
        metal = self.choice.value
        filled = self._kept(metal, **fill)
        # lead that is not removed stays in as dead mass
        cell = replace(filled, negative_mass=self._lead - removed + put_back)
        energy = Cell.energy.si(filled) / Cell.mass.si(cell, self._level)
        if not energy > 0:
            with aloud():
                self._filled(metal, **fill)
        energy, limits, limiting = quantity(energy, "J/kg -> Wh/kg"), cell.limits, str(cell.limiting)
        promise = float(shortcut_ratio.si(removed / self._mass))
        shown = self._energy.magnitude * promise, energy.magnitude
        words = f"{shown[0]:.0f} Wh/kg", f"{shown[1]:.0f} Wh/kg, {metal}"
        self._set_energies(shown, words, ["white", COLOURS[metal]])
        charges, ends = [limits[name].magnitude for name in self._reagents], [n == limiting for n in self._reagents]
        texts = [f"{charge:.2g} Ah: the limit" if end else "" for charge, end in zip(charges, ends, strict=True)]
        self._set_charges(charges, texts, [COLOURS[metal] if end else PALE for end in ends])
        edge = self._beyond.axes.get_xlim()[1]
        beyond = [row for row, charge in enumerate(charges) if charge > edge]
        self._beyond.set_data([0.98 * edge] * len(beyond), beyond)
        return (
            f"This {metal} rebuild gives {energy:.1f~P} of {LEVELS[self._level]} at rest voltage, "
            f"{energy.magnitude / self._energy.magnitude - 1:+.0%} against the {self._energy:.1f~P} of the lead cell. "
            f"The shortcut promises {promise - 1:+.0%}. "
            f"It holds {limits[limiting]:.2f~P} where lead held {self._charge:.2f~P}; what runs out first: {limiting}."
        )


def energy_panel(design, level="plates", acid=ACID):
    """What a rebuild does to the energy per mass, live: it shows itself as the last line of a cell.

    ``level`` are the masses that count, ``acid`` is in the new electrolyte with what the separators still hold. At rest
    voltage: a load gets less. Block and felt are those of the design list. What no cell can be is said in the panel.

    >>> import cellkit as ck
    >>> panel = energy_panel(ck.designs.read_design("osier_yard_design.csv"))
    >>> panel.sentence.split(" of ")[0]
    'This copper rebuild gives 22.8 Wh/kg'
    """
    return EnergyPanel(design, level, acid)


class RecipePanel(Live):
    """See :func:`recipe_panel`. ``choice`` is of the metal."""

    MOST = 4.0  # mol/kg at the end of the axis

    def __init__(self, design):
        self._design, metals = _single(design), list(METALS)
        items = "fill salt", "fill acid", "fill volume", "purity", "held electrolyte"
        self.sliders = _planned([self._of(metal) for metal in metals], *items)
        figure, (upper, lower) = canvas(2, left=0.2, right=0.97, top=0.97, bottom=0.13, hspace=0.55)
        grams, self._set_grams = _bars(upper, ["crystals", "battery acid", "water"])
        most = 2e6 * design.block.cells * max(self._of(metal).values["fill volume"] for metal in metals)
        upper.set(xlabel="To weigh out for all cells / g", xlim=(0, most))
        self._band = lower.add_patch(Rectangle((0, 0.2), 0, 0.4, linewidth=0, alpha=0.4))
        self._there = lower.plot([0, 0], [0.05, 0.75], color=INK, linewidth=3)[0]
        self._label = lower.text(0.02, 0.87, "", va="center")
        lower.set(xlabel="Metal sulfate in the coldest place / mol/kg", xlim=(0, self.MOST), ylim=(0, 1), yticks=[])
        super().__init__(figure, [*grams, self._band, self._there, self._label], _buttons(metals))

    def _of(self, metal):
        """The design with a metal's own rows in place of the common ones."""
        own = {item: self._design.planned(item, metal) for item in BY_METAL if item in self._design.values}
        return Design.varied.si(self._design, own)

    def _follow(self, change=None):
        if change and change["owner"] is self.choice:  # go where the other metal has rows of its own
            before, after = (self._of(change[which]) for which in ("old", "new"))
            for item, box in self.boxes.items():
                if before.values[item] != after.values[item]:
                    box.value = round(after[item].to(self.sliders[item].unit).m, 3)
        super()._follow(change)

    def look(self, **values):
        """Sentence and picture for these values."""
        metal, design = self.choice.value, Design.varied.si(self._design, values)
        review, cells = Review(design, metal), design.block.cells
        fresh, mixed = design.fresh(metal), review.cell.electrolyte
        grams = design.recipe(metal)
        cold, place = review.cold(), design["coldest place"].to("degC")
        verdict = "stays dissolved" if cold.salt <= cold.least else "drops crystals"
        verdict = "may drop crystals" if cold.least < cold.salt <= cold.most else verdict
        self._set_grams([part.m for part in grams], [f"{part:.1f~P}" for part in grams], [COLOURS[metal], PALE, PALE])
        self._band.set(x=cold.least, width=cold.most - cold.least, facecolor=COLOURS[metal])
        self._there.set_xdata([min(cold.salt, self.MOST)] * 2)
        self._label.set_text(f"{verdict}: {cold.salt:.2f}, and {cold.least:.2f} to {cold.most:.2f} dissolve")
        crystals, acid, water = (f"{part:.1f~P}" for part in grams)
        return (
            f"For all {cells} cells weigh out {crystals} of {design.values[f'{metal} crystals']}, "
            f"{acid} of battery acid and {water} of water: {cells * fresh.volume:.0f~P}, a float has to show "
            f"{fresh.density:.3f~P} ± {DENSITY_ERROR * fresh.density.m:.3f} at 25 °C. With the old acid each cell "
            f"then holds {mixed.salt_molarity:.2f~P} of sulfate and {mixed.acid_molarity:.2f~P} of acid. At "
            f"{place:.0f~P} it {verdict}: {cold.least:.2f} to {cold.most:.2f} mol/kg dissolve, and it has "
            f"{cold.salt:.2f} {cold.when}."
        )


def recipe_panel(design):
    """What to weigh out for a design, live: grams, the density to check, and whether it stays dissolved in the cold.

    Crystals and acid are poured in on top of the old acid that each cell holds. The band is what dissolves in the
    coldest place of the list, with its error; the thick line is what is there when that is tightest.

    >>> from cellkit.designs import read_design
    >>> recipe_panel(read_design("osier_yard_design.csv")).sentence.split(",")[0]
    'For all 3 cells weigh out 30.3 g of CuSO4·5H2O'
    """
    return RecipePanel(design)


def _ribbon(x, low, high):
    """Corners of the area between two curves."""
    return [np.column_stack([np.concatenate([x, x[::-1]]), np.concatenate([low, high[::-1]])])]


class LoadPanel(Live):
    """See :func:`load_panel`. ``choice`` is of the construction."""

    PARTS = LoadVoltages._fields[1:-1]
    NAMES = tuple(part.replace("_overpotential", " plate") for part in PARTS)

    def __init__(self, design):
        self._design, self._cell = _single(design), lru_cache(design.cell)
        self._paths = [design.current_path(case) for case in CASES]
        mine = float(f"{design['load current'].to('mA').m:.3g}")
        self.sliders = {
            "current": Slider("Current", "mA", 0, 20 * mine, mine / 20, mine),
            "depth": Slider("Depth of discharge", "percent", 1, 99, 1, 50),
        }
        choice = _constructions(design, lambda design, key: not design.refused(key))
        self._currents = np.linspace(0, 0.02 * mine, 61)
        most = np.max([self._lost(self._at(key, self._currents[-1], 0.5)) for _, key in choice.options], axis=0)
        figure, (upper, lower) = canvas(2, left=0.2, right=0.95, top=0.97, bottom=0.13, hspace=0.5)
        self._layers = [upper.add_collection(PolyCollection([np.zeros((3, 2))], linewidth=0.3)) for _ in self.PARTS]
        self._here = upper.plot([], [], color=INK, linewidth=1, marker="o")[0]
        self._label = upper.text(0.8 * mine, sum(most), "", va="bottom")
        bars, self._set_bars = _bars(lower, self.NAMES)
        upper.set(xlabel="Current / mA", ylabel="Below rest / mV", xlim=(0, 20 * mine), ylim=(1.1 * sum(most), 0))
        lower.set(xlabel="Share of what is lost / %", xlim=(0, 100))
        lower.tick_params(axis="y", labelsize=8)
        super().__init__(figure, [*self._layers, self._here, self._label, *bars], choice)

    def _at(self, key, current, depth, path=0):
        return voltage_under_load.si(self._cell(key), self._paths[path], current, depth)

    def _lost(self, found):
        """Millivolts by part."""
        return [1000 * getattr(found, part) for part in self.PARTS]

    def look(self, current, depth):
        """Sentence and picture for these values."""
        key = self.choice.value
        with aloud():
            found = self._at(key, current, depth)
        best, worst = (self._at(key, current, depth, path).terminal for path in (1, 2))
        lost, curve = self._lost(found), self._at(key, self._currents, depth)
        driven, top = np.isfinite(curve.terminal), 0 * self._currents
        grades = np.linspace(0, 0.8, len(self.PARTS))[:, None]
        colours = (1 - grades) * to_rgb(COLOURS[_kind(key)]) + grades
        for layer, colour, part in zip(self._layers, colours, self._lost(curve), strict=True):
            layer.set_verts(_ribbon(1000 * self._currents[driven], top[driven], (top + part)[driven]))
            layer.set(facecolor=colour, edgecolor="white")
            top = top + part
        self._here.set_data([1000 * current] * 2, [0, sum(lost)])
        self._label.set_text(f"{found.terminal:.2f} V at {1000 * current:.4g} mA")
        shares = 100 * np.array(lost) / max(sum(lost), 1e-9)
        self._set_bars(shares, [f"{part:.1f} mV" for part in lost], colours)
        worst = "none" if np.isnan(worst) else f"{worst:.2f}"
        parts = ", ".join(f"{name} {part:.1f}" for name, part in zip(self.NAMES, lost, strict=True))
        return (
            f"{CONSTRUCTIONS[key].name.capitalize()}, {depth:.0%} used: one cell has {found.rest:.2f} V at rest. "
            f"{1000 * current:.4g} mA leave {found.terminal:.2f} V; with all that is not known at its worst {worst}, "
            f"at its best {best:.2f}. The {sum(lost):.0f} mV that are lost: {parts}."
        )


def load_panel(design):
    """Volts of one cell under a current, live: what each of seven parts takes, shaded and named.

    The current starts at the design's load. As :func:`cellkit.cells.voltage_under_load` has it, true in a pulse.

    >>> from cellkit.designs import read_design
    >>> load_panel(read_design("osier_yard_design.csv")).sentence.split(";")[0]
    'Copper rebuild, 50% used: one cell has 1.34 V at rest. 100 mA leave 1.32 V'
    """
    return LoadPanel(design)


class ShelfPanel(Live):
    """See :func:`shelf_panel`."""

    def __init__(self, fit):
        self._fit = fit
        log, self._reference = fit.log, getattr(fit, "reference_temperature", fit.log.temperature[0])
        spec = fit.model.spec("rate")
        shown = spec.split("->")[1].strip()
        rate = float(f"{quantity(self._parameters(self._reference)[0, -1], spec).m:.3g}")
        self._rate, step = Q_(rate, shown).to_base_units().m, 10 ** (np.floor(np.log10(rate)) - 2)
        kept = {"rate": Slider(f"Rate at {self._reference - 273.15:.0f} °C", shown, step, 5 * rate, step, rate)}
        if isinstance(fit, ArrheniusFit):
            low, high = (round(end - 273.15) for end in (log.temperature.min() - 5, log.temperature.max() + 5))
            here = round(self._reference - 273.15)
            kept["temperature"] = Slider("Temperature", "degC", low, high, 1, here)
        self.sliders = kept | {"share": Slider("Share that is to be left", "percent", 5, 99, 1, 80)}
        slowest = self._parameters(log.temperature.min())[0, 1:]
        end = fit.model.time_to(0.6, *slowest)
        self._end = float(end) if np.isfinite(end) else 3 * log.time.max()
        self._unit = "hour" if self._end < 4 * 86400 else "day"
        super().__init__(*self._chart(log))

    def _parameters(self, kelvin):
        """Parameters of the model, SI: of the fit, then of each draw, a row each."""
        fit = self._fit
        return fit.parameters_at(kelvin) if isinstance(fit, ArrheniusFit) else np.vstack([fit.fit.values, fit.draws])

    def _shown(self, seconds):
        return quantity(seconds, f"s -> {self._unit}")

    def _chart(self, log):
        figure, ax = canvas(left=0.11, right=0.97, top=0.97, bottom=0.14)
        end, known, amber = self._shown(self._end).m, self._shown(log.time.max()).m, COLOURS["warning"]
        if known < end:
            ax.axvspan(known, end, facecolor=amber, alpha=0.15, hatch="//", edgecolor=amber)
            ax.text((known + end) / 2, 4, "BEYOND THE DATA: a guess", ha="center", fontsize=9)
        colour = look(log.negative)["color"]
        self._band = ax.add_collection(PolyCollection([np.zeros((3, 2))], color=colour, alpha=0.3, linewidth=0))
        self._line = ax.plot([], [], color=colour, linewidth=2)[0]
        self._goal = ax.plot([], [], color=INK, linewidth=1, linestyle="--")[0]
        self._label = ax.text(0, 0, "", va="bottom")
        ax.set(xlabel=f"Time on the shelf / {self._unit}", ylabel="Share left / %", xlim=(0, end), ylim=(0, 104))
        return figure, [self._band, self._line, self._goal, self._label]

    def look(self, rate, share, temperature=None):
        """Sentence and picture for these values."""
        fit, kelvin = self._fit, self._reference if temperature is None else temperature
        rows, times = self._parameters(kelvin), np.linspace(0, self._end, 60)
        rows[:, fit.model.first_rate :] *= rate / self._rate
        with np.errstate(all="ignore"):
            left = fit.model.left(times, *rows[:, 1:, None].swapaxes(0, 1))
            when = fit.model.time_to(share, *rows[:, 1:].T)
            low, high = np.quantile(when[1:], tails(0.95), method="inverted_cdf")
        x = self._shown(times).m
        self._band.set_verts(_ribbon(x, *(100 * np.quantile(left[1:], tails(0.95), axis=0))))
        self._line.set_data(x, 100 * left[0])
        found = ShelfTime(share, *map(self._shown, (when[0], low, high, fit.log.time.max())))
        at = min(found.time.m, x[-1])
        self._goal.set_data([0, at, at], [100 * share, 100 * share, 0])
        far = at > 0.7 * x[-1]
        text = f" {share:.0%} left after {found.time:.3g~P} " if np.isfinite(found.time.m) else f" {share:.0%}: never "
        self._label.set(text=text, position=(at, 100 * share), ha="right" if far else "left")
        known = temperature is None or not fit.extrapolates(quantity(temperature, "K"))
        return (
            f"{fit.log.cell}, {fit.model.name}, at {kelvin - 273.15:.0f} °C with "
            f"{quantity(rows[0, -1], fit.model.spec('rate')):.3g~P}: {found}"
            + ("" if known else " No shelf of the log was so cold or so warm.")
            + ("" if rate == self._rate else " The rate is the slider's, its uncertainty the log's.")
        )


def shelf_panel(fit):
    """Share left on the shelf, live, with the 95 % band of the fit, and when it is down to a share that one picks.

    ``fit``: an :class:`ArrheniusFit`, or a :class:`SelfDischargeFit`, which knows one temperature and has no slider
    for it. The rate starts at that of the fit; moved, it stands for a cell that leaks more or less, and the band keeps
    its relative width. The axis of time stays, so that what warmth does is seen.

    >>> from cellkit.logs import fit_arrhenius, read_shelf_log
    >>> shelf_panel(fit_arrhenius(read_shelf_log("self_discharge_copper.csv"))).sentence.split(" (")[0]
    'copper, invented, first order, at 19 °C with 0.965 %/d: 80% is left after 23.1 d'
    """
    if not isinstance(fit, SelfDischargeFit):
        expect("fit", fit, ArrheniusFit, f"cellkit.logs.fit_arrhenius({SHELF_LOG})")
    return ShelfPanel(fit)


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
        super().__init__(figure, [artist for meter in self._meters.values() for artist in meter])

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
        return f"In {mixed} (the lead cell without) at {temperature - 273.15:.0f} °C: " + "; ".join(words) + "."


AROUND = np.linspace(0.25, 2.5, 100), np.linspace(5 / 18, 35 / 18, 100)  # of the design's fill and its plates
DARKEST, MOST = 0.7, 60  # of a colour at the dark end of the scale; its Wh/kg
NAMED = 0.04  # least share of the map that gets its name written on it


def _kind(key):
    """The name under which a construction has its colour."""
    return "carbon" if CONSTRUCTIONS[key].wrap else CONSTRUCTIONS[key].negative


def _scale(construction):
    return LinearSegmentedColormap.from_list(construction, ["white", (COLOURS[_kind(construction)], DARKEST)])


def map_axes(design):
    """Volumes [mL] and positive plates [g] of one cell that the map of a design spans."""
    middle = 1e6 * design.values["fill volume"], 1e3 * design.values["positive plates"] / design.block.cells
    return tuple(around * here for around, here in zip(AROUND, middle, strict=True))


def _outline(axes, height, level=0.0):
    """Points of the contour of ``height`` over the map, pieces kept apart by NaN."""
    pieces = contour_generator(*axes, np.ma.masked_invalid(height)).lines(level)
    return np.vstack([np.vstack([piece, [[np.nan, np.nan]]]) for piece in pieces] or [[[np.nan, np.nan]]]).T


class DesignMap(Live):
    """See :func:`design_map`. ``choice`` is of the construction."""

    def __init__(self, design):
        self._design = _single(design)
        self._before = Cell.specific_energy.si(design.cell("lead"), "block") / 3600
        self._volumes, self._plates = self._axes = map_axes(design)
        self.sliders = _planned([design], "fill salt", "fill acid", "tank volume", "charge kept by positives")
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
        super().__init__(figure, moving, _constructions(design, _listed))

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
        name = self.choice.value
        design = Design.varied.si(self._design, self._design.carried(values))
        here = specific_energy_map.si(design, name, self._volumes / 1e6, self._plates / 1e3)
        density = here.specific_energy / 3600
        for picture in (self._image, self._key):
            picture.set_cmap(_scale(name))
        self._image.set_data(density)
        self._even.set_data(*_outline(self._axes, density - self._before))
        return self._sentence(name, design, density, self._regions(here))

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
        cell, metal = Design.cell.si(design, name), CONSTRUCTIONS[name].metal
        filled = design.planned("fill volume", metal) if metal else Electrolyte.volume.si(cell.electrolyte)
        self._mine.set_data([1e6 * filled], [1e3 * design.values["positive plates"] / design.block.cells])
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
    return DesignMap(design)


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
