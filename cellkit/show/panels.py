"""The live panels, each a :class:`~cellkit.show.live.Live`: energy, recipe, load, shelf, volts, map of a design."""

from dataclasses import replace
from functools import lru_cache
from itertools import zip_longest

import ipywidgets as widgets
import numpy as np
from contourpy import contour_generator
from matplotlib.colors import LinearSegmentedColormap, to_rgb
from matplotlib.patches import Rectangle

from cellkit.cells.block import Block
from cellkit.cells.cell import Cell, shortcut_ratio
from cellkit.cells.load import CASES, LoadVoltages, voltage_under_load
from cellkit.chemistry.potentials import NEGATIVES, half_cell, rest_voltage, rest_voltage_uncertainty
from cellkit.chemistry.properties import DENSITY_ERROR
from cellkit.chemistry.solution import Electrolyte, from_molality, from_molarity
from cellkit.designs.comparison import specific_energy_map
from cellkit.designs.design import BY_METAL, CONSTRUCTIONS, EXAMPLE, Design
from cellkit.designs.review import Review
from cellkit.logs.self_discharge import TAILS, ArrheniusFit, ShelfTime
from cellkit.logs.shelf_log import DAY
from cellkit.logs.shelf_log import EXAMPLE as SHELF_LOG
from cellkit.show.figures import COLOURS, INK, PALE, beyond, canvas, cell_type, look
from cellkit.show.live import Live, Slider
from cellkit.tables.metals import METALS
from cellkit.units import Q_, InputError, aloud, expect, quantity

ACID = 1000.0  # mol/m³ of H2SO4 in the energy panel's electrolyte
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


def _buttons(options, chosen):
    # buttons, since JupyterLab takes the arrow keys away from a drop-down list
    return widgets.ToggleButtons(options=options, value=chosen, style={"button_width": "auto"})


def _constructions(design, known):
    """Buttons of the constructions that are ``known`` of a design; the first rebuild is chosen."""
    keys = [key for key in CONSTRUCTIONS if known(design, key)]
    chosen = next((key for key in keys if CONSTRUCTIONS[key].metal), keys[0])
    return _buttons([(CONSTRUCTIONS[key].name, key) for key in keys], chosen)


def _listed(design, key):
    """Whether the list has every row that a construction needs."""
    try:
        return bool(Design.cell.si(design, key))
    except InputError:
        return False


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


