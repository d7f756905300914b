"""Pictures of the choice between rebuilds: a live map of Wh/kg, all constructions with their bands, what decides."""

import ipywidgets as widgets
import numpy as np
from contourpy import contour_generator
from matplotlib.colors import LinearSegmentedColormap

from cellkit.cell import Cell
from cellkit.compare import NAMES, Comparison
from cellkit.design import CONSTRUCTIONS, EXAMPLE, Design, metal_of
from cellkit.figures import COLOURS, INK, Moving, Picture, canvas, look
from cellkit.landscape import landscape
from cellkit.panel import Live
from cellkit.solution import Electrolyte
from cellkit.units import Q_, Kind, expect, to_si

VOLUMES, PLATES = np.linspace(10, 100, 100), np.linspace(20, 140, 100)  # mL, g per cell
DARKEST, MOST = 0.7, 60  # of a colour at the dark end of the scale; its Wh/kg
NAMED = 0.04  # least share of the map that gets its name written on it
KINDS = {"carbon-wrapped lead": "carbon"}


def _kind(construction):
    """The name under which a construction has its colour."""
    return KINDS.get(construction, construction.split()[0])


def _scale(construction):
    return LinearSegmentedColormap.from_list(construction, ["white", (COLOURS[_kind(construction)], DARKEST)])


def _outline(height, level=0.0):
    """Points of the contour of ``height`` over the map, pieces kept apart by NaN."""
    pieces = contour_generator(VOLUMES, PLATES, np.ma.masked_invalid(height)).lines(level)
    return np.vstack([np.vstack([piece, [[np.nan, np.nan]]]) for piece in pieces] or [[[np.nan, np.nan]]]).T


class DesignMap(Live):
    """See :func:`design_map`. ``construction`` are the buttons."""

    UNITS = {"fill salt": "mol/L", "fill acid": "mol/L", "tank volume": "mL", "charge kept by positives": "percent"}
    LABELS = ("Metal sulfate poured in", "Acid poured in", "Tank per cell", "Charge kept by positives")
    RANGES = ((0.05, 3, 0.05), (0, 3, 0.05), (0, 100, 1), (30, 100, 1))

    def __init__(self, design):
        self._design = design
        self._before = Q_(Cell.energy_density.si(design.cell("lead"), "block"), "J/kg").to("Wh/kg").magnitude
        self.controls = {}
        for (name, unit), label, limits in zip(self.UNITS.items(), self.LABELS, self.RANGES, strict=True):
            start = round(float(design[name].to(unit).magnitude), 3)
            self.controls[name] = (f"{label} / {unit}", *limits, start)
        # buttons, since JupyterLab takes the arrow keys away from a drop-down list
        wide = {"button_width": "auto"}
        self.construction = widgets.ToggleButtons(options=list(CONSTRUCTIONS), value="copper", style=wide)
        figure, (ax, key) = self._canvas()
        extent = (VOLUMES[0], VOLUMES[-1], PLATES[0], PLATES[-1])
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
        ax.set(xlim=VOLUMES[[0, -1]], ylim=PLATES[[0, -1]])
        key = figure.add_axes([0.88, 0.14, 0.03, 0.83])
        key.yaxis.tick_right()
        key.set(xticks=[], ylim=(0, MOST), xlim=(0, 1))
        figure.text(0.975, 0.55, "Energy per mass / Wh/kg", rotation=90, va="center", ha="center")
        return figure, (ax, key)

    def look(self):
        """Sentence and picture for the controls as they stand."""
        name = self.construction.value
        values = {item: Q_(box.value, self.UNITS[item]).to_base_units().magnitude for item, box in self.boxes.items()}
        design = Design.varied.si(self._design, values)
        here = landscape.si(design, name, VOLUMES / 1e6, PLATES / 1e3)
        density = here.density / 3600
        for picture in (self._image, self._key):
            picture.set_cmap(_scale(name))
        self._image.set_data(density)
        self._even.set_data(*_outline(density - self._before))
        shares = self._regions(here)
        self.sentence = self._sentence(name, design, density, shares)
        self.png = self._moving[_kind(name)].png()

    def _regions(self, here):
        """Draw borders between regions and name the larger ones; share of the map that each reagent limits."""
        borders, shares, texts = [], {}, iter(self._names)
        known, better = np.isfinite(here.density), here.density / 3600 > self._before
        parts = []
        for reagent, charge in here.limits.items():
            others = np.minimum.reduce([other for name, other in here.limits.items() if name != reagent])
            least = known & (here.limiting == reagent)
            shares[reagent] = least.mean()
            borders.append(_outline(np.where(known, np.log(charge / others), np.nan)))
            if shares[reagent] >= NAMED:
                parts.append((reagent, max(least & better, least & ~better, key=np.sum)))
        if known.mean() <= 1 - NAMED:
            parts.append(("no such solution", ~known))
        places = [_inside(part) for _, part in parts]
        for (name, _), place in zip(parts, places, strict=True):
            next(texts).set(position=place, text=name)
        if better.mean() >= NAMED:
            x, y = _inside(max((better & (here.limiting == name) for name in here.limits), key=np.sum))
            beside = any(abs(x - a) < 25 and abs(y - b) < 7 for a, b in places)
            next(texts).set(position=(x, y - 7 * beside), text="better than the block")
        elif known.any():
            next(texts).set(position=(VOLUMES[50], PLATES[4]), text="nowhere better than the block")
        for text in texts:
            text.set_text("")
        del borders[int(np.argmax(list(shares.values())))]  # its borders are drawn from the other side
        self._borders.set_data(*np.hstack(borders))
        return shares

    def _sentence(self, name, design, density, shares):
        volumes, plates = (f"{axis[0]:.0f} to {axis[-1]:.0f}" for axis in (VOLUMES, PLATES))
        words = f"{NAMES[name].capitalize()}, {volumes} mL and {plates} g of positives in a cell, at rest voltage: "
        if np.isnan(density).all():
            self._mine.set_data([], [])
            return words + "its solution does not exist anywhere on the map."
        row, column = np.unravel_index(np.nanargmax(density), density.shape)
        words += (
            f"better than the unmodified block's {self._before:.0f} Wh/kg on {np.mean(density > self._before):.0%} of "
            f"the map; at most {density[row, column]:.0f} Wh/kg, with {VOLUMES[column]:.0f} mL and "
            f"{PLATES[row]:.0f} g. First to run out: "
            + ", ".join(f"{reagent} on {share:.0%}" for reagent, share in shares.items() if share >= 0.005)
            + ". "
        )
        return words + self._here(name, design)

    def _here(self, name, design):
        """Mark the design itself; its Wh/kg in words."""
        lead = metal_of(name) is None
        cell = Design.cell.si(design, name)
        volume = 1e6 * (Electrolyte.volume.si(cell.electrolyte) if lead else design.values["fill volume"])
        self._mine.set_data([volume], [1e3 * design.values["positive plates"] / design.block.cells])
        energy = Cell.energy_density.si(cell, "block") / 3600
        if np.isnan(energy):
            return "The design itself has no such solution."
        return f"The design itself, the ring: {energy:.1f} Wh/kg, limited by {cell.limiting}."


