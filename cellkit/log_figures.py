"""Pictures of a bench log: volts and amperes over time, with what was integrated shaded."""

import numpy as np

from cellkit.bench_log import Log
from cellkit.figures import INK, LINES, PALE, Picture, canvas, look
from cellkit.units import Q_, expect, one_of

POINTS = 2000  # rows drawn at most: more than the picture has pixels across
SHADES = {"charge": {"alpha": 0.2, "hatch": "//"}, "discharge": {"alpha": 0.5}}


def volts_and_amperes(log, cell="lead"):
    """Volts above, amperes below, over time. Shaded below: the charge of each phase, with its ampere-hours.

    Parameters
    ----------
    log : Log
        See :func:`cellkit.bench_log.read`.
    cell : str
        Cell type, for the colour.

    Returns
    -------
    Picture
        Its sentence names each phase with its ampere-hours, watt-hours and last volts.
    """
    expect("log", log, Log, 'cellkit.bench_log.read("log_copper.csv")')
    one_of("cell", cell, LINES)
    figure, (above, below) = canvas(2, height=460, left=0.11, right=0.97, top=0.97, bottom=0.12, hspace=0.12)
    unit = "hour" if log.time[-1] < 4 * 86400 else "day"
    time = Q_(log.time, "s").to(unit).magnitude
    draw, colour = _drawn(log), look(cell)["color"]
    above.plot(time[draw], log.voltage[draw], linewidth=1.4, color=colour)
    below.plot(time[draw], log.current[draw], color=INK, linewidth=1)
    below.axhline(0, color=PALE, linewidth=1, zorder=0)
    words, box = [], {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 2}
    for phase in log.phases:
        rows = draw[(draw >= phase.rows.start - 1) & (draw <= phase.rows.stop)]
        outward = log.current[rows] if phase.kind == "discharge" else -log.current[rows]
        height = np.maximum(outward, 0) * (1 if phase.kind == "discharge" else -1)
        below.fill_between(time[rows], height, color=colour, linewidth=0, **SHADES[phase.kind])
        if len(log.phases) <= 6:
            middle = (time[rows[0]] + time[rows[-1]]) / 2
            text = f"{phase.kind} {phase.charge:.2f~P}"
            below.text(
                middle, height[np.abs(height).argmax()] / 2, text, ha="center", va="center", fontsize=9, bbox=box
            )
        words.append(f"{phase.kind} of {phase.charge:.2f~P} and {phase.energy:.2f~P}, last {phase.end_voltage:.2f~P}")
    above.tick_params(labelbottom=False)
    above.set(ylabel="Voltage / V")
    below.set(xlabel=f"Time / {unit}", ylabel="Current out / A")
    for ax in (above, below):
        ax.set(xlim=(time[0], time[-1]))
    figure.align_ylabels()
    said = "; ".join(words[:6]) + (f"; and {len(words) - 6} more" if len(words) > 6 else "")
    return Picture(figure, f"{log.name}, {time[-1]:.1f} {unit}s: {said}.")


def _drawn(log):
    """Rows to draw: all, or of each stretch of a long log the ones with the lowest and highest voltage and current."""
    if log.time.size <= POINTS:
        return np.arange(log.time.size)
    edges = np.linspace(0, log.time.size, POINTS // 4, endpoint=False).astype(int)
    kept = [0, log.time.size - 1]
    for a, b in zip(edges, [*edges[1:], log.time.size], strict=True):
        kept += [a + pick(part[a:b]) for part in (log.voltage, log.current) for pick in (np.argmin, np.argmax)]
    return np.unique(kept)