class energy_panel(Live):
    """What a rebuild does to the energy per mass of plates, liquid and separators, live: the last line of a cell.

    At rest voltage: a load gets less. The new electrolyte has 1 mol/L of acid with what the separators still hold.
    Block and felt are those of the design list. What no cell can be is said in the panel.
    """

    REAGENTS = "PbO2", "metal ions", "felt", "acid"

    def __init__(self, design):
        self._design, before = _single(design), design.block.lead_cell()
        self._energy, self._mass = before.specific_energy("plates").to("Wh/kg"), Cell.mass.si(before, "plates")
        self._charge, self._lead = before.capacity.to("Ah"), before.negative_mass
        self._kept = lru_cache(maxsize=128)(self._filled)
        lead, volume = round(1000 * self._lead, 1), before.electrolyte.volume.to("mL").magnitude
        self.sliders = {
            "removed": Slider("Plate mass removed per cell", "g", 0, lead, 1, lead),
            "put_back": Slider("Plate mass put back per cell", "g", 0.5, lead, 0.5, 4),
            "volume": Slider("Electrolyte per cell", "mL", 10, round(2 * volume), 1, round(volume)),
            "salt": Slider("Metal sulfate", "mol/L", 0.05, 3, 0.05, 1),
        }
        energy, charge = self._energy.magnitude, self._charge.magnitude
        figure, (upper, lower) = canvas(2, left=0.24, bottom=0.13, hspace=0.5)
        names = ["unmodified", "shortcut", "rebuild"]
        upper.barh(names, [energy, 0, 0], color=COLOURS["lead"], height=0.62)
        upper.text(energy, 0, f" {energy:.0f} Wh/kg", va="center")
        above, self._set_energies = _bars(upper, names[1:])
        below, self._set_charges = _bars(lower, self.REAGENTS)
        above[0].set(edgecolor=COLOURS["lead"], hatch="////")
        self._beyond = lower.plot([], [], linestyle="none", marker=">", color=INK)[0]
        upper.set(xlabel="Energy per mass / Wh/kg", xlim=(0, 2.2 * energy))
        lower.set(xlabel="Charge / Ah", xlim=(0, 1.6 * charge))
        super().__init__(figure, [*above, *below, self._beyond], _buttons(list(METALS), next(iter(METALS))))

    def _filled(self, metal, volume, salt):
        """The rebuilt cell with lead's mass for its negatives: their mass changes neither its charge nor its volts."""
        fill = from_molarity.si(volume, acid=ACID, salt=salt, metal=metal)
        return Block.rebuilt_cell.si(self._design.block, fill, self._lead, self._design.felt_room(metal))

    def look(self, removed, put_back, **fill):
        metal = self.choice.value
        with aloud():
            filled = self._kept(metal, **fill)
            # lead that is not removed stays in as dead mass
            cell = replace(filled, negative_mass=self._lead - removed + put_back)
            energy = quantity(Cell.energy.si(filled) / Cell.mass.si(cell, "plates"), "J/kg -> Wh/kg")
        limits, limiting = cell.limits, str(cell.limiting)
        promise = float(shortcut_ratio.si(removed / self._mass))
        shown = self._energy.magnitude * promise, energy.magnitude
        words = f"{shown[0]:.0f} Wh/kg", f"{shown[1]:.0f} Wh/kg, {metal}"
        self._set_energies(shown, words, ["white", COLOURS[metal]])
        charges = np.array([limits[name].magnitude for name in self.REAGENTS])
        ends = [name == limiting for name in self.REAGENTS]
        texts = [f"{charge:.2g} Ah: the limit" if end else "" for charge, end in zip(charges, ends, strict=True)]
        self._set_charges(charges, texts, [COLOURS[metal] if end else PALE for end in ends])
        edge = self._beyond.axes.get_xlim()[1]
        self._beyond.set_data(np.where(charges > edge, 0.98 * edge, np.nan), range(len(charges)))
        return (
            f"This {metal} rebuild gives {energy:.1f~P} of plates, electrolyte and separators at rest voltage, "
            f"{energy.magnitude / self._energy.magnitude - 1:+.0%} against the {self._energy:.1f~P} of the lead cell. "
            f"The shortcut promises {promise - 1:+.0%}. "
            f"It holds {limits[limiting]:.2f~P} where lead held {self._charge:.2f~P}; what runs out first: {limiting}."
        )


class recipe_panel(Live):
    """What to weigh out for a design, live: grams, the density to check, and whether it stays dissolved in the cold.

    Crystals and acid are poured in on top of the old acid that each cell holds. The band is what dissolves in the
    coldest place of the list, with its error; the thick line is what is there when that is tightest.
    """

    MOST = 4.0  # mol/kg at the end of the axis

    def __init__(self, design):
        self._design, metals = _single(design), list(METALS)
        items = "fill salt", "fill acid", "fill volume", "purity", "held electrolyte"
        self.sliders = _planned([self._of(metal) for metal in metals], *items)
        figure, (upper, lower) = canvas(2, left=0.2, bottom=0.13, hspace=0.55)
        grams, self._set_grams = _bars(upper, ["crystals", "battery acid", "water"])
        most = 2e6 * design.block.cells * max(self._of(metal).values["fill volume"] for metal in metals)
        upper.set(xlabel="To weigh out for all cells / g", xlim=(0, most))
        self._band = lower.add_patch(Rectangle((0, 0.2), 0, 0.4, linewidth=0, alpha=0.4))
        self._there = lower.plot([0, 0], [0.05, 0.75], color=INK, linewidth=3)[0]
        self._label = lower.text(0.02, 0.87, "", va="center")
        lower.set(xlabel="Metal sulfate in the coldest place / mol/kg", xlim=(0, self.MOST), ylim=(0, 1), yticks=[])
        super().__init__(figure, [*grams, self._band, self._there, self._label], _buttons(metals, metals[0]))

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
        metal, design = self.choice.value, Design.varied.si(self._design, values)
        review, cells = Review(design, metal), design.block.cells
        fresh, mixed = design.fresh(metal), review.cell.electrolyte
        grams, cold, place = design.recipe(metal), review.cold(), design["coldest place"].to("degC")
        verdict = {True: "stays dissolved", None: "may drop crystals", False: "drops crystals"}[cold.stays]
        crystals, acid, water = texts = [f"{part:.1f~P}" for part in grams]
        self._set_grams([part.m for part in grams], texts, [COLOURS[metal], PALE, PALE])
        self._band.set(x=cold.least, width=cold.most - cold.least, facecolor=COLOURS[metal])
        self._there.set_xdata([min(cold.salt, self.MOST)] * 2)
        self._label.set_text(f"{verdict}: {cold.salt:.2f}, and {cold.least:.2f} to {cold.most:.2f} dissolve")
        return (
            f"For the whole block weigh out {crystals} of {design.values[f'{metal} crystals']}, "
            f"{acid} of battery acid and {water} of water: {cells * fresh.volume:.0f~P}, a hydrometer has to show "
            f"{fresh.density:.3f~P} ± {DENSITY_ERROR * fresh.density.m:.3f} at 25 °C. With the old acid each cell "
            f"then holds {mixed.salt_molarity:.2f~P} of sulfate and {mixed.acid_molarity:.2f~P} of acid. At "
            f"{place:.0f~P} it {verdict}: {cold.least:.2f} to {cold.most:.2f} mol/kg dissolve, and it has "
            f"{cold.salt:.2f} as filled."
        )


