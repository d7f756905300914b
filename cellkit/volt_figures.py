"""Pictures of volts at rest: where the electrodes of a cell lie beside the gas lines, and three meters to play with."""

import numpy as np
from matplotlib.patches import Rectangle

from cellkit import potentials, solution
from cellkit.figures import COLOURS, INK, PALE, Moving, Picture, canvas
from cellkit.panel import Live
from cellkit.units import Q_, InputError, Kind, expect, one_of, to_si


def _heights(kind, levels):
    """Volts of lead dioxide, the negative, hydrogen and oxygen, or an :class:`InputError`."""
    names = "lead dioxide", one_of("a name in levels", kind, COLOURS), "hydrogen", "oxygen"
    expect(kind, levels, dict, '{"lead dioxide": Q_(1.7, "V"), ...}')
    if missing := [name for name in names if name not in levels]:
        raise InputError(f"{kind} has no {', '.join(missing)}; it needs {', '.join(names)}.")
    return [to_si(name, levels[name], Kind("V", 'Q_(1.7, "V")', single=True)) for name in names]


def ladder(levels):
    """Both electrodes of each cell as steps, with the range between hydrogen and oxygen where water stays whole.

    Parameters
    ----------
    levels : dict of str to dict of str to quantity
        By negative, the potentials [V] of ``"lead dioxide"``, the negative itself, ``"hydrogen"`` and ``"oxygen"``, all
        in the solution of that cell.

    Returns
    -------
    Picture
        Its sentence gives the volts between the steps and how far each step lies outside the range.
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

    SCALES = {"lead": (1.7, 2.3), "copper": (1.05, 1.65), "zinc": (2.15, 2.75)}
    controls = {
        "acid": ("Sulfuric acid / mol/kg", 0.1, 6.0, 0.1, 1.0),
        "salt": ("Metal sulfate / mol/kg", 0.01, 1.2, 0.01, 0.5),
        "temperature": ("Temperature / degC", 0, 45, 1, 25),
    }

    def __init__(self):
        figure, axes = canvas(3, left=0.1, right=0.97, top=0.97, bottom=0.13, hspace=0.9)
        self._meters = {kind: self._meter(ax, kind) for kind, ax in zip(self.SCALES, axes, strict=True)}
        axes[-1].set_xlabel("Rest voltage / V")
        moving = [artist for meter in self._meters.values() for artist in meter]
        self._moving = Moving(figure, moving, ["black", COLOURS["copper"], COLOURS["zinc"]])
        super().__init__(figure)

    def _meter(self, ax, kind):
        """Band, needle, line of the ideal answer and words of one meter, drawn on ``ax``."""
        colour = COLOURS[kind]
        ax.set(xlim=self.SCALES[kind], ylim=(0, 1), yticks=[])
        ax.spines["left"].set_visible(False)
        ax.text(-0.015, 0.4, kind, color=colour, ha="right", transform=ax.transAxes)
        band = ax.add_patch(Rectangle((0, 0), 0, 0.7, color=colour, alpha=0.3, linewidth=0))
        needle = ax.plot([0, 0], [0, 0.7], color=colour, linewidth=2.2)[0]
        ideal = ax.plot([0, 0], [0, 0.7], color=colour, linewidth=1, linestyle=":")[0]
        return band, needle, ideal, ax.text(0, 0.8, "", color=colour, fontsize=9)

    def look(self):
        """Sentence and picture for the controls as they stand."""
        acid, salt = (self.boxes[name].value for name in ("acid", "salt"))
        temperature, words = Q_(self.boxes["temperature"].value, "degC"), []
        kelvin = temperature.to("K").magnitude
        for kind, (band, needle, ideal, label) in self._meters.items():
            metal, salt_here = (None, 0.0) if kind == "lead" else (kind, salt)
            dissolved = solution.from_molality.si(1.0, acid, salt_here, metal, kelvin).salt
            state = kind, acid, dissolved, kelvin
            real, wrong = (float(potentials.rest_voltage.si(*state, ideal=flag)) for flag in (False, True))
            half, text = np.nan, "not known: too much salt, or too much acid beside it"
            if not np.isnan(real):
                half = float(potentials.rest_voltage_uncertainty.si(*state))
                text = f"{real:.3f} V ± {1000 * half:.0f} mV; ideal {wrong:.3f} V"
            band.set(x=real - half, width=2 * half)
            needle.set_xdata([real, real])
            ideal.set_xdata([wrong, wrong])
            label.set(text=text, x=self.SCALES[kind][0] if np.isnan(real) else real)
            words.append(f"{kind} {text}")
        mixed = f"{acid:.2g} mol/kg acid with {salt:.2g} mol/kg metal sulfate"
        self.sentence = f"In {mixed} (the lead cell without) at {temperature:.0f~P}: " + "; ".join(words) + "."
        self.png = self._moving.png()
