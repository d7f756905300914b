"""Live controls: sliders with a labelled number box each, a picture that is swapped in place, a sentence in words.

The front end keeps one message of a control under way and joins what comes meanwhile, so a fast drag skips pictures
instead of queueing them and always ends on the last value. Picture and sentence travel together in one message.
"""

import base64
import html
from dataclasses import replace
from functools import lru_cache

import ipywidgets as widgets
import numpy as np
from IPython.display import display

from cellkit import plates, solution
from cellkit.cell import Cell, refuse_outside_model
from cellkit.figures import COLOURS, HEIGHT, INK, PALE, WIDTH, Moving, Picture, canvas
from cellkit.load import BLOCK
from cellkit.teardown import Block
from cellkit.units import Q_, InputError, expect, not_negative, quantity, takes, to_si

LEVELS = {"reacting": "reacting masses", "plates": "plates, electrolyte and separators", "block": "the whole block"}
FELT, ACID = 0.002, Q_(1, "mol/L")  # m of felt on each plate; H2SO4 in the new electrolyte
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


def control(label, low, high, step, start):
    """A number box that carries the ``label`` and a slider beside it, linked; returns the box and the row of both."""
    limits = {"min": low, "max": high, "step": step, "value": start}
    box = widgets.BoundedFloatText(description=label, style=_WIDE, layout=_BOX, **limits)
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

    A panel built on it gives ``controls``, what :func:`control` takes for each by name, and ``look()``, which sets
    ``sentence`` and ``png`` from the controls; ``boxes`` are the number boxes by name.
    """

    controls: dict

    def __init__(self, figure, *above):
        pairs = {name: control(*numbers) for name, numbers in self.controls.items()}
        self.figure, self.boxes = figure, {name: box for name, (box, _) in pairs.items()}
        self._screen = widgets.HTML()
        rows = [row for _, row in pairs.values()]
        self._widget = widgets.VBox([widgets.HTML(STYLE), self._screen, *above, *rows]).add_class("cellkit-panel")
        for source in (*above, *self.boxes.values()):
            source.observe(self._follow, "value")
        self._follow()

    def _follow(self, change=None):
        self.look()
        self._screen.value = frame(self.png, self.sentence)

    def picture(self):
        """The panel's picture as it stands, to keep where no kernel runs."""
        return Picture(self.figure, self.sentence)

    def _ipython_display_(self):
        view = self._widget._repr_mimebundle_()
        display(view | {"text/plain": "[live control: run this cell to move it]"}, raw=True)


class EnergyChart:
    """Energy per mass of a rebuild against the unmodified cell and the shortcut; below it, what limits its charge.

    Parameters
    ----------
    energy, charge : float
        The unmodified cell's energy per mass [Wh/kg] and charge [Ah]; they set the axes.
    reagents : sequence of str
        What can limit the charge, in the order of the bars.
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
        self._moving = Moving(figure, moving, ["black", COLOURS["copper"], COLOURS["zinc"]])

    def png(self, kind, energy, shortcut, charges, limiting):
        """PNG bytes for a rebuild of ``kind``: Wh/kg, the shortcut's Wh/kg, Ah by reagent and which one ends it."""
        edge = self._beyond.axes.get_xlim()[1]
        self._energies[1].set_facecolor(COLOURS[kind])
        for row, (value, whose) in enumerate(((shortcut, ""), (energy, f", {kind}"))):
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


@takes(returns="", removed=not_negative("", "0.35"))
def shortcut(removed):
    """Energy per mass after over before as the shortcut has it: 1 + f, the share removed read as a gain.

    Parameters
    ----------
    removed : float [1]
        f: mass taken out, as a share of the mass before.

    Returns
    -------
    Quantity [1]
        Never valid: :func:`cellkit.cell.energy_ratio` divides by what is left. Shown to be compared with.

    Raises
    ------
    InputError
        For a share below 0.

    Examples
    --------
    >>> f"{shortcut(1 / 3):.2f~P}"
    '1.33'

    References
    ----------
    Common practice, no source.
    """
    return 1 + np.asarray(removed)