def _ribbon(x, low, high):
    """Corners of the area between two curves."""
    return [np.column_stack([np.concatenate([x, x[::-1]]), np.concatenate([low, high[::-1]])])]


class load_panel(Live):
    """Volts of one cell under a current, live: what each of seven parts takes, shaded and named.

    The current starts at the design's load. As :func:`cellkit.cells.voltage_under_load` has it, true in a pulse.
    """

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
        figure, (upper, lower) = canvas(2, left=0.2, right=0.95, bottom=0.13, hspace=0.5)
        self._layers = [upper.fill_between([], [], linewidth=0.3) for _ in self.PARTS]
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
        key = self.choice.value
        with aloud():
            found = self._at(key, current, depth)
        best, worst = (self._at(key, current, depth, path).terminal for path in (1, 2))
        lost, curve = self._lost(found), self._at(key, self._currents, depth)
        driven, top = np.isfinite(curve.terminal), 0 * self._currents
        grades = np.linspace(0, 0.8, len(self.PARTS))[:, None]
        colours = (1 - grades) * to_rgb(COLOURS[cell_type(key)]) + grades
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


class shelf_panel(Live):
    """Share left on the shelf, live, with the 95 % band of the fit, and when it is down to a share that one picks.

    ``fit``: an :class:`ArrheniusFit`. The rate starts at that of the fit; moved, it stands for a cell that leaks more
    or less, and the band keeps its relative width. The axis of time stays, so that what warmth does is seen.
    """

    def __init__(self, fit):
        self._fit = expect("fit", fit, ArrheniusFit, f"cellkit.logs.fit_arrhenius({SHELF_LOG})")
        model, log = fit.model, fit.log
        near, coldest, warmest = fit.reference_temperature, log.temperature.min(), log.temperature.max()
        near, low, high = (round(kelvin - 273.15) for kelvin in (near, coldest - 5, warmest + 5))
        fitted = quantity(fit.parameters_at(near + 273.15)[0, -1], model.spec("rate"))
        rate, unit = float(f"{fitted.m:.3g}"), str(fitted.units)
        step = 10 ** (np.floor(np.log10(rate)) - 2)
        self._rate = Q_(rate, unit).to_base_units().m
        self.sliders = {
            "rate": Slider(f"Rate at {near} °C", unit, step, 5 * rate, step, rate),
            "temperature": Slider("Temperature", "degC", low, high, 1, near),
            "share": Slider("Share that is to be left", "percent", 5, 99, 1, 80),
        }
        end, known = float(model.time_to(0.6, *fit.parameters_at(coldest)[0, 1:])), log.time.max()
        self._end = end if np.isfinite(end) else 3 * known
        self._unit = "hour" if self._end < 4 * DAY else "day"
        figure, ax = canvas()
        end, known = self._shown(self._end).m, self._shown(known).m
        if known < end:
            beyond(ax, known, end)
        colour = look(log.negative)["color"]
        self._band = ax.fill_between([], [], color=colour, alpha=0.3, linewidth=0)
        self._line = ax.plot([], [], color=colour, linewidth=2)[0]
        self._goal = ax.plot([], [], color=INK, linewidth=1, linestyle="--")[0]
        self._label = ax.text(0, 0, "", va="bottom")
        ax.set(xlabel=f"Time on the shelf / {self._unit}", ylabel="Share left / %", xlim=(0, end), ylim=(0, 104))
        super().__init__(figure, [self._band, self._line, self._goal, self._label])

    def _shown(self, seconds):
        return quantity(seconds, f"s -> {self._unit}")

    def look(self, rate, temperature, share):
        model, log = self._fit.model, self._fit.log
        rows = self._fit.parameters_at(temperature)  # of the fit, then of each draw
        rows[:, model.first_rate :] *= rate / self._rate
        times = self._end * np.linspace(0, 1, 60) ** 2  # close where the curve is steep
        with np.errstate(all="ignore"):
            left = model.left(times, *rows[:, 1:, None].swapaxes(0, 1))
            when = model.time_to(share, *rows[:, 1:].T)
            low, high = np.quantile(when[1:], TAILS, method="inverted_cdf")
        x = self._shown(times).m
        self._band.set_verts(_ribbon(x, *(100 * np.quantile(left[1:], TAILS, axis=0))))
        self._line.set_data(x, 100 * left[0])
        found = ShelfTime(share, *map(self._shown, (when[0], low, high, log.time.max())))
        at = min(found.time.m, x[-1])
        self._goal.set_data([0, at, at], [100 * share, 100 * share, 0])
        side = "right" if at > 0.7 * x[-1] else "left"
        until = f"left after {found.time:.3g~P} " if np.isfinite(found.time.m) else "never "
        self._label.set(text=f" {100 * share:.0f} % {until}", position=(at, 100 * share), ha=side)
        leaks = f"{quantity(rows[0, -1], model.spec('rate')):.3g~P}"
        words = f"{log.cell}, {model.name}, at {temperature - 273.15:.0f} °C with {leaks}: {found}"
        if self._fit.extrapolates(quantity(temperature, "K")):
            words += " No shelf of the log was so cold or so warm."
        return words + ("" if rate == self._rate else " The rate is the slider's, its uncertainty the log's.")


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
        figure, axes = canvas(len(NEGATIVES), left=0.1, bottom=0.13, hspace=0.9)
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