def _inside(region):
    """Place on the map furthest from the edges of a region, for words three times as wide as a line is high."""
    from scipy.ndimage import distance_transform_edt

    deep = distance_transform_edt(np.pad(region[::2, ::2], 1), sampling=(1, 1 / 3))[1:-1, 1:-1]
    row, column = np.unravel_index(np.argmax(deep), deep.shape)
    return VOLUMES[2 * column], PLATES[2 * row]


def design_map(design):
    """Wh/kg of the whole block at rest voltage over electrolyte and positive plates, live; buttons for constructions.

    Parameters
    ----------
    design : Design
        Where the sliders start; the unmodified block that the break-even line compares with.

    Returns
    -------
    DesignMap
        The thick line: as good as the unmodified block. Thin: where another reagent takes over. The ring: the design.

    Raises
    ------
    InputError
        For a design that is none.

    Examples
    --------
    >>> from cellkit.design import read
    >>> design_map(read("otter_lane_design.csv")).sentence.split(". ")[-1]
    'The design itself, the ring: 16.0 Wh/kg, limited by metal ions.'
    """
    return DesignMap(expect("design", design, Design, EXAMPLE))


def band_bars(found):
    """Wh/kg of each construction as a bar to the middle draw, and a line over nine draws of ten.

    Parameters
    ----------
    found : Comparison
        From :func:`cellkit.compare.draw`.

    Returns
    -------
    Picture
        Its sentence reads bars and bands in order.
    """
    figure, ax = canvas(left=0.29, right=0.95, top=0.97, bottom=0.14)
    expect("found", found, Comparison, "cellkit.compare.draw(design)")
    bands = {name: found.energy_density(name).magnitude for name in found.densities}
    top = max(high for _, _, high in bands.values())
    for row, (name, (low, middle, high)) in enumerate(bands.items()):
        colour = look(_kind(name))["color"]
        hatch = "//" if name == "copper with tank" else None
        ax.barh(row, middle, height=0.6, color=colour, alpha=0.55, hatch=hatch, edgecolor=colour)
        ax.plot([low, high], [row, row], color="black", linewidth=2, marker="|", markersize=10)
        ax.text(1.04 * top, row, f"{low:.0f} to {high:.0f} Wh/kg", va="center")
    ax.axvline(bands["lead"][1], color=INK, linewidth=1, linestyle=(0, (4, 2)))
    ax.set_yticks(range(len(bands)), [NAMES[name].replace(" with", "\nwith") for name in bands])
    ax.invert_yaxis()
    ax.set(xlabel="Energy per mass of the whole block, under load / Wh/kg", xlim=(0, 1.35 * top))
    words = (f"{NAMES[name]} {middle:.0f} ({low:.0f} to {high:.0f})" for name, (low, middle, high) in bands.items())
    return Picture(figure, "Wh/kg of the whole block, in brackets nine draws of ten: " + "; ".join(words) + ".")


def ranking_bars(found, construction, most=5):
    """What decides whether a construction beats the block: the inputs with the largest squared rank correlation.

    Parameters
    ----------
    found : Comparison
    construction : str
    most : int
        Number of bars.

    Returns
    -------
    Picture
        Its sentence names them with their shares, and what all others come to together.
    """
    shares = expect("found", found, Comparison, "cellkit.compare.draw(design)").ranking(construction)
    most = int(to_si("most", most, Kind("", "5", low=1, whole=True, single=True)))
    shown = dict(list(shares.items())[:most])
    figure, ax = canvas(left=0.36, right=0.93, top=0.97, bottom=0.14)
    bars = ax.barh(list(shown), list(shown.values()), height=0.6, color=look(_kind(construction))["color"])
    ax.bar_label(bars, [f"{share:.0%}" for share in shown.values()], padding=4)
    ax.invert_yaxis()
    ax.set(xlabel=f"Squared rank correlation, {NAMES[construction]} / 1", xlim=(0, 1))
    words = ", ".join(f"{name} {share:.0%}" for name, share in shown.items())
    rest = sum(shares.values()) - sum(shown.values())
    return Picture(figure, f"What decides for the {NAMES[construction]}: {words}; all others together {rest:.0%}.")