class EnergyPanel(Live):
    """See :func:`energy_panel`. ``metal`` are the buttons."""

    LABELS = {
        "removed": ("Plate mass removed per cell", "g"),
        "put_back": ("Plate mass put back per cell", "g"),
        "volume": ("Electrolyte per cell", "mL"),
        "salt": ("Metal sulfate", "mol/L"),
    }

    def __init__(self, block, level, acid):
        self._block, self._level, self._acid = block, level, to_si("acid", acid, solution.CONCENTRATION)
        before = block.lead_cell()
        self._energy, self._mass = before.energy_density(level).to("Wh/kg"), Cell.mass.si(before, level)
        self._charge, self._lead = before.capacity.to("Ah"), before.negative_mass
        self._kept = lru_cache(maxsize=128)(self._filled)
        lead = round(before.masses["negative plates"].to("g").magnitude, 1)
        volume = before.electrolyte.volume.to("mL").magnitude
        ranges = {
            "removed": (0, lead, 1, lead),
            "put_back": (0.5, lead, 0.5, 4),
            "volume": (10, round(2 * volume), 1, round(volume)),
            "salt": (0.05, 3, 0.05, 1),
        }
        self.controls = {name: (f"{label} / {unit}", *ranges[name]) for name, (label, unit) in self.LABELS.items()}
        self._si = {name: Q_(1, unit).to_base_units().magnitude for name, (_, unit) in self.LABELS.items()}
        # buttons, since JupyterLab takes the arrow keys away from a drop-down list
        self.metal = widgets.ToggleButtons(description="Metal", options=["copper", "zinc"], style=_WIDE)
        reagents = ("PbO2", "metal ions", "felt", "acid")
        self._chart = EnergyChart(self._energy.magnitude, self._charge.magnitude, reagents)
        super().__init__(self._chart.figure, self.metal)

    def _filled(self, metal, volume, salt):
        """The rebuilt cell with lead's mass for its negatives: their mass changes neither its charge nor its volts."""
        area = self._block.values["number of negative plates"] / self._block.cells * Block.plate_area.si(self._block)
        fill = solution.from_molarity.si(volume, acid=self._acid, salt=salt, metal=metal)
        return Block.rebuilt_cell.si(self._block, fill, self._lead, plates.felt_charge.si(metal, area, FELT))

    def _refuse(self, cell, metal, volume, salt, **_):
        """Raise the core's own words for a cell that cannot be."""
        acid, salt = (Q_(value, "mol/m^3") for value in (self._acid, salt))
        solution.from_molarity(Q_(volume, "m^3"), acid=acid, salt=salt, metal=metal)
        refuse_outside_model({}, cell)

    def look(self):
        """Sentence and picture for the controls as they stand."""
        metal = self.metal.value
        given = {name: box.value * self._si[name] for name, box in self.boxes.items()}
        filled = self._kept(metal, given["volume"], given["salt"])
        # lead that is not removed stays in as dead mass
        cell = replace(filled, negative_mass=self._lead - given["removed"] + given["put_back"])
        energy = Cell.energy.si(filled) / Cell.mass.si(cell, self._level)
        if not energy > 0:
            try:
                self._refuse(cell, metal, **given)
            except InputError as error:
                self.sentence, self.png = f"No such cell: {error}", self._chart.refusal()
                return
        energy, limits, limiting = quantity(energy, "J/kg -> Wh/kg"), cell.limits, str(cell.limiting)
        promise = float(shortcut.si(given["removed"] / self._mass))
        self.sentence = (
            f"This {metal} rebuild gives {energy:.1f~P} of {LEVELS[self._level]} at rest voltage, "
            f"{energy.magnitude / self._energy.magnitude - 1:+.0%} against the {self._energy:.1f~P} of the lead cell. "
            f"The shortcut promises {promise - 1:+.0%}. "
            f"It holds {limits[limiting]:.2f~P} where lead held {self._charge:.2f~P}; what runs out first: {limiting}."
        )
        charges = {name: charge.magnitude for name, charge in limits.items()}
        self.png = self._chart.png(metal, energy.magnitude, self._energy.magnitude * promise, charges, limiting)


def energy_panel(block, level="plates", acid=ACID):
    """What a rebuild does to the energy per mass, live: it shows itself as the last line of a cell.

    Parameters
    ----------
    block : Block
        The block before, from :func:`cellkit.teardown.read`.
    level : str
        Masses that count: ``"reacting"``, ``"plates"`` or ``"block"``.
    acid : Quantity [mol/m³]
        H2SO4 in the new electrolyte, with what the separators still hold.

    Returns
    -------
    EnergyPanel
        Its numbers are for rest voltage: a load gets less. Felt 2 mm thick on every negative plate.

    Raises
    ------
    InputError
        For an unknown level or acid without its unit. What no cell can be is said in the panel instead.

    Examples
    --------
    >>> import cellkit as ck
    >>> panel = energy_panel(ck.teardown.read("otter_lane_block.csv"))
    >>> panel.sentence.split(" of ")[0]
    'This copper rebuild gives 22.8 Wh/kg'
    """
    return EnergyPanel(expect("block", block, Block, BLOCK), level, acid)