def map_axes(design):
    """Volumes [mL] and positive plates [g] of one cell that the map of a design spans."""
    middle = 1e6 * design.values["fill volume"], 1e3 * design.values["positive plates"] / design.block.cells
    return tuple(around * here for around, here in zip(AROUND, middle, strict=True))


def _outline(axes, height):
    """Points of the contour over the map where ``height`` is 0, pieces kept apart by NaN."""
    pieces = contour_generator(*axes, np.ma.masked_invalid(height)).lines(0.0)
    return np.vstack([np.vstack([piece, [[np.nan, np.nan]]]) for piece in pieces] or [[[np.nan, np.nan]]]).T


class design_map(Live):
    """Wh/kg of the whole block at rest voltage over electrolyte and positive plates, live; buttons for constructions.

    The sliders start at the design. The thick line: as good as the unmodified block. Thin: where another reagent takes
    over. The ring: the design.
    """

    def __init__(self, design):
        self._design = _single(design)
        self._before = Cell.specific_energy.si(design.cell("lead"), "block") / 3600
        self._volumes, self._plates = self._axes = map_axes(design)
        self.sliders = _planned([design], "fill salt", "fill acid", "tank volume", "charge kept by positives")
        figure, ax = canvas(left=0.1, right=0.83)
        ax.set(xlabel="Electrolyte per cell / mL", ylabel="Positive plates per cell / g")
        key = figure.add_axes([0.88, 0.14, 0.03, 0.83])
        key.yaxis.tick_right()
        key.set(xticks=[], ylim=(0, MOST), xlim=(0, 1))
        figure.text(0.975, 0.55, "Energy per mass / Wh/kg", rotation=90, va="center", ha="center")
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

    def look(self, **values):
        name = self.choice.value
        design = Design.varied.si(self._design, self._design.carried(values))
        here = specific_energy_map.si(design, name, self._volumes / 1e6, self._plates / 1e3)
        energy = here.specific_energy / 3600
        colours = LinearSegmentedColormap.from_list(name, ["white", (COLOURS[cell_type(name)], DARKEST)])
        for picture in (self._image, self._key):
            picture.set_cmap(colours)
        self._image.set_data(energy)
        self._even.set_data(*_outline(self._axes, energy - self._before))
        shares = self._regions(here)
        volumes, plates = (f"{axis[0]:.0f} to {axis[-1]:.0f}" for axis in self._axes)
        chosen = CONSTRUCTIONS[name].name.capitalize()
        words = f"{chosen}, {volumes} mL and {plates} g of positives in a cell, at rest voltage: "
        if np.isnan(energy).all():
            self._mine.set_data([], [])
            return words + "its solution does not exist anywhere on the map."
        row, column = np.unravel_index(np.nanargmax(energy), energy.shape)
        return words + (
            f"better than the unmodified block's {self._before:.0f} Wh/kg on {np.mean(energy > self._before):.0%} of "
            f"the map; at most {energy[row, column]:.0f} Wh/kg, with {self._volumes[column]:.0f} mL and "
            f"{self._plates[row]:.0f} g. First to run out: "
            + ", ".join(f"{reagent} on {share:.0%}" for reagent, share in shares.items() if share >= 0.005)
            + f". The design itself{self._here(name, design)}."
        )

    def _regions(self, here):
        """Draw borders between regions and name the larger ones; share of the map that each reagent limits."""
        borders, shares, named = [], {}, {}
        known, better = np.isfinite(here.specific_energy), here.specific_energy / 3600 > self._before
        for reagent, charge in here.limits.items():
            others = np.minimum.reduce([other for name, other in here.limits.items() if name != reagent])
            least = known & (here.limiting == reagent)
            shares[reagent] = least.mean()
            borders.append(_outline(self._axes, np.where(known, np.log(charge / others), np.nan)))
            if shares[reagent] >= NAMED:
                named[reagent] = _inside(self._axes, max(least & better, least & ~better, key=np.sum))
        if known.mean() <= 1 - NAMED:
            named["no such solution"] = _inside(self._axes, ~known)
        if better.mean() >= NAMED:
            x, y = _inside(self._axes, max((better & (here.limiting == name) for name in here.limits), key=np.sum))
            wide, high = np.ptp(self._volumes) / 4, np.ptp(self._plates) / 18
            beside = any(abs(x - a) < wide and abs(y - b) < high for a, b in named.values())
            named["better than the block"] = x, y - high * beside
        elif known.any():
            named["nowhere better than the block"] = self._volumes[50], self._plates[4]
        for text, (name, place) in zip_longest(self._names, named.items(), fillvalue=("", (np.nan, np.nan))):
            text.set(text=name, position=place)
        del borders[int(np.argmax(list(shares.values())))]  # its borders are drawn from the other side
        self._borders.set_data(*np.hstack(borders))
        return shares

    def _here(self, name, design):
        """Mark the design itself; its Wh/kg in words."""
        cell, metal = Design.cell.si(design, name), CONSTRUCTIONS[name].metal
        filled = design.planned("fill volume", metal) if metal else Electrolyte.volume.si(cell.electrolyte)
        self._mine.set_data([1e6 * filled], [1e3 * design.values["positive plates"] / design.block.cells])
        energy = Cell.specific_energy.si(cell, "block") / 3600
        if np.isnan(energy):
            return " has no such solution"
        return f", the ring: {energy:.1f} Wh/kg, limited by {cell.limiting}"


def _inside(axes, region):
    """Place on the map that lies deepest in a region, for words three times as wide as a line is high."""
    left, deepest = np.pad(region[::2, ::2], 3), np.array([[3, 3]])
    while left.any():
        deepest = np.argwhere(left)
        left = left & np.roll(left, 1, 0) & np.roll(left, -1, 0) & np.roll(left, 3, 1) & np.roll(left, -3, 1)
    row, column = deepest[len(deepest) // 2] - 3
    return axes[0][2 * column], axes[1][2 * row]
